/** Reads about one stay, and single facts by id. A stay outside the scope's wards is as good as not there. */
import { and, asc, desc, eq, getTableColumns, isNull, sql } from 'drizzle-orm'
import type { Connection } from './connection.ts'
import type { CheckFacts, Scope, StayFacts, Store } from './contract.ts'
import {
  insulinGivenOf,
  itemOf,
  lowOf,
  meterOf,
  outcomesByKey,
  planOf,
  shortActing,
  stayOf,
  stripLotOf,
  trayOf,
  wardOf,
} from './facts.ts'
import { policyAtOf } from './policy-at.ts'
import { orderReadsOf } from './read-orders.ts'
import { factsOf, listOf, rowsOf } from './rows.ts'
import { dateBefore } from './read-ward.ts'
import { maySee } from './scope.ts'
import {
  check_outcome,
  critical_call,
  direction,
  dose,
  low_event,
  meter,
  open_item,
  outside_dose,
  plan_version,
  reading,
  stay,
  strip_lot,
  symptoms,
  tray,
  tray_delay,
  ward,
} from './tables.ts'
import { elsewhereDecidedMs, lastBackMs } from '../../shared/care/elsewhere.ts'
import type { StayEntry } from '../../shared/care/entries.ts'
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { DAY_MS } from '../../shared/time/span.ts'

const LOOK_BACK_MS = 3 * DAY_MS
/** A return this soon after leaving brings along what was open (the ward's own figure). */
const RETURN_MS = DAY_MS

/** What the reads of one stay ask by. */
type About = { readonly stayId: string; readonly wardId: string; readonly sinceMs: number; readonly sinceDate: string }

type Reads = Pick<
  Store,
  | 'stayFacts'
  | 'checkFacts'
  | 'metersWhen'
  | 'stayByWristband'
  | 'readingById'
  | 'doseById'
  | 'dosesAwaiting'
  | 'lowById'
  | 'openItem'
>

