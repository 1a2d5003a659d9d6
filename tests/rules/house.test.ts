/**
 * Rules about the code that are tested: imports, the place of SQL, pinned versions. Each reader first finds a planted
 * fault, so that a broken reader cannot pass.
 */
import { createHash } from 'node:crypto'
import { dirname, isAbsolute, join } from 'node:path'
import { ESLint } from 'eslint'
import ts from 'typescript'
import { describe, expect, it } from 'vitest'
import { routeTable } from '../../server/http/route.ts'
import { makeWorld } from '../support/world.ts'
import { circlesOf, filesBelow, importsIn, importsOf, literalsOf, textOf, type Imported } from '../support/house.ts'

const CODE = ['.ts', '.js']
const shared = filesBelow('shared', CODE)
const server = filesBelow('server', CODE)
const views = filesBelow('views', CODE)
const seed = filesBelow('seed-demo', CODE)
const tests = filesBelow('tests', CODE)

describe('imports stay within their layers', () => {
  const lines = (found: readonly Imported[]): readonly string[] =>
    found.map(({ file, from }) => `${file} imports ${from}`)
  const importsOfAll = (files: readonly string[]): readonly Imported[] =>
    files.filter((file) => file.endsWith('.ts')).flatMap(importsOf)

  it('reads imports of every kind', () => {
    const kinds = [
      "import a from './f1.ts'",
      "import type { B } from './f2.ts'",
      "import {\n  c,\n  type D,\n} from './f3.ts'",
      "export { e } from './f4.ts'",
      "export type { F } from './f5.ts'",
      "export type * from './f6.ts'",
      "export * as g from './f7.ts'",
      "import './f8.ts'",
      "const h = await import('./f9.ts')",
      "type I = import('./f10.ts').I",
    ]
    const read = importsIn(kinds.join('\n'), 'server/round/page.ts')
    expect(read.map(({ target }) => target)).toEqual(kinds.map((_, index) => `server/round/f${String(index + 1)}.ts`))
    expect(importsIn("const text = `import a from './f1.ts'`", 'server/round/page.ts')).toEqual([])
    expect(importsOfAll(tests)).toContainEqual({ file: 'tests/rules/house.test.ts', from: 'vitest', target: 'vitest' })
    expect(importsOfAll(views)).toContainEqual({ file: 'views/parts.ts', from: './html.ts', target: 'views/html.ts' })
    expect(shared.length).toBeGreaterThan(9)
  })

  it('shared/ imports only shared/, and luxon in shared/time only', () => {
    const wrong = importsOfAll(shared).filter(
      ({ file, target }) => !target.startsWith('shared/') && !(target === 'luxon' && file.startsWith('shared/time/')),
    )
    expect(lines(wrong)).toEqual([])
  })

  it('luxon is imported nowhere else', () => {
    expect(
      lines(importsOfAll([...server, ...views, ...seed]).filter(({ target }) => target.startsWith('luxon'))),
    ).toEqual([])
  })

  it('views import from views/ and shared/ only: never the store, never a query', () => {
    expect(
      lines(importsOfAll(views).filter(({ target }) => !target.startsWith('views/') && !target.startsWith('shared/'))),
    ).toEqual([])
  })

  it('the database libraries are imported in server/store only', () => {
    const databases = importsOfAll([...shared, ...server, ...views, ...seed]).filter(({ target }) =>
      /^(better-sqlite3|drizzle-orm)/.test(target),
    )
    expect(databases.length).toBeGreaterThan(0)
    expect(lines(databases.filter(({ file }) => !file.startsWith('server/store/')))).toEqual([])
  })

  it('no production code imports a test or a development package', () => {
    const { devDependencies } = JSON.parse(textOf('package.json')) as { devDependencies: Record<string, string> }
    const wrong = importsOfAll([...shared, ...server, ...views, ...seed]).filter(
      ({ target }) => target.startsWith('tests/') || target in devDependencies,
    )
    expect(lines(wrong)).toEqual([])
  })
})

