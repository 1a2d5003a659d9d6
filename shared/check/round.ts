/** The round at an instant, and when its trays come. */
import { addWardDays, localToUtc, wardDate } from '../time/zone.ts'
import { OCCASIONS, MEAL_OF, type Meal, type Occasion, type TrayDelay } from './check.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { MINUTE_MS } from '../time/span.ts'

/** One round, half-open from its start to the next one's. `date` is the ward-local date on which it starts. */
export type Round = {
  readonly occasion: Occasion
  readonly date: string
  readonly startsMs: number
  readonly endsMs: number
  /** When its trays come. Null for bedtime and overnight. */
  readonly trayMs: number | null
}

/** Minutes of delay of the meal's trays on that date. The last delay charted counts; 0 when there is none. */
export function trayDelayMin(date: string, meal: Meal, trayDelays: readonly TrayDelay[]): number {
  return trayDelays.findLast((delay) => delay.date === date && delay.meal === meal)?.minutes ?? 0
}

/** When the meal's trays come on the ward-local date, including the charted delay. */
export function trayTimeMs(date: string, meal: Meal, policy: WardPolicy, trayDelays: readonly TrayDelay[]): number {
  return localToUtc(date, policy.mealTimes[meal], policy.zone) + trayDelayMin(date, meal, trayDelays) * MINUTE_MS
}

type RoundStart = { readonly occasion: Occasion; readonly date: string; readonly startsMs: number }

/** Cached days for one policy. A page needs the same two or three days for each of its checks. */
const KEPT_DAYS = 16
const kept = new WeakMap<WardPolicy, Map<string, readonly RoundStart[]>>()

/**
 * The starts of all rounds from the day before to the day after, sorted by instant. A skipped hour can change their
 * order.
 */
function startsAround(today: string, policy: WardPolicy): readonly RoundStart[] {
  const days = kept.get(policy) ?? new Map<string, readonly RoundStart[]>()
  const known = days.get(today)
  if (known !== undefined) return known
  const starts = [-1, 0, 1]
    .flatMap((count) => {
      const date = addWardDays(today, count, policy.zone)
      return OCCASIONS.map((occasion) => ({
        occasion,
        date,
        startsMs: localToUtc(date, policy.roundStarts[occasion], policy.zone),
      }))
    })
    .sort((a, b) => a.startsMs - b.startsMs)
  if (days.size >= KEPT_DAYS) days.clear()
  kept.set(policy, days.set(today, starts))
  return starts
}

/** The round at an instant by the policy's round starts. `trayMs` is the planned time, without delays. */
export function roundOf(ms: number, policy: WardPolicy): Round {
  const starts = startsAround(wardDate(ms, policy.zone), policy)
  const at = starts.findLastIndex((start) => start.startsMs <= ms)
  const [start, next] = [starts[at], starts[at + 1]]
  if (start === undefined || next === undefined) throw new Error('the policy has no round for this instant')
  const meal = MEAL_OF[start.occasion]
  return { ...start, endsMs: next.startsMs, trayMs: meal === null ? null : trayTimeMs(start.date, meal, policy, []) }
}

/** The current round, with tray delays applied. A round whose delayed trays have not come continues until they do. */
export function currentRound(nowMs: number, policy: WardPolicy, trayDelays: readonly TrayDelay[]): Round {
  const byClock = roundOf(nowMs, policy)
  const before = withDelays(roundOf(byClock.startsMs - 1, policy), policy, trayDelays)
  if (before.trayMs !== null && nowMs < before.trayMs) return { ...before, endsMs: before.trayMs }
  return withDelays(byClock, policy, trayDelays)
}

function withDelays(round: Round, policy: WardPolicy, trayDelays: readonly TrayDelay[]): Round {
  const meal = MEAL_OF[round.occasion]
  return meal === null ? round : { ...round, trayMs: trayTimeMs(round.date, meal, policy, trayDelays) }
}
