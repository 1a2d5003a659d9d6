/**
 * The rows that one action wrote, found by comparing the tables before and after, so that it works after schema
 * changes.
 */
import Database from 'better-sqlite3'

type Row = Readonly<Record<string, string | number | null>>
export type RowChange =
  | {
      readonly kind: 'insert'
      readonly table: string
      readonly row: Row
      /** columns with unique values */ readonly unique: readonly string[]
    }
  | {
      readonly kind: 'update'
      readonly table: string
      readonly row: Row
      /** its earlier values */ readonly earlier: Row
      readonly key: readonly string[]
    }

type Snapshot = ReadonlyMap<string, ReadonlyMap<string, Row>>

/** Every row of every table, by primary key. */
export function snapshot(databaseFile: string): Snapshot {
  const db = new Database(databaseFile, { readonly: true })
  const tables = db
    .prepare("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")
    .all() as { name: string }[]
  const found = new Map(
    tables.map(({ name }) => {
      const key = keyOf(db, name)
      const rows = db.prepare(`SELECT * FROM "${name}"`).all() as Row[]
      return [name, new Map(rows.map((row) => [JSON.stringify(key.map((column) => row[column])), plain(row)]))] as const
    }),
  )
  db.close()
  return found
}

/** What was inserted or updated between two snapshots. */
export function changesBetween(databaseFile: string, before: Snapshot, after: Snapshot): readonly RowChange[] {
  const db = new Database(databaseFile, { readonly: true })
  const changes: RowChange[] = []
  for (const [table, rows] of after) {
    for (const [key, row] of rows) {
      const earlier = before.get(table)?.get(key)
      if (earlier === undefined) changes.push({ kind: 'insert', table, row, unique: uniqueColumns(db, table) })
      else if (JSON.stringify(earlier) !== JSON.stringify(row))
        changes.push({ kind: 'update', table, row, earlier, key: keyOf(db, table) })
    }
  }
  db.close()
  return changes
}

/** A consistent copy of a database in use by another process. */
export function copyDatabase(from: string, to: string): void {
  const db = new Database(from, { readonly: true })
  db.prepare('VACUUM INTO ?').run(to)
  db.close()
}

function plain(row: Row): Row {
  return Object.fromEntries(
    Object.entries(row).map(([column, value]) => [column, Buffer.isBuffer(value) ? value.toString('hex') : value]),
  )
}

function keyOf(db: Database.Database, table: string): readonly string[] {
  const columns = db.prepare(`SELECT name FROM pragma_table_info('${table}') WHERE pk > 0 ORDER BY pk`).all() as {
    name: string
  }[]
  if (columns.length > 0) return columns.map(({ name }) => name)
  return (db.prepare(`SELECT name FROM pragma_table_info('${table}')`).all() as { name: string }[]).map(
    ({ name }) => name,
  )
}

function uniqueColumns(db: Database.Database, table: string): readonly string[] {
  const indexed = db
    .prepare(
      `SELECT info.name FROM pragma_index_list('${table}') AS list, pragma_index_info(list.name) AS info WHERE list."unique" = 1`,
    )
    .all() as { name: string }[]
  return [...new Set([...keyOf(db, table), ...indexed.map(({ name }) => name)])]
}
