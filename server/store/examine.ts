/**
 * Looks at a database file before anything opens it for writing: what is wrong with it is told in a sentence, and the
 * file, the log beside it and the folder are left as they were. Opening for writing folds the log into the file, so a
 * log that belongs to another database must be seen before that.
 */
import Database from 'better-sqlite3'
import { closeSync, existsSync, openSync, readSync, statSync } from 'node:fs'
import { connect, isOurs } from './connection.ts'
import { StoreError } from './errors.ts'
import { behindHead, headFault, readHead } from './head.ts'
import { ledgerOf } from './ledger.ts'
import { refuseNewerSchema, schemaVersion } from './migrate.ts'
import { needPlaceBeside } from './place.ts'

/** The first bytes of every SQLite file (sqlite.org/fileformat2.html, 1.3). */
const MAGIC = 'SQLite format 3\0'
/** So many faults of a damaged file are asked for: one is enough to refuse it. */
const FAULTS = 1

/**
 * Throws a StoreError, or an error with a code that `refusalOf` puts into words, unless `file` can be opened and written
 * and is a whole database of this program that reaches the head kept in `headFile`. The file must be there.
 */
export function examine(file: string, headFile: string | null): void {
  if (!statSync(file).isFile()) throw new StoreError('not-a-file', `${file} is not a file. Check DATABASE_FILE.`)
  refuseForeignBytes(file)
  needWritable(file)
  examineInside(file, headFile)
}

/** Says when the file of the database is not there, though something says that it should be. */
export function refuseIfExpected(file: string, headFile: string | null): void {
  const kept = headFile === null ? undefined : readHead(headFile)
  if (kept !== undefined && kept.count > 0) {
    throw new StoreError(
      'file-missing',
      `There is no database at ${file}, but ${headFile ?? ''} knows one with ${String(kept.count)} rows: a disk may not be mounted. Put the database back, or move ${headFile ?? ''} away if a new ward is to begin.`,
    )
  }
  for (const left of [`${file}-wal`, `${file}-journal`]) {
    if (existsSync(left))
      throw new StoreError(
        'file-missing',
        `There is no database at ${file}, but its log ${left} is there. Put the database back, or move the log away if a new ward is to begin.`,
      )
  }
}

function refuseForeignBytes(file: string): void {
  const descriptor = openSync(file, 'r')
  try {
    const start = Buffer.alloc(MAGIC.length)
    const length = readSync(descriptor, start, 0, start.length, 0)
    if (length === 0)
      throw new StoreError(
        'empty-file',
        `${file} is empty. If a new ward is to begin, remove it; else restore the newest backup.`,
      )
    if (start.toString('latin1') !== MAGIC)
      throw new StoreError('not-a-database', `${file} is not a database of this program. Check DATABASE_FILE.`)
  } finally {
    closeSync(descriptor)
  }
}

/** Opening to write changes nothing, and asks more than permission bits, which do not bind the superuser. */
function needWritable(file: string): void {
  for (const one of [file, `${file}-wal`, `${file}-shm`])
    if (one === file || existsSync(one)) closeSync(openSync(one, 'r+'))
  needPlaceBeside(file)
}

function examineInside(file: string, headFile: string | null): void {
  const connection = connect(file, 'read-only')
  const { raw } = connection
  try {
    if (schemaVersion(raw) < 0)
      throw new StoreError(
        'damaged-schema',
        `The schema version of ${file} is ${String(schemaVersion(raw))}, which no version of this program writes. Restore the newest backup.`,
      )
    refuseNewerSchema(raw)
    const found = raw.pragma(`quick_check(${String(FAULTS)})`, { simple: true })
    if (found !== 'ok')
      throw new StoreError(
        'damaged-file',
        `${file} is damaged (${String(found).replaceAll(/\s+/g, ' ')}). Keep this file as it is, and restore the newest backup to another name.`,
      )
    const kept = headFile === null ? undefined : readHead(headFile)
    if (headFile === null || kept === undefined || !isOurs(raw)) return
    const fault = headFault(ledgerOf(connection), kept)
    if (fault !== null) throw behindHead(fault, headFile)
  } finally {
    raw.close()
  }
}

/** Removes the empty log that a look at a file without one leaves behind: the last connection that may write does that when it closes. */
export function removeEmptyLog(file: string): void {
  try {
    const raw = new Database(file, { fileMustExist: true })
    try {
      raw.pragma('user_version')
    } finally {
      raw.close()
    }
  } catch {
    // a damaged file: what the look left beside it says nothing and harms nothing
  }
}
