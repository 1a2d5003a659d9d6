/**
 * The derived tables as drizzle sees them. migrations/ is what makes them; a test compares
 * the two column by column. Column names in the database are the property names in snake case.
 */
import { integer, primaryKey, sqliteTable, text } from 'drizzle-orm/sqlite-core'
import type { EntryKind, StayEntry } from '../../shared/care/entries.ts'
import type { CheckPlan, ExcuseReason, Meal, MissedReason } from '../../shared/check/check.ts'
import type { Direction, Dose, DoseKind, OutsideDose } from '../../shared/dose/dose.ts'
import type { GlucoseUnit, OutOfRange } from '../../shared/glucose/value.ts'
import type { Role } from '../../shared/ledger/events.ts'
import type { CriticalCall } from '../../shared/critical/call.ts'
import type { LowCharted, LowTreatment, SymptomsTreated } from '../../shared/low/low.ts'
import type { InsulinName, InsulinOrder } from '../../shared/order/order.ts'
import type { StoredPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { BedsideFacts } from '../../shared/stay/stay.ts'
import type { OpenItemKind, StripLot } from './contract.ts'
import {
  comparison,
  control,
  meter_control,
  facts_version,
  feed_interruption,
  order_verification,
  policy_change,
  standard_order,
} from './tables-setup.ts'
import { audit_note, near_miss, need_handed } from './tables-audit.ts'

type Share = 0 | 25 | 50 | 75 | 100

const yesNo = () => integer({ mode: 'boolean' })
/** JSON as a column: read back as the value, never as text. */
const json = <T>() => text({ mode: 'json' }).$type<T>()

export const ward = sqliteTable('ward', {
  ward_id: text().primaryKey().notNull(),
  name: text().notNull(),
  beds: json<readonly string[]>().notNull(),
  data_version: integer().notNull(),
})

export const policy_version = sqliteTable(
  'policy_version',
  {
    ward_id: text().notNull(),
    version: integer().notNull(),
    from_ms: integer().notNull(),
    policy: json<StoredPolicy>().notNull(),
    set_by: text().notNull(),
    charted_at_ms: integer().notNull(),
    change_id: text(),
    note: text().notNull(),
  },
  (table) => [primaryKey({ columns: [table.ward_id, table.version] })],
)

export const staff = sqliteTable('staff', {
  staff_id: text().primaryKey().notNull(),
  badge: text().notNull(),
  name: text().notNull(),
  role: text().$type<Role>().notNull(),
  ward_ids: json<readonly string[]>().notNull(),
  locked_reason: text(),
  locked_at_ms: integer(),
  left_at_ms: integer(),
  training_until: text(),
})

export const beds_taken = sqliteTable(
  'beds_taken',
  {
    ward_id: text().notNull(),
    staff_id: text().notNull(),
    beds: json<readonly string[]>().notNull(),
    at_ms: integer().notNull(),
  },
  (table) => [primaryKey({ columns: [table.ward_id, table.staff_id] })],
)

export const meter = sqliteTable('meter', {
  meter_id: text().primaryKey().notNull(),
  serial: text().notNull(),
  ward_id: text().notNull(),
  unit: text().$type<GlucoseUnit>().notNull(),
  control_passed: yesNo(),
  control_at_ms: integer(),
  retired_reason: text(),
  retired_at_ms: integer(),
})

export const strip_lot = sqliteTable(
  'strip_lot',
  {
    ward_id: text().notNull(),
    lot: text().notNull(),
    expires_on: text().notNull(),
    ranges: json<NonNullable<StripLot['ranges']>>(),
  },
  (table) => [primaryKey({ columns: [table.ward_id, table.lot] })],
)

export const stay = sqliteTable('stay', {
  stay_id: text().primaryKey().notNull(),
  ward_id: text().notNull(),
  bed: text().notNull(),
  wristband: text().notNull(),
  family_name: text().notNull(),
  given_name: text().notNull(),
  born_on: text().notNull(),
  admitted_at_ms: integer().notNull(),
  discharged_at_ms: integer(),
  on_ward_since_ms: integer().notNull(),
  facts: json<BedsideFacts>().notNull(),
  previous_stay_id: text(),
})

export const stay_bed = sqliteTable(
  'stay_bed',
  {
    stay_id: text().notNull(),
    number: integer().notNull(),
    ward_id: text().notNull(),
    bed: text().notNull(),
    from_ms: integer().notNull(),
    to_ms: integer(),
  },
  (table) => [primaryKey({ columns: [table.stay_id, table.number] })],
)

export const plan_version = sqliteTable(
  'plan_version',
  {
    stay_id: text().notNull(),
    version: integer().notNull(),
    plan: json<CheckPlan>().notNull(),
    from_ms: integer().notNull(),
    until_ms: integer(),
    overlay: yesNo().notNull(),
  },
  (table) => [primaryKey({ columns: [table.stay_id, table.version] })],
)

export const order_version = sqliteTable(
  'order_version',
  {
    order_id: text().notNull(),
    version: integer().notNull(),
    stay_id: text().notNull(),
    insulin_order: json<InsulinOrder>().notNull(),
    written_at_ms: integer().notNull(),
    transcribed_by: text().notNull(),
    verified_by: text(),
    verified_at_ms: integer(),
    stops_at_ms: integer(),
    ended_at_ms: integer(),
  },
  (table) => [primaryKey({ columns: [table.order_id, table.version] })],
)

export const tray_delay = sqliteTable(
  'tray_delay',
  {
    ward_id: text().notNull(),
    date: text().notNull(),
    meal: text().$type<Meal>().notNull(),
    minutes: integer().notNull(),
  },
  (table) => [primaryKey({ columns: [table.ward_id, table.date, table.meal] })],
)

export const tray = sqliteTable(
  'tray',
  {
    stay_id: text().notNull(),
    date: text().notNull(),
    meal: text().$type<Meal>().notNull(),
    served_at_ms: integer(),
    share_eaten_percent: integer().$type<Share>(),
  },
  (table) => [primaryKey({ columns: [table.stay_id, table.date, table.meal] })],
)

export const reading = sqliteTable('reading', {
  reading_id: text().primaryKey().notNull(),
  stay_id: text().notNull(),
  ward_id: text().notNull(),
  ward_date: text().notNull(),
  check_key: text(),
  taken_at_ms: integer().notNull(),
  charted_at_ms: integer().notNull(),
  unit: text().$type<GlucoseUnit>().notNull(),
  value: integer(),
  out_of_range: text().$type<OutOfRange>(),
  effective: yesNo().notNull(),
  fact: json<Reading>().notNull(),
  meter_id: text(),
  strip_lot: text(),
})

export const check_outcome = sqliteTable('check_outcome', {
  check_key: text().primaryKey().notNull(),
  stay_id: text().notNull(),
  kind: text().$type<'done' | 'excused'>().notNull(),
  reading_id: text(),
  at_ms: integer().notNull(),
  reason: text().$type<ExcuseReason | MissedReason>(),
  note: text(),
  by_id: text(),
})

export const patient_day = sqliteTable(
  'patient_day',
  {
    stay_id: text().notNull(),
    ward_id: text().notNull(),
    ward_date: text().notNull(),
    unit: text().$type<GlucoseUnit>().notNull(),
    readings: integer().notNull(),
    numeric: integer().notNull(),
    sum: integer().notNull(),
    sum_of_squares: integer().notNull(),
    least: integer(),
    most: integer(),
    below_54: integer().notNull(),
    below_70: integer().notNull(),
    in_70_to_180: integer().notNull(),
    above_180: integer().notNull(),
    above_250: integer().notNull(),
    above_300: integer().notNull(),
    lo: integer().notNull(),
    hi: integer().notNull(),
    low_risk: integer().notNull(),
    high_risk: integer().notNull(),
    shared: integer({ mode: 'boolean' }).notNull(),
  },
  (table) => [primaryKey({ columns: [table.stay_id, table.ward_date, table.ward_id] })],
)

/** Sums of the patient-days of one ward and date; those of the days leave out what is shared with another ward. */
export const ward_day = sqliteTable(
  'ward_day',
  {
    ward_id: text().notNull(),
    ward_date: text().notNull(),
    unit: text().$type<GlucoseUnit>().notNull(),
    readings: integer().notNull(),
    numeric: integer().notNull(),
    sum: integer().notNull(),
    sum_of_squares: integer().notNull(),
    below_54: integer().notNull(),
    below_70: integer().notNull(),
    in_70_to_180: integer().notNull(),
    above_180: integer().notNull(),
    above_250: integer().notNull(),
    above_300: integer().notNull(),
    lo: integer().notNull(),
    hi: integer().notNull(),
    low_risk: integer().notNull(),
    high_risk: integer().notNull(),
    days: integer().notNull(),
    days_numeric: integer().notNull(),
    day_means: integer().notNull(),
    days_below_54: integer().notNull(),
    days_below_70: integer().notNull(),
    days_in_70_to_180: integer().notNull(),
    days_above_180: integer().notNull(),
    days_above_250: integer().notNull(),
    days_above_300: integer().notNull(),
  },
  (table) => [primaryKey({ columns: [table.ward_id, table.ward_date, table.unit] })],
)

export const dose = sqliteTable('dose', {
  dose_id: text().primaryKey().notNull(),
  stay_id: text().notNull(),
  ward_id: text().notNull(),
  kind: text().$type<DoseKind>().notNull(),
  reading_id: text(),
  slot_key: text(),
  order_id: text().notNull(),
  insulin: text().$type<InsulinName>().notNull(),
  proposed_at_ms: integer().notNull(),
  elsewhere_asked: yesNo().notNull(),
  open: yesNo().notNull(),
  awaiting: yesNo().notNull(),
  given_at_ms: integer(),
  fact: json<Dose>().notNull(),
})

export const outside_dose = sqliteTable('outside_dose', {
  outside_dose_id: text().primaryKey().notNull(),
  stay_id: text().notNull(),
  insulin: text().$type<InsulinName>().notNull(),
  given_at_ms: integer().notNull(),
  charted_at_ms: integer().notNull(),
  fact: json<OutsideDose>().notNull(),
})

export const direction = sqliteTable('direction', {
  direction_id: text().primaryKey().notNull(),
  stay_id: text().notNull(),
  at_ms: integer().notNull(),
  fact: json<Direction>().notNull(),
})

export const low_event = sqliteTable('low_event', {
  low_id: text().primaryKey().notNull(),
  stay_id: text().notNull(),
  ward_id: text().notNull(),
  opened_by_reading_id: text().notNull(),
  opened_at_ms: integer().notNull(),
  treatments: json<readonly LowTreatment[]>().notNull(),
  closed_at_ms: integer(),
  previous_low_id: text(),
  charted: json<LowCharted>().notNull(),
  previous_closed_at_ms: integer(),
})

export const critical_call = sqliteTable(
  'critical_call',
  {
    reading_id: text().notNull(),
    at_ms: integer().notNull(),
    stay_id: text().notNull(),
    fact: json<CriticalCall>().notNull(),
  },
  (table) => [primaryKey({ columns: [table.reading_id, table.at_ms] })],
)

export const symptoms = sqliteTable('symptoms', {
  symptoms_id: text().primaryKey().notNull(),
  stay_id: text().notNull(),
  at_ms: integer().notNull(),
  fact: json<SymptomsTreated>().notNull(),
})

export const stay_entry = sqliteTable('stay_entry', {
  entry_id: text().primaryKey().notNull(),
  stay_id: text().notNull(),
  kind: text().$type<EntryKind>().notNull(),
  at_ms: integer().notNull(),
  fact: json<StayEntry>().notNull(),
})

export const open_item = sqliteTable('open_item', {
  item_id: text().primaryKey().notNull(),
  kind: text().$type<OpenItemKind>().notNull(),
  ward_id: text().notNull(),
  stay_id: text().notNull(),
  since_ms: integer().notNull(),
  subject_id: text().notNull(),
  detail: text().notNull(),
})

/** Every table that apply.ts derives from the ledger: what a rebuild must equal, row by row. */
export const DERIVED = [
  ward,
  policy_version,
  staff,
  beds_taken,
  meter,
  strip_lot,
  stay,
  stay_bed,
  plan_version,
  order_version,
  tray_delay,
  tray,
  reading,
  check_outcome,
  patient_day,
  ward_day,
  dose,
  outside_dose,
  direction,
  low_event,
  critical_call,
  symptoms,
  stay_entry,
  open_item,
  policy_change,
  standard_order,
  order_verification,
  control,
  meter_control,
  comparison,
  facts_version,
  feed_interruption,
  near_miss,
  audit_note,
  need_handed,
] as const
