/** Fills the derived tables anew from the ledger when a migration asked for it: it added a table or a column that older events fill. */
import { getTableConfig } from 'drizzle-orm/sqlite-core'
import { rebuilderOf } from './apply.ts'
import type { Connection } from './connection.ts'
import { eventOf, type Ledger } from './ledger.ts'
import { REBUILD_NOTE, isRebuildAsked } from './migrate.ts'
import { DERIVED } from './tables.ts'

/** So many rows of the ledger are read at once. */
const PAGE = 1000

/**
 * Empties every derived table and applies the whole ledger again, in one transaction; nothing happens unless a migration
 * asked. Logins, PINs and logs stay as they are. Throws, and leaves all as it was, when the ledger cannot be applied.
 */
export function rebuildIfAsked(connection: Connection, ledger: Ledger): void {
  const { raw } = connection
  if (!isRebuildAsked(raw)) return
  raw
    .transaction(() => {
      // another process may have been first
      if (!isRebuildAsked(raw)) return
      // people are gone for a moment, and their PINs stay: the references must hold at the end only
      raw.pragma('defer_foreign_keys = ON')
      for (const table of DERIVED) raw.exec(`DELETE FROM "${getTableConfig(table).name}"`)
      const apply = rebuilderOf(connection)
      for (let rows = ledger.after(0, PAGE), last = 0; rows.length > 0; rows = ledger.after(last, PAGE)) {
        for (const row of rows) {
          apply(eventOf(row))
          last = row.seq
        }
      }
      raw.prepare('DELETE FROM note WHERE name = ?').run(REBUILD_NOTE)
    })
    .immediate()
}
