/**
 * The times when a low event had to be escalated. The rules are those of low/course.ts, applied to every run and not
 * only the current one.
 */
import type { LowCourse, ReadingPart } from '../low/course.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { MINUTE_MS } from '../time/span.ts'

/** A value of the event with its part in the course, or a treatment, in order of time. */
export type CourseEvent = { readonly atMs: number; readonly part: ReadingPart | 'treatment' }

/**
 * The instants, in order. In each run without recovery, escalation is due when the cycles are used up. It is due
 * earlier if the policy's minutes pass first, or with a value still low after as many treatments within the policy's
 * minutes, whatever recovered between. It is due again after each further set of cycles (escalatesAtMs in
 * low/event.ts).
 */
export function escalationsOf(
  courseEvents: readonly CourseEvent[],
  course: LowCourse,
  policy: WardPolicy,
  nowMs: number,
): readonly number[] {
  const { maxCycles, escalateAfterMin, treatmentsWithinMin } = policy.low
  const treatedMs: number[] = []
  const found: number[] = []
  let runStartMs = course.startMs
  let untreatedSinceMs: number | null = course.startMs
  let recovered = false
  let failed = 0
  let foundFirst = false
  const byTime = (untilMs: number): void => {
    if (recovered || escalateAfterMin === null || foundFirst || failed >= maxCycles) return
    const atMs = runStartMs + escalateAfterMin * MINUTE_MS
    if (untilMs < atMs) return
    found.push(atMs)
    foundFirst = true
  }
  const newRun = (atMs: number): void => {
    if (recovered) [runStartMs, failed, foundFirst] = [atMs, 0, false]
    recovered = false
  }
  for (const { atMs, part } of courseEvents) {
    byTime(atMs)
    switch (part) {
      case 'treatment':
        treatedMs.push(atMs)
        if (untreatedSinceMs !== null && atMs >= untreatedSinceMs) untreatedSinceMs = null
        break
      case 'recovery':
        recovered = true
        untreatedSinceMs = null
        failed = 0
        break
      case 'no-number':
        newRun(atMs)
        break
      case 'not-recovered':
        if (!recovered && untreatedSinceMs === null) {
          failed += 1
          if (failed % maxCycles === 0 && !(failed === maxCycles && foundFirst)) found.push(atMs)
        }
        newRun(atMs)
        untreatedSinceMs ??= atMs
        if (
          !foundFirst &&
          failed < maxCycles &&
          atMs - (treatedMs.at(-maxCycles) ?? -Infinity) <= treatmentsWithinMin * MINUTE_MS
        ) {
          found.push(atMs)
          foundFirst = true
        }
        break
      default:
    }
  }
  // an open event continues until now
  if (course.phase === 'open') byTime(nowMs)
  return found
}
