/**
 * The rates of a replayed set, as the service shows them and as computed from the raw file's own lines without the
 * service's rules. Both must agree to the last digit shown.
 */
import { BANDS, ratesOf, type Band, type RateSums } from '../../shared/audit/rates.ts'
import { bandViews, spreadViews } from '../../server/audit/rates-view.ts'
import type { ReplaySet } from './ward.ts'

/** The meaning and format of a figure: the same names on both sides. */
export type ShownRates = ReadonlyMap<string, string>

const DENOMINATORS = ['readings', 'patient-days', 'stays'] as const
const SPREAD = ['mean of readings', 'mean of patient-days', 'mean of stays', 'SD', 'CV', 'LBGI', 'HBGI'] as const

/** The figures of the rates page, from the service's patient-day sums. */
export function shownByService(sums: RateSums, unit: ReplaySet['unit']): ShownRates {
  const rates = ratesOf(sums)
  const shares = bandViews(rates, unit).flatMap(({ readings, days, stays }, index) =>
    [readings, days, stays].map((share, at): readonly [string, string] => [
      `${BANDS[index] ?? ''} by ${DENOMINATORS[at] ?? ''}`,
      `${String(share.count)} of ${String(share.of)}, ${share.share ?? '–'}, ${share.interval ?? '–'}`,
    ]),
  )
  const spread = spreadViews(rates, sums, unit).map(({ value }, at): readonly [string, string] => [
    SPREAD[at] ?? '',
    value,
  ])
  return new Map([['LO', String(rates.readings.lo)], ['HI', String(rates.readings.hi)], ...shares, ...spread])
}

const MG_PER_MMOL = 18.0156
/** From (included) and to (included) of each band as typed, in both units. */
const EDGES: Readonly<Record<Band, Readonly<Record<ReplaySet['unit'], readonly [number, number]>>>> = {
  below54: { 'mg/dL': [0, 53], 'mmol/L': [0, 2.9] },
  below70: { 'mg/dL': [0, 69], 'mmol/L': [0, 3.8] },
  in70to180: { 'mg/dL': [70, 180], 'mmol/L': [3.9, 10] },
  above180: { 'mg/dL': [181, 999], 'mmol/L': [10.1, 99] },
  above250: { 'mg/dL': [251, 999], 'mmol/L': [14, 99] },
  above300: { 'mg/dL': [301, 999], 'mmol/L': [16.8, 99] },
}

/** A value in the raw file: stay, local date, and the meter's reading. */
export type RateLine = { readonly stay: string; readonly date: string; readonly typed: string }

/** Computed from the charted lines. */
export function straightFrom(entries: readonly RateLine[], unit: ReplaySet['unit']): ShownRates {
  const shown = new Map<string, string>()
  const numbers = entries.filter(({ typed }) => typed !== 'LO' && typed !== 'HI').map(({ typed }) => Number(typed))
  shown.set('LO', String(entries.filter(({ typed }) => typed === 'LO').length))
  shown.set('HI', String(entries.filter(({ typed }) => typed === 'HI').length))
  const lines = entries.map(({ stay, date, typed }) => ({ stay, day: `${stay} ${date}`, typed }))
  for (const band of BANDS) {
    const [from, to] = EDGES[band][unit]
    const holds = (typed: string): boolean =>
      typed === 'LO'
        ? band.startsWith('below')
        : typed === 'HI'
          ? band.startsWith('above')
          : Number(typed) >= from && Number(typed) <= to
    shown.set(
      `${band} by readings`,
      shareText(numbers.filter((number) => number >= from && number <= to).length, numbers.length),
    )
    shown.set(
      `${band} by patient-days`,
      shareText(
        new Set(lines.filter(({ typed }) => holds(typed)).map(({ day }) => day)).size,
        new Set(lines.map(({ day }) => day)).size,
      ),
    )
    shown.set(
      `${band} by stays`,
      shareText(
        new Set(lines.filter(({ typed }) => holds(typed)).map(({ stay }) => stay)).size,
        new Set(lines.map(({ stay }) => stay)).size,
      ),
    )
  }
  const mean = average(numbers)
  const sd = Math.sqrt(numbers.reduce((sum, number) => sum + (number - mean) ** 2, 0) / (numbers.length - 1))
  const text = (value: number): string =>
    unit === 'mg/dL' ? `${String(Number(value.toFixed(1)))} mg/dL` : `${String(Number(value.toFixed(2)))} mmol/L`
  shown.set('mean of readings', text(mean))
  shown.set('mean of patient-days', text(meanOfMeans(lines, ({ day }) => day)))
  shown.set('mean of stays', text(meanOfMeans(lines, ({ stay }) => stay)))
  shown.set('SD', text(sd))
  shown.set('CV', `${String(Number(((100 * sd) / mean).toFixed(1)))} %`)
  const risks = numbers.map(
    (number) => 1.509 * (Math.log(unit === 'mg/dL' ? number : number * MG_PER_MMOL) ** 1.084 - 5.381),
  )
  shown.set('LBGI', String(Number(average(risks.map((f) => (f < 0 ? 10 * f * f : 0))).toFixed(3))))
  shown.set('HBGI', String(Number(average(risks.map((f) => (f > 0 ? 10 * f * f : 0))).toFixed(3))))
  return shown
}

function average(numbers: readonly number[]): number {
  return numbers.reduce((sum, number) => sum + number, 0) / numbers.length
}

type Line = { readonly stay: string; readonly day: string; readonly typed: string }

function meanOfMeans(lines: readonly Line[], groupOf: (line: Line) => string): number {
  const groups = new Map<string, number[]>()
  for (const line of lines) {
    if (line.typed === 'LO' || line.typed === 'HI') continue
    const group = groups.get(groupOf(line)) ?? []
    group.push(Number(line.typed))
    groups.set(groupOf(line), group)
  }
  return average([...groups.values()].map(average))
}

/** "12 of 40, 30 %, 18.1 to 45.4 %": the score interval as printed in textbooks, ends in percent. */
function shareText(count: number, of: number): string {
  const [p, z, n] = [count / of, 1.959964, of]
  const half = z * Math.sqrt((p * (1 - p)) / n + (z * z) / (4 * n * n))
  const ends = [p + (z * z) / (2 * n) - half, p + (z * z) / (2 * n) + half].map((end) =>
    Number((Math.abs(100 * end) / (1 + (z * z) / n)).toFixed(1)),
  )
  return `${String(count)} of ${String(of)}, ${String(Number((100 * p).toFixed(1)))} %, ${String(ends[0])} to ${String(ends[1])} %`
}

/** A sentence for each figure that differs; none when all are equal to the last digit shown. */
export function ratesDiffer(sums: RateSums, entries: readonly RateLine[], unit: ReplaySet['unit']): readonly string[] {
  const [service, straight] = [shownByService(sums, unit), straightFrom(entries, unit)]
  const names = [...new Set([...service.keys(), ...straight.keys()])]
  return names.flatMap((name) =>
    service.get(name) === straight.get(name)
      ? []
      : [
          `${name}: the service shows ${String(service.get(name))}, the raw file’s lines come to ${String(straight.get(name))}`,
        ],
  )
}
