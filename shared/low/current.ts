/**
 * Which low event of a stay is followed now, and what a further low value is to it. A stay can have two open events: an
 * older one that only waits for paperwork, and the one that is followed.
 */
import type { WardPolicy } from '../policy/ward-policy.ts'
import { isEffective, type Reading } from '../reading/reading.ts'
import { MINUTE_MS } from '../time/span.ts'
import { lowCourse } from './course.ts'
import type { LowEvent } from './low.ts'

/** The open low event that is followed now: the newest. Undefined: none is open. `nowMs`: of those opened up to then. */
export function currentLow<L extends Pick<LowEvent, 'lowId' | 'openedAtMs' | 'closedAtMs'>>(
  lows: readonly L[],
  nowMs = Infinity,
): L | undefined {
  return openLows(lows, nowMs)[0]
}

/** The open low events, the one that is followed first. */
export function openLows<L extends Pick<LowEvent, 'lowId' | 'openedAtMs' | 'closedAtMs'>>(
  lows: readonly L[],
  nowMs = Infinity,
): readonly L[] {
  return lows
    .filter((low) => low.closedAtMs === null && low.openedAtMs <= nowMs)
    .sort((a, b) => b.openedAtMs - a.openedAtMs || (a.lowId < b.lowId ? 1 : -1))
}

/**
 * The closed event that a retired value had closed: the stay's newest, satisfactorily followed up with that value and not
 * without it. `instead`: what corrects the value; null: it was entered in error. Null: no event opens again by it.
 */
export function reopensLow(
  retired: Reading,
  instead: Reading | null,
  lows: readonly LowEvent[],
  readings: readonly Reading[],
  policy: WardPolicy,
): LowEvent | null {
  const [low] = [...lows].sort((a, b) => b.openedAtMs - a.openedAtMs)
  if (low === undefined || low.closedAtMs === null || low.charted.closing?.cause === 'entered-in-error') return null
  if (retired.takenAtMs > low.closedAtMs) return null
  const open = { ...low, closedAtMs: null }
  const upTo = readings.filter(({ takenAtMs }) => takenAtMs <= (low.closedAtMs ?? 0))
  const without = [
    ...upTo.filter(({ readingId }) => readingId !== retired.readingId),
    ...(instead === null ? [] : [instead]),
  ]
  const after = lowCourse(open, without, policy)
  return lowCourse(open, upTo, policy).phase === 'followed-up' && after.phase !== 'followed-up' && after.lowest !== null
    ? low
    : null
}

/** A low value belongs to the event that is followed, is a relapse of it, or is a low of its own. */
export type LowAgain = 'same' | 'relapse' | 'new'

/**
 * What a low value is to the event that is followed, as things stood when it was taken. After a satisfactory follow-up, or
 * with the follow-up more than `policy.low.newEventAfterMin` overdue, it is a new event with clocks, call and question of
 * its own. After recovery and before the follow-up it is a relapse of the same event. `readings` are the stay's; what the
 * value corrects is left out.
 */
export function lowAgain(low: LowEvent, reading: Reading, readings: readonly Reading[], policy: WardPolicy): LowAgain {
  const { next } = low.charted
  if (next !== undefined) return reading.takenAtMs >= next.atMs ? 'new' : 'same'
  const before = readings.filter(
    (one) =>
      isEffective(one) &&
      one.readingId !== reading.readingId &&
      one.readingId !== reading.supersedes?.readingId &&
      one.takenAtMs < reading.takenAtMs,
  )
  const treatments = low.treatments.filter(({ atMs }) => atMs < reading.takenAtMs)
  const { phase, dueMs, startMs } = lowCourse({ ...low, treatments }, before, policy)
  if (reading.takenAtMs <= startMs || phase === 'open') return 'same'
  const isOverdue = dueMs !== null && reading.takenAtMs > dueMs + policy.low.newEventAfterMin * MINUTE_MS
  return phase === 'followed-up' || isOverdue ? 'new' : 'relapse'
}
