/** A new database comes into being whole or not at all: made beside its place and then put there. */
import { mkdirSync, rmdirSync } from 'node:fs'
import { dirname } from 'node:path'
import { connect, mark } from './connection.ts'
import { refusalOf, StoreError } from './errors.ts'
import { createEmpty, giveSecondName, hasCode, partOf, removePart, sync } from './files.ts'
import { migrate } from './migrate.ts'

/**
 * Makes an empty database of this program's schema at `file`, and the folders above it. Whatever fails leaves nothing
 * behind. A database that another process put there meanwhile stays.
 */
export function makeNew(file: string): void {
  const folder = dirname(file)
  const topmost = mkdirSync(folder, { recursive: true })
  try {
    makeIn(folder, file)
  } catch (error) {
    if (topmost !== undefined) removeFolders(folder, topmost)
    throw error
  }
}

function makeIn(folder: string, file: string): void {
  const part = partOf(file)
  try {
    removePart(part)
    // the operating system says more plainly than SQLite why a file cannot be made
    createEmpty(part)
    const { raw } = connect(part)
    try {
      migrate(raw)
      mark(raw)
    } finally {
      raw.close()
    }
    putInPlace(part, file)
    // the new name must outlive a power cut too
    sync(folder)
  } catch (error) {
    // told of the file that was asked for
    throw refusalOf(error instanceof StoreError && error.cause !== undefined ? error.cause : error, file)
  } finally {
    removePart(part)
  }
}

/** Never over a file that is there: not even one that came a moment ago. */
function putInPlace(part: string, file: string): void {
  try {
    giveSecondName(part, file)
  } catch (error) {
    if (!hasCode(error, 'EEXIST')) throw error
  }
}

function removeFolders(folder: string, topmost: string): void {
  try {
    for (let at = folder; at.length >= topmost.length; at = dirname(at)) rmdirSync(at)
  } catch {
    // somebody put something there meanwhile: it stays
  }
}
