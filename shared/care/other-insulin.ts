/**
 * Insulin by another way: an intravenous infusion, the patient's own pump, insulin for a high potassium. Its beginning and
 * its end are facts of the stay. Intravenous insulin is gone in minutes, so the end of an infusion needs basal insulin that
 * acts already.
 */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { isBasal } from '../order/order.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import { isInsulinDependent, type Stay } from '../stay/stay.ts'
import { HOUR_MS, MINUTE_MS } from '../time/span.ts'
import { addWardDays, localToUtc, wardDate } from '../time/zone.ts'
import { entriesOf, type EntryOf, type InsulinWay, type StayEntry } from './entries.ts'
import type { CareFacts } from './facts.ts'
import { actsUntilMs } from './food.ts'
import type { Task } from './task.ts'
import type { WatchTime } from './watch-time.ts'

type Started = EntryOf<'other-insulin-started'>

/** When the way ended; null: it runs. */
export function endOf(entries: readonly StayEntry[], started: Started): EntryOf<'other-insulin-ended'> | null {
  return entriesOf(entries, 'other-insulin-ended').find(({ fact }) => fact.startedId === started.entryId) ?? null
}

/** What runs at the instant, of an infusion or a pump. Insulin for potassium is given once and never runs. */
export function runningWays(entries: readonly StayEntry[], nowMs: number): readonly Started[] {
  return entriesOf(entries, 'other-insulin-started').filter((started) => {
    if (started.fact.way === 'potassium' || started.atMs > nowMs) return false
    const end = endOf(entries, started)
    return end === null || end.atMs > nowMs
  })
}

/** Basal insulin is to be given at least this long before an infusion ends (ADA Standards of Care, hospital section; R). */
const BASAL_BEFORE_MS = 2 * HOUR_MS
/** A pump that is off this long leaves a patient without basal insulin (the ward's own figure). */
const PUMP_OFF_MS = HOUR_MS
const CALL_WITHIN_MS = 30 * MINUTE_MS

/** True when basal insulin was given long enough before the instant and still acts at it. */
export function basalCovers({ insulinGiven, stay }: Pick<CareFacts, 'insulinGiven' | 'stay'>, atMs: number): boolean {
  return insulinGiven.some(
    (dose) =>
      isBasal(dose.insulin) &&
      dose.givenAtMs <= atMs - BASAL_BEFORE_MS &&
      actsUntilMs(dose, stay.facts.renalImpairment) > atMs,
  )
}

/** Ends that leave the patient without basal insulin, and have not been made good since. */
function uncoveredEnds(
  facts: CareFacts,
): readonly { readonly way: InsulinWay; readonly id: string; readonly atMs: number }[] {
  const { entries, insulinGiven } = facts
  return entriesOf(entries, 'other-insulin-started').flatMap((started) => {
    const end = started.fact.way === 'potassium' ? null : endOf(entries, started)
    if (end === null || basalCovers(facts, end.atMs)) return []
    const isMadeGood =
      insulinGiven.some(({ insulin, givenAtMs }) => isBasal(insulin) && givenAtMs > end.atMs - BASAL_BEFORE_MS) ||
      entriesOf(entries, 'other-insulin-started').some(({ atMs, fact }) => fact.way !== 'potassium' && atMs >= end.atMs)
    return isMadeGood ? [] : [{ way: started.fact.way, id: started.entryId, atMs: end.atMs }]
  })
}

export function otherInsulinTasks(facts: CareFacts): readonly Task[] {
  return uncoveredEnds(facts).map(({ way, id, atMs }) => {
    const sinceMs = way === 'pump' ? atMs + PUMP_OFF_MS : atMs
    const kind = way === 'pump' ? 'pump-off' : 'infusion-ended'
    return {
      kind,
      key: `${kind}.${id}`,
      stayId: facts.stay.stayId,
      subjectId: id,
      detail: null,
      sinceMs,
      dueMs: way === 'pump' ? sinceMs + CALL_WITHIN_MS : null,
      chargeFromMs: sinceMs,
    }
  })
}

