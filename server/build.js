/**
 * The build and its age. `npm run build` ends with `node server/build.js stamp`, which notes what was compiled.
 * `npm start` is `node server/build.js start`: it runs the build, or says in one sentence why it does not.
 */
import { createHash } from 'node:crypto'
import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath, pathToFileURL } from 'node:url'

const ROOT = dirname(dirname(fileURLToPath(import.meta.url)))
const MAIN = join(ROOT, 'dist', 'server', 'main.js')
const STAMP = join(ROOT, 'dist', '.stamp.json')
/** What the service is compiled from, the migrations that the code was written for, and what the compiler made. */
const FOLDERS = {
  migrations: '.sql',
  server: '.ts',
  shared: '.ts',
  views: '.ts',
  'dist/server': '.js',
  'dist/shared': '.js',
  'dist/views': '.js',
}

/** The SHA-256 of each folder that is here, by its name. The contents count, not the times of the files. */
function hashes() {
  const here = Object.entries(FOLDERS).filter(([folder]) => existsSync(join(ROOT, folder)))
  return Object.fromEntries(
    here.map(([folder, ending]) => {
      const hash = createHash('sha256')
      const files = readdirSync(join(ROOT, folder), { recursive: true, encoding: 'utf8' })
      for (const file of files.filter((name) => name.endsWith(ending)).sort())
        hash.update(`${file}\0`).update(readFileSync(join(ROOT, folder, file)))
      return [folder, hash.digest('hex')]
    }),
  )
}

/** Why the service cannot be started, as a sentence; null when it can. */
function fault() {
  if (!existsSync(MAIN)) return 'The service is not built. Type: npm ci && npm run build'
  const stamp = existsSync(STAMP) ? JSON.parse(readFileSync(STAMP, 'utf8')) : {}
  const differs = Object.entries(hashes()).some(([folder, hash]) => stamp[folder] !== hash)
  return differs ? 'The build does not match the sources. Type: npm ci && npm run build' : null
}

if (process.argv[2] === 'stamp') {
  writeFileSync(STAMP, `${JSON.stringify(hashes(), null, 2)}\n`)
} else {
  const sentence = fault()
  if (sentence === null) await import(pathToFileURL(MAIN).href)
  else {
    console.error(sentence)
    process.exitCode = 1
  }
}
