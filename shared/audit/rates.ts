/**
 * Rates by reading, by patient-day and by stay: three denominators, each named. The definitions are those of Goldberg
 * et al., Diabetes Technol Ther 2006;8:560, restated in Munoz 2012, PMC3697928 table 2; R. They are calculated from
 * sums of integers, so that incremental figures equal recounted figures exactly.
 *
 * LO and HI are counted separately and enter no mean and no share of readings. A day or a stay with LO counts as having
 * a value below every limit here. One with HI counts as having a value above every limit, because a meter measures 20
 * to 600 mg/dL.
 */
import { MG_PER_DL_IN_ONE_MMOL_PER_L } from '../glucose/convert.ts'
import type { PatientDay } from './patient-day.ts'
import { RISK_SCALE } from './risk.ts'
import { wilson95 } from './wilson.ts'

/** Limits are named in mg/dL. A ward that uses mmol/L takes the printed pairs (patient-day.ts). */
export const BANDS = ['below54', 'below70', 'in70to180', 'above180', 'above250', 'above300'] as const
export type Band = (typeof BANDS)[number]

/** mg/dL in a tenth of a mmol/L. */
export const MG_IN_A_TENTH = MG_PER_DL_IN_ONE_MMOL_PER_L / 10

/**
 * How many patient-days, or stays, had at least one value in the band. `withNumbers`: how many had at least one number.
 */
export type GroupSums = {
  readonly count: number
  readonly withNumbers: number
  readonly having: Readonly<Record<Band, number>>
  /**
   * Sum of the groups' own means, each in whole millionths of a mg/dL, so that the order of adding does not change it.
   */
  readonly sumOfMeans: number
}

export type RateSums = {
  readonly readings: number
  readonly numeric: number
  readonly lo: number
  readonly hi: number
  /** Sums over wards of each unit, in mg/dL or tenths of mmol/L. */
  readonly sum: Readonly<Record<PatientDay['unit'], number>>
  readonly sumOfSquares: Readonly<Record<PatientDay['unit'], number>>
  readonly bands: Readonly<Record<Band, number>>
  readonly lowRisk: number
  readonly highRisk: number
  readonly days: GroupSums
  readonly stays: GroupSums
}

/** A group's mean is stored in whole millionths of a mg/dL. */
export const MEAN_SCALE = 1_000_000

/** A share: `count` of `of`, with Wilson's 95 % interval. `share` is null when `of` is 0. */
export type Share = {
  readonly count: number
  readonly of: number
  readonly share: number | null
  readonly interval: { readonly low: number; readonly high: number } | null
  readonly small: boolean
}

/** A share with a smaller denominator is marked as uncertain (common practice). */
export const SMALL_DENOMINATOR = 30

export type Rates = {
  readonly readings: {
    readonly total: number
    readonly numeric: number
    readonly lo: number
    readonly hi: number
    readonly bands: Readonly<Record<Band, Share>>
  }
  readonly days: { readonly total: number; readonly bands: Readonly<Record<Band, Share>> }
  readonly stays: { readonly total: number; readonly bands: Readonly<Record<Band, Share>> }
  /** mg/dL, unrounded. Null: no numbers. */
  readonly mean: { readonly ofReadings: number | null; readonly ofDays: number | null; readonly ofStays: number | null }
  /** Sample standard deviation of all numeric readings in mg/dL; null below two. */
  readonly sd: number | null
  /** SD over mean. */
  readonly cv: number | null
  readonly lbgi: number | null
  readonly hbgi: number | null
}

export function shareOf(count: number, of: number): Share {
  return {
    count,
    of,
    share: of === 0 ? null : count / of,
    interval: wilson95(count, of),
    small: of < SMALL_DENOMINATOR,
  }
}

