/** The checkout as text, for the tests about the code. */
import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs'
import { dirname, join, relative, sep } from 'node:path'
import ts from 'typescript'

/** The package root: vitest runs there. */
export const ROOT = process.cwd()

const NOT_OURS = new Set(['node_modules', 'dist', '.git', '.vitest', 'data', 'screenshots', 'coverage'])

/** Every file below a folder of the checkout, as paths from the root with "/", without installed and built files. */
export function filesBelow(folder: string, endings: readonly string[] = []): readonly string[] {
  const found: string[] = []
  const walk = (at: string): void => {
    for (const name of readdirSync(at)) {
      if (NOT_OURS.has(name)) continue
      const path = join(at, name)
      if (statSync(path).isDirectory()) walk(path)
      else if (endings.length === 0 || endings.some((ending) => name.endsWith(ending)))
        found.push(relative(ROOT, path).split(sep).join('/'))
    }
  }
  if (existsSync(join(ROOT, folder))) walk(join(ROOT, folder))
  return found.sort()
}

export function textOf(file: string): string {
  return readFileSync(join(ROOT, file), 'utf8')
}

export type Imported = {
  readonly file: string
  readonly from: string
  /** from the root when relative, else as written */ readonly target: string
}

const read = new Map<string, readonly Imported[]>()

/** Everything a TypeScript file imports, including types and dynamic imports; each file is read once. */
export function importsOf(file: string): readonly Imported[] {
  const known = read.get(file) ?? importsIn(textOf(file), file)
  read.set(file, known)
  return known
}

/** The same for a text as if it were in `file`. */
export function importsIn(text: string, file: string): readonly Imported[] {
  const found: Imported[] = []
  const add = (named: ts.Node | undefined): void => {
    if (named === undefined || !ts.isStringLiteralLike(named)) return
    const from = named.text
    found.push({ file, from, target: from.startsWith('.') ? join(dirname(file), from).split(sep).join('/') : from })
  }
  const walk = (node: ts.Node): void => {
    if (ts.isImportDeclaration(node) || ts.isExportDeclaration(node)) add(node.moduleSpecifier)
    else if (ts.isCallExpression(node) && node.expression.kind === ts.SyntaxKind.ImportKeyword) add(node.arguments[0])
    else if (ts.isImportTypeNode(node) && ts.isLiteralTypeNode(node.argument)) add(node.argument.literal)
    ts.forEachChild(node, walk)
  }
  walk(ts.createSourceFile(file, text, ts.ScriptTarget.ES2023, false))
  return found
}

/**
 * The cycles of a graph: each group whose members all reach one another, sorted by name. `arrows` lists the targets
 * of each node; an arrow to an unknown node is ignored.
 */
export function circlesOf(arrows: ReadonlyMap<string, ReadonlySet<string>>): readonly (readonly string[])[] {
  const reachedFrom = (start: string): ReadonlySet<string> => {
    const reached = new Set<string>()
    const left = [start]
    for (let node = left.pop(); node !== undefined; node = left.pop()) {
      for (const next of arrows.get(node) ?? []) {
        if (reached.has(next) || !arrows.has(next)) continue
        reached.add(next)
        left.push(next)
      }
    }
    return reached
  }
  const reach = new Map([...arrows.keys()].map((node) => [node, reachedFrom(node)]))
  const circles: string[][] = []
  const placed = new Set<string>()
  for (const [node, reached] of reach) {
    if (placed.has(node) || !reached.has(node)) continue
    const circle = [...reached].filter((other) => reach.get(other)?.has(node) === true).sort()
    for (const member of circle) placed.add(member)
    circles.push(circle)
  }
  return circles
}

/** The text of every string and template literal of a TypeScript file, with placeholders as "?". */
export function literalsOf(file: string): readonly string[] {
  const source = ts.createSourceFile(file, textOf(file), ts.ScriptTarget.ES2023, false)
  const found: string[] = []
  const walk = (node: ts.Node): void => {
    if (ts.isStringLiteralLike(node)) found.push(node.text)
    else if (ts.isTemplateExpression(node))
      found.push(node.head.text + node.templateSpans.map((span) => '?' + span.literal.text).join(''))
    ts.forEachChild(node, walk)
  }
  walk(source)
  return found
}
