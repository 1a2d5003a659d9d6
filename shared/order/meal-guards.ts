/** The guards on food and on insulin already given. */
import type { EarlierDose, Fraction, GuardDetails, GuardResult } from '../dose/dose.ts'
import { SCHEDULED_WINDOW_MIN } from '../check/scheduled.ts'
import { INSULIN_CLASS } from './order.ts'
import { asksEating, hasNotEatingRule, isNotEating, type DoseFacts, type Parts } from './parts.ts'
import { result } from './reading-guards.ts'
import { MINUTE_MS } from '../time/span.ts'

/**
 * The meal was already served, or is too far off. Rapid insulin is given 15 min before or right after the meal
 * (Endocrine Society 2022, S).
 *
 * A tray further off than the policy's minutes warns while the dose could still be on time, and stops beyond that. A
 * meal part stops once the tray was served longer ago than the policy allows. A correction alone only warns that a
 * reading taken after the tray may include the meal.
 */
export function mealTiming({ policy, inputs }: DoseFacts, parts: Parts): GuardResult {
  const { nowMs, trayServedAtMs: served, trayExpectedAtMs: expected } = inputs
  if (parts.mealLater && !parts.correction) return result('meal-timing', 'stops', { found: 'after-the-meal' })
  if (parts.kind === 'after-meal')
    return served === null
      ? result('meal-timing', 'stops', { found: 'not-served' })
      : result('meal-timing', 'passed', { servedMs: served })
  if (!parts.meal) {
    const afterTray = served !== null && inputs.readingTakenAtMs !== null && inputs.readingTakenAtMs > served
    return afterTray
      ? result('meal-timing', 'warns', { found: 'reading-after-tray', servedMs: served })
      : result('meal-timing', 'passed')
  }
  if (served !== null) {
    const limit = policy.dose.trayServedAgoMaxMin
    const tooLate = nowMs - served > limit * MINUTE_MS
    return result('meal-timing', tooLate ? 'stops' : 'passed', { found: 'served', servedMs: served, limit })
  }
  if (expected === null) return result('meal-timing', 'stops', { found: 'unknown' })
  const limit = policy.dose.trayWithinMin
  const awayMs = expected - nowMs
  const details: GuardDetails['meal-timing'] = {
    found: 'expected',
    expectedMs: expected,
    limit,
    fromMs: expected - limit * MINUTE_MS,
    proposeFromMs: expected - (limit + policy.dose.verifiedValidMin) * MINUTE_MS,
  }
  if (awayMs > (limit + policy.dose.verifiedValidMin) * MINUTE_MS) return result('meal-timing', 'stops', details)
  return result('meal-timing', awayMs > limit * MINUTE_MS ? 'warns' : 'passed', details)
}

/**
 * Nil by mouth or not eating holds the meal part only. Unsure warns: the warning suggests waiting (given 20–30 min
 * after the meal starts, hospital collaborative, R).
 */
export function notEating({ order, inputs }: DoseFacts, parts: Parts): GuardResult {
  if (parts.kind === 'after-meal') return result('not-eating', 'passed')
  if (!parts.meal) {
    // a correction that depends on eating needs the answer too
    const asked =
      !parts.correction ||
      order === null ||
      !inputs.atOrderOccasion ||
      inputs.occasion === null ||
      !asksEating(order.order, inputs.occasion) ||
      inputs.nilByMouth ||
      inputs.meal !== null
    return asked ? result('not-eating', 'passed') : result('not-eating', 'stops', { found: 'not-asked' })
  }
  if (inputs.nilByMouth) return result('not-eating', 'holds-meal', { found: 'nil-by-mouth' })
  if (inputs.meal === null) return result('not-eating', 'stops', { found: 'not-asked' })
  if (inputs.meal.willEat === 'no') return result('not-eating', 'holds-meal', { found: 'no' })
  if (inputs.meal.willEat === 'unsure')
    return result('not-eating', 'warns', { found: 'unsure', timing: order?.order.mealTiming ?? 'before' })
  return result('not-eating', 'passed', { found: 'yes' })
}

/**
 * The order's own rule on the correction for a patient who does not eat: hold it, or use another scale. Null: the order
 * has no rule, so older doses keep their original guards.
 */
export function notEatingRule({ order, inputs }: DoseFacts, parts: Parts): GuardResult | null {
  const rule = order?.order.notEating
  if (
    order === null ||
    rule === undefined ||
    !hasNotEatingRule(order.order) ||
    parts.kind !== 'from-reading' ||
    !parts.correction
  )
    return null
  if (!isNotEating(inputs))
    return result('not-eating-rule', inputs.meal?.willEat === 'unsure' ? 'warns' : 'passed', {
      found: 'eats',
      rule: rule.kind,
    })
  const details = { found: inputs.nilByMouth ? 'nil-by-mouth' : 'no', rule: rule.kind } as const
  return rule.kind === 'hold-all'
    ? result('not-eating-rule', 'holds-correction', details)
    : result('not-eating-rule', 'passed', details)
}