describe('import cycles', () => {
  type Arrows = ReadonlyMap<string, ReadonlySet<string>>
  const house = [...shared, ...server, ...views, ...seed].filter((file) => file.endsWith('.ts'))

  /** What each file or area imports; `nodeOf` names the node of a file. */
  const arrowsOf = (
    files: readonly string[],
    imports: readonly Imported[],
    nodeOf: (file: string) => string = (file) => file,
  ): Arrows => {
    const arrows = new Map(files.map((file) => [nodeOf(file), new Set<string>()]))
    for (const { file, target } of imports) {
      const [from, to] = [nodeOf(file), nodeOf(target)]
      if (from !== to || file === target) arrows.get(from)?.add(to)
    }
    return arrows
  }
  /** A folder of server/ by its name; a file beside the folders by its path. */
  const areaOf = (file: string): string => /^server\/([^/]+)\//.exec(file)?.[1] ?? file
  const planted = (file: string, text: string): readonly Imported[] => importsIn(text, file)

  it('are found: two files, three files, a type, a file that imports itself', () => {
    const files = ['shared/a.ts', 'shared/b.ts', 'shared/c.ts', 'shared/d.ts', 'shared/e.ts', 'shared/f.ts']
    const imports = [
      ...planted('shared/a.ts', "import { b } from './b.ts'"),
      ...planted('shared/b.ts', "import type {\n  A,\n} from './a.ts'\nexport { c } from './c.ts'"),
      ...planted('shared/c.ts', "export * from './d.ts'"),
      ...planted('shared/d.ts', "export type { E } from './e.ts'"),
      ...planted('shared/e.ts', "import { c } from './c.ts'"),
      ...planted('shared/f.ts', "import { f } from './f.ts'\nimport { a } from './a.ts'"),
    ]
    expect(circlesOf(arrowsOf(files, imports))).toEqual([
      ['shared/a.ts', 'shared/b.ts'],
      ['shared/c.ts', 'shared/d.ts', 'shared/e.ts'],
      ['shared/f.ts'],
    ])
    expect(
      circlesOf(
        arrowsOf(
          files,
          imports.filter(({ target }) => target === 'shared/b.ts'),
        ),
      ),
    ).toEqual([])
  })

  it('do not exist between files, types included', () => {
    const imports = house.flatMap(importsOf)
    expect(house.length).toBeGreaterThan(400)
    // every file that another imports by path is a node
    expect(imports.filter(({ from, target }) => from.startsWith('.') && !house.includes(target))).toEqual([])
    expect(circlesOf(arrowsOf(house, imports))).toEqual([])
  })

  it('do not exist between areas of the server', () => {
    const files = house.filter((file) => file.startsWith('server/'))
    const imports = files.flatMap(importsOf).filter(({ target }) => target.startsWith('server/'))
    // areas can form a cycle without a cycle of files
    const there = planted('server/round/forms.ts', "export * from '../reading/form.ts'")
    const back = planted('server/reading/show.ts', "import type { ScanForm } from '../round/forms.ts'")
    expect(circlesOf(arrowsOf(files, [...imports, ...there, ...back]))).toEqual([])
    expect(circlesOf(arrowsOf(files, [...imports, ...there, ...back], areaOf))).toEqual([['reading', 'round']])
    expect(circlesOf(arrowsOf(files, imports, areaOf))).toEqual([])
  })

  it('shared folders of the server import no area', () => {
    /** Each shared folder with the folders that it may import. */
    const below: Readonly<Record<string, readonly string[]>> = {
      store: [],
      backup: ['store'],
      http: ['store', 'backup'],
      bedside: ['store', 'http'],
    }
    const wrongOf = (imports: readonly Imported[]): readonly string[] =>
      imports
        .filter(({ file, target }) => {
          const [from, to] = [areaOf(file), areaOf(target)]
          const known = below[from]
          return (
            known !== undefined &&
            target.startsWith('server/') &&
            to.indexOf('/') < 0 &&
            to !== from &&
            !known.includes(to)
          )
        })
        .map(({ file, from }) => `${file} imports ${from}`)
    const upwards = planted('server/http/page.ts', "import type { BannerView } from '../bedside/banner.ts'")
    expect(wrongOf(upwards)).toEqual(['server/http/page.ts imports ../bedside/banner.ts'])
    for (const floor of Object.keys(below))
      expect(
        server.some((file) => areaOf(file) === floor),
        floor,
      ).toBe(true)
    expect(wrongOf(house.flatMap(importsOf))).toEqual([])
  })
})

