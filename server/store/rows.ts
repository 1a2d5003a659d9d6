/** One table by its primary key: the four statements that applying events needs, prepared once when a database opens. */
import { and, eq, sql, type InferSelectModel } from 'drizzle-orm'
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

/** The primary key's columns of a table, in their order. */
export function keyOf(table: SQLiteTable): readonly SQLiteColumn[] {
  const { columns, primaryKeys } = getTableConfig(table)
  return primaryKeys[0]?.columns ?? columns.filter((column) => column.primary)
}

/** Prepares the statements of one table. */
export function rowsOf<T extends SQLiteTable>({ orm }: Connection, table: T): Rows<T> {
  const { columns, name } = getTableConfig(table)
  const key = keyOf(table)
  const slots = Object.fromEntries(columns.map((column) => [column.name, sql`${sql.placeholder(column.name)}`]))
  const others = Object.fromEntries(columns.filter((column: SQLiteColumn) => !key.includes(column)).map((column) => [column.name, sql.raw(`excluded.${column.name}`)]))
  const thatRow = and(...key.map((column, index) => eq(column, sql.placeholder(`key${String(index)}`))))
  const select = orm.select().from(table).where(thatRow).prepare()
  const values = slots as never
  const insert = orm.insert(table).values(values).prepare()
  const put = orm.insert(table).values(values).onConflictDoUpdate({ target: [...key], set: others as never }).prepare()
  const remove = orm.delete(table).where(thatRow).prepare()
  // encoded here and not by drizzle, whose placeholders would turn a null into a false
  const encoded = (row: InferSelectModel<T>): Record<string, unknown> => {
    const values = row as Record<string, unknown>
    return Object.fromEntries(columns.map((column) => {
      const value = values[column.name]
      return [column.name, value === null ? null : column.mapToDriverValue(value)]
    }))
  }
  const named = (given: readonly (string | number)[]): Record<string, unknown> => Object.fromEntries(given.map((value, index) => [`key${String(index)}`, value]))
  const get = (...given: readonly (string | number)[]): InferSelectModel<T> | undefined => select.get(named(given))
  return {
    get,
    need: (...given) => {
      const row = get(...given)
      if (row === undefined) throw new Error(`no row ${given.join(', ')} in ${name}`)
      return row
    },
    insert: (row) => { insert.run(encoded(row)) },
    put: (row) => { put.run(encoded(row)) },
    remove: (...given) => { remove.run(named(given)) },
  }
}
