/** The derived tables of the ward board and the audit, as drizzle sees them. */
import { integer, primaryKey, sqliteTable, text } from 'drizzle-orm/sqlite-core'
import type { NearMissKind } from './contract.ts'

export const near_miss = sqliteTable(
  'near_miss',
  {
    ward_id: text().notNull(),
    number: integer().notNull(),
    kind: text().$type<NearMissKind>().notNull(),
    stay_id: text(),
    subject_id: text(),
    by_id: text().notNull(),
    at_ms: integer().notNull(),
    details: text({ mode: 'json' }).$type<Readonly<Record<string, string>>>().notNull(),
  },
  (table) => [primaryKey({ columns: [table.ward_id, table.number] })],
)

export const audit_note = sqliteTable('audit_note', {
  note_id: text().primaryKey().notNull(),
  low_id: text().notNull(),
  finding: text().notNull(),
  follow_up: text().notNull(),
  by_id: text().notNull(),
  at_ms: integer().notNull(),
})

export const need_handed = sqliteTable('need_handed', {
  need_key: text().primaryKey().notNull(),
  ward_id: text().notNull(),
  to_staff_id: text().notNull(),
  by_id: text().notNull(),
  at_ms: integer().notNull(),
})
