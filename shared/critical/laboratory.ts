/** The wait for a laboratory sample: LO and HI are no numbers, and only a laboratory's value says what they were. */
import type { WardPolicy } from '../policy/ward-policy.ts'
import { isEffective, type Reading } from '../reading/reading.ts'
import { HOUR_MS, MINUTE_MS } from '../time/span.ts'

/** The first laboratory value drawn with this reading or after it; null: none is charted. A later finger stick is none. */
export function laboratoryValueFor(reading: Reading, readings: readonly Reading[]): Reading | null {
  return (
    readings
      .filter((other) => isEffective(other) && other.source === 'venous' && other.takenAtMs >= reading.takenAtMs)
      .sort((a, b) => a.takenAtMs - b.takenAtMs || (a.readingId < b.readingId ? -1 : 1))[0] ?? null
  )
}

export type LaboratoryWait = {
  readonly readingId: string
  readonly which: 'LO' | 'HI'
  readonly byMs: number
  /** the last instant at which it is asked for, in */
  readonly untilMs: number
}

/**
 * The LO or HI of the stay that has waited longest for its laboratory value; null when none waits. Due within the
 * policy's `laboratoryWithinMin` of when it was taken (the ward's own setting); asked for as long as a missed check is,
 * the policy's look-back, because a sample drawn later says nothing about it any more.
 */
export function laboratoryWait(readings: readonly Reading[], policy: WardPolicy, nowMs: number): LaboratoryWait | null {
  const waits = readings.flatMap((reading): LaboratoryWait[] => {
    const { value } = reading.glucose
    const untilMs = reading.takenAtMs + policy.missedLookBackHours * HOUR_MS
    if (
      typeof value === 'number' ||
      reading.source === 'venous' ||
      !isEffective(reading) ||
      reading.takenAtMs > nowMs ||
      nowMs > untilMs
    )
      return []
    if (laboratoryValueFor(reading, readings) !== null) return []
    return [
      {
        readingId: reading.readingId,
        which: value,
        byMs: reading.takenAtMs + policy.critical.laboratoryWithinMin * MINUTE_MS,
        untilMs,
      },
    ]
  })
  return waits.sort((a, b) => a.byMs - b.byMs || (a.readingId < b.readingId ? -1 : 1))[0] ?? null
}