/** The rates from the sums. */
export function ratesOf(sums: RateSums): Rates {
  const { numeric, days, stays } = sums
  const total = sums.sum['mg/dL'] + sums.sum['mmol/L'] * MG_IN_A_TENTH
  const squares = sums.sumOfSquares['mg/dL'] + sums.sumOfSquares['mmol/L'] * MG_IN_A_TENTH * MG_IN_A_TENTH
  const mean = numeric === 0 ? null : total / numeric
  // the sum of squared deviations cannot be below 0; a rounding error can
  const sd = numeric < 2 || mean === null ? null : Math.sqrt(Math.max(0, squares - total * mean) / (numeric - 1))
  const bandsOf = (counts: Readonly<Record<Band, number>>, of: number): Readonly<Record<Band, Share>> =>
    byBand((band) => shareOf(counts[band], of))
  return {
    readings: { total: sums.readings, numeric, lo: sums.lo, hi: sums.hi, bands: bandsOf(sums.bands, numeric) },
    days: { total: days.count, bands: bandsOf(days.having, days.count) },
    stays: { total: stays.count, bands: bandsOf(stays.having, stays.count) },
    mean: { ofReadings: mean, ofDays: meanOf(days), ofStays: meanOf(stays) },
    sd,
    cv: sd === null || mean === null ? null : sd / mean,
    lbgi: numeric === 0 ? null : sums.lowRisk / RISK_SCALE / numeric,
    hbgi: numeric === 0 ? null : sums.highRisk / RISK_SCALE / numeric,
  }
}

function meanOf({ withNumbers, sumOfMeans }: GroupSums): number | null {
  return withNumbers === 0 ? null : sumOfMeans / MEAN_SCALE / withNumbers
}

/** One value for each band. */
export function byBand<T>(make: (band: Band) => T): Readonly<Record<Band, T>> {
  return {
    below54: make('below54'),
    below70: make('below70'),
    in70to180: make('in70to180'),
    above180: make('above180'),
    above250: make('above250'),
    above300: make('above300'),
  }
}

/** Sums a list of patient-day figures, in any order. A stay on two wards is one stay. */
export function sumsOf(figures: readonly PatientDay[]): RateSums {
  const add = (pick: (day: PatientDay) => number): number => figures.reduce((sum, day) => sum + pick(day), 0)
  const inUnit = (unit: PatientDay['unit'], pick: (day: PatientDay) => number): number =>
    add((day) => (day.unit === unit ? pick(day) : 0))
  const perUnit = (pick: (day: PatientDay) => number): Readonly<Record<PatientDay['unit'], number>> => ({
    'mg/dL': inUnit('mg/dL', pick),
    'mmol/L': inUnit('mmol/L', pick),
  })
  return {
    readings: add((day) => day.readings),
    numeric: add((day) => day.numeric),
    lo: add((day) => day.lo),
    hi: add((day) => day.hi),
    sum: perUnit((day) => day.sum),
    sumOfSquares: perUnit((day) => day.sumOfSquares),
    bands: byBand((band) => add((day) => day[band])),
    lowRisk: add((day) => day.lowRisk),
    highRisk: add((day) => day.highRisk),
    days: groupSums(figures, (day) => `${day.stayId} ${day.wardDate}`),
    stays: groupSums(figures, (day) => day.stayId),
  }
}

function groupSums(figures: readonly PatientDay[], keyOf: (day: PatientDay) => string): GroupSums {
  const groups = new Map<string, PatientDay[]>()
  for (const day of figures) {
    const group = groups.get(keyOf(day))
    if (group === undefined) groups.set(keyOf(day), [day])
    else group.push(day)
  }
  const all = [...groups.values()]
  const means = all.flatMap((group) => meansOf(group))
  return {
    count: all.length,
    withNumbers: means.length,
    having: byBand((band) => all.filter((group) => group.some((day) => hasInBand(day, band))).length),
    sumOfMeans: means.reduce((sum, mean) => sum + mean, 0),
  }
}

/** The mean of a group of figures in whole millionths of a mg/dL. Empty when there are no numbers. */
export function meansOf(group: readonly PatientDay[]): readonly number[] {
  const numeric = group.reduce((sum, day) => sum + day.numeric, 0)
  return numeric === 0
    ? []
    : [Math.round((MEAN_SCALE * group.reduce((sum, day) => sum + sumInMgPerDl(day), 0)) / numeric)]
}

function sumInMgPerDl({ unit, sum }: PatientDay): number {
  return unit === 'mg/dL' ? sum : sum * MG_IN_A_TENTH
}

/** True when the day had a value in the band. LO and HI count in the bands that certainly include them. */
export function hasInBand(day: PatientDay, band: Band): boolean {
  switch (band) {
    case 'below54':
    case 'below70':
      return day[band] > 0 || day.lo > 0
    case 'in70to180':
      return day.in70to180 > 0
    case 'above180':
    case 'above250':
    case 'above300':
      return day[band] > 0 || day.hi > 0
  }
}