/**
 * Hourly checks while an infusion runs (ADA: every 30 min to 2 h; R); before meals, at bedtime and at 03:00 with a pump (the
 * ward's own); hourly for 6 h after insulin for potassium (the ward's own); glucose and ketones at 1 h and 2 h after an
 * infusion that ended without basal insulin.
 */
export function otherInsulinWatches(facts: CareFacts, nowMs: number): readonly WatchTime[] {
  const { entries, policy } = facts
  const ways = entriesOf(entries, 'other-insulin-started').flatMap((started): readonly WatchTime[] => {
    const untilMs = Math.min(endOf(entries, started)?.atMs ?? Infinity, nowMs + 12 * HOUR_MS)
    const { entryId, atMs, fact } = started
    if (fact.way === 'pump') return pumpTimes(started, policy, untilMs, nowMs)
    const most = fact.way === 'potassium' ? 6 : Math.max(0, Math.floor((untilMs - atMs) / HOUR_MS))
    const hours = Array.from({ length: most }, (_, index) => index + 1)
    // what lies more than a day back is not asked about any more
    return hours
      .map((hour) => ({
        id: `${entryId}i${String(hour)}`,
        dueMs: atMs + hour * HOUR_MS,
        reason: fact.way === 'potassium' ? ('potassium' as const) : ('infusion' as const),
      }))
      .filter(({ dueMs }) => dueMs > nowMs - 24 * HOUR_MS)
  })
  const ends = uncoveredEnds(facts)
    .filter(({ way }) => way === 'infusion')
    .flatMap(({ id, atMs }) =>
      [1, 2].map((hour) => ({
        id: `${id}e${String(hour)}`,
        dueMs: atMs + hour * HOUR_MS,
        reason: 'infusion-ended' as const,
      })),
    )
  return [...ways, ...ends]
}

function pumpTimes(
  { entryId, atMs }: Started,
  policy: CareFacts['policy'],
  untilMs: number,
  nowMs: number,
): readonly WatchTime[] {
  const { zone, mealTimes, bedtime } = policy
  const times = [mealTimes.breakfast, mealTimes.lunch, mealTimes.supper, bedtime, '03:00']
  const today = wardDate(nowMs, zone)
  return [-1, 0, 1].flatMap((days) => {
    const date = addWardDays(today, days, zone)
    return times
      .map((time) => ({
        id: `${entryId.slice(0, 18)}p${date.replaceAll('-', '').slice(2)}${time.slice(0, 2)}`,
        dueMs: localToUtc(date, time, zone),
        reason: 'pump' as const,
      }))
      .filter(({ dueMs }) => dueMs > atMs && dueMs < untilMs)
  })
}

/**
 * Basal insulin of a patient who depends on it: missed for an hour, withheld, refused, or ordered by nobody an hour after
 * the admission. The prescriber within half an hour, then the charge nurse's (the ward's own figures).
 */
