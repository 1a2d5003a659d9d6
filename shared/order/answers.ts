/** What an order answers for each number: the table beside the entry form, and the basis of a property test. */
import { OCCASIONS, type Occasion } from '../check/check.ts'
import type { Fraction, WorkingTerm } from '../dose/dose.ts'
import { METER_RANGE, type GlucoseUnit } from '../glucose/value.ts'
import { add, roundUnits, ZERO } from './fraction.ts'
import type { InsulinOrder, Rounding, Scale } from './order.ts'
import { hasMealPart } from './parts.ts'
import { decideCorrection, mealFor, type CorrectionAt } from './terms.ts'

/** Units after rounding. 'call': no dose, call. 'above-limit': above the single-dose limit, so no dose either. */
export type OrderAnswer = {
  readonly glucose: number
  readonly answer: number | 'call' | 'above-limit'
  readonly exact: Fraction
  /** The step says "call", whether or not the correction is held. */
  readonly callOwed: boolean
  readonly also: string | null
}

/** The parts of an order that determine its correction. */
export type CorrectionOrder = Pick<InsulinOrder, 'unit' | 'correction' | 'bedtime' | 'notEating' | 'rounding'>

/**
 * The correction alone for a glucose in the order's count, within the single-dose limit in units. 0 units when the
 * order holds it.
 */
export function correctionAnswer(
  order: CorrectionOrder,
  glucose: number,
  at: CorrectionAt,
  limit: number,
): OrderAnswer {
  const { part, held, calls, noDose } = decideCorrection(order, { unit: order.unit, value: glucose }, at)
  const also = part?.lookup?.also ?? null
  if (noDose) return { glucose, answer: 'call', exact: ZERO, callOwed: true, also }
  if (part === null || held) return { glucose, answer: 0, exact: ZERO, callOwed: calls, also: calls ? also : null }
  return {
    glucose,
    answer: withinLimit(part.amount, order.rounding, limit),
    exact: part.amount,
    callOwed: false,
    also,
  }
}

function withinLimit(sum: Fraction, rounding: Rounding, limit: number): number | 'above-limit' {
  const units = roundUnits(sum, rounding)
  return units > limit ? 'above-limit' : units
}

/**
 * The values at which a scale's answer may change, each with the value before and after it. One row for each step, to
 * compare with the paper's rows.
 */
export function edgesOf(scale: Scale): readonly (readonly [before: number, at: number, after: number])[] {
  return scale.steps
    .filter(({ atLeast }) => atLeast > 0)
    .map(({ atLeast }) => [atLeast - 1, atLeast, atLeast + 1] as const)
}

/** Step between two values of a factor's table: mg/dL, or tenths of mmol/L. */
const FACTOR_STEP: Readonly<Record<GlucoseUnit, number>> = { 'mg/dL': 20, 'mmol/L': 10 }
/** Highest value of a factor's table. Above it a reading is critical on most wards. */
const FACTOR_TOP: Readonly<Record<GlucoseUnit, number>> = { 'mg/dL': 400, 'mmol/L': 220 }

/**
 * Values for the table of a factor: round numbers, the target, and the low limit with the value below it. Ascending,
 * within the meter's range.
 */
export function factorValues({
  unit,
  target,
  low,
}: {
  readonly unit: GlucoseUnit
  readonly target: number
  readonly low: number
}): readonly number[] {
  const step = FACTOR_STEP[unit]
  const { least, most } = METER_RANGE[unit]
  const round: number[] = []
  for (let value = Math.ceil(low / step) * step; value <= FACTOR_TOP[unit]; value += step) round.push(value)
  return [...new Set([low - 1, low, target, ...round])]
    .filter((value) => value >= least && value <= most)
    .sort((a, b) => a - b)
}

export type ExampleDose = {
  readonly terms: readonly WorkingTerm[]
  readonly sum: Fraction
  readonly units: number
  readonly stops: 'call' | 'above-limit' | null
  /** The step says "call", whether or not the correction is held. */
  readonly callOwed: boolean
  readonly also: string | null
}

/**
 * The whole dose of the order for an example value. Correction and meal part are added and rounded once, as in a dose
 * that passes every guard. `grams` null: unknown, so a meal part by carbohydrate is left out.
 */
export function exampleDose(
  order: InsulinOrder,
  example: {
    readonly glucose: number
    readonly grams: number | null
    readonly occasion: Occasion
    readonly eats: boolean
  },
  limit: number,
): ExampleDose {
  const { glucose, grams, occasion, eats } = example
  const { part, held, calls, noDose } = decideCorrection(
    order,
    { unit: order.unit, value: glucose },
    { atBedtime: occasion === 'bedtime', notEating: !eats },
  )
  const meal = hasMealPart(order, occasion) ? mealFor(order, occasion, { grams, sharePercent: 100 }, !eats) : null
  const terms = [...(part === null ? [] : [{ ...part.term, held }]), ...(meal === null ? [] : [meal])]
  const sum = terms.reduce((total, term) => (term.held ? total : add(total, term.amount)), ZERO)
  const units = roundUnits(sum, order.rounding)
  const stops = noDose ? 'call' : units > limit ? 'above-limit' : null
  return { terms, sum, units, stops, callOwed: calls, also: part?.lookup?.also ?? null }
}

/** The occasion that shows most of the order: a meal of its meal part, otherwise its first one. */
export function mainOccasion(order: InsulinOrder): Occasion {
  return OCCASIONS.find((occasion) => hasMealPart(order, occasion)) ?? order.occasions[0] ?? 'before-breakfast'
}
