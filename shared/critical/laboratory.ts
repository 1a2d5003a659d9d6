/** Waiting for a laboratory sample: LO and HI are not numbers, and only a laboratory value tells what they were. */
import type { WardPolicy } from '../policy/ward-policy.ts'
import { isEffective, type Reading } from '../reading/reading.ts'
import { HOUR_MS, MINUTE_MS } from '../time/span.ts'

/**
 * The first laboratory value drawn with this reading or after it. Null: none is charted. A later finger stick does not
 * count.
 */
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
  /** the last instant at which it is requested, included */
  readonly untilMs: number
}

/**
 * The LO or HI of the stay that has waited longest for its laboratory value. Null: none waits. It is due within the
 * policy's `laboratoryWithinMin` of when it was taken (the ward's own setting). It is requested during the policy's
 * look-back, like a missed check. A sample drawn later says nothing about it.
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
