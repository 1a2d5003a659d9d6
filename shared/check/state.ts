/** The state of a check: a function of the check, its outcome and the time. It is never stored. */
import type { Check, CheckOutcome, CheckState } from './check.ts'

/**
 * upcoming before it opens, then open. It is late after `lateAfterMs`, and still on time at that very instant.
 * Time-critical within 30 min means that a check due 07:30 is on time at 08:00:00 (42 CFR 482.23(c) guidance 2011,
 * R/S). It is missed when it closes without an outcome. With an outcome it is done or excused, whatever the time.
 */
export function checkState(check: Check, outcome: CheckOutcome | undefined, nowMs: number): CheckState {
  if (outcome !== undefined) return outcome.kind
  if (nowMs < check.opensMs) return 'upcoming'
  if (nowMs >= check.closesMs) return 'missed'
  return nowMs > check.lateAfterMs ? 'late' : 'open'
}

/** The next instant at which time alone changes the state. Null: time no longer changes it. */
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
