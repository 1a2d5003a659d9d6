/** One table by its primary key, and lists of its rows: statements prepared once when a database opens. */
import type { InferSelectModel } from 'drizzle-orm'
import { getTableConfig, type SQLiteColumn, type SQLiteTable } from 'drizzle-orm/sqlite-core'
import type { Connection } from './connection.ts'

export type Rows<T extends SQLiteTable> = {
  /** The row with this key, in the order of the key's columns. */
  readonly get: (...key: readonly (string | number)[]) => InferSelectModel<T> | undefined
  /** The row with this key; an event about a row that is not there is broken code. */
  readonly need: (...key: readonly (string | number)[]) => InferSelectModel<T>
  /** A new row: throws when the key or a unique index is taken. Every column is named. */
  readonly insert: (row: InferSelectModel<T>) => void
  /** A row that takes the place of the one with its key, if any. */
  readonly put: (row: InferSelectModel<T>) => void
  readonly remove: (...key: readonly (string | number)[]) => void
}

/** A column's value as the database hands it over, turned into the row's own. Most columns need nothing. */
type Decode = ((value: unknown) => unknown) | null

function decoderOf(column: SQLiteColumn): Decode {
  if (column.dataType === 'json') return (value) => (value === null ? null : (JSON.parse(value as string) as unknown))
  if (column.dataType === 'boolean') return (value) => (value === null ? null : value === 1)
  return null
}

/**
 * Prepares a list of a table's rows. `tail` begins with FROM, names the table `t`, and has named parameters. Same rows
 * as the query builder gives; it decodes a row by its columns' kinds, worked out once, where the builder asks each
 * value anew.
 */
export function listOf<T extends SQLiteTable, P extends object>(
  { raw }: Connection,
  table: T,
  tail: string,
): (parameters: P) => readonly InferSelectModel<T>[] {
  const { columns } = getTableConfig(table)
  const decoded = decoderOfRow<T>(columns)
  const statement = raw
    .prepare<[P], unknown[]>(`SELECT ${columns.map(({ name }) => `t."${name}"`).join(', ')} ${tail}`)
    .raw()
  return (parameters) => statement.all(parameters).map(decoded)
}

function decoderOfRow<T extends SQLiteTable>(
  columns: readonly SQLiteColumn[],
): (values: readonly unknown[]) => InferSelectModel<T> {
  const parts = columns.map((column) => ({ name: column.name, decode: decoderOf(column) }))
  return (values) => {
    const row: Record<string, unknown> = {}
    parts.forEach(({ name, decode }, index) => {
      row[name] = decode === null ? values[index] : decode(values[index])
    })
    // the table's own columns, each by its own decoder
    return row as InferSelectModel<T>
  }
}

/** Prepares a list of facts: one column of JSON, selected alone. */
export function factsOf<F, P extends object>({ raw }: Connection, select: string): (parameters: P) => readonly F[] {
  const statement = raw.prepare<[P], string>(select).pluck()
  return (parameters) => statement.all(parameters).map((fact) => JSON.parse(fact) as F)
}

/** The primary key's columns of a table, in their order. */
export function keyOf(table: SQLiteTable): readonly SQLiteColumn[] {
  const { columns, primaryKeys } = getTableConfig(table)
  return primaryKeys[0]?.columns ?? columns.filter((column) => column.primary)
}

/** Prepares the statements of one table. Raw ones: these run many times for each event, and the encoding is the columns' own. */
export function rowsOf<T extends SQLiteTable>({ raw }: Connection, table: T): Rows<T> {
  const { columns, name } = getTableConfig(table)
  const key = keyOf(table)
  const names = columns.map((column) => `"${column.name}"`)
  const others = columns
    .filter((column: SQLiteColumn) => !key.includes(column))
    .map((column) => `"${column.name}" = excluded."${column.name}"`)
  const thatRow = key.map((column) => `"${column.name}" = ?`).join(' AND ')
  const insertion = `INSERT INTO "${name}" (${names.join(', ')}) VALUES (${names.map(() => '?').join(', ')})`
  const select = raw.prepare<unknown[], unknown[]>(`SELECT ${names.join(', ')} FROM "${name}" WHERE ${thatRow}`).raw()
  const insert = raw.prepare<unknown[]>(insertion)
  const put = raw.prepare<unknown[]>(
    `${insertion} ON CONFLICT (${key.map((column) => `"${column.name}"`).join(', ')}) DO UPDATE SET ${others.join(', ')}`,
  )
  const remove = raw.prepare<unknown[]>(`DELETE FROM "${name}" WHERE ${thatRow}`)
  const encoded = (row: Readonly<Record<string, unknown>>): unknown[] =>
    columns.map((column) => {
      const value = row[column.name]
      return value === null ? null : column.mapToDriverValue(value)
    })
  const decoded = decoderOfRow<T>(columns)
  const get = (...given: readonly (string | number)[]): InferSelectModel<T> | undefined => {
    const values = select.get(...given)
    return values === undefined ? undefined : decoded(values)
  }
  return {
    get,
    need: (...given) => {
      const row = get(...given)
      if (row === undefined) throw new Error(`no row ${given.join(', ')} in ${name}`)
      return row
    },
    insert: (row) => {
      insert.run(...encoded(row))
    },
    put: (row) => {
      put.run(...encoded(row))
    },
    remove: (...given) => {
      remove.run(...given)
    },
  }
}
