/**
 * The pages for users and contributors agree with the code. Commands, variables, folders, files and links that they
 * name exist, and everything required is there.
 */
import { existsSync, readdirSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { ENVIRONMENT_NAMES } from '../../server/config.ts'
import { filesBelow, ROOT, textOf } from '../support/house.ts'

const guide = textOf('DEVELOPERS.md')
const docs = `${textOf('README.md')}\n${guide}`
const isNamed = (name: string): boolean =>
  new RegExp(`(?<![\\w/:-])${name.replace(/[.*+?^${}()|[\]\\/]/g, '\\$&')}(?![\\w/:-])`).test(docs)

describe('README.md and DEVELOPERS.md', () => {
  it('the search for names finds whole words only', () => {
    expect(isNamed('npm')).toBe(true)
    expect(isNamed('np')).toBe(false)
  })

  it('have no unfilled placeholders', () => {
    expect(docs.match(/@@\w*@@/g) ?? []).toEqual([])
  })

  it('name every npm script', () => {
    const { scripts } = JSON.parse(textOf('package.json')) as { scripts: Record<string, string> }
    const missing = Object.keys(scripts).filter((script) => !isNamed(`npm run ${script}`) && !isNamed(`npm ${script}`))
    expect(missing).toEqual([])
  })

  it('name every environment variable', () => {
    expect(ENVIRONMENT_NAMES.length).toBeGreaterThan(3)
    expect([...ENVIRONMENT_NAMES, 'CHROMIUM_PATH'].filter((name) => !isNamed(name))).toEqual([])
  })
})

describe('DEVELOPERS.md', () => {
  it('has at most 120 lines of at most 120 characters', () => {
    const lines = guide.trimEnd().split('\n')
    expect(lines.length).toBeGreaterThan(60)
    expect(lines.length).toBeLessThanOrEqual(120)
    expect(lines.filter((line) => line.length > 120)).toEqual([])
  })

  /** Each path in backticks that begins with a folder of the package, "server/http/route.ts". */
  const pathsIn = (text: string): readonly string[] =>
    [...text.matchAll(/`((?:server|shared|views|tests|migrations|seed-demo)(?:\/[\w.-]+)+)`/g)].map(
      ([, path = '']) => path,
    )

  it('names only files and folders that exist', () => {
    expect(pathsIn('`server/http/route.ts`, `shared/`, `npm test`, `tests/rules`')).toEqual([
      'server/http/route.ts',
      'tests/rules',
    ])
    expect(pathsIn(guide).length).toBeGreaterThan(12)
    expect(pathsIn(guide).filter((path) => !existsSync(join(ROOT, path)))).toEqual([])
  })

  it('names only functions that their file exports', () => {
    const rows = [...guide.matchAll(/^\|.*\| `([\w/.-]+\.ts)` \((.+)\) \|$/gm)]
    const named = rows.flatMap(([, file = '', text = '']) =>
      [...text.matchAll(/`(\w+)`/g)].map(([, name = '']) => ({ file, name })),
    )
    expect(named.length).toBeGreaterThan(2)
    expect(named.filter(({ file, name }) => !textOf(file).includes(`export function ${name}(`))).toEqual([])
  })
})

describe('the map in DEVELOPERS.md', () => {
  /** The folders that a section of the map lists, "`board/`", in alphabetical order. */
  const listedIn = (text: string, folder: string): readonly string[] => {
    const section = text.split(/^### /m).find((part) => part.startsWith(`\`${folder}/\``)) ?? ''
    const list = section.split('\n').slice(1).join('\n').split(/^#/m)[0] ?? ''
    return [...list.matchAll(/`([\w-]+)\/`/g)].map(([, name = '']) => name).sort()
  }
  const foldersIn = (folder: string): readonly string[] =>
    readdirSync(join(ROOT, folder), { withFileTypes: true })
      .filter((entry) => entry.isDirectory())
      .map(({ name }) => name)
      .sort()

  it('is read section by section', () => {
    const text =
      '### `a/` does\n\n- `one/` x; `two/` y\n- `two/`\n\n### `b/` does\n\n- `three/` z\n\n## Next\n\n`four/`\n'
    expect(listedIn(text, 'a')).toEqual(['one', 'two', 'two'])
    expect(listedIn(text, 'b')).toEqual(['three'])
    expect(listedIn(text, 'c')).toEqual([])
  })

  it.each(['server', 'shared', 'views', 'tests'])('lists every folder of %s/ once, and no other', (folder) => {
    expect(foldersIn(folder).length).toBeGreaterThan(5)
    expect(listedIn(guide, folder)).toEqual(foldersIn(folder))
  })
})

describe('links between pages', () => {
  /** The relative links of a page, as paths from the root, without the part after "#". */
  const linksOf = (file: string, text: string): readonly string[] =>
    [...text.matchAll(/\]\((?!https?:|#)([^)#\s]+)/g)].map(([, target = '']) => join(dirname(file), target))

  it('lead to files that exist', () => {
    expect(linksOf('a/b.md', '[x](c.md#d) [y](https://example.org) [z](#e)')).toEqual([join('a', 'c.md')])
    const links = filesBelow('.', ['.md']).flatMap((file) =>
      linksOf(file, textOf(file)).map((target) => ({ file, target })),
    )
    expect(links.length).toBeGreaterThan(60)
    expect(links.filter(({ target }) => !existsSync(join(ROOT, target)))).toEqual([])
  })
})
