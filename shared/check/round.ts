/** Which round an instant belongs to, and when that round's trays come. */
import { addDays, localToUtc, wardDate } from '../time/zone.ts'
import { OCCASIONS, MEAL_OF, type Meal, type Occasion, type TrayDelay } from './check.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'

/** One round: half-open from its start to the next one's. `date` is the ward-local date on which it starts. */
export type Round = {
  readonly occasion: Occasion
  readonly date: string
  readonly startsMs: number
  readonly endsMs: number
  /** When its trays come; null for bedtime and overnight. */
  readonly trayMs: number | null
}

const MINUTE_MS = 60_000

/** Minutes by which the meal's trays are late on that date; the last delay charted counts. 0 when none was. */
export function trayDelayMin(date: string, meal: Meal, trayDelays: readonly TrayDelay[]): number {
  return trayDelays.findLast((delay) => delay.date === date && delay.meal === meal)?.minutes ?? 0
}

/** When the meal's trays come on the ward-local date, moved by the delay charted for them. */
export function trayTimeMs(date: string, meal: Meal, policy: WardPolicy, trayDelays: readonly TrayDelay[]): number {
  return localToUtc(date, policy.mealTimes[meal], policy.zone) + trayDelayMin(date, meal, trayDelays) * MINUTE_MS
}

/** The round that an instant falls into by the policy's round starts. Its `trayMs` is the planned one, without delays. */
export function roundOf(ms: number, policy: WardPolicy): Round {
  const today = wardDate(ms, policy.zone)
  const starts = [-1, 0, 1]
    .flatMap((days) => {
      const date = addDays(today, days)
      return OCCASIONS.map((occasion) => ({ occasion, date, startsMs: localToUtc(date, policy.roundStarts[occasion], policy.zone) }))
    })
    .sort((a, b) => a.startsMs - b.startsMs)
  const at = starts.findLastIndex((start) => start.startsMs <= ms)
  const [start, next] = [starts[at], starts[at + 1]]
  if (start === undefined || next === undefined) throw new Error('the policy has no round for this instant')
  const meal = MEAL_OF[start.occasion]
  return { ...start, endsMs: next.startsMs, trayMs: meal === null ? null : trayTimeMs(start.date, meal, policy, []) }
}

/** The round under way, with its tray moved by delays. A round whose delayed trays have not come goes on until they do. */
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