describe('tests stay inside the checkout', () => {
  /** Functions of these modules take paths. */
  const TAKE_PATHS = /^(node:)?(fs|fs\/promises|path|child_process)$|(^|\/)support\/house\.ts$/
  const climbs = (path: string): boolean => path.split('/').includes('..')
  /** Programs and devices of the machine; everything else that a test reads is in the checkout or made by the test. */
  const isOfTheMachine = (path: string): boolean => /^\/(dev|proc|usr\/bin)\//.test(path)

  /**
   * Every path of a test that leads out of the checkout, as it is written: an import or a URL of the module that climbs
   * too far, and any `..` or absolute path that a function of TAKE_PATHS is given or that a name stands for.
   */
  const pathsOut = (file: string, text: string): readonly string[] => {
    const source = ts.createSourceFile(file, text, ts.ScriptTarget.ES2023, false)
    const takers = new Set<string>()
    const found: string[] = []
    const fromHere = (path: string): void => {
      if (path.startsWith('.') && join(dirname(file), path).startsWith('..')) found.push(path)
    }
    const literalsIn = (node: ts.Node): readonly string[] => {
      const inside: string[] = []
      const walk = (one: ts.Node): void => {
        if (ts.isStringLiteralLike(one)) inside.push(one.text)
        else if (ts.isTemplateExpression(one))
          inside.push(one.head.text + one.templateSpans.map((span) => `?${span.literal.text}`).join(''))
        // a URL of the module is looked at by itself; a function inside a call has calls of its own
        if (!ts.isNewExpression(one) && !ts.isFunctionLike(one)) ts.forEachChild(one, walk)
      }
      walk(node)
      return inside
    }
    const nameOf = (callee: ts.Expression): string =>
      ts.isPropertyAccessExpression(callee) ? nameOf(callee.expression) : ts.isIdentifier(callee) ? callee.text : ''
    const walk = (node: ts.Node): void => {
      if (ts.isImportDeclaration(node) && ts.isStringLiteral(node.moduleSpecifier)) {
        const { name, namedBindings } = node.importClause ?? {}
        if (TAKE_PATHS.test(node.moduleSpecifier.text)) {
          if (name !== undefined) takers.add(name.text)
          if (namedBindings !== undefined && ts.isNamespaceImport(namedBindings)) takers.add(namedBindings.name.text)
          else namedBindings?.elements.forEach((element) => takers.add(element.name.text))
        }
      } else if (ts.isNewExpression(node) && nameOf(node.expression) === 'URL') {
        const [path, base] = node.arguments ?? []
        if (path !== undefined && base?.getText(source) === 'import.meta.url') literalsIn(path).forEach(fromHere)
      } else if (ts.isCallExpression(node) && takers.has(nameOf(node.expression))) {
        const given = node.arguments.flatMap(literalsIn)
        found.push(...given.filter((path) => climbs(path) || (isAbsolute(path) && !isOfTheMachine(path))))
      } else if (ts.isVariableDeclaration(node) && node.initializer !== undefined) {
        const { initializer } = node
        if (ts.isStringLiteralLike(initializer) && climbs(initializer.text)) found.push(initializer.text)
      }
      ts.forEachChild(node, walk)
    }
    walk(source)
    ts.preProcessFile(text, true, true).importedFiles.forEach(({ fileName }) => {
      fromHere(fileName)
    })
    return [...new Set(found)]
  }

  it.each([
    ["import { join } from 'node:path'\njoin(ROOT, '..', 'shared')", ['..']],
    ["import * as path from 'node:path'\nconst at = path.join(process.cwd(), '../shared')", ['../shared']],
    ["import { readFileSync as read } from 'node:fs'\nread('../shared/a.json')", ['../shared/a.json']],
    ["import fs from 'fs'\nvoid fs.promises.readFile(`../shared/${name}`)", ['../shared/?']],
    ["import { readdirSync } from 'node:fs'\nreaddirSync('/srv/cases')", ['/srv/cases']],
    ["import { spawnSync } from 'node:child_process'\nspawnSync('cat', ['../a', '/opt/b'])", ['../a', '/opt/b']],
    ["import { textOf } from '../support/house.ts'\ntextOf('../shared/a.md')", ['../shared/a.md']],
    ["const CASES = '../shared/cases'", ['../shared/cases']],
    ["readFileSync(new URL('../../../shared/a.json', import.meta.url))", ['../../../shared/a.json']],
    ["import cases from '../../../shared/cases.ts'", ['../../../shared/cases.ts']],
    ["await import('../../../shared/cases.ts')", ['../../../shared/cases.ts']],
    [
      "import { join } from 'node:path'\nimport { readFileSync } from 'node:fs'\nimport a from '../../shared/a.ts'\nreadFileSync(join(ROOT, 'tests', 'a'))\nnew URL('../..', import.meta.url)\nreadFileSync('/dev/null')\nask('/../package.json')",
      [],
    ],
  ])('the reader sees what leads out: %s', (text, out) => {
    expect(pathsOut('tests/rules/planted.test.ts', text)).toEqual(out)
  })

  it('no test reads, runs or imports anything outside it', () => {
    const files = tests.filter((file) => file.endsWith('.ts') || file === 'tests/summary.js')
    expect(files.length).toBeGreaterThan(100)
    expect(files.flatMap((file) => pathsOut(file, textOf(file)).map((path) => `${file}: ${path}`))).toEqual([])
  })
})

