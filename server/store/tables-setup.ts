/** The derived tables of what a ward sets up, as drizzle sees them. */
import { integer, primaryKey, sqliteTable, text } from 'drizzle-orm/sqlite-core'
import type { Comparison, ControlMeasurement } from '../../shared/meter/meter.ts'
import type { InsulinOrder } from '../../shared/order/order.ts'
import type { VerificationAnswer } from '../../shared/order/verification.ts'
import type { StoredPolicy } from '../../shared/policy/ward-policy.ts'
import type { BedsideFacts } from '../../shared/stay/stay.ts'

export const policy_change = sqliteTable('policy_change', {
  change_id: text().primaryKey().notNull(),
  ward_id: text().notNull(),
  based_on: integer().notNull(),
  policy: text({ mode: 'json' }).$type<StoredPolicy>().notNull(),
  from_ms: integer().notNull(),
  note: text().notNull(),
  written_by: text().notNull(),
  written_at_ms: integer().notNull(),
  outcome: text().$type<'approved' | 'refused'>(),
  outcome_by: text(),
  outcome_at_ms: integer(),
  outcome_reason: text(),
})

export const standard_order = sqliteTable(
  'standard_order',
  {
    standard_order_id: text().notNull(),
    version: integer().notNull(),
    ward_id: text().notNull(),
    name: text().notNull(),
    insulin_order: text({ mode: 'json' }).$type<InsulinOrder>().notNull(),
    written_by: text().notNull(),
    written_at_ms: integer().notNull(),
    approved_by: text(),
    approved_at_ms: integer(),
    ended_at_ms: integer(),
  },
  (table) => [primaryKey({ columns: [table.standard_order_id, table.version] })],
)

export const order_verification = sqliteTable(
  'order_verification',
  {
    order_id: text().notNull(),
    version: integer().notNull(),
    number: integer().notNull(),
    answers: text({ mode: 'json' }).$type<readonly VerificationAnswer[]>().notNull(),
    agreed: integer({ mode: 'boolean' }).notNull(),
    by_id: text().notNull(),
    at_ms: integer().notNull(),
  },
  (table) => [primaryKey({ columns: [table.order_id, table.version, table.number] })],
)

export const control = sqliteTable(
  'control',
  {
    meter_id: text().notNull(),
    number: integer().notNull(),
    at_ms: integer().notNull(),
    fact: text({ mode: 'json' }).$type<ControlMeasurement>().notNull(),
  },
  (table) => [primaryKey({ columns: [table.meter_id, table.number] })],
)

/** One row for each control with both levels judged; "number" counts those of a meter at one instant. */
export const meter_control = sqliteTable(
  'meter_control',
  {
    meter_id: text().notNull(),
    at_ms: integer().notNull(),
    number: integer().notNull(),
    passed: integer({ mode: 'boolean' }).notNull(),
  },
  (table) => [primaryKey({ columns: [table.meter_id, table.at_ms, table.number] })],
)

export const comparison = sqliteTable('comparison', {
  comparison_id: text().primaryKey().notNull(),
  meter_id: text().notNull(),
  at_ms: integer().notNull(),
  fact: text({ mode: 'json' }).$type<Comparison>().notNull(),
})

export const facts_version = sqliteTable(
  'facts_version',
  {
    stay_id: text().notNull(),
    number: integer().notNull(),
    facts: text({ mode: 'json' }).$type<BedsideFacts>().notNull(),
    at_ms: integer().notNull(),
    by_id: text().notNull(),
  },
  (table) => [primaryKey({ columns: [table.stay_id, table.number] })],
)

export const feed_interruption = sqliteTable('feed_interruption', {
  interruption_id: text().primaryKey().notNull(),
  stay_id: text().notNull(),
  reason: text().notNull(),
  from_ms: integer().notNull(),
  until_ms: integer(),
  by_id: text().notNull(),
})
