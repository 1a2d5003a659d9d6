/** The tables outside the ledger as drizzle sees them: secrets, logins, one-time keys, drafts. */
import { blob, integer, real, sqliteTable, text } from 'drizzle-orm/sqlite-core'

export const pin_credential = sqliteTable('pin_credential', {
  staff_id: text().primaryKey().notNull(),
  pin_hash: text().notNull(),
})

export const session = sqliteTable('session', {
  token_hash: text().primaryKey().notNull(),
  staff_id: text().notNull(),
  ward_id: text(),
  meter_id: text(),
  started_mono_ms: real().notNull(),
  last_seen_mono_ms: real().notNull(),
})

export const secret = sqliteTable('secret', {
  purpose: text().primaryKey().notNull(),
  value: blob({ mode: 'buffer' }).notNull(),
})

export const one_time_key = sqliteTable('one_time_key', {
  nonce: text().primaryKey().notNull(),
  staff_id: text().notNull(),
  form: text().notNull(),
  body_hash: text().notNull(),
  status: integer().notNull(),
  location: text().notNull(),
  at_ms: integer().notNull(),
})

export const draft = sqliteTable('draft', {
  draft_id: text().primaryKey().notNull(),
  staff_id: text().notNull(),
  path: text().notNull(),
  fields: text({ mode: 'json' }).$type<Readonly<Record<string, string>>>().notNull(),
  at_ms: integer().notNull(),
})

export const pin_code = sqliteTable('pin_code', {
  staff_id: text().primaryKey().notNull(),
  code_hash: text().notNull(),
  expires_at_ms: integer().notNull(),
})

/** Every table that is no fact of the ledger. */
export const OUTSIDE = [pin_credential, session, secret, one_time_key, draft, pin_code] as const
