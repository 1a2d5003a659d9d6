/**
 * The guards of insulin by the clock. Basal insulin is given once in its interval, from whatever door. Scheduled rapid and
 * regular insulin is mealtime insulin: it needs a reading, food, and no other mealtime insulin for the same meal.
 */
import type { EarlierDose, GuardResult } from '../dose/dose.ts'
import { HOUR_MS, MINUTE_MS } from '../time/span.ts'
import { INSULIN_CLASS, isBasal, type InsulinOrder } from './order.ts'
import type { DoseFacts, Parts } from './parts.ts'
import { readingAgeToGive, readingInDoubt, outOfRange, result } from './reading-guards.ts'

/** Basal insulin may come this much sooner than its interval (the ward's own figure: daily 20 h, 12-hourly 8 h). */
const EARLIER_H = 4
const DAY_H = 24

/**
 * The shortest time between two basal doses of the order, in hours: its shortest gap less 4 h. An order with one time a
 * day has a gap of 24 h, and so has a direction, which has no times.
 */
export function basalGapHours(order: Pick<InsulinOrder, 'scheduled'> | null): number {
  const minutes = (order?.scheduled ?? [])
    .map(({ time }) => Number(time.slice(0, 2)) * 60 + Number(time.slice(3)))
    .sort((a, b) => a - b)
  const gaps = minutes.map((at, index) => {
    const next = minutes[(index + 1) % minutes.length] ?? at
    return next > at ? next - at : next - at + DAY_H * 60
  })
  return Math.max(0, Math.min(DAY_H * 60, ...gaps) / 60 - EARLIER_H)
}

/** Basal insulin inside its interval stops a scheduled dose; a prescriber who is told may direct one all the same. */
export function basalGap({ order, insulin, inputs }: DoseFacts, parts: Parts): GuardResult {
  const given = newest(inputs.basalGiven ?? [])
  if (!isBasal(insulin) || given === undefined || inputs.directedUnits === 0) return result('basal-gap', 'passed')
  const limit = basalGapHours(parts.kind === 'scheduled' ? (order?.order ?? null) : null)
  const freeMs = given.givenAtMs + limit * HOUR_MS
  if (inputs.nowMs >= freeMs) return result('basal-gap', 'passed')
  return result('basal-gap', parts.kind === 'by-direction' ? 'warns' : 'stops', {
    found: Math.floor((inputs.nowMs - given.givenAtMs) / MINUTE_MS),
    limit,
    units: given.units,
    insulin: given.insulin,
    source: given.source,
    freeMs,
  })
}

/** True for a scheduled dose of rapid or regular insulin. */
export function isMealtime({ insulin }: Pick<DoseFacts, 'insulin'>, parts: Parts): boolean {
  return parts.kind === 'scheduled' && !isBasal(insulin)
}

/** The guards that scheduled rapid and regular insulin has besides those of every scheduled dose. */
export function mealtimeGuards(facts: DoseFacts, parts: Parts): readonly GuardResult[] {
  if (!isMealtime(facts, parts)) return []
  return [readingInDoubt(facts), readingAgeToGive(facts, parts), outOfRange(facts), food(facts), mealStacking(facts)]
}

/**
 * Food for the dose: a running feed, a tray that was served within the ward's minutes, or one that comes within them.
 * A tray is at most 15 min away for rapid insulin (ADA Standards of Care, hospital section; S) and 30 for regular insulin
 * (the ward's own setting). With the minutes of the second check more it warns: the dose is not given before the limit.
 */
function food({ insulin, policy, inputs }: DoseFacts): GuardResult {
  const { food: found, nowMs } = inputs
  if (found?.by === 'feed')
    return found.stoppedSinceMs === null
      ? result('mealtime-food', 'passed', { found: 'fed' })
      : result('mealtime-food', 'stops', { found: 'feed-stopped', sinceMs: found.stoppedSinceMs })
  if (inputs.nilByMouth) return result('mealtime-food', 'stops', { found: 'nil-by-mouth' })
  if (found === undefined || found.mealFromMs === null)
    return result('mealtime-food', 'stops', { found: 'no-meal-near' })
  if (found.servedAtMs !== null) {
    const limit = policy.dose.trayServedAgoMaxMin
    const outcome = nowMs - found.servedAtMs > limit * MINUTE_MS ? 'stops' : 'passed'
    return result('mealtime-food', outcome, { found: 'served', servedMs: found.servedAtMs, limit })
  }
  if (found.expectedAtMs === null) return result('mealtime-food', 'stops', { found: 'no-meal-near' })
  const limit = INSULIN_CLASS[insulin] === 'rapid' ? policy.dose.trayWithinMin : policy.dose.trayWithinRegularMin
  const awayMs = found.expectedAtMs - nowMs
  const details = {
    found: 'expected' as const,
    expectedMs: found.expectedAtMs,
    limit,
    fromMs: found.expectedAtMs - limit * MINUTE_MS,
  }
  if (awayMs > (limit + policy.dose.verifiedValidMin) * MINUTE_MS) return result('mealtime-food', 'stops', details)
  return result('mealtime-food', awayMs > limit * MINUTE_MS ? 'warns' : 'passed', details)
}

/** Insulin for this meal that was given already stops; any other within the correction interval warns. */
function mealStacking({ insulin, policy, inputs }: DoseFacts): GuardResult {
  const short = inputs.earlierDoses.filter((dose) => !isBasal(dose.insulin))
  const intervals = policy.dose.correctionIntervalMin
  const within = (dose: EarlierDose): number =>
    Math.max(intervals[INSULIN_CLASS[insulin]] ?? 0, intervals[INSULIN_CLASS[dose.insulin]] ?? 0) * MINUTE_MS
  const dose = newest(short.filter((one) => inputs.nowMs - one.givenAtMs < within(one)))
  if (dose === undefined) return result('mealtime-stacking', 'passed')
  const { food: found } = inputs
  // with a feed there is no tray: the hour before the dose counts as its occasion
  const mealFromMs = found?.by === 'mouth' ? (found.mealFromMs ?? Infinity) : inputs.nowMs - HOUR_MS
  const sameMeal = dose.givenAtMs >= mealFromMs
  return result('mealtime-stacking', sameMeal ? 'stops' : 'warns', {
    found: Math.floor((inputs.nowMs - dose.givenAtMs) / MINUTE_MS),
    units: dose.units,
    insulin: dose.insulin,
    source: dose.source,
    sameMeal,
  })
}

function newest(doses: readonly EarlierDose[]): EarlierDose | undefined {
  return doses.reduce<EarlierDose | undefined>(
    (best, dose) => (best === undefined || dose.givenAtMs > best.givenAtMs ? dose : best),
    undefined,
  )
}
