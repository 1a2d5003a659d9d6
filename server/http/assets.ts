/**
 * Stylesheet, scripts and icon: read and compressed once at the start, served from memory under a name that holds
 * their content's hash, so that a browser may keep them for ever and never shows an old one.
 */
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { extname, join } from 'node:path'
import { gzipSync } from 'node:zlib'
import { sha256 } from './ids.ts'
import { packageRoot } from '../paths.ts'

const TYPES: Readonly<Record<string, string>> = {
  '.css': 'text/css; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.svg': 'image/svg+xml',
}

/** The files of views/assets that pages use; htmx comes from its own package, pinned by the lock file. */
const OWN_FILES = ['ward.css', 'ward.js', 'icon.svg'] as const

export type Asset = { readonly type: string; readonly plain: Buffer; readonly packed: Buffer; readonly etag: string }

export type Assets = {
  /** By the hashed name in the address. */
  readonly byName: ReadonlyMap<string, Asset>
  /** Hashed names by the plain ones: "ward.css" to "ward.1a2b3c4d.css". */
  readonly nameOf: (file: 'ward.css' | 'ward.js' | 'icon.svg' | 'htmx.js') => string
}

/** Reads them all. Throws when one is missing: the service does not start without its stylesheet. */
export function readAssets(): Assets {
  const byName = new Map<string, Asset>()
  const names = new Map<string, string>()
  const add = (file: string, plain: Buffer): void => {
    const hash = sha256(plain.toString('base64')).slice(0, 12)
    const extension = extname(file)
    const name = `${file.slice(0, -extension.length)}.${hash}${extension}`
    names.set(file, name)
    byName.set(name, { type: TYPES[extension] ?? 'application/octet-stream', plain, packed: gzipSync(plain, { level: 9 }), etag: `"${hash}"` })
  }
  for (const file of OWN_FILES) add(file, readFileSync(join(packageRoot, 'views', 'assets', file)))
  add('htmx.js', readFileSync(createRequire(import.meta.url).resolve('htmx.org/dist/htmx.min.js')))
  return { byName, nameOf: (file) => names.get(file) ?? '' }
}
