/** The checkout as text, for the tests about the house itself. */
import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs'
import { join, relative, sep } from 'node:path'
import ts from 'typescript'

/** The package root: vitest runs there. */
export const ROOT = process.cwd()

const NOT_OURS = new Set(['node_modules', 'dist', '.git', '.vitest', 'data', 'screenshots', 'coverage'])

/** Every file below a folder of the checkout, as paths from the root with "/", without what is installed or made. */
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

/** Everything a TypeScript file imports, types and dynamic imports included. */
export function importsOf(file: string): readonly Imported[] {
  return ts.preProcessFile(textOf(file), true, true).importedFiles.map(({ fileName }) => ({
    file,
    from: fileName,
    target: fileName.startsWith('.') ? join(file, '..', fileName).split(sep).join('/') : fileName,
  }))
}

/** The text of every string and template literal of a TypeScript file, with holes written as "?". */
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