export function basalTasks(facts: CareFacts, nowMs: number): readonly Task[] {
  const { stay, orders, notGiven, insulinGiven, entries, missedBasal } = facts
  if (!isInsulinDependent(stay.facts)) return []
  if (runningWays(entries, nowMs).length > 0) return []
  const hasBasal = (sinceMs: number): boolean =>
    insulinGiven.some(({ insulin, givenAtMs }) => isBasal(insulin) && givenAtMs >= sinceMs)
  const task = (kind: 'basal-not-given' | 'basal-not-ordered', subjectId: string, sinceMs: number): Task => ({
    kind,
    key: `${kind}.${subjectId}`,
    stayId: stay.stayId,
    subjectId,
    detail: null,
    sinceMs,
    dueMs: sinceMs + CALL_WITHIN_MS,
    chargeFromMs: sinceMs + CALL_WITHIN_MS,
  })
  const ordered = orders.some(
    ({ order, endedAtMs, verified }) =>
      isBasal(order.insulin) &&
      order.scheduled.length > 0 &&
      verified !== null &&
      (endedAtMs === null || endedAtMs > nowMs) &&
      (order.stopsAtMs === null || order.stopsAtMs > nowMs),
  )
  return [
    ...missedBasal
      .filter(({ dueMs }) => !hasBasal(dueMs - 4 * HOUR_MS))
      .map(({ slotKey, dueMs }) => task('basal-not-given', slotKey.slice(stay.stayId.length + 1), dueMs + HOUR_MS)),
    ...notGiven
      .filter(({ insulin, atMs }) => isBasal(insulin) && !hasBasal(atMs - HOUR_MS))
      .map(({ doseId, atMs }) => task('basal-not-given', doseId, atMs)),
    ...(ordered || hasBasal(nowMs - 24 * HOUR_MS)
      ? []
      : [task('basal-not-ordered', stay.stayId, stay.admittedAtMs + HOUR_MS)]),
  ]
}

export type OtherInsulinRefusal =
  | 'other-insulin-stay-discharged'
  | 'other-insulin-in-future'
  | 'other-insulin-before-admission'
  | 'other-insulin-runs'
  | 'other-insulin-runs-not'
  | 'other-insulin-no-basal'

/** Charts that a way begins, or that insulin for potassium was given. Refuses a second one of a way that runs. */
export function startWay(
  entry: { readonly entryId: string; readonly way: InsulinWay; readonly atMs: number; readonly byId: string },
  { stay, entries, nowMs }: { readonly stay: Stay; readonly entries: readonly StayEntry[]; readonly nowMs: number },
): Outcome<LedgerEvent[], OtherInsulinRefusal> {
  const fault = timeFault(entry.atMs, stay, nowMs)
  if (fault !== null) return fault
  if (runningWays(entries, nowMs).some(({ fact }) => fact.way === entry.way)) return refuse('other-insulin-runs')
  return accept([
    {
      ...eventHead(stay, entry.byId, nowMs, entry.atMs),
      type: 'entry-charted',
      body: { entryId: entry.entryId, kind: 'other-insulin-started', fact: { way: entry.way } },
    },
  ])
}

/**
 * Charts the end of what runs. Without basal insulin given two hours before and still acting, the nurse says so: a planned
 * end waits for it, and one that has happened is charted (`noBasal`).
 */
export function endWay(
  entry: {
    readonly entryId: string
    readonly way: InsulinWay
    readonly atMs: number
    readonly noBasal: boolean
    readonly byId: string
  },
  facts: Pick<CareFacts, 'stay' | 'entries' | 'insulinGiven'>,
  nowMs: number,
): Outcome<LedgerEvent[], OtherInsulinRefusal> {
  const { stay, entries } = facts
  const fault = timeFault(entry.atMs, stay, nowMs)
  if (fault !== null) return fault
  const running = runningWays(entries, nowMs).find(({ fact }) => fact.way === entry.way)
  if (running === undefined || entry.atMs < running.atMs) return refuse('other-insulin-runs-not')
  if (!entry.noBasal && !basalCovers(facts, entry.atMs)) return refuse('other-insulin-no-basal')
  return accept([
    {
      ...eventHead(stay, entry.byId, nowMs, entry.atMs),
      type: 'entry-charted',
      body: { entryId: entry.entryId, kind: 'other-insulin-ended', fact: { startedId: running.entryId } },
    },
  ])
}

function timeFault(atMs: number, stay: Stay, nowMs: number): ReturnType<typeof refuse<OtherInsulinRefusal>> | null {
  if (stay.dischargedAtMs !== null) return refuse('other-insulin-stay-discharged')
  if (atMs > nowMs) return refuse('other-insulin-in-future')
  return atMs < stay.admittedAtMs ? refuse('other-insulin-before-admission') : null
}
