/** Reads about a ward. The facts of a ward are kept until its data version moves, so that a page nobody changed is not loaded again. */
import { and, asc, eq, getTableColumns, isNull, sql } from 'drizzle-orm'
import type { Dose } from '../../shared/dose/dose.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { wardDate } from '../../shared/time/zone.ts'
import type { Connection } from './connection.ts'
import type { Store, WardFacts } from './contract.ts'
import { itemOf, lowOf, meterOf, outcomesByKey, planOf, stayOf, stripLotOf, trayOf, wardOf } from './facts.ts'
import { policyAtOf } from './policy-at.ts'
import { orderReadsOf } from './read-orders.ts'
import { maySee } from './scope.ts'
import {
  beds_taken,
  check_outcome,
  dose,
  low_event,
  meter,
  open_item,
  plan_version,
  staff,
  stay,
  strip_lot,
  tray,
  tray_delay,
  ward,
} from './tables.ts'
import { DAY_MS, HOUR_MS } from '../../shared/time/span.ts'

/** Kept facts serve no longer than this, so that what only the look-back lets in does not pile up. */
const KEEP_MS = HOUR_MS
/** Closed low events that a round still tells of. */
const LOW_LOOK_BACK_MS = 7 * DAY_MS
const SLOT_LOOK_BACK_MS = 3 * DAY_MS

type Reads = Pick<Store, 'wards' | 'wardVersion' | 'wardPolicy' | 'wardFacts' | 'staysOfWard' | 'wardIds'>
type Kept = { readonly facts: WardFacts; readonly loadedForMs: number }

/** The calendar date in UTC, a day early, so that no zone's date of that instant is left out. */
export function dateBefore(atMs: number): string {
  return wardDate(atMs - DAY_MS, 'UTC')
}