describe('routes', () => {
  /** Reads the printed tree of routes: each line is its parent's path and a segment, "│   ├── /extra (GET, POST)". */
  const addressesOf = (tree: string): readonly string[] => {
    const parents: string[] = []
    return tree.split('\n').flatMap((line) => {
      const [, indent = '', piece = '', methods = ''] = /^([\s│]*)[├└]── (\S+)(?: \(([A-Z, ]+)\))?/.exec(line) ?? []
      if (piece === '') return []
      const depth = indent.length / 4
      const address =
        depth === 0
          ? piece
          : `${parents[depth - 1] === '/' ? '' : (parents[depth - 1] ?? '')}${piece.startsWith('/') ? '' : '/'}${piece}`
      parents[depth] = address
      return methods === '' ? [] : methods.split(', ').map((method) => `${method} ${address}`)
    })
  }

  it('every registered route is in the route table with its roles', async () => {
    const world = await makeWorld({ demo: true })
    const table = routeTable(world.server)
    const served = addressesOf(world.server.app.printRoutes({ commonPrefix: false }))
    expect(served).toContain('POST /checks/:key/patient')
    expect(served.length).toBeGreaterThan(30)
    expect(served.filter((one) => !table.some(({ method, url }) => `${method} ${url}` === one))).toEqual([])
    for (const { method, url, roles } of table)
      expect(roles === 'anyone' || roles.length > 0, `${method} ${url}`).toBe(true)
    // routes without a login, by name: a new one needs a decision
    expect(
      table
        .filter(({ roles }) => roles === 'anyone')
        .map(({ method, url }) => `${method} ${url}`)
        .sort(),
    ).toEqual([
      'GET /assets/:file',
      'GET /first-administrator',
      'GET /healthz',
      'GET /set-pin',
      'GET /sign-in',
      'POST /demo/clock',
      'POST /first-administrator',
      'POST /set-pin',
      'POST /sign-in',
      'POST /sign-out',
    ])
    await world.close()
  })
})