export function stayReadsOf(connection: Connection): Reads {
  const { raw, orm } = connection
  const stayId = sql.placeholder('stayId')
  const wardId = sql.placeholder('wardId')
  const id = sql.placeholder('id')
  const since = (column: unknown) => sql`${column} >= ${sql.placeholder('sinceMs')}`
  const sinceDate = sql.placeholder('sinceDate')
  const policyAt = policyAtOf(connection)
  const orders = orderReadsOf(connection)

  const stayRow = rowsOf(connection, stay)
  const wardRow = orm.select().from(ward).where(eq(ward.ward_id, wardId)).prepare()
  const wearer = orm
    .select({ stayId: stay.stay_id, wardId: stay.ward_id, bed: stay.bed })
    .from(stay)
    .where(and(eq(stay.wristband, sql.placeholder('wristband')), isNull(stay.discharged_at_ms)))
    .prepare()
  const plans = listOf<typeof plan_version, About>(
    connection,
    plan_version,
    'FROM plan_version t WHERE t.stay_id = @stayId ORDER BY t.version',
  )
  const delays = listOf<typeof tray_delay, About>(
    connection,
    tray_delay,
    'FROM tray_delay t WHERE t.ward_id = @wardId AND t.date >= @sinceDate',
  )
  const readings = factsOf<Reading, About>(
    connection,
    `SELECT fact FROM reading WHERE stay_id = @stayId AND taken_at_ms >= @sinceMs
     ORDER BY taken_at_ms DESC, charted_at_ms DESC, rowid DESC`,
  )
  const outcomes = listOf<typeof check_outcome, About>(
    connection,
    check_outcome,
    'FROM check_outcome t WHERE t.stay_id = @stayId AND t.at_ms >= @sinceMs',
  )
  const doses = orm
    .select({ fact: dose.fact })
    .from(dose)
    .where(and(eq(dose.stay_id, stayId), since(dose.proposed_at_ms)))
    .orderBy(desc(dose.proposed_at_ms), sql`${dose}.rowid desc`)
    .prepare()
  const given = orm
    .select({ fact: dose.fact })
    .from(dose)
    .where(and(eq(dose.stay_id, stayId), sql`${dose.given_at_ms} is not null`, since(dose.given_at_ms)))
    .prepare()
  const outside = orm
    .select({ fact: outside_dose.fact })
    .from(outside_dose)
    .where(and(eq(outside_dose.stay_id, stayId), since(outside_dose.given_at_ms)))
    .prepare()
  // a dose of this ward's own downtime sheet answers nothing about other places
  const outsideCharted = orm
    .select({ fact: outside_dose.outside_dose_id })
    .from(outside_dose)
    .where(
      and(
        eq(outside_dose.stay_id, stayId),
        since(outside_dose.charted_at_ms),
        sql`json_extract(${outside_dose.fact}, '$.source') = 'elsewhere'`,
      ),
    )
    .limit(1)
    .prepare()
  const elsewhereAsked = orm
    .select({ fact: dose.dose_id })
    .from(dose)
    .where(and(eq(dose.stay_id, stayId), since(dose.proposed_at_ms), eq(dose.elsewhere_asked, true)))
    .limit(1)
    .prepare()
  const directions = orm
    .select({ fact: direction.fact })
    .from(direction)
    .where(and(eq(direction.stay_id, stayId), since(direction.at_ms)))
    .orderBy(desc(direction.at_ms))
    .prepare()
  const lows = listOf<typeof low_event, About>(
    connection,
    low_event,
    'FROM low_event t WHERE t.stay_id = @stayId ORDER BY t.opened_at_ms',
  )
  const feedStopped = raw
    .prepare<[string], number>(
      'SELECT from_ms FROM feed_interruption WHERE stay_id = ? AND until_ms IS NULL ORDER BY from_ms LIMIT 1',
    )
    .pluck()
  const entries = factsOf<StayEntry, About>(
    connection,
    'SELECT fact FROM stay_entry WHERE stay_id = @stayId ORDER BY at_ms, rowid',
  )
  const criticalCalls = orm
    .select({ fact: critical_call.fact })
    .from(critical_call)
    .where(and(eq(critical_call.stay_id, stayId), since(critical_call.at_ms)))
    .orderBy(desc(critical_call.at_ms), asc(critical_call.reading_id))
    .prepare()
  const symptomRows = orm
    .select({ fact: symptoms.fact })
    .from(symptoms)
    .where(and(eq(symptoms.stay_id, stayId), since(symptoms.at_ms)))
    .orderBy(desc(symptoms.at_ms), asc(symptoms.symptoms_id))
    .prepare()
  const trays = orm
    .select()
    .from(tray)
    .where(and(eq(tray.stay_id, stayId), sql`${tray.date} >= ${sinceDate}`))
    .prepare()
  const items = orm
    .select()
    .from(open_item)
    .where(eq(open_item.stay_id, stayId))
    .orderBy(asc(open_item.since_ms))
    .prepare()
  const meters = listOf<typeof meter, About>(
    connection,
    meter,
    'FROM meter t WHERE t.ward_id = @wardId AND t.retired_at_ms IS NULL ORDER BY t.serial',
  )
  // a control charted later at the same instant counts
  const metersWhen = raw.prepare<
    { readonly wardId: string; readonly takenAtMs: number },
    { meterId: string; wardId: string; unit: GlucoseUnit; atMs: number | null; passed: 0 | 1 | null }
  >(
    `SELECT m.meter_id AS meterId, m.ward_id AS wardId, m.unit, c.at_ms AS atMs, c.passed
     FROM meter m LEFT JOIN meter_control c ON c.meter_id = m.meter_id AND (c.at_ms, c.number) = (
       SELECT at_ms, number FROM meter_control WHERE meter_id = m.meter_id AND at_ms <= @takenAtMs
       ORDER BY at_ms DESC, number DESC LIMIT 1)
     WHERE m.ward_id = @wardId AND m.retired_at_ms IS NULL ORDER BY m.serial`,
  )
  const lots = listOf<typeof strip_lot, About>(
    connection,
    strip_lot,
    'FROM strip_lot t WHERE t.ward_id = @wardId ORDER BY t.lot',
  )

  // on whatever ward it is now, and out of use or not: what it measured before is in doubt all the same
  const failed = orm
    .select({ meterId: meter.meter_id, atMs: meter.control_at_ms })
    .from(meter)
    .where(eq(meter.control_passed, false))
    .prepare()

  type StayRow = typeof stay.$inferSelect
  const rowInScope = (scope: Scope, wanted: string): StayRow | undefined => {
    const row = stayRow.get(wanted)
    return row !== undefined && maySee(scope, row.ward_id) ? row : undefined
  }
  const aboutOf = (row: StayRow, nowMs: number): About => ({
    stayId: row.stay_id,
    wardId: row.ward_id,
    sinceMs: nowMs - LOOK_BACK_MS,
    sinceDate: dateBefore(nowMs - LOOK_BACK_MS),
  })

  /** This stay and those that it returns from: insulin of an earlier stay acts in this one. */
  const staysOfPatient = (row: StayRow): readonly string[] => {
    const ids = [row.stay_id]
    for (let id = row.previous_stay_id; id !== null && !ids.includes(id);) {
      ids.push(id)
      id = stayRow.get(id)?.previous_stay_id ?? null
    }
    return ids
  }

  const forCheck = (row: StayRow, nowMs: number): CheckFacts | undefined => {
    const policy = policyAt(row.ward_id, nowMs)
    if (policy === undefined) return undefined
    const about = aboutOf(row, nowMs)
    const stayIds = staysOfPatient(row)
    const lowEvents = lows(about).map(lowOf)
    // an event left open keeps its whole course, or it would forget a recovery of long ago and block insulin for nothing
    const openSince = Math.min(
      about.sinceMs,
      ...lowEvents.filter((low) => low.closedAtMs === null).map((low) => low.openedAtMs),
    )
    return {
      ward: { wardId: row.ward_id },
      policy,
      stay: stayOf(row),
      plans: plans(about).map(planOf),
      trayDelays: delays(about).map(({ date, meal, minutes }) => ({ date, meal, minutes })),
      readings: readings({ ...about, sinceMs: openSince }),
      outcomes: outcomesByKey(outcomes(about)),
      lows: lowEvents,
      meters: meters(about).map(meterOf),
      stripLots: lots(about).map(stripLotOf),
      entries: entries(about),
      insulinGiven: insulinGivenOf(
        stayIds.flatMap((stayId) => given.all({ ...about, stayId }).map((found) => found.fact)),
        stayIds.flatMap((stayId) => outside.all({ ...about, stayId }).map((found) => found.fact)),
      ),
      trays: trays.all(about).map(trayOf),
      orders: orders.ofStay(row.stay_id, about.sinceMs),
      feedStoppedSinceMs: feedStopped.get(row.stay_id) ?? null,
    }
  }

  /** A return soon after leaving brings an unfinished low along: it is the same patient with the same insulin. */
  const returnedFrom = ({ previous_stay_id: id, admitted_at_ms: admittedAtMs }: StayRow): StayFacts['returnedFrom'] => {
    const previous = id === null ? undefined : stayRow.get(id)
    const leftAtMs = previous?.discharged_at_ms ?? null
    if (previous === undefined || leftAtMs === null || admittedAtMs - leftAtMs > RETURN_MS) return null
    const about = aboutOf(previous, leftAtMs)
    const open = lows(about)
      .map(lowOf)
      .filter(({ closedAtMs }) => closedAtMs === null)
    const sinceMs = Math.min(about.sinceMs, ...open.map(({ openedAtMs }) => openedAtMs))
    return { lows: open, readings: readings({ ...about, sinceMs }) }
  }

  const load = (scope: Scope, wanted: string, nowMs: number): StayFacts | undefined => {
    const row = rowInScope(scope, wanted)
    const check = row === undefined ? undefined : forCheck(row, nowMs)
    const onWard = row === undefined ? undefined : wardRow.get({ wardId: row.ward_id })
    if (row === undefined || check === undefined || onWard === undefined) return undefined
    const about = aboutOf(row, nowMs)
    // asked once after each move and each return to the ward
    const askedSinceMs = Math.max(row.on_ward_since_ms, lastBackMs(check.entries) ?? row.on_ward_since_ms)
    const onThisWard = { stayId: wanted, sinceMs: askedSinceMs }
    const decidedMs = elsewhereDecidedMs(check.entries)
    return {
      ...check,
      ward: wardOf(onWard),
      doses: doses.all(about).map((found) => found.fact),
      earlierDoses: shortActing(check.insulinGiven, nowMs - DAY_MS),
      directions: directions.all(about).map((found) => found.fact),
      criticalCalls: criticalCalls.all(about).map((found) => found.fact),
      returnedFrom: returnedFrom(row),
      symptoms: symptomRows.all(about).map((found) => found.fact),
      openItems: items.all(about).map(itemOf),
      failedControls: new Map(
        failed.all().flatMap(({ meterId, atMs }) => (atMs === null ? [] : [[meterId, atMs] as const])),
      ),
      elsewhereKnown:
        outsideCharted.get(onThisWard) !== undefined ||
        elsewhereAsked.get(onThisWard) !== undefined ||
        (decidedMs !== null && decidedMs >= askedSinceMs),
    }
  }
  const loadForCheck = (scope: Scope, wanted: string, nowMs: number): CheckFacts | undefined => {
    const row = rowInScope(scope, wanted)
    return row === undefined ? undefined : forCheck(row, nowMs)
  }
  // one snapshot, also beside another process that writes
  const atOnce = <F>(read: (scope: Scope, wanted: string, nowMs: number) => F): typeof read => {
    const whole = raw.transaction(read)
    return (scope, wanted, nowMs) => (raw.inTransaction ? read(scope, wanted, nowMs) : whole(scope, wanted, nowMs))
  }

  // where the patient is now decides who may see what was charted before
  const readingRow = orm
    .select({ fact: reading.fact, wardId: stay.ward_id })
    .from(reading)
    .innerJoin(stay, eq(stay.stay_id, reading.stay_id))
    .where(eq(reading.reading_id, id))
    .prepare()
  const doseRow = orm
    .select({ fact: dose.fact, wardId: stay.ward_id })
    .from(dose)
    .innerJoin(stay, eq(stay.stay_id, dose.stay_id))
    .where(eq(dose.dose_id, id))
    .prepare()
  const awaiting = orm
    .select({ fact: dose.fact })
    .from(dose)
    .where(
      and(
        sql`${dose.ward_id} in (select value from json_each(${sql.placeholder('wardIds')}))`,
        sql`${dose.awaiting} = 1`,
      ),
    )
    .orderBy(asc(dose.proposed_at_ms), sql`${dose}.rowid`)
    .prepare()
  const lowRow = orm
    .select({ row: getTableColumns(low_event), wardId: stay.ward_id })
    .from(low_event)
    .innerJoin(stay, eq(stay.stay_id, low_event.stay_id))
    .where(eq(low_event.low_id, id))
    .prepare()
  const itemRow = orm.select(getTableColumns(open_item)).from(open_item).where(eq(open_item.item_id, id)).prepare()

  return {
    stayFacts: atOnce(load),
    checkFacts: atOnce(loadForCheck),
    metersWhen: (scope, ward, takenAtMs) =>
      maySee(scope, ward)
        ? metersWhen.all({ wardId: ward, takenAtMs }).map(({ atMs, passed, ...of }) => ({
            ...of,
            controlWhenTaken: atMs === null ? null : { passed: passed === 1, atMs },
          }))
        : [],
    stayByWristband: (wristband) => wearer.get({ wristband }),
    readingById: (scope, readingId) => {
      const row = readingRow.get({ id: readingId })
      return row !== undefined && maySee(scope, row.wardId) ? row.fact : undefined
    },
    doseById: (scope, doseId) => {
      const row = doseRow.get({ id: doseId })
      return row !== undefined && maySee(scope, row.wardId) ? row.fact : undefined
    },
    dosesAwaiting: (scope) => awaiting.all({ wardIds: JSON.stringify(scope.wardIds) }).map((row) => row.fact),
    lowById: (scope, lowId) => {
      const found = lowRow.get({ id: lowId })
      return found !== undefined && maySee(scope, found.wardId) ? lowOf(found.row) : undefined
    },
    openItem: (scope, itemId) => {
      const row = itemRow.get({ id: itemId })
      return row !== undefined && maySee(scope, row.ward_id) ? itemOf(row) : undefined
    },
  }
}
