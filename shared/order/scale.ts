/** A scale: a step function from glucose to units of insulin or to "no dose, call". */
import { accept, refuse, type Outcome } from '../outcome.ts'
import { glucoseDigits, type GlucoseUnit, type NumericGlucose } from '../glucose/value.ts'
import type { Scale, ScaleAnswer } from './order.ts'

/** The step that answers a glucose: from `atLeast` (included) to `below` (excluded). Null: the step has no such end. */
export type ScaleLookup = {
  readonly answer: ScaleAnswer
  readonly atLeast: number | null
  readonly below: number | null
  readonly also: string | null
  /** Minutes until the repeat that the step prints; null: none. */
  readonly repeatMin: number | null
}

/**
 * The scale's answer: units, or 'call'. Below the first step it is 0 units. The glucose must be in the scale's unit;
 * throws otherwise.
 */
export function answerFor(scale: Scale, glucose: NumericGlucose): ScaleLookup {
  if (scale.unit !== glucose.unit) throw new Error('a glucose was looked up in a scale of the other unit')
  let found: ScaleLookup = {
    answer: 0,
    atLeast: null,
    below: scale.steps[0]?.atLeast ?? null,
    also: null,
    repeatMin: null,
  }
  for (const [index, step] of scale.steps.entries()) {
    if (step.atLeast > glucose.value) break
    found = {
      answer: step.answer,
      atLeast: step.atLeast,
      below: scale.steps[index + 1]?.atLeast ?? null,
      also: step.also,
      repeatMin: step.repeatMin ?? null,
    }
  }
  return found
}

export type ScaleRefusal =
  | 'scale-empty'
  | 'scale-bound-not-whole'
  | 'scale-not-ascending'
  | 'scale-answer-not-units'
  | 'scale-goes-down'
  | 'scale-doses-below-low'
  | 'scale-above-limit'

/** Which of an order's scales. */
export type ScalePart = 'correction' | 'bedtime' | 'not-eating'

/** The value at which a step begins, as the order prints it. `part`, `place`: which of the order's scales, and where in its rows. */
type AtStep = { value: string; unit: string; part?: ScalePart; place?: string }

declare module '../outcome.ts' {
  interface RefusalDetails {
    'scale-empty': Omit<AtStep, 'value' | 'unit'>
    'scale-bound-not-whole': AtStep
    'scale-not-ascending': AtStep
    'scale-answer-not-units': AtStep & { answer: string }
    'scale-goes-down': AtStep & { answer: number; before: number }
    'scale-doses-below-low': AtStep & { answer: number; low: string }
    'scale-above-limit': AtStep & { answer: number; limit: number }
  }
}

/** Highest printed bound: twice the top of a meter's range (mg/dL, or tenths of mmol/L). */
export const LARGEST_BOUND: Readonly<Record<GlucoseUnit, number>> = { 'mg/dL': 1200, 'mmol/L': 666 }

/**
 * Formats a count of mg/dL or tenths of mmol/L as the order prints it: "350", "10.0". Every refusal prints a glucose
 * with it. A count that is not whole keeps its decimals, because the refusal is about them.
 */
export function boundText(value: number, unit: GlucoseUnit): string {
  return unit === 'mg/dL' || Number.isInteger(value) ? glucoseDigits({ unit, value }) : String(value / 10)
}

/** True for 0, 0.5, 1, 1.5 …: the amounts that a syringe or pen can be set to. */
export function isDeliverable(units: number): boolean {
  return Number.isFinite(units) && units >= 0 && Number.isInteger(units * 2)
}

/**
 * Accepts a scale that is total and safe. Bounds are integers and ascend. Answers are whole or half units and never
 * decrease as glucose rises ('call' excepted). No value below the low limit gets more than 0 units, and no answer
 * exceeds the single-dose limit. A refusal names the value; nothing is repaired.
 */
export function checkScale(
  scale: Scale,
  limits: { readonly low: number; readonly maxSingleDose: number },
): Outcome<Scale, ScaleRefusal> {
  if (scale.steps.length === 0) return refuse('scale-empty')
  const unit = scale.unit
  let before = -1
  let highest = 0
  for (const { atLeast, answer } of scale.steps) {
    if (!Number.isInteger(atLeast) || atLeast < 0 || atLeast > LARGEST_BOUND[unit])
      return refuse('scale-bound-not-whole', { value: boundText(atLeast, unit), unit })
    const value = boundText(atLeast, unit)
    if (atLeast <= before) return refuse('scale-not-ascending', { value, unit })
    before = atLeast
    if (answer === 'call') continue
    if (!isDeliverable(answer)) return refuse('scale-answer-not-units', { value, unit, answer: String(answer) })
    if (answer > 0 && atLeast < limits.low)
      return refuse('scale-doses-below-low', { value, unit, answer, low: boundText(limits.low, unit) })
    if (answer > limits.maxSingleDose)
      return refuse('scale-above-limit', { value, unit, answer, limit: limits.maxSingleDose })
    if (answer < highest) return refuse('scale-goes-down', { value, unit, answer, before: highest })
    highest = answer
  }
  return accept(scale)
}
