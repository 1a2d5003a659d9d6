/** Groups readings by the ward's hour and by the occasion of their check. */
import type { Occasion } from '../check/check.ts'
import { parseCheckKey, roundOf } from '../check/plan.ts'
import { occasionOfReading } from '../order/occasion.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import { wardTime } from '../time/zone.ts'
import { patientDay, type PatientDay } from './patient-day.ts'
import { sumsOf, type RateSums } from './rates.ts'

/** Rechecks of a low and extra checks are separate from the rounds: they follow a problem. */
export type OccasionGroup = Occasion | 'recheck' | 'extra'
export const OCCASION_GROUPS: readonly OccasionGroup[] = [
  'before-breakfast',
  'before-lunch',
  'before-supper',
  'bedtime',
  'overnight',
  'recheck',
  'extra',
]

/**
 * The group of a reading: its planned check's occasion, a recheck, or an extra check. Paper and laboratory readings
 * take the round in which they were taken.
 */
export function occasionGroupOf(
  reading: Pick<Reading, 'checkKey' | 'takenAtMs' | 'extraReason'>,
  policy: WardPolicy,
): OccasionGroup {
  const key = reading.checkKey === null ? null : parseCheckKey(reading.checkKey)
  if (key?.kind === 'planned') return occasionOfReading(reading, policy, []).occasion
  if (key?.kind === 'recheck') return 'recheck'
  return key?.kind === 'extra' || reading.extraReason !== null ? 'extra' : roundOf(reading.takenAtMs, policy).occasion
}

/** True when the reading answers a recheck that a low event asked for. */
export function isRecheck({ checkKey }: Pick<Reading, 'checkKey'>): boolean {
  return checkKey !== null && parseCheckKey(checkKey)?.kind === 'recheck'
}

/** The hours of a ward's day, "00" to "23", in order. */
export const HOURS: readonly string[] = Array.from({ length: 24 }, (_, hour) => String(hour).padStart(2, '0'))

/** Hour of the ward's day, "00" to "23". Both occurrences of the repeated autumn hour count in the same hour. */
export function hourOf(reading: Pick<Reading, 'takenAtMs'>, zone: string): string {
  return wardTime(reading.takenAtMs, zone).slice(0, 2)
}

/**
 * The figures of the readings by key, one figure for each day of a stay.
 *
 * Added up by `sumsOf`, they give the rates of the key. A patient-day of a key is a stay's day with at least one
 * reading in it. Each reading counts in the unit of its measurement. Superseded and voided readings do not count
 * (patient-day.ts). Days are whole, so the figures of two periods can simply be joined.
 */
export function figuresByKey<K extends string>(
  readings: readonly Reading[],
  keyOf: (reading: Reading) => K,
): ReadonlyMap<K, readonly PatientDay[]> {
  const groups = new Map<K, Map<string, Reading[]>>()
  for (const reading of readings) {
    const key = keyOf(reading)
    const days = groups.get(key) ?? new Map<string, Reading[]>()
    groups.set(key, days)
    const day = `${reading.stayId} ${reading.wardId} ${reading.wardDate} ${reading.glucose.unit}`
    const held = days.get(day)
    if (held === undefined) days.set(day, [reading])
    else held.push(reading)
  }
  return new Map([...groups].map(([key, days]) => [key, [...days.values()].map(figureOf)]))
}

/** The sums of the readings by key. */
export function foldReadings<K extends string>(
  readings: readonly Reading[],
  keyOf: (reading: Reading) => K,
): ReadonlyMap<K, RateSums> {
  return new Map([...figuresByKey(readings, keyOf)].map(([key, figures]) => [key, sumsOf(figures)]))
}

function figureOf(readings: readonly Reading[]): PatientDay {
  const [first] = readings
  if (first === undefined) throw new Error('a group has at least one reading')
  return patientDay(
    { stayId: first.stayId, wardId: first.wardId, wardDate: first.wardDate, unit: first.glucose.unit },
    readings,
  )
}
