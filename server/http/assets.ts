/**
 * Stylesheet, scripts and icon under names that hold their content's hash, so that a browser may keep them for ever and
 * never shows an old one.
 */
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { basename, dirname, extname, join } from 'node:path'
import { sha256 } from './ids.ts'
import { packageRoot } from '../paths.ts'

const OWN_FOLDER = join(packageRoot, 'views', 'assets')

/** The files that pages use; htmx comes from its own package, pinned by the lock file. */
const FILES = {
  'ward.css': join(OWN_FOLDER, 'ward.css'),
  'ward.js': join(OWN_FOLDER, 'ward.js'),
  'board.js': join(OWN_FOLDER, 'board.js'),
  'icon.svg': join(OWN_FOLDER, 'icon.svg'),
  'htmx.js': createRequire(import.meta.url).resolve('htmx.org/dist/htmx.min.js'),
} as const

export type AssetName = keyof typeof FILES

export type Assets = {
  /** Where a file lies, by the hashed name in the address. */
  readonly byName: ReadonlyMap<string, { readonly folder: string; readonly file: string }>
  /** Hashed names by the plain ones: "ward.css" to "ward.1a2b3c4d5e6f.css". */
  readonly nameOf: (file: AssetName) => string
}

/** Reads and names them all. Throws when one is missing: the service does not start without its stylesheet. */
export function readAssets(): Assets {
  const named = Object.entries(FILES).map(([plain, path]) => {
    const extension = extname(plain)
    const hash = sha256(readFileSync(path).toString('base64')).slice(0, 12)
    return { plain, path, name: `${plain.slice(0, -extension.length)}.${hash}${extension}` }
  })
  const names = new Map<string, string>(named.map(({ plain, name }) => [plain, name]))
  return {
    byName: new Map(named.map(({ name, path }) => [name, { folder: dirname(path), file: basename(path) }])),
    nameOf: (file) => names.get(file) ?? '',
  }
}
