/**
 * CMS816, hospital harm: severe hypoglycemia. A proportion of stays; lower is better; there are no exclusions. Logic:
 * published CQL of version 1.0.000 (R).
 */
import { DAY_MS, MINUTE_MS } from '../time/span.ts'
import {
  comparable,
  type DrugGiven,
  type GlucoseResult,
  type MeasureFacts,
  type MeasurePeriod,
  type OutOfRangeRule,
} from './facts.ts'
import { isDuring, qualifyingStays, type Hospitalization } from './hospitalization.ts'

/** mg/dL. Strictly below is a severe low. A repeat strictly above it cancels the low. */
export const SEVERE_LOW_BELOW = 40
export const CANCELLED_ABOVE = 80
const CANCELLED_WITHIN_MS = 5 * MINUTE_MS
const DRUG_WITHIN_MS = DAY_MS

/** A result below 40 mg/dL and its outcome. */
export type SevereLow = {
  readonly resultId: string
  readonly atMs: number
  readonly kind: 'harm' | 'cancelled-by-repeat' | 'no-drug-in-24-h'
}

export type SevereLowStay = {
  readonly encounterId: string
  readonly hospitalization: Hospitalization
  /** A drug that can cause a severe low was given during the stay. This is both initial population and denominator. */
  readonly denominator: boolean
  /** At least one harm event. A stay counts once. */
  readonly numerator: boolean
  readonly lows: readonly SevereLow[]
}

/** Each qualifying stay with its result and the reasons, including stays outside the denominator. */
export function severeLowMeasure(
  facts: MeasureFacts,
  period: MeasurePeriod,
  rule: OutOfRangeRule,
): readonly SevereLowStay[] {
  return qualifyingStays(facts, period).map(({ encounter, hospitalization }) => {
    const drugs = facts.drugs.filter((drug) => drug.canCauseSevereLow && drug.status === 'completed')
    // only the start of a drug matters, both for the denominator and for the look-back
    const denominator = drugs.some((drug) => isDuring(hospitalization, drug.startMs))
    const lows = denominator ? lowsOf(facts.results, hospitalization, drugs, rule) : []
    return {
      encounterId: encounter.encounterId,
      hospitalization,
      denominator,
      numerator: lows.some(({ kind }) => kind === 'harm'),
      lows,
    }
  })
}

function lowsOf(
  results: readonly GlucoseResult[],
  hospitalization: Hospitalization,
  drugs: readonly DrugGiven[],
  rule: OutOfRangeRule,
): readonly SevereLow[] {
  const during = results.flatMap((result) => {
    const value = comparable(result, rule)
    return result.accepted && result.atMs !== null && value !== null && isDuring(hospitalization, result.atMs)
      ? [{ resultId: result.resultId, atMs: result.atMs, value }]
      : []
  })
  return during
    .filter(({ value }) => value < SEVERE_LOW_BELOW)
    .sort((a, b) => a.atMs - b.atMs)
    .map(({ resultId, atMs }): SevereLow => {
      const drugged = drugs.some(({ startMs }) => startMs >= atMs - DRUG_WITHIN_MS && startMs <= atMs)
      if (!drugged) return { resultId, atMs, kind: 'no-drug-in-24-h' }
      const cancelled = during.some(
        (other) =>
          other.resultId !== resultId &&
          other.value > CANCELLED_ABOVE &&
          other.atMs > atMs &&
          other.atMs <= atMs + CANCELLED_WITHIN_MS,
      )
      return { resultId, atMs, kind: cancelled ? 'cancelled-by-repeat' : 'harm' }
    })
}
