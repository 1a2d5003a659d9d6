/** What an order yields for one number: correction and meal part as exact amounts, before adding and rounding. */
import type { Occasion } from '../check/check.ts'
import type { Fraction, WorkingTerm } from '../dose/dose.ts'
import type { NumericGlucose } from '../glucose/value.ts'
import { divide, fraction, fractionOf, multiply } from './fraction.ts'
import type { InsulinOrder, Scale } from './order.ts'
import { answerFor, type ScaleLookup } from './scale.ts'

type ScalePart = {
  readonly term: Extract<WorkingTerm, { part: 'correction-scale' }>
  readonly amount: Fraction
  readonly lookup: ScaleLookup
}
export type CorrectionPart = {
  readonly term: WorkingTerm
  readonly amount: Fraction
  readonly lookup: ScaleLookup | null
}

/** Decides which of the order's scales applies. */
export type CorrectionAt = { readonly atBedtime: boolean; readonly notEating: boolean }

/**
 * What the order decides about the correction at one glucose.
 * - `part`: the correction itself, before any hold. Null: the order has none here.
 * - `held`: the order holds it because the patient does not eat, so it gives 0 units.
 * - `calls`: the step says "no dose, call". The call is owed whether the correction is held or not.
 * - `noDose`: the step leaves no dose, not even 0 units, until the prescriber was called.
 */
export type CorrectionDecision = {
  readonly part: CorrectionPart | null
  readonly held: boolean
  readonly calls: boolean
  readonly noDose: boolean
}

/**
 * Decides the correction for a glucose in the order's unit. The preview, the verification and the dose all ask it.
 * "Hold all when not eating" comes before the step: 0 units by the hold, and a call that the step asks for stays owed.
 */
export function decideCorrection(
  order: Pick<InsulinOrder, 'correction' | 'bedtime' | 'notEating'>,
  glucose: NumericGlucose,
  at: CorrectionAt,
): CorrectionDecision {
  const part = correctionFor(order, glucose, at)
  const held = at.notEating && order.notEating?.kind === 'hold-all'
  const calls = part?.lookup?.answer === 'call'
  return { part, held, calls, noDose: calls && !held }
}

/**
 * The correction for a glucose in the order's unit. Null: the order has none, or none at bedtime. For a patient who
 * does not eat, the order's own scale for that replaces any other. At bedtime it is halved if the order halves.
 */
function correctionFor(
  order: Pick<InsulinOrder, 'correction' | 'bedtime' | 'notEating'>,
  glucose: NumericGlucose,
  at: CorrectionAt,
): CorrectionPart | null {
  const { correction, bedtime, notEating } = order
  if (correction === null || (at.atBedtime && bedtime.kind === 'none')) return null
  const halved = at.atBedtime && bedtime.kind === 'half'
  if (notEating?.kind === 'own-scale' && at.notEating) {
    const part = scalePart(notEating.scale, glucose, halved)
    return { ...part, term: { ...part.term, notEating: true } }
  }
  if (correction.kind === 'factor') {
    const above = glucose.value - correction.target
    const counted = above < 0 && !correction.belowTargetSubtracts ? 0 : above
    const amount = fraction(counted, correction.perUnit)
    return {
      amount,
      lookup: null,
      term: {
        part: 'correction-factor',
        glucose: glucose.value,
        target: correction.target,
        perUnit: correction.perUnit,
        amount,
        held: false,
      },
    }
  }
  return scalePart(at.atBedtime && bedtime.kind === 'own-scale' ? bedtime.scale : correction.scale, glucose, halved)
}

/**
 * Bedtime halving rounds half units down, as a published scale prints it: half of 3 is 1 (pregnancy clinic of a US
 * medical school; R).
 */
function scalePart(scale: Scale, glucose: NumericGlucose, halved: boolean): ScalePart {
  const lookup = answerFor(scale, glucose)
  const units = lookup.answer === 'call' ? 0 : halved ? Math.floor(lookup.answer / 2) : lookup.answer
  const amount = fractionOf(units)
  return {
    amount,
    lookup,
    term: {
      part: 'correction-scale',
      atLeast: lookup.atLeast,
      below: lookup.below,
      also: lookup.also,
      halved,
      amount,
      held: false,
    },
  }
}

/**
 * The meal part at an occasion: fixed, or by `grams` of carbohydrate. It is multiplied by the share eaten where the
 * order gives it after the meal. Null: no meal part, or the grams are unknown.
 */
export function mealFor(
  order: Pick<InsulinOrder, 'meal' | 'mealTiming'>,
  occasion: Occasion,
  eaten: { readonly grams: number | null; readonly sharePercent: number | null },
  held: boolean,
): WorkingTerm | null {
  const sharePercent = order.mealTiming === 'after-by-share' ? eaten.sharePercent : null
  const share = sharePercent === null ? fraction(1, 1) : fraction(sharePercent, 100)
  if (order.meal === null) return null
  if (order.meal.kind === 'fixed') {
    const units = order.meal.units[occasion] ?? 0
    return { part: 'meal-fixed', units, sharePercent, amount: multiply(fractionOf(units), share), held }
  }
  if (eaten.grams === null) return null
  const { gramsPerUnit } = order.meal
  return {
    part: 'meal-ratio',
    grams: eaten.grams,
    gramsPerUnit,
    sharePercent,
    amount: multiply(divide(fractionOf(eaten.grams), fractionOf(gramsPerUnit)), share),
    held,
  }
}