describe('what an address holds', () => {
  const reads = (text: string): boolean =>
    /\brequest\.(?:params|query)\b|\brequest\[['"](?:params|query)['"]\]/.test(text) ||
    /\{[^{}]*\b(?:params|query)\b[^{}]*\}\s*=\s*(?:\w+\.)?request\b/.test(text)

  it('is seen to be read from the request', () => {
    expect(reads('const id = ctx.request.params as Names')).toBe(true)
    expect(reads('const { low } = request.query as Readonly<Record<string, unknown>>')).toBe(true)
    expect(reads("const id = request['params']")).toBe(true)
    expect(reads('const { query, body } = ctx.request')).toBe(true)
    expect(reads('const { query } = ctx')).toBe(false)
    expect(reads('const { body } = ctx.request\nconst { params } = ctx')).toBe(false)
  })

  it('is read in server/http only, by the schema that the route declares', () => {
    const reading = server.filter((file) => reads(textOf(file)))
    expect(reading).toContain('server/http/route.ts')
    expect(reading.filter((file) => !file.startsWith('server/http/'))).toEqual([])
  })
})

describe('SQL', () => {
  const SQL =
    /^\s*(select\b[\s\S]*\bfrom\s+[a-z_"]+|insert\s+(or\s+\w+\s+)?into\s|update\s+\w+\s+set\s|delete\s+from\s|create\s+(unique\s+)?(table|index|trigger)\s|pragma\s|begin\s+immediate)/i

  it.each([
    'SELECT a FROM b',
    'select count(*) from stay where 1',
    '\n  INSERT INTO a VALUES (?)',
    'INSERT OR REPLACE INTO a',
    'update stay set bed = ?',
    'DELETE FROM stay',
    'CREATE UNIQUE INDEX a',
    'PRAGMA user_version',
    'BEGIN IMMEDIATE',
  ])('is recognised: %s', (text) => {
    expect(text).toMatch(SQL)
  })

  it('is in server/store only', () => {
    const elsewhere = [...shared, ...server.filter((file) => !file.startsWith('server/store/')), ...views, ...seed]
    const wrong = elsewhere.flatMap((file) =>
      literalsOf(file)
        .filter((text) => SQL.test(text))
        .map((text) => `${file}: ${text.slice(0, 60)}`),
    )
    expect(wrong).toEqual([])
  })

  it('migrations are numbered from 0001 without a gap', () => {
    const numbers = filesBelow('migrations', ['.sql']).map((file) => file.replace('migrations/', '').slice(0, 5))
    expect(numbers.length).toBeGreaterThan(0)
    expect(numbers).toEqual(numbers.map((_, index) => `${String(index + 1).padStart(4, '0')}_`))
  })
})

describe('the linter finds each planted fault', { timeout: 120_000 }, () => {
  const linter = new ESLint({ overrideConfigFile: 'tests/eslint.config.js' })
  /** `file` is the path under which the planted code is linted; the file itself is not read. */
  const faults = async (file: string, code: string): Promise<readonly string[]> => {
    const [result] = await linter.lintText(code, { filePath: file })
    return (result?.messages ?? []).map((message) => message.ruleId ?? message.message)
  }

  it.each([
    ['the clock in shared/', 'shared/outcome.ts', 'export const at = Date.now()', 'no-restricted-syntax'],
    ['a date in shared/', 'shared/outcome.ts', 'export const at = new Date()', 'no-restricted-syntax'],
    ['chance in shared/', 'shared/outcome.ts', 'export const at = Math.random()', 'no-restricted-syntax'],
    ['the environment in shared/', 'shared/outcome.ts', 'export const at = process.pid', 'no-restricted-globals'],
    ['a package in shared/', 'shared/outcome.ts', "export { z } from 'zod'", 'no-restricted-imports'],
    ['luxon outside shared/time', 'shared/outcome.ts', "export { DateTime } from 'luxon'", 'no-restricted-imports'],
    [
      'a Node module in shared/',
      'shared/outcome.ts',
      "export { readFileSync } from 'node:fs'",
      'no-restricted-imports',
    ],
    [
      'the server in shared/',
      'shared/outcome.ts',
      "export type { Store } from '../server/store/contract.ts'",
      'no-restricted-imports',
    ],
    [
      'the store in a view',
      'views/parts.ts',
      "export type { Store } from '../server/store/contract.ts'",
      'no-restricted-imports',
    ],
    [
      'SQL outside the store',
      'server/http/request-context.ts',
      "export { default } from 'better-sqlite3'",
      'no-restricted-imports',
    ],
    [
      'the environment outside the configuration',
      'server/http/request-context.ts',
      "export const at = process.env['TZ']",
      'no-restricted-syntax',
    ],
    [
      'the clock outside the two clocks',
      'server/http/request-context.ts',
      'export const at = Date.now()',
      'no-restricted-syntax',
    ],
    [
      'a promise left floating',
      'server/http/request-context.ts',
      'async function later(): Promise<void> { await Promise.resolve() }\nexport function now(): void { later() }',
      '@typescript-eslint/no-floating-promises',
    ],
    [
      'a promise where a yes or no is asked',
      'server/http/request-context.ts',
      'async function later(): Promise<boolean> { return Promise.resolve(true) }\nexport function now(): number { return later() ? 1 : 0 }',
      '@typescript-eslint/no-misused-promises',
    ],
    [
      'a forgotten case',
      'server/http/request-context.ts',
      "export function f(a: 'x' | 'y'): void { switch (a) { case 'x': break } }",
      '@typescript-eslint/switch-exhaustiveness-check',
    ],
  ])('%s', async (_name, file, code, rule) => {
    expect(await faults(file, `${code}\n`)).toContain(rule)
  })
})

describe('pinned versions, each with its reason in server/decisions', () => {
  type Manifest = { dependencies: Record<string, string>; devDependencies: Record<string, string> }
  const manifest = JSON.parse(textOf('package.json')) as Manifest
  const lock = JSON.parse(textOf('package-lock.json')) as {
    packages: Record<string, { version?: string; resolved?: string }>
  }
  const installed = (name: string): string => lock.packages[`node_modules/${name}`]?.version ?? 'missing'

  it.each([
    ['better-sqlite3', /^\^12\./, /^12\./],
    ['vitest', /^\^4\./, /^4\./],
    ['typescript', /^~6\.0/, /^6\.0\./],
    ['htmx.org', /^2\.0\.11$/, /^2\.0\.11$/],
  ])('%s', (name, asked, got) => {
    expect(manifest.dependencies[name] ?? manifest.devDependencies[name]).toMatch(asked)
    expect(installed(name)).toMatch(got)
    const reasons = filesBelow('server/decisions', ['.md'])
      .flatMap((file) => textOf(file).split(/\n\s*\n|\n(?=[-*|] )/))
      .filter((paragraph) => paragraph.toLowerCase().includes(name.replace('.org', '').toLowerCase()))
    expect(
      reasons.some((paragraph) => /because|since|wants|needs|until|so that/i.test(paragraph)),
      `a reason for ${name} in server/decisions`,
    ).toBe(true)
  })

  it('the lock file names no address to load from', () => {
    expect(
      Object.entries(lock.packages)
        .filter(([, entry]) => entry.resolved !== undefined)
        .map(([name]) => name),
    ).toEqual([])
    expect(textOf('package-lock.json')).not.toContain('"resolved"')
  })
})

describe('forbidden words', () => {
  const texts = filesBelow('.', ['.ts', '.js', '.css', '.sql', '.md', '.json', '.sh', '.csv', '.html', '.svg']).filter(
    (file) => file !== 'package-lock.json',
  )

  /**
   * Brand names of drugs, meters and software, each as the first 16 hex digits of its SHA-256, so that this file
   * contains none.
   */
  const BRANDS = new Set([
    '961803a4da0b6d2e',
    '3d160b88d5f337d8',
    '57f98d5fe09fffba',
    '0be37284bbdf821b',
    'ef7f8fb143e9eac7',
    'bef075e713dc433a',
    'a50422db1aa3a2e7',
    'eda745e3f8165053',
    '4bbdff08522d2939',
    'c51d8e2bb8dceb70',
    '858a4eb19aca4b2b',
    '093564dbc716b098',
    '175fe78a72bdf121',
    '1de36cc0a4b8fcd4',
    '3e5ea0bc90a6979f',
    '08641c891ce51362',
    '2f6bd496d34fdef1',
    'ce5da48657d7278e',
    '96817c32be64e7eb',
    '0977c2b48a5b0d9e',
    'a6b941161cb5c9c7',
    '5c6cb51a3c363bfa',
    'b6a0d5c0b5683271',
    '3caf2252d3099d7a',
    '1e189c171447f639',
    'a190308957fc0cd2',
    '39271f9d71f1823d',
    '1705334d233c5229',
    '5f254f3b9210226b',
    'c898513b45ca5ab1',
    'd551970cc53aa37a',
    '668849982b734f7f',
    '9a65eaeb552d81c5',
    'bc6694476863ec94',
    '1c7627c645f5690e',
    'c758534c4e7d499b',
    '60ebd24543ccd54b',
    '893bff3421f9bd43',
    '1d56200070346d8d',
    '4871701af6c9d7cb',
    '98a4cabf89cf4afb',
    '739bde84abd79db8',
    'd53779ff258e9ecc',
    'd116c28a9c424d59',
    '132ee7fe2adcc48f',
    'ea42c634df14bd3b',
    'e7c0624a47e46fc1',
    'ee0ca20290ec4a3e',
    '3e3f4f12ddf62f3c',
    '19bb233f1cbb647f',
    '86008c92ccf140ed',
    '288b7bbb376d3d3c',
    'ef446556a7912379',
    'ee9494e05280eb4d',
    '347a97cca537849f',
    '7a03b2e489875b6f',
    'b077b21d1e42b231',
    '6e8fd358332fd500',
    '309ab0f29e4427e4',
    '9df61feb9462d0d5',
    'aaf97f316504091c',
    '8c4a6326cf73242f',
    '44688cf8c4ce6b6b',
    '74c8ccb8a7caefcb',
  ])
  const branded = (text: string): readonly string[] =>
    [
      ...new Set(
        (text.toLowerCase().match(/[a-z][a-z-]{2,}/g) ?? []).flatMap((word) => [
          word.replaceAll('-', ''),
          ...word.split('-'),
        ]),
      ),
    ].filter((word) => BRANDS.has(createHash('sha256').update(word).digest('hex').slice(0, 16)))

  it('finds a planted brand name', () => {
    const planted = [
      ['ch', 'ek'],
      ['huma', 'log'],
      ['lant', 'us'],
    ].map((halves) => halves.join(''))
    expect(branded(planted.join(' and '))).toEqual(planted)
    expect(texts.length).toBeGreaterThan(20)
  })

  it('no brand of a drug, a meter or a program', () => {
    expect(texts.flatMap((file) => branded(textOf(file)).map((word) => `${file}: ${word}`))).toEqual([])
  })

  it('no reference to a page that is not in the repo', () => {
    // in halves, so that this file does not match
    const halves: readonly (readonly [string, string])[] = [
      ['desi', 'gn \\d'],
      ['desi', 'gn\\.md'],
      ['reference-', 'values'],
      ['insulin-', 'rules'],
      ['measure-', 'logic'],
      ['sty', 'le\\.md'],
    ]
    const missing = new RegExp(halves.map((pair) => `\\b${pair.join('')}`).join('|'), 'i')
    expect(missing.test(`as ${'desi'}gn 4.3 says`)).toBe(true)
    expect(texts.filter((file) => !file.includes('old-databases/') && missing.test(textOf(file)))).toEqual([])
  })

  it('no path of one machine and no address of a package registry', () => {
    // in two halves, so that this file does not match itself
    const halves: readonly (readonly [string, string])[] = [
      ['wo', 'rk'],
      ['fa', 'rm'],
      ['ro', 'ot'],
      ['ho', 'me'],
    ]
    const folders = halves.map(([start, end]) => start + end).join('|')
    const place = new RegExp(`(?<![\\w.~-])/(?:${folders})/|\\bregistry\\.[a-z]+\\.[a-z]+`)
    expect(place.test(`cd /${halves[0]?.join('') ?? ''}/main`)).toBe(true)
    expect(place.test('the /workings of it, ./work/it')).toBe(false)
    expect(texts.filter((file) => place.test(textOf(file)))).toEqual([])
  })
})
