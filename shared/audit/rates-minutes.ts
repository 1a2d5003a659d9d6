/** Durations: the median, the quartiles and how many numbers they come from. */
import { doseMinutes } from '../dose/minutes.ts'
import type { Dose, TrayFact } from '../dose/dose.ts'
import { wardDate } from '../time/zone.ts'

/** In the unit of the numbers. Null: there were no numbers. */
export type Quartiles = {
  readonly n: number
  readonly lower: number | null
  readonly median: number | null
  readonly upper: number | null
}

/**
 * Lower quartile, median and upper quartile. Each is the value at position (n - 1) x p, counted from 0 at the smallest.
 * Positions between two values are interpolated linearly (definition 7 of Hyndman and Fan, Am Stat 1996;50:361; M). The
 * result never lies outside the given numbers.
 */
export function quartilesOf(numbers: readonly number[]): Quartiles {
  const sorted = [...numbers].sort((a, b) => a - b)
  const at = (share: number): number | null => {
    const place = (sorted.length - 1) * share
    const [below, above] = [sorted[Math.floor(place)], sorted[Math.ceil(place)]]
    return below === undefined || above === undefined ? null : below + (place - Math.floor(place)) * (above - below)
  }
  return { n: sorted.length, lower: at(0.25), median: at(0.5), upper: at(0.75) }
}

export type InsulinMinutes = {
  readonly given: number
  readonly readingToInsulin: readonly number[]
  readonly insulinToTray: readonly number[]
}

/**
 * Whole minutes of the given doses, from reading to insulin and from insulin to the meal's tray. Below 0: the tray came
 * first. A dose without a reading, or without a charted tray for its meal, has no such minutes. `zone` is the ward's.
 */
export function insulinMinutes(doses: readonly Dose[], trays: readonly TrayFact[], zone: string): InsulinMinutes {
  const given = doses.filter(({ outcome }) => outcome?.kind === 'given')
  const byStay = new Map<string, TrayFact[]>()
  for (const tray of trays) byStay.set(tray.stayId, [...(byStay.get(tray.stayId) ?? []), tray])
  const minutes = given.map((dose) => {
    const { readingTakenAtMs } = dose.inputs
    return doseMinutes(
      dose,
      byStay.get(dose.stayId) ?? [],
      readingTakenAtMs === null ? null : wardDate(readingTakenAtMs, zone),
    )
  })
  return {
    given: given.length,
    readingToInsulin: minutes.flatMap(({ readingToInsulin }) => readingToInsulin ?? []),
    insulinToTray: minutes.flatMap(({ insulinToTray }) => insulinToTray ?? []),
  }
}