export function wardReadsOf(connection: Connection): Reads {
  const { raw, orm } = connection
  const wardId = sql.placeholder('wardId')
  const sinceMs = sql.placeholder('sinceMs')
  const sinceDate = sql.placeholder('sinceDate')
  const present = and(eq(stay.ward_id, wardId), isNull(stay.discharged_at_ms))
  const policyAt = policyAtOf(connection)
  const orders = orderReadsOf(connection)

  const every = orm.select().from(ward).orderBy(asc(ward.name), asc(ward.ward_id)).prepare()
  // asked for each page that is drawn: a nurse's own ward out of a hundred is looked up, not searched for
  const some = orm
    .select()
    .from(ward)
    .where(sql`${ward.ward_id} in (select value from json_each(${sql.placeholder('wardIds')}))`)
    .orderBy(asc(ward.name), asc(ward.ward_id))
    .prepare()
  const one = orm.select().from(ward).where(eq(ward.ward_id, wardId)).prepare()
  const version = raw.prepare<[string], { data_version: number }>('SELECT data_version FROM ward WHERE ward_id = ?')
  const stays = orm.select().from(stay).where(present).orderBy(asc(stay.stay_id)).prepare()
  const plans = orm
    .select(getTableColumns(plan_version))
    .from(stay)
    .innerJoin(plan_version, eq(plan_version.stay_id, stay.stay_id))
    .where(and(present, sql`(${plan_version.until_ms} is null or ${plan_version.until_ms} >= ${sinceMs})`))
    .prepare()
  const outcomes = orm
    .select(getTableColumns(check_outcome))
    .from(stay)
    .innerJoin(check_outcome, eq(check_outcome.stay_id, stay.stay_id))
    .where(and(present, sql`${check_outcome.at_ms} >= ${sinceMs}`))
    .prepare()
  const newest = raw.prepare<[string], { fact: string }>(
    `SELECT r.fact FROM stay s JOIN reading r ON r.reading_id =
       (SELECT n.reading_id FROM reading n WHERE n.stay_id = s.stay_id AND n.effective = 1 ORDER BY n.taken_at_ms DESC, n.charted_at_ms DESC, n.rowid DESC LIMIT 1)
     WHERE s.ward_id = ? AND s.discharged_at_ms IS NULL`,
  )
  const lows = orm
    .select(getTableColumns(low_event))
    .from(stay)
    .innerJoin(low_event, eq(low_event.stay_id, stay.stay_id))
    .where(
      and(
        present,
        sql`(${low_event.closed_at_ms} is null or ${low_event.closed_at_ms} >= ${sql.placeholder('lowSinceMs')})`,
      ),
    )
    .orderBy(asc(low_event.opened_at_ms))
    .prepare()
  // by the item's own ward: what waits for a patient who has left the ward still waits for a person
  const items = orm
    .select()
    .from(open_item)
    .where(eq(open_item.ward_id, sql.placeholder('wardId')))
    .orderBy(asc(open_item.since_ms))
    .prepare()
  const openDoses = orm
    .select({ fact: dose.fact })
    .from(stay)
    .innerJoin(dose, eq(dose.stay_id, stay.stay_id))
    .where(and(present, sql`${dose.open} = 1`))
    .orderBy(asc(dose.proposed_at_ms))
    .prepare()
  const dosesOfNewest = raw.prepare<[string], { fact: string }>(
    'SELECT d.fact FROM json_each(?) r JOIN dose d ON d.reading_id = r.value ORDER BY d.proposed_at_ms, d.rowid',
  )
  const unaccounted = raw.prepare<{ wardId: string; sinceMs: number }, { fact: string }>(
    `SELECT d.fact FROM stay s JOIN dose d ON d.stay_id = s.stay_id
     WHERE s.ward_id = @wardId AND s.discharged_at_ms IS NULL AND d.proposed_at_ms >= @sinceMs AND d.open = 0
       AND json_extract(d.fact, '$.outcome') IS NULL AND json_extract(d.fact, '$.product') IS NOT NULL
     ORDER BY d.proposed_at_ms, d.dose_id`,
  )
  const forLaboratory = raw.prepare<{ wardId: string; sinceMs: number }, { fact: string }>(
    `SELECT r.fact FROM stay s JOIN reading r ON r.stay_id = s.stay_id
     WHERE s.ward_id = @wardId AND s.discharged_at_ms IS NULL AND r.taken_at_ms >= @sinceMs AND r.effective = 1
       AND (r.out_of_range IS NOT NULL OR json_extract(r.fact, '$.source') = 'venous')
     ORDER BY r.taken_at_ms, r.reading_id`,
  )
  const settledSlots = raw.prepare<{ wardId: string; sinceMs: number }, { slot_key: string }>(
    `SELECT d.slot_key FROM stay s JOIN dose d ON d.stay_id = s.stay_id
     WHERE s.ward_id = @wardId AND s.discharged_at_ms IS NULL AND d.proposed_at_ms >= @sinceMs
       AND d.slot_key IS NOT NULL AND d.open = 0 AND json_extract(d.fact, '$.outcome') IS NOT NULL`,
  )
  const trays = orm
    .select(getTableColumns(tray))
    .from(stay)
    .innerJoin(tray, eq(tray.stay_id, stay.stay_id))
    .where(and(present, sql`${tray.date} >= ${sinceDate}`))
    .prepare()
  const delays = orm
    .select()
    .from(tray_delay)
    .where(and(eq(tray_delay.ward_id, wardId), sql`${tray_delay.date} >= ${sinceDate}`))
    .prepare()
  const meters = orm
    .select()
    .from(meter)
    .where(and(eq(meter.ward_id, wardId), isNull(meter.retired_at_ms)))
    .orderBy(asc(meter.serial))
    .prepare()
  const lots = orm.select().from(strip_lot).where(eq(strip_lot.ward_id, wardId)).orderBy(asc(strip_lot.lot)).prepare()
  const taken = orm
    .select({ staffId: staff.staff_id, name: staff.name, beds: beds_taken.beds, atMs: beds_taken.at_ms })
    .from(beds_taken)
    .innerJoin(staff, eq(staff.staff_id, beds_taken.staff_id))
    .where(eq(beds_taken.ward_id, wardId))
    .orderBy(asc(staff.name))
    .prepare()

  const load = (id: string, nowMs: number): WardFacts | undefined => {
    const policy = policyAt(id, nowMs)
    const found = one.get({ wardId: id })
    if (policy === undefined || found === undefined) return undefined
    const from = nowMs - policy.policy.missedLookBackHours * HOUR_MS - DAY_MS
    const about = { wardId: id, sinceMs: from, sinceDate: dateBefore(from) }
    const readings = newest.all(id).map((row) => JSON.parse(row.fact) as Reading)
    return {
      ward: wardOf(found),
      policy,
      trayDelays: delays.all(about).map(({ date, meal, minutes }) => ({ date, meal, minutes })),
      stays: stays.all(about).map(stayOf),
      plans: plans.all(about).map(planOf),
      outcomes: outcomesByKey(outcomes.all(about)),
      lastReadings: new Map(readings.map((reading) => [reading.stayId, reading])),
      orders: orders.ofWard(id, nowMs),
      lows: lows.all({ wardId: id, lowSinceMs: nowMs - LOW_LOOK_BACK_MS }).map(lowOf),
      openItems: items.all(about).map(itemOf),
      openDoses: openDoses.all(about).map((row) => row.fact),
      lastReadingDoses: dosesOfNewest
        .all(JSON.stringify(readings.map(({ readingId }) => readingId)))
        .map((row) => JSON.parse(row.fact) as Dose),
      unaccountedDoses: unaccounted
        .all({ wardId: id, sinceMs: nowMs - SLOT_LOOK_BACK_MS })
        .map((row) => JSON.parse(row.fact) as Dose),
      forLaboratory: forLaboratory.all({ wardId: id, sinceMs: from }).map((row) => JSON.parse(row.fact) as Reading),
      settledSlots: new Set(
        settledSlots.all({ wardId: id, sinceMs: nowMs - SLOT_LOOK_BACK_MS }).map((row) => row.slot_key),
      ),
      meters: meters.all(about).map(meterOf),
      stripLots: lots.all(about).map(stripLotOf),
      trays: trays.all(about).map(trayOf),
      bedsTaken: taken.all(about),
    }
  }

  const kept = new Map<string, Kept>()
  // one snapshot, also beside another process that writes
  const loadAndKeep = raw.transaction((id: string, nowMs: number): WardFacts | undefined => {
    const facts = load(id, nowMs)
    if (facts !== undefined) kept.set(id, { facts, loadedForMs: nowMs })
    return facts
  })
  const wardFacts = (id: string, nowMs: number): WardFacts | undefined => {
    // inside a transaction the version may yet be rolled back and come again with other facts
    if (raw.inTransaction) return load(id, nowMs)
    const before = kept.get(id)
    const policy = policyAt(id, nowMs)
    // a policy can come to count by time alone, and how far back the facts go is the policy's to say
    const fresh =
      before !== undefined &&
      before.facts.policy.version === policy?.version &&
      before.facts.ward.dataVersion === version.get(id)?.data_version &&
      nowMs >= before.loadedForMs &&
      nowMs < before.loadedForMs + KEEP_MS
    return fresh ? atInstant(before.facts, nowMs) : loadAndKeep(id, nowMs)
  }

  return {
    wards: (scope) =>
      some
        .all({ wardIds: JSON.stringify(scope.wardIds) })
        .filter((row) => maySee(scope, row.ward_id))
        .map(wardOf),
    wardIds: () => every.all().map((row) => row.ward_id),
    wardVersion: (scope, id) => (maySee(scope, id) ? version.get(id)?.data_version : undefined),
    wardPolicy: (scope, id, nowMs) => (maySee(scope, id) ? policyAt(id, nowMs) : undefined),
    wardFacts: (scope, id, nowMs) => (maySee(scope, id) ? wardFacts(id, nowMs) : undefined),
    staysOfWard: (scope, id) => (maySee(scope, id) ? stays.all({ wardId: id }).map(stayOf) : []),
  }
}

/** Kept facts as they stand now: time alone ends orders. */
function atInstant(facts: WardFacts, nowMs: number): WardFacts {
  const stillRuns = ({ endedAtMs, order }: WardFacts['orders'][number]): boolean =>
    (endedAtMs === null || endedAtMs > nowMs) && (order.stopsAtMs === null || order.stopsAtMs > nowMs)
  return { ...facts, orders: facts.orders.filter(stillRuns) }
}
