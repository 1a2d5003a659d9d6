/** Formats figures for the pages: shares with their count and interval, glucose in the requested unit. */
import { mgPerDlToMmolPerL } from '../../shared/glucose/convert.ts'
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import { BANDS, ratesOf, type Band, type Rates, type RateSums, type Share } from '../../shared/audit/rates.ts'
import type { Quartiles } from '../../shared/audit/rates-minutes.ts'
import type { ByThreeView, DenominatorView, FigureView, GroupView, ShareView } from '../../views/audit/rates-tables.ts'
import { formatMinutes, formatNumber } from '../../views/format.ts'
import { BAND_NAME } from '../../views/words/rates.ts'
import { plotAcross, plotInRows, type PlottedShare } from './rates-plot.ts'

/** "33.3 %": at most one decimal, without a trailing zero. */
export function percentText(share: number): string {
  return `${String(Math.round(share * 1000) / 10)} %`
}

export function shareView({ count, of, share, interval, small }: Share): ShareView {
  return {
    count,
    of,
    small,
    share: share === null ? null : percentText(share),
    interval:
      interval === null ? null : `${percentText(interval.low).replace(' %', '')} to ${percentText(interval.high)}`,
  }
}

/** A calculated glucose in the requested unit: one decimal in mg/dL, two in mmol/L. It is not a measured value. */
export function glucoseText(mgPerDl: number | null, unit: GlucoseUnit): string {
  if (mgPerDl === null) return '–'
  return unit === 'mg/dL'
    ? `${String(Math.round(mgPerDl * 10) / 10)} mg/dL`
    : `${String(Math.round(mgPerDlToMmolPerL(mgPerDl) * 100) / 100)} mmol/L`
}

const plain = (value: number | null): string => (value === null ? '–' : formatNumber(value))

export const many = (count: number, one: string, more: string): string => `${String(count)} ${count === 1 ? one : more}`

/** What each of the three denominators counts, and its size. */
export function denominatorViews({ readings, days, stays }: Rates): readonly DenominatorView[] {
  return [
    {
      name: 'By reading',
      of: `of ${many(readings.numeric, 'reading', 'readings')} with a number; ${String(readings.lo)} LO and ${String(readings.hi)} HI are counted apart and stand in none of these`,
    },
    {
      name: 'By patient-day',
      of: `of ${many(days.total, 'patient-day', 'patient-days')} with a reading: days with at least one such value, LO below every limit and HI above; 5 % is 5 for each 100 patient-days`,
    },
    {
      name: 'By stay',
      of: `of ${many(stays.total, 'stay', 'stays')} with a reading in these days: stays with at least one such value, LO and HI likewise`,
    },
  ]
}

export function bandViews(rates: Rates, unit: GlucoseUnit): readonly ByThreeView[] {
  return BANDS.map((band) => ({
    name: BAND_NAME[unit][band],
    readings: shareView(rates.readings.bands[band]),
    days: shareView(rates.days.bands[band]),
    stays: shareView(rates.stays.bands[band]),
    mean: null,
  }))
}

export function spreadViews(rates: Rates, sums: RateSums, unit: GlucoseUnit): readonly FigureView[] {
  const readings = many(rates.readings.numeric, 'reading', 'readings')
  return [
    { label: 'Mean of readings', value: glucoseText(rates.mean.ofReadings, unit), from: readings },
    {
      label: 'Mean of the patient-days’ means',
      value: glucoseText(rates.mean.ofDays, unit),
      from: many(sums.days.withNumbers, 'patient-day', 'patient-days'),
    },
    {
      label: 'Mean of the stays’ means',
      value: glucoseText(rates.mean.ofStays, unit),
      from: many(sums.stays.withNumbers, 'stay', 'stays'),
    },
    { label: 'Standard deviation (SD)', value: glucoseText(rates.sd, unit), from: readings },
    { label: 'Coefficient of variation (CV)', value: rates.cv === null ? '–' : percentText(rates.cv), from: readings },
    { label: 'Low blood glucose index (LBGI)', value: plain(rates.lbgi), from: `${readings}, in mg/dL` },
    { label: 'High blood glucose index (HBGI)', value: plain(rates.hbgi), from: `${readings}, in mg/dL` },
  ]
}

export type Group = { readonly key: string; readonly name: string; readonly sums: RateSums }

/**
 * `plotted`: the denominator of the plot. Occasions have no order in time, so they are drawn as rows. `counts`: see
 * rates-plot.ts.
 */
export function groupView(
  groups: readonly Group[],
  {
    id,
    title,
    keyName,
    band,
    unit,
    plotted,
    across,
    counts = false,
  }: {
    readonly id: string
    readonly title: string
    readonly keyName: string
    readonly band: Band
    readonly unit: GlucoseUnit
    readonly plotted: 'readings' | 'days'
    readonly across: boolean
    readonly counts?: boolean
  },
): GroupView {
  const rated = groups.map(({ key, name, sums }) => ({ key, name, rates: ratesOf(sums) }))
  const points: readonly PlottedShare[] = rated.map(({ key, name, rates }) => ({
    key,
    name,
    share: rates[plotted].bands[band],
  }))
  const by = plotted === 'readings' ? 'readings' : 'patient-days'
  const label = `${BAND_NAME[unit][band]} by ${keyName.toLowerCase()}, share of ${by} with 95 % intervals. The table below has the numbers.`
  const share = `share of ${by}`
  return {
    id,
    title,
    keyName,
    plot: across
      ? plotAcross(points, { label, yName: share, xName: keyName, counts })
      : plotInRows(points, { label, yName: keyName, xName: share }),
    rows: rated.map(({ name, rates }) => ({
      name,
      readings: shareView(rates.readings.bands[band]),
      days: shareView(rates.days.bands[band]),
      stays: shareView(rates.stays.bands[band]),
      mean: glucoseText(rates.mean.ofReadings, unit),
    })),
  }
}

/** "12 min (8 to 21 min)": the median, and the range of the middle half. */
export function quartilesText({ lower, median, upper }: Quartiles): string {
  if (lower === null || median === null || upper === null) return '–'
  return `${minutesText(median)} (${minutesText(lower)} to ${minutesText(upper)})`
}

/** Minutes to one decimal; whole from an hour on. May be negative. */
function minutesText(minutes: number): string {
  if (minutes < 0) return `−${minutesText(-minutes)}`
  return minutes < 60 ? `${formatNumber(Math.round(minutes * 10) / 10)} min` : formatMinutes(minutes)
}
