/** Charts a meter's value beside a laboratory's taken at the same time. */
import type { GlucoseUnit } from '../glucose/value.ts'
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import { MINUTE_MS } from '../time/span.ts'
import type { Comparison } from './meter.ts'

/**
 * Longest time between finger stick and laboratory sample, in minutes, included. Samples are paired within 5 to 15 min
 * (common practice, no published figure). Glucose can move by some mg/dL a minute after food or insulin. A longer gap
 * would make the meter look inaccurate.
 */
export const COMPARISON_APART_MOST_MIN = 15

export type ComparisonFacts = {
  readonly meter: { readonly meterId: string; readonly wardId: string; readonly unit: GlucoseUnit }
  readonly lots: readonly string[]
  readonly comparisons: readonly Comparison[]
}

export type ComparisonRefusal =
  | 'comparison-meter-time-in-future'
  | 'comparison-laboratory-time-in-future'
  | 'comparison-too-far-apart'
  | 'comparison-other-unit'
  | 'comparison-lot-unknown'
  | 'comparison-already-there'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'comparison-too-far-apart': { minutes: number; most: number }
    'comparison-other-unit': { unit: string }
    'comparison-lot-unknown': { lot: string }
  }
}

/**
 * Charts one pair of values in the meter's unit, neither taken in the future, at most 15 min apart (15 is included). A
 * pair with the same two times is refused as a duplicate, so two people who enter it at once chart it once.
 */
export function recordComparison(
  comparison: Comparison,
  facts: ComparisonFacts,
  nowMs: number,
): Outcome<LedgerEvent[], ComparisonRefusal> {
  const { meterAtMs, laboratoryAtMs, meterValue, laboratoryValue, lot } = comparison
  if (meterAtMs > nowMs) return refuse('comparison-meter-time-in-future')
  if (laboratoryAtMs > nowMs) return refuse('comparison-laboratory-time-in-future')
  const apartMs = Math.abs(meterAtMs - laboratoryAtMs)
  if (apartMs > COMPARISON_APART_MOST_MIN * MINUTE_MS)
    return refuse('comparison-too-far-apart', {
      minutes: Math.ceil(apartMs / MINUTE_MS),
      most: COMPARISON_APART_MOST_MIN,
    })
  if (meterValue.unit !== facts.meter.unit || laboratoryValue.unit !== facts.meter.unit)
    return refuse('comparison-other-unit', { unit: facts.meter.unit })
  if (lot !== null && !facts.lots.includes(lot)) return refuse('comparison-lot-unknown', { lot })
  if (facts.comparisons.some((one) => one.meterAtMs === meterAtMs && one.laboratoryAtMs === laboratoryAtMs))
    return refuse('comparison-already-there')
  return accept([
    {
      ...eventHead({ wardId: facts.meter.wardId }, comparison.byId, nowMs, meterAtMs),
      type: 'comparison-recorded',
      body: { comparison },
    },
  ])
}
