/** A new database comes into being whole or not at all: made beside its place and then put there. */
import { closeSync, constants, copyFileSync, fsyncSync, linkSync, mkdirSync, openSync, rmdirSync, rmSync } from 'node:fs'
import { dirname } from 'node:path'
import { connect, mark } from './connection.ts'
import { refusalOf, StoreError } from './errors.ts'
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
  const draft = `${file}.${String(process.pid)}.new`
  try {
    removeDraft(draft)
    // the operating system says more plainly than SQLite why a file cannot be made
    closeSync(openSync(draft, 'wx'))
    const { raw } = connect(draft)
    try {
      migrate(raw)
      mark(raw)
    } finally {
      raw.close()
    }
    putInPlace(draft, file)
    syncFolder(folder)
  } catch (error) {
    // told of the file that was asked for
    throw refusalOf(error instanceof StoreError && error.cause !== undefined ? error.cause : error, file)
  } finally {
    removeDraft(draft)
  }
}

function removeDraft(draft: string): void {
  for (const one of [draft, `${draft}-wal`, `${draft}-shm`, `${draft}-journal`]) rmSync(one, { force: true })
}

/** Never over a file that is there: not even one that came a moment ago. */
function putInPlace(draft: string, file: string): void {
  try {
    try {
      linkSync(draft, file)
    } catch (error) {
      if (codeOf(error) !== 'EPERM' && codeOf(error) !== 'ENOTSUP') throw error
      // a file system without hard links
      copyFileSync(draft, file, constants.COPYFILE_EXCL)
    }
  } catch (error) {
    if (codeOf(error) !== 'EEXIST') throw error
  }
}

function codeOf(error: unknown): unknown {
  return error instanceof Error && 'code' in error ? error.code : undefined
}

/** The new name must outlive a power cut too. */
function syncFolder(folder: string): void {
  const descriptor = openSync(folder, 'r')
  try {
    fsyncSync(descriptor)
  } finally {
    closeSync(descriptor)
  }
}

function removeFolders(folder: string, topmost: string): void {
  try {
    for (let at = folder; at.length >= topmost.length; at = dirname(at)) rmdirSync(at)
  } catch {
    // somebody put something there meanwhile: it stays
  }
}