/** A meal part by carbohydrate needs the grams, unless it is held anyway. */
export function carbohydrateNeeded({ order, inputs }: DoseFacts, parts: Parts): GuardResult {
  const held = parts.kind !== 'after-meal' && (inputs.nilByMouth || inputs.meal?.willEat === 'no')
  const needed = parts.meal && order?.order.meal?.kind === 'ratio' && !held
  return result('carbohydrate-needed', needed && (inputs.meal?.carbohydrateGrams ?? null) === null ? 'stops' : 'passed')
}

/**
 * Insulin was given since the reading was taken, so the reading is outdated and a new one is needed. A meal part
 * already given at the occasion is not given again. A scheduled dose is not given if its insulin was given since its
 * window opened (on paper, elsewhere, or by a direction).
 */
export function alreadyDosed({ insulin, inputs }: DoseFacts, parts: Parts): GuardResult {
  const since =
    parts.kind === 'from-reading' || parts.kind === 'by-direction'
      ? newest(
          inputs.earlierDoses.filter(
            (dose) => inputs.readingTakenAtMs !== null && dose.givenAtMs >= inputs.readingTakenAtMs,
          ),
        )
      : undefined
  // a prescriber who was told may decide; the nurse and the checker still see the warning
  if (since !== undefined)
    return result('already-dosed', parts.kind === 'by-direction' ? 'warns' : 'stops', {
      found: 'since-reading',
      units: since.units,
      insulin: since.insulin,
      givenMs: since.givenAtMs,
    })
  const { scheduledDueMs: dueMs } = inputs
  if (parts.scheduled !== null && dueMs !== null) {
    const inWindow = newest(
      inputs.earlierDoses.filter(
        (dose) => dose.insulin === insulin && dose.givenAtMs >= dueMs - SCHEDULED_WINDOW_MIN * MINUTE_MS,
      ),
    )
    if (inWindow !== undefined)
      return result('already-dosed', 'stops', {
        found: 'scheduled',
        units: inWindow.units,
        insulin: inWindow.insulin,
        givenMs: inWindow.givenAtMs,
      })
  }
  if (parts.meal && inputs.mealAlreadyGiven)
    return result('already-dosed', parts.correction ? 'holds-meal' : 'stops', { found: 'meal' })
  return result('already-dosed', 'passed')
}

function newest(doses: readonly EarlierDose[]): EarlierDose | undefined {
  return doses.reduce<EarlierDose | undefined>(
    (best, dose) => (best === undefined || dose.givenAtMs > best.givenAtMs ? dose : best),
    undefined,
  )
}

/**
 * Another rapid or regular dose lies within the correction interval (rapid 4 h, regular 6 h by default: order forms,
 * ADA 2004, R).
 *
 * It affects the correction only, and only one that adds insulin: holding a subtracting correction would raise the
 * dose. At one of the order's occasions it warns, unless order or policy says that it stops. Elsewhere it holds the
 * correction, as it does after a correction at this occasion. A dose without another part is stopped. Without an
 * interval in the order, the longer of the two insulins' intervals applies.
 */
export function stacking(
  { order, insulin, policy, inputs }: DoseFacts,
  parts: Parts,
  correction: Fraction | null,
): GuardResult {
  if (!parts.correction || correction === null || correction.numerator <= 0) return result('stacking', 'passed')
  const intervals = policy.dose.correctionIntervalMin
  const intervalFor = (dose: EarlierDose): number =>
    order?.order.correctionIntervalMin ??
    Math.max(intervals[INSULIN_CLASS[insulin]] ?? 0, intervals[INSULIN_CLASS[dose.insulin]] ?? 0)
  const dose = newest(
    inputs.earlierDoses.filter((earlier) => inputs.nowMs - earlier.givenAtMs < intervalFor(earlier) * MINUTE_MS),
  )
  if (dose === undefined) return result('stacking', 'passed')
  const limit = intervalFor(dose)
  const ownOccasion = inputs.atOrderOccasion && !inputs.correctionAlreadyGiven
  const details: GuardDetails['stacking'] = {
    found: Math.floor((inputs.nowMs - dose.givenAtMs) / MINUTE_MS),
    limit,
    units: dose.units,
    insulin: dose.insulin,
    source: dose.source,
    freeMs: dose.givenAtMs + limit * MINUTE_MS,
    why: ownOccasion ? 'own-occasion' : inputs.correctionAlreadyGiven ? 'occasion-corrected' : 'extra-reading',
  }
  const warnsOnly =
    ownOccasion && order?.order.stackingStopsAtOccasions !== true && !policy.dose.stackingStopsAtOccasions
  if (warnsOnly) return result('stacking', 'warns', details)
  return result('stacking', parts.meal ? 'holds-correction' : 'stops', details)
}
