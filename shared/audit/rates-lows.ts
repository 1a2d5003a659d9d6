/** Low events as figures: by level, how long until the value was back, and how many came again. */
import { isNumeric } from '../glucose/value.ts'
import { lowCourse } from '../low/course.ts'
import { lowLevel } from '../low/level.ts'
import type { LowEvent, LowLevel } from '../low/low.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { isEffective, type Reading } from '../reading/reading.ts'
import { DAY_MS, MINUTE_MS } from '../time/span.ts'
import { RESOLVED_FROM } from './patient-day.ts'

/** One low event with what it is judged by: the stay's readings from its start on, every low event of the stay, the policy that the ward had. */
export type LowFacts = {
  readonly low: LowEvent
  readonly readings: readonly Reading[]
  readonly ofStay: readonly LowEvent[]
  readonly policy: WardPolicy
}

export type LowFigure = {
  readonly lowId: string
  readonly stayId: string
  readonly startMs: number
  /** By the lowest value; null when no low value of the event counts any more (entered in error). */
  readonly level: LowLevel | null
  /** A clinical finding besides the number. */
  readonly levelThree: boolean
  /** From the first value below 70 mg/dL (3.9 mmol/L) to the first at or above it; null: none charted. */
  readonly toResolutionMs: number | null
  /** It came 10 min to 24 h after an earlier low event of the stay began. */
  readonly withinDay: boolean
  /** It is not the first low event of the stay. */
  readonly againInStay: boolean
}

/**
 * A further low from 10 min to 24 h after one is a recurrence (M; definitions differ by site). One sooner is the same low
 * measured again.
 */
const AGAIN_FROM_MS = 10 * MINUTE_MS

/** The figures of one low event. */
export function lowFigure({ low, readings, ofStay, policy }: LowFacts): LowFigure {
  const { startMs, lowest } = lowCourse(low, readings, policy)
  const resolved = readings
    .filter(
      (reading) =>
        isEffective(reading) &&
        reading.takenAtMs > startMs &&
        isNumeric(reading.glucose) &&
        reading.glucose.value >= RESOLVED_FROM[reading.glucose.unit],
    )
    .map(({ takenAtMs }) => takenAtMs)
  const before = ofStay.filter(({ lowId, openedAtMs }) => lowId !== low.lowId && openedAtMs < low.openedAtMs)
  return {
    lowId: low.lowId,
    stayId: low.stayId,
    startMs,
    level: lowest === null ? null : lowLevel(lowest, policy),
    levelThree: low.charted.findings.length > 0,
    toResolutionMs: resolved.length === 0 ? null : Math.min(...resolved) - startMs,
    withinDay: before.some(
      ({ openedAtMs }) => low.openedAtMs - openedAtMs >= AGAIN_FROM_MS && low.openedAtMs - openedAtMs <= DAY_MS,
    ),
    againInStay: before.length > 0,
  }
}
