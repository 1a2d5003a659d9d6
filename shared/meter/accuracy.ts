/**
 * How near a meter is to the laboratory: published accuracy limits, judged for one pair and for a meter's set of pairs.
 * Values are whole numbers and every comparison is one of whole numbers, so that a pair exactly on a limit is inside it.
 *
 * ISO 15197:2013: 95 % within ± 15 mg/dL below 100 mg/dL and ± 15 % from 100 (PMC4525642; R); in mmol/L its own
 * ± 0.83 below 5.55 (M). CLSI POCT12-A3: 95 % within ± 12 mg/dL below 100 and ± 12.5 % from 100, and at most 2 % beyond
 * 15 mg/dL below 75 or 20 % from 75 (PMC5951031; R). FDA, point of care: 95 % within ± 12 mg/dL below 75 and ± 12 % from
 * 75, and 98 % within ± 15 mg/dL below 75 and ± 15 % from 75 (R/S).
 */
import { MG_PER_DL_IN_ONE_MMOL_PER_L } from '../glucose/convert.ts'
import type { GlucoseUnit } from '../glucose/value.ts'

/** Counts of one unit: whole mg/dL, or tenths of mmol/L. */
export type Pair = { readonly unit: GlucoseUnit; readonly meter: number; readonly laboratory: number }

export type Limit = {
  /** Below this laboratory value the difference itself is limited, from it on its share of the laboratory value. mg/dL. */
  readonly belowMgPerDl: number
  /** mg/dL, still inside. */
  readonly withinMgPerDl: number
  /** The same two in hundredths of a mmol/L where the source prints its own; null: converted, unrounded. */
  readonly inHundredthsOfMmol: { readonly below: number; readonly within: number } | null
  /** Thousandths of the laboratory value, still inside. */
  readonly withinPermille: number
}

export type StandardName = 'iso-15197-2013' | 'clsi-poct12-a3' | 'fda-point-of-care'

/** At least this many of a hundred pairs must lie inside the limit. */
export type Demand = { readonly limit: Limit; readonly leastPercent: number }
export type Standard = {
  readonly name: StandardName
  readonly inner: Demand
  /** null: the source asks for one share only */
  readonly outer: Demand | null
}

const limit = (
  belowMgPerDl: number,
  withinMgPerDl: number,
  withinPermille: number,
  inHundredthsOfMmol: Limit['inHundredthsOfMmol'] = null,
): Limit => ({ belowMgPerDl, withinMgPerDl, inHundredthsOfMmol, withinPermille })

export const STANDARDS: readonly Standard[] = [
  {
    name: 'iso-15197-2013',
    inner: { limit: limit(100, 15, 150, { below: 555, within: 83 }), leastPercent: 95 },
    outer: null,
  },
  {
    name: 'clsi-poct12-a3',
    inner: { limit: limit(100, 12, 125), leastPercent: 95 },
    outer: { limit: limit(75, 15, 200), leastPercent: 98 },
  },
  {
    name: 'fda-point-of-care',
    inner: { limit: limit(75, 12, 120), leastPercent: 95 },
    outer: { limit: limit(75, 15, 150), leastPercent: 98 },
  },
]

/** Below this many pairs no verdict is given over a set: ISO 15197:2013 works with 100 subjects (M). */
export const PAIRS_NEEDED = 100

const TEN_THOUSANDTHS = 10_000
const MG_PER_DL_IN_TEN_THOUSAND_MMOL = Math.round(MG_PER_DL_IN_ONE_MMOL_PER_L * TEN_THOUSANDTHS)

/** The fixed part of a limit in whole numbers: a count times `scale` compares with `below` and `within`. */
function fixedPart(
  { belowMgPerDl, withinMgPerDl, inHundredthsOfMmol }: Limit,
  unit: GlucoseUnit,
): { readonly scale: number; readonly below: number; readonly within: number } {
  if (unit === 'mg/dL') return { scale: 1, below: belowMgPerDl, within: withinMgPerDl }
  if (inHundredthsOfMmol !== null) return { scale: 10, ...inHundredthsOfMmol }
  // a tenth of a mmol/L is 1.80156 mg/dL: both sides times a hundred thousand are whole
  const whole = 10 * TEN_THOUSANDTHS
  return { scale: MG_PER_DL_IN_TEN_THOUSAND_MMOL, below: belowMgPerDl * whole, within: withinMgPerDl * whole }
}

/** True when the meter's value is no further from the laboratory's than the limit allows; exactly on it is inside. */
export function isInside(pair: Pair, wanted: Limit): boolean {
  const { scale, below, within } = fixedPart(wanted, pair.unit)
  const difference = Math.abs(pair.meter - pair.laboratory)
  return pair.laboratory * scale < below
    ? difference * scale <= within
    : 1000 * difference <= wanted.withinPermille * pair.laboratory
}

/**
 * The largest difference still inside at this laboratory value, in the pair's own counts and unrounded: for drawing the
 * limit, never for judging a pair.
 */
export function limitAt(laboratory: number, unit: GlucoseUnit, wanted: Limit): number {
  const { scale, below, within } = fixedPart(wanted, unit)
  return laboratory * scale < below ? within / scale : (wanted.withinPermille * laboratory) / 1000
}

/** The laboratory value, in counts and unrounded, from which the limit is a share of it: for drawing. */
export function limitTurnsAt(unit: GlucoseUnit, wanted: Limit): number {
  const { scale, below } = fixedPart(wanted, unit)
  return below / scale
}

export type PairVerdict = {
  readonly name: StandardName
  readonly insideInner: boolean
  /** null: the standard has one limit */
  readonly insideOuter: boolean | null
}

/** One pair against every standard. */
export function judgePair(pair: Pair): readonly PairVerdict[] {
  return STANDARDS.map(({ name, inner, outer }) => ({
    name,
    insideInner: isInside(pair, inner.limit),
    insideOuter: outer === null ? null : isInside(pair, outer.limit),
  }))
}

export type DemandResult = { readonly inside: number; readonly leastPercent: number; readonly met: boolean }
/** `verdict` too-few: fewer than PAIRS_NEEDED pairs, counts and shares only. */
export type SetVerdict = {
  readonly name: StandardName
  readonly pairs: number
  readonly inner: DemandResult
  readonly outer: DemandResult | null
  readonly verdict: 'met' | 'not-met' | 'too-few'
}

/** A meter's pairs against every standard: how many lie inside, and met or not once there are enough of them. */
export function judgeSet(pairs: readonly Pair[]): readonly SetVerdict[] {
  return STANDARDS.map(({ name, inner, outer }) => {
    const result = (demand: Demand): DemandResult => {
      const inside = pairs.filter((pair) => isInside(pair, demand.limit)).length
      return { inside, leastPercent: demand.leastPercent, met: inside * 100 >= demand.leastPercent * pairs.length }
    }
    const innerResult = result(inner)
    const outerResult = outer === null ? null : result(outer)
    const met = innerResult.met && outerResult?.met !== false
    return {
      name,
      pairs: pairs.length,
      inner: innerResult,
      outer: outerResult,
      verdict: pairs.length < PAIRS_NEEDED ? 'too-few' : met ? 'met' : 'not-met',
    }
  })
}
