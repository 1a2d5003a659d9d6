/** What the decisions about readings look at: a part of what the store knows of one stay. */
import { plannedChecks, extraCheck, parseCheckKey, recheckCheck } from '../check/plan.ts'
import type { Check, CheckOutcome, PlanVersion, TrayDelay } from '../check/check.ts'
import type { StayEntry } from '../care/entries.ts'
import { watchesOf } from '../care/watch.ts'
import type { WatchTime } from '../care/watch-time.ts'
import type { EarlierDose, TrayFact } from '../dose/dose.ts'
import type { GlucoseUnit } from '../glucose/value.ts'
import type { LowEvent } from '../low/low.ts'
import { lowProgress } from '../low/recheck.ts'
import type { OrderVersion } from '../order/order.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Stay } from '../stay/stay.ts'
import { contains } from '../time/interval.ts'
import { addDays, localToUtc } from '../time/zone.ts'
import { isEffective, type Reading } from './reading.ts'
import { DAY_MS } from '../time/span.ts'

export type MeterFacts = {
  readonly meterId: string
  readonly wardId: string
  readonly unit: GlucoseUnit
  /** The meter's latest control at or before the instant when the reading was taken. Null: it had none. */
  readonly controlWhenTaken: { readonly passed: boolean; readonly atMs: number } | null
}
export type StripLotFacts = { readonly lot: string; readonly expiresOn: string }

/** What every decision about a stay's readings looks at. */
export type StayReadingFacts = {
  readonly ward: { readonly wardId: string }
  readonly policy: { readonly policy: WardPolicy }
  readonly stay: Stay
  readonly plans: readonly PlanVersion[]
  readonly trayDelays: readonly TrayDelay[]
  /** The stay's readings, superseded and voided ones included. */
  readonly readings: readonly Reading[]
  readonly outcomes: ReadonlyMap<string, CheckOutcome>
  readonly lows: readonly LowEvent[]
  /** What watch checks are derived from; absent: the stay has none. */
  readonly entries?: readonly StayEntry[]
  readonly insulinGiven?: readonly EarlierDose[]
  readonly trays?: readonly TrayFact[]
  readonly orders?: readonly OrderVersion[]
  readonly feedStoppedSinceMs?: number | null
}

/** The same with the supplies, for a new reading. */
export type ReadingFacts = StayReadingFacts & {
  /** The ward's meters, each with the control that counted when the reading was taken. */
  readonly meters: readonly MeterFacts[]
  readonly stripLots: readonly StripLotFacts[]
}

type PlannedFor = Pick<
  StayReadingFacts,
  | 'policy'
  | 'stay'
  | 'plans'
  | 'trayDelays'
  | 'readings'
  | 'lows'
  | 'entries'
  | 'insulinGiven'
  | 'trays'
  | 'orders'
  | 'feedStoppedSinceMs'
>

/** The stay's watch checks, from what its pages load. */
function watchesFor(facts: Omit<PlannedFor, 'plans' | 'trayDelays'>, nowMs: number): readonly WatchTime[] {
  const { stay, lows, entries = [], insulinGiven = [], trays = [], orders = [], feedStoppedSinceMs = null } = facts
  const readings = facts.readings.filter(isEffective)
  return watchesOf(
    {
      stay,
      lows,
      entries,
      insulinGiven,
      trays,
      orders,
      readings,
      directions: [],
      feedStoppedSinceMs,
      notGiven: [],
      missedBasal: [],
      policy: facts.policy.policy,
    },
    nowMs,
  )
}

/**
 * The check that a key names for this stay, or null when the stay has none such: another stay's, not in its plan, of a
 * low event that is closed, or of a cycle that has not come. An extra check exists as soon as it is named.
 */
export function findCheck(key: string, facts: PlannedFor, nowMs: number): Check | null {
  const parsed = parseCheckKey(key)
  if (parsed === null) return null
  const {
    stay,
    policy: { policy },
  } = facts
  if (parsed.kind === 'extra')
    return parsed.stayId === stay.stayId ? extraCheck(parsed.stayId, parsed.id, nowMs, policy) : null
  if (parsed.kind === 'recheck') {
    const low = facts.lows.find((one) => one.lowId === parsed.lowId && one.closedAtMs === null)
    if (low === undefined) return null
    const { cycle, dueMs } = lowProgress(low, facts.readings, policy)
    return parsed.cycle <= cycle ? recheckCheck(low, parsed.cycle, dueMs ?? nowMs, policy) : null
  }
  if (parsed.stayId !== stay.stayId) return null
  if (parsed.kind !== 'planned') {
    const watches = watchesFor(facts, nowMs).filter(({ id }) => id === parsed.id)
    const [watch] = watches
    if (watch === undefined) return null
    const span = { fromMs: watch.dueMs, toMs: watch.dueMs + 1 }
    return plannedChecks({ ...facts, policy, watches, plans: [], ...span })[0] ?? null
  }
  // a tray delay moves a check by hours at most, never by a day
  const [fromMs, toMs] = [addDays(parsed.date, -1), addDays(parsed.date, 2)].map((date) =>
    localToUtc(date, '00:00', policy.zone),
  )
  return (
    plannedChecks({ ...facts, policy, fromMs: fromMs ?? 0, toMs: toMs ?? 0 }).find((check) => check.key === key) ?? null
  )
}

/**
 * The planned check that a value taken at the instant answers: in its window, not done yet, the one due nearest. Null:
 * none. For what was charted on paper, where nobody chose a check.
 */
export function checkAt(takenAtMs: number, facts: PlannedFor & Pick<StayReadingFacts, 'outcomes'>): Check | null {
  const around = plannedChecks({
    ...facts,
    policy: facts.policy.policy,
    watches: watchesFor(facts, takenAtMs),
    fromMs: takenAtMs - DAY_MS,
    toMs: takenAtMs + DAY_MS,
  })
  const answered = around.filter(
    (check) =>
      contains({ fromMs: check.opensMs, toMs: check.closesMs }, takenAtMs) &&
      facts.outcomes.get(check.key)?.kind !== 'done',
  )
  return answered.sort((a, b) => Math.abs(a.dueMs - takenAtMs) - Math.abs(b.dueMs - takenAtMs))[0] ?? null
}
