/** The state of a check: a function of the check, its outcome and the time, never stored. */
import type { Check, CheckOutcome, CheckState } from './check.ts'

/**
 * upcoming before it opens; open from then on; late past `lateAfterMs` (at that very instant it is still in time:
 * time-critical within 30 min means that due 07:30 is in time at 08:00:00, 42 CFR 482.23(c) guidance 2011, R/S);
 * missed from the instant it closes with no outcome; done or excused once it has one, whatever the time.
 */
export function checkState(check: Check, outcome: CheckOutcome | undefined, nowMs: number): CheckState {
  if (outcome !== undefined) return outcome.kind
  if (nowMs < check.opensMs) return 'upcoming'
  if (nowMs >= check.closesMs) return 'missed'
  return nowMs > check.lateAfterMs ? 'late' : 'open'
}

/** The next instant at which time alone changes the state; null when time will not change it any more. */
export function nextChangeMs(check: Check, outcome: CheckOutcome | undefined, nowMs: number): number | null {
  switch (checkState(check, outcome, nowMs)) {
    case 'upcoming':
      return check.opensMs
    case 'open':
      return Math.min(check.lateAfterMs + 1, check.closesMs)
    case 'late':
      return check.closesMs
    case 'missed':
    case 'done':
    case 'excused':
      return null
  }
}
