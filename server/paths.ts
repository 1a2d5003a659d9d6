/** Where the package lies, whether its code runs from the sources or from dist/. */
import { existsSync, readFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const PACKAGE_NAME = 'ward-glucose-round'

/** The folder of this package's package.json. Compiled code sits in dist/, so nothing may be found relative to itself. */
export const packageRoot: string = findRoot(dirname(fileURLToPath(import.meta.url)))

function findRoot(start: string): string {
  for (let folder = start; ; folder = dirname(folder)) {
    if (isOurs(join(folder, 'package.json'))) return folder
    if (dirname(folder) === folder) throw new Error(`no package.json named ${PACKAGE_NAME} above ${start}`)
  }
}

function isOurs(file: string): boolean {
  if (!existsSync(file)) return false
  const parsed: unknown = JSON.parse(readFileSync(file, 'utf8'))
  return typeof parsed === 'object' && parsed !== null && 'name' in parsed && parsed.name === PACKAGE_NAME
}
