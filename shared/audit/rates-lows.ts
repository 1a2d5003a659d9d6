/** Figures of low events: by level, time to resolution and recurrence. */
import { isNumeric } from '../glucose/value.ts'
import { lowCourse } from '../low/course.ts'
import { lowLevel } from '../low/level.ts'
import type { LowEvent, LowLevel } from '../low/low.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { isEffective, type Reading } from '../reading/reading.ts'
import { DAY_MS, MINUTE_MS } from '../time/span.ts'
import { RESOLVED_FROM } from './patient-day.ts'

/**
 * One low event with the facts to judge it. These are the stay's readings from its start on, all low events of the
 * stay, and the ward's policy at the time.
 */
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
  /** By the lowest value. Null: no value of the event counts as low any more (entered in error). */
  readonly level: LowLevel | null
  /** True when a nurse charted level 3 findings, whatever the value. */
  readonly levelThree: boolean
  /** From the first value below 70 mg/dL (3.9 mmol/L) to the first at or above it. Null: none charted. */
  readonly toResolutionMs: number | null
  /** True when it came 10 min to 24 h after the beginning of an earlier low event of the stay. */
  readonly withinDay: boolean
  /** True when it is not the first low event of the stay. */
  readonly againInStay: boolean
}

/**
 * A further low from 10 min to 24 h after another is a recurrence (M; definitions differ by site). A sooner one is the
 * same low measured again.
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
