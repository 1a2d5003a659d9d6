/** Accounting for a check with a reason in place of a reading. */
import type { Check, CheckOutcome, CheckState, ExcuseReason, MissedReason } from '../check/check.ts'
import { checkState } from '../check/state.ts'
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'

export type ExcuseRefusal =
  | 'excuse-already-done'
  | 'excuse-already-excused'
  | 'excuse-recheck'
  | 'excuse-extra'
  | 'excuse-reason-wrong'
  | 'excuse-note-missing'

export const EXCUSE_REASONS: readonly ExcuseReason[] = [
  'off-the-ward',
  'refused',
  'order-changed',
  'asleep-by-order',
  'other',
]
export const MISSED_REASONS: readonly MissedReason[] = [
  'off-the-ward',
  'refused',
  'workload',
  'no-meter',
  'emergency-elsewhere',
  'other',
]

/** The reasons that fit the state: a missed check says why it was missed, any other why it is not done. */
export function reasonsFor(state: CheckState): readonly (ExcuseReason | MissedReason)[] {
  return state === 'missed' ? MISSED_REASONS : EXCUSE_REASONS
}

/**
 * Excuses a planned check, before, in or after its window. A recheck of a low is not excused: it stays until a value
 * shows recovery; an extra check is simply not done. "Another reason" needs a note. A check done or excused is a
 * conflict.
 */
export function excuseCheck(
  entry: { readonly reason: ExcuseReason | MissedReason; readonly note: string; readonly byId: string },
  facts: { readonly check: Check; readonly outcome: CheckOutcome | undefined; readonly wardId: string },
  nowMs: number,
): Outcome<LedgerEvent[], ExcuseRefusal> {
  const { check, outcome, wardId } = facts
  if (check.kind === 'recheck') return refuse('excuse-recheck')
  if (check.kind === 'extra') return refuse('excuse-extra')
  if (outcome !== undefined) return refuse(outcome.kind === 'done' ? 'excuse-already-done' : 'excuse-already-excused')
  if (!reasonsFor(checkState(check, outcome, nowMs)).includes(entry.reason)) return refuse('excuse-reason-wrong')
  const note = entry.note.trim()
  if (entry.reason === 'other' && note === '') return refuse('excuse-note-missing')
  return accept([
    {
      ...eventHead({ wardId, stayId: check.stayId }, entry.byId, nowMs),
      type: 'check-excused',
      body: { checkKey: check.key, reason: entry.reason, note },
    },
  ])
}
