/** One connection to the database file, with its settings set and then read back: a setting that did not take is an error. */
import Database from 'better-sqlite3'
import { drizzle, type BetterSQLite3Database } from 'drizzle-orm/better-sqlite3'
import { StoreError } from './errors.ts'
import { Parsed } from './parsed.ts'

export type Connection = { readonly raw: Database.Database; readonly orm: BetterSQLite3Database; readonly parsed: Parsed }

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
  const journal: readonly Setting[] = access === 'read-only' ? [] : [['journal_mode', 'WAL', file === ':memory:' ? 'memory' : 'wal']]
  return [
    ...journal,
    ['synchronous', 'FULL', 2],
    ['foreign_keys', 'ON', 1],
    ['recursive_triggers', 'ON', 1],
    ['trusted_schema', 'OFF', 0],
    ['busy_timeout', BUSY_MS, BUSY_MS],
  ]
}

/** Opens `file` (or ':memory:'). Read-only never creates or changes anything, and works beside a running service. */
export function connect(file: string, access: Access = 'write'): Connection {
  const readOnly = access === 'read-only'
  const raw = new Database(file, { readonly: readOnly, fileMustExist: readOnly, timeout: BUSY_MS })
  try {
    for (const [name, value] of settings(file, access)) raw.pragma(`${name} = ${String(value)}`)
    assertSettings(raw, file, access)
  } catch (error) {
    raw.close()
    if (error instanceof Error && 'code' in error && error.code === 'SQLITE_NOTADB') throw new StoreError('not-a-database', `${file} is not a database of this program.`)
    throw error
  }
  return { raw, orm: drizzle(raw), parsed: new Parsed() }
}

/** Throws unless every setting reads back as asked for on this very connection. */
export function assertSettings(raw: Database.Database, file: string, access: Access = 'write'): void {
  for (const [name, , expected] of settings(file, access)) {
    const found: unknown = raw.pragma(name, { simple: true })
    if (found !== expected) throw new StoreError('pragma-not-set', `The database setting ${name} is ${String(found)} and must be ${String(expected)}: the file system may not support it.`)
  }
}
