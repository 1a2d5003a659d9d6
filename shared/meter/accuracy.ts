/**
 * How close a meter is to the laboratory: published accuracy limits, for one pair and for a meter's set of pairs.
 * Values are integers and every comparison uses integers, so that a pair exactly on a limit is inside it.
 *
 * ISO 15197:2013: 95 % within ± 15 mg/dL below 100 mg/dL and ± 15 % from 100 (PMC4525642; R). In mmol/L its own limit
 * is ± 0.83 below 5.55 (M).
 *
 * CLSI POCT12-A3: 95 % within ± 12 mg/dL below 100 and ± 12.5 % from 100. At most 2 % may lie beyond 15 mg/dL below 75
 * or 20 % from 75 (PMC5951031; R).
 *
 * FDA, point of care: 95 % within ± 12 mg/dL below 75 and ± 12 % from 75. 98 % within ± 15 mg/dL below 75 and ± 15 %
 * from 75 (R/S).
 */
import { MG_PER_DL_IN_ONE_MMOL_PER_L } from '../glucose/convert.ts'
import type { GlucoseUnit } from '../glucose/value.ts'

/** Counts of one unit: whole mg/dL, or tenths of mmol/L. */
export type Pair = { readonly unit: GlucoseUnit; readonly meter: number; readonly laboratory: number }

export type Limit = {
  /**
   * mg/dL. Below this laboratory value the absolute difference is limited. From it on, the difference relative to the
   * laboratory value is limited.
   */
  readonly belowMgPerDl: number
  /** mg/dL, included. */
  readonly withinMgPerDl: number
  /** The same two figures in hundredths of a mmol/L, if the source prints its own. Null: converted, unrounded. */
  readonly inHundredthsOfMmol: { readonly below: number; readonly within: number } | null
  /** Thousandths of the laboratory value, included. */
  readonly withinPermille: number
}

export type StandardName = 'iso-15197-2013' | 'clsi-poct12-a3' | 'fda-point-of-care'

/** At least this percentage of pairs must lie inside the limit. */
export type Demand = { readonly limit: Limit; readonly leastPercent: number }
export type Standard = {
  readonly name: StandardName
  readonly inner: Demand
  /** null: the source requires one percentage only */
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

/** A set with fewer pairs gets no verdict: ISO 15197:2013 uses 100 subjects (M). */
export const PAIRS_NEEDED = 100

const TEN_THOUSANDTHS = 10_000
const MG_PER_DL_IN_TEN_THOUSAND_MMOL = Math.round(MG_PER_DL_IN_ONE_MMOL_PER_L * TEN_THOUSANDTHS)

/** The fixed part of a limit in integers. Compare a count times `scale` with `below` and `within`. */
function fixedPart(
  { belowMgPerDl, withinMgPerDl, inHundredthsOfMmol }: Limit,
  unit: GlucoseUnit,
): { readonly scale: number; readonly below: number; readonly within: number } {
  if (unit === 'mg/dL') return { scale: 1, below: belowMgPerDl, within: withinMgPerDl }
  if (inHundredthsOfMmol !== null) return { scale: 10, ...inHundredthsOfMmol }
  // a tenth of a mmol/L is 1.80156 mg/dL: multiplied by 100 000 both sides are integers
  const whole = 10 * TEN_THOUSANDTHS
  return { scale: MG_PER_DL_IN_TEN_THOUSAND_MMOL, below: belowMgPerDl * whole, within: withinMgPerDl * whole }
}

/** True when the meter's value is within the limit of the laboratory's. Exactly on the limit is inside. */
export function isInside(pair: Pair, wanted: Limit): boolean {
  const { scale, below, within } = fixedPart(wanted, pair.unit)
  const difference = Math.abs(pair.meter - pair.laboratory)
  return pair.laboratory * scale < below
    ? difference * scale <= within
    : 1000 * difference <= wanted.withinPermille * pair.laboratory
}

/**
 * The largest difference inside the limit at this laboratory value, in the pair's own counts and unrounded. For drawing
 * the limit only, never for judging a pair.
 */
export function limitAt(laboratory: number, unit: GlucoseUnit, wanted: Limit): number {
  const { scale, below, within } = fixedPart(wanted, unit)
  return laboratory * scale < below ? within / scale : (wanted.withinPermille * laboratory) / 1000
}

/** The laboratory value from which the limit is relative, in counts and unrounded. For drawing only. */
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

/** Judges one pair by every standard. */
export function judgePair(pair: Pair): readonly PairVerdict[] {
  return STANDARDS.map(({ name, inner, outer }) => ({
    name,
    insideInner: isInside(pair, inner.limit),
    insideOuter: outer === null ? null : isInside(pair, outer.limit),
  }))
}

export type DemandResult = { readonly inside: number; readonly leastPercent: number; readonly met: boolean }
/** `verdict` too-few: fewer than PAIRS_NEEDED pairs, so only counts and shares are given. */
export type SetVerdict = {
  readonly name: StandardName
  readonly pairs: number
  readonly inner: DemandResult
  readonly outer: DemandResult | null
  readonly verdict: 'met' | 'not-met' | 'too-few'
}

/**
 * Judges a meter's pairs by every standard: how many lie inside, and whether the standard is met once there are enough
 * pairs.
 */
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
