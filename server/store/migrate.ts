/** Forward-only migrations: numbered SQL files against `PRAGMA user_version`, all that are owed in one transaction. */
import type Database from 'better-sqlite3'
import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { packageRoot } from '../paths.ts'
import { StoreError } from './errors.ts'

const FOLDER = join(packageRoot, 'migrations')

/** The note by which a migration asks that the derived tables be filled anew from the ledger (rebuild.ts). */
export const REBUILD_NOTE = 'rebuild'

/** True when a migration asked for it and it was not done yet. The schema must be this program's. */
export function isRebuildAsked(db: Database.Database): boolean {
  return (
    db
      .prepare<[string], { found: number }>('SELECT EXISTS (SELECT 1 FROM note WHERE name = ?) AS found')
      .get(REBUILD_NOTE)?.found === 1
  )
}

let read: readonly string[] | undefined

/** The migrations' SQL in order; the first one takes a database from version 0 to 1. A process reads them once. */
function migrations(): readonly string[] {
  read ??= readMigrations()
  return read
}

function readMigrations(): readonly string[] {
  const names = existsSync(FOLDER)
    ? readdirSync(FOLDER)
        .filter((name) => /^\d{4}_.+\.sql$/.test(name))
        .sort()
    : []
  // one that is missing would shift all later ones
  if (names.length === 0 || names.some((name, index) => Number(name.slice(0, 4)) !== index + 1)) {
    throw new StoreError(
      'migrations-missing',
      `The program's own folder ${FOLDER} is missing or not whole. Install the program again; the database was not touched.`,
    )
  }
  return names.map((name) => readFileSync(join(FOLDER, name), 'utf8'))
}

/** The schema version that this program writes. */
export function knownSchema(): number {
  return migrations().length
}

/** The schema version of a database. */
export function schemaVersion(db: Database.Database): number {
  const version: unknown = db.pragma('user_version', { simple: true })
  if (typeof version !== 'number')
    throw new StoreError('damaged-schema', 'The database does not tell its schema version.')
  return version
}

/** Throws, in a sentence, when a newer program wrote this database: an older one must not touch it. */
export function refuseNewerSchema(db: Database.Database): void {
  const known = knownSchema()
  const found = schemaVersion(db)
  if (found > known) {
    throw new StoreError(
      'newer-schema',
      `This database was written by a newer version of the program (its schema is ${String(found)}, this program knows ${String(known)}). Start the newer program, or restore a backup made before the upgrade.`,
    )
  }
}

/** Throws, in a sentence, unless the schema is exactly this program's: for a command that only reads. */
export function needThisSchema(db: Database.Database): void {
  refuseNewerSchema(db)
  if (schemaVersion(db) < migrations().length || isRebuildAsked(db))
    throw new StoreError(
      'older-schema',
      'This database was written by an older version of the program. Start the service once, so that it brings the schema up to date.',
    )
}

/** Brings the schema up to this program's version, all of it or nothing. */
export function migrate(db: Database.Database): void {
  refuseNewerSchema(db)
  db.transaction(() => {
    for (const [index, sql] of migrations().entries()) {
      if (schemaVersion(db) > index) continue
      db.exec(sql)
      db.pragma(`user_version = ${String(index + 1)}`)
    }
  }).immediate()
}
