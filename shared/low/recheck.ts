/**
 * When a low event's next recheck is due, and what an open event means for insulin. Both are derived from readings,
 * charted treatments and policy, in the order in which things happened, however late they were charted.
 */
import type { LowForDose } from '../dose/dose.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import { lowCourse, type LowPhase } from './course.ts'
import type { LowEvent } from './low.ts'

export type { LowPhase } from './course.ts'

/** `cycle` numbers the next recheck check (from 1); `dueMs` is when it is due, null when the event asks for none. */
export type LowProgress = { readonly phase: LowPhase; readonly cycle: number; readonly dueMs: number | null }

/** How far a low event has come, and its next recheck; see lowCourse for the rules. */
export function lowProgress(low: LowEvent, readings: readonly Reading[], policy: WardPolicy): LowProgress {
  const { phase, cycle, dueMs } = lowCourse(low, readings, policy)
  return { phase, cycle, dueMs }
}

/** The recheck or follow-up that an open low event waits for; null when closed or followed up. See lowProgress. */
export function nextRecheck(
  low: LowEvent,
  readings: readonly Reading[],
  policy: WardPolicy,
): { readonly cycle: number; readonly dueMs: number } | null {
  const { cycle, dueMs } = lowProgress(low, readings, policy)
  return dueMs === null ? null : { cycle, dueMs }
}

/** True when a low value of the stay waits for its treatment at `nowMs`. */
export function isTreatmentOwed(
  lows: readonly LowEvent[],
  readings: readonly Reading[],
  policy: WardPolicy,
  nowMs: number,
): boolean {
  const taken = readings.filter((reading) => reading.takenAtMs <= nowMs)
  return lows.some(
    (low) =>
      low.openedAtMs <= nowMs && low.closedAtMs === null && lowCourse(low, taken, policy).untreatedSinceMs !== null,
  )
}

/**
 * What the stay's low events mean for insulin at `nowMs`: correction insulin is blocked while any event is not
 * recovered, or recovered and not followed up; an event left open by paperwork alone blocks nothing.
 */
export function lowForDose(
  lows: readonly LowEvent[],
  readings: readonly Reading[],
  policy: WardPolicy,
  nowMs: number,
): LowForDose {
  let answer: LowForDose = 'none'
  for (const low of lows) {
    if (low.openedAtMs > nowMs) continue
    const { phase } = lowProgress(
      low,
      readings.filter((reading) => reading.takenAtMs <= nowMs),
      policy,
    )
    if (phase === 'open') return 'open'
    if (phase === 'recovered') answer = 'recovered-awaiting-follow-up'
  }
  return answer
}
