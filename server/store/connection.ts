/** One connection to the database file, with its settings set and then read back: a setting that did not take is an error. */
import Database from 'better-sqlite3'
import { drizzle, type BetterSQLite3Database } from 'drizzle-orm/better-sqlite3'
import { refusalOf, StoreError } from './errors.ts'
import { Parsed } from './parsed.ts'
import { WardChanges } from './ward-changes.ts'

export type Connection = {
  readonly raw: Database.Database
  readonly orm: BetterSQLite3Database
  readonly parsed: Parsed
  /** The last writes of this connection, by ward. */
  readonly wardChanges: WardChanges
}

export type Access = 'write' | 'read-only'

/** How long a writer waits for another process's transaction, in milliseconds. */
const BUSY_MS = 5000

type Setting = readonly [name: string, value: string | number, readBack: string | number]

/**
 * Acknowledged means on disk: write-ahead log with a sync at every commit (synchronous FULL reads back as 2).
 * recursive_triggers makes INSERT OR REPLACE run the triggers that refuse a delete; trusted_schema off keeps a doctored
 * schema from calling functions. A database in memory has no write-ahead log.
 */
function settings(file: string, access: Access): readonly Setting[] {
  const journal: readonly Setting[] =
    access === 'read-only' ? [] : [['journal_mode', 'WAL', file === ':memory:' ? 'memory' : 'wal']]
  return [
    ...journal,
    ['synchronous', 'FULL', 2],
    ['foreign_keys', 'ON', 1],
    ['recursive_triggers', 'ON', 1],
    ['trusted_schema', 'OFF', 0],
    ['busy_timeout', BUSY_MS, BUSY_MS],
  ]
}

/** What a database of this program carries as its application_id (sqlite.org/pragma.html#pragma_application_id): "ward". */
const APPLICATION_ID = 0x77617264

/**
 * Opens `file`, or ':memory:', which starts from `image` where one is given. Read-only never creates or changes
 * anything, and works beside a running service. Throws a StoreError for the database of another program, before a
 * setting changes it.
 */
export function connect(file: string, access: Access = 'write', image?: Buffer): Connection {
  const readOnly = access === 'read-only'
  const raw = new Database(image ?? file, { readonly: readOnly, fileMustExist: readOnly, timeout: BUSY_MS })
  try {
    if (!isOurs(raw) && !isBlank(raw))
      throw new StoreError('another-program', `${file} is a database of another program. Check DATABASE_FILE.`)
    for (const [name, value] of settings(file, access)) raw.pragma(`${name} = ${String(value)}`)
    assertSettings(raw, file, access)
  } catch (error) {
    raw.close()
    throw refusalOf(error, file)
  }
  return { raw, orm: drizzle(raw), parsed: new Parsed(), wardChanges: new WardChanges() }
}

/** True for a database that this program has written: marked, or from before there was a mark and with a ledger in it. */
export function isOurs(raw: Database.Database): boolean {
  const mark = raw.pragma('application_id', { simple: true })
  return (
    mark === APPLICATION_ID ||
    (mark === 0 &&
      raw.prepare("SELECT 1 FROM sqlite_schema WHERE type = 'trigger' AND name = 'ledger_follows'").get() !== undefined)
  )
}

/** True for a database that nobody has written anything in yet. */
function isBlank(raw: Database.Database): boolean {
  const unmarked = ['application_id', 'user_version'].every((name) => raw.pragma(name, { simple: true }) === 0)
  return unmarked && raw.prepare('SELECT 1 FROM sqlite_schema').get() === undefined
}

/** Marks a database as this program's, once. */
export function mark(raw: Database.Database): void {
  if (raw.pragma('application_id', { simple: true }) !== APPLICATION_ID)
    raw.pragma(`application_id = ${String(APPLICATION_ID)}`)
}

/** Throws unless every setting reads back as asked for on this very connection. */
export function assertSettings(raw: Database.Database, file: string, access: Access = 'write'): void {
  for (const [name, , expected] of settings(file, access)) {
    const found: unknown = raw.pragma(name, { simple: true })
    if (found !== expected)
      throw new StoreError(
        'pragma-not-set',
        `The database setting ${name} is ${String(found)} and must be ${String(expected)}: the file system may not support it.`,
      )
  }
}
