/** Readings folded by when they were taken: by the hour of the ward's day, and by the occasion that they answer. */
import type { Occasion } from '../check/check.ts'
import { parseCheckKey, roundOf } from '../check/plan.ts'
import { occasionOfReading } from '../order/occasion.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import { wardTime } from '../time/zone.ts'
import { patientDay, type PatientDay } from './patient-day.ts'
import { sumsOf, type RateSums } from './rates.ts'

/** Rechecks of a low and extra checks stand apart from the rounds: they are taken because something was wrong. */
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

/** What a reading answers: its planned check's occasion; a recheck or an extra check; else (from paper, from the laboratory) the round that it was taken in. */
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

/** Hour of the ward's day, "00" to "23". The repeated hour of the autumn night counts twice into the same hour. */
export function hourOf(reading: Pick<Reading, 'takenAtMs'>, zone: string): string {
  return wardTime(reading.takenAtMs, zone).slice(0, 2)
}

/**
 * The figures of the readings by a key of each, one for each stay's day: added up (`sumsOf`) they give the key's rates, and
 * a patient-day of a key is a stay's day with at least one reading in it. Each reading counts in the unit it was measured
 * in; superseded and voided ones count nothing (patient-day.ts). Days are whole: figures of two stretches of days are
 * simply put together.
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

/** The sums of the readings by a key of each. */
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
