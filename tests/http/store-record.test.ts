/**
 * The tables of record are append-only. They are found from the schema: every table that is not derived from the
 * ledger and not a login, secret or note. So a new table cannot be forgotten.
 */
import type Database from 'better-sqlite3'
import { getTableConfig } from 'drizzle-orm/sqlite-core'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { connect } from '../../server/store/connection.ts'
import { openStore } from '../../server/store/open.ts'
import { OUTSIDE } from '../../server/store/tables-outside.ts'
import { DERIVED } from '../../server/store/tables.ts'
import { anEvent, aReading, aSmallWard, NOW, NURSE, STAY, WARD } from '../support/makers.ts'

/** Facts about the file, and the health check's own row. */
const SMALL = ['note', 'probe']

let folder: string
let file: string
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-record-'))
  file = join(folder, 'ward.sqlite')
  const store = openStore({ file })
  store.transact(() => {
    store.append([...aSmallWard(), anEvent('reading-recorded', { reading: aReading() })])
    store.logAccess(
      [1, 2].map((number) => ({
        atMs: NOW + number,
        staffId: NURSE,
        stayId: STAY,
        wardId: WARD,
        page: '/stays/:stayId',
        requestId: `r${String(number)}`,
      })),
    )
    return null
  })
  store.close()
})
afterAll(() => {
  rmSync(folder, { recursive: true })
})

type Column = { readonly name: string; readonly pk: number; readonly type: string }
const columnsOf = (db: Database.Database, table: string): readonly Column[] =>
  db.pragma(`table_info(${table})`) as Column[]

function recordTables(db: Database.Database): readonly string[] {
  const known = [...[...DERIVED, ...OUTSIDE].map((table) => getTableConfig(table).name), ...SMALL]
  return db
    .prepare<[], { name: string }>(
      "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%' ORDER BY name",
    )
    .all()
    .map(({ name }) => name)
    .filter((name) => !known.includes(name))
}

/** Runs in a transaction that is rolled back, on a connection set up as the service's. */
function trial(work: (db: Database.Database) => void): void {
  const { raw } = connect(file)
  try {
    raw.exec('BEGIN')
    work(raw)
  } finally {
    raw.close()
  }
}

describe('a table of record', () => {
  it('is the ledger or the access log, and each has rows in this test', () => {
    trial((db) => {
      expect(recordTables(db)).toEqual(['access_log', 'ledger'])
      for (const table of recordTables(db))
        expect(db.prepare(`SELECT count(*) AS count FROM ${table}`).get(), table).not.toEqual({ count: 0 })
    })
  })

  it('refuses an update of every column of every row, also to the same value', () => {
    trial((db) => {
      for (const table of recordTables(db)) {
        for (const { name } of columnsOf(db, table)) {
          expect(() => {
            db.exec(`UPDATE ${table} SET ${name} = ${name}`)
          }, `${table}.${name}`).toThrow(/never changed/)
          expect(() => {
            db.exec(`UPDATE OR IGNORE ${table} SET ${name} = ${name}`)
          }, `${table}.${name}`).toThrow(/never changed/)
        }
      }
    })
  })

  it('refuses a delete of one row and of all', () => {
    trial((db) => {
      for (const table of recordTables(db)) {
        const [key] = columnsOf(db, table).filter(({ pk }) => pk === 1)
        expect(() => {
          db.exec(`DELETE FROM ${table}`)
        }, table).toThrow(/never deleted/)
        expect(() => {
          db.exec(`DELETE FROM ${table} WHERE ${key?.name ?? ''} = (SELECT max(${key?.name ?? ''}) FROM ${table})`)
        }, table).toThrow(/never deleted/)
      }
    })
  })

  it('refuses a replacement row, by REPLACE and by an upsert', () => {
    trial((db) => {
      for (const table of recordTables(db)) {
        const names = columnsOf(db, table).map(({ name }) => name)
        const [key = ''] = columnsOf(db, table)
          .filter(({ pk }) => pk === 1)
          .map(({ name }) => name)
        const before = db.prepare(`SELECT * FROM ${table}`).all()
        for (const statement of [
          `INSERT OR REPLACE INTO ${table} SELECT * FROM ${table} WHERE ${key} = 1`,
          `REPLACE INTO ${table} SELECT * FROM ${table}`,
          `INSERT INTO ${table} SELECT * FROM ${table} WHERE ${key} = 1 ON CONFLICT (${key}) DO UPDATE SET ${names.at(-1) ?? ''} = excluded.${names.at(-1) ?? ''}`,
        ])
          expect(() => {
            db.exec(statement)
          }, statement).toThrow()
        expect(db.prepare(`SELECT * FROM ${table}`).all()).toEqual(before)
      }
    })
  })

  it('keeps its triggers in the file, and the newest schema has each of them', () => {
    trial((db) => {
      const triggers = db
        .prepare<[], { tbl_name: string; sql: string }>(
          "SELECT tbl_name, sql FROM sqlite_schema WHERE type = 'trigger'",
        )
        .all()
      for (const table of recordTables(db)) {
        for (const what of ['BEFORE UPDATE ON', 'BEFORE DELETE ON', 'BEFORE INSERT ON'])
          expect(
            triggers.filter(({ tbl_name, sql }) => tbl_name === table && sql.includes(`${what} ${table}`)),
            `${what} ${table}`,
          ).toHaveLength(1)
      }
    })
  })
})
