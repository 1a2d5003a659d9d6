/** Closing a low event: recovery shown, follow-up done, prescriber told, cause chosen. */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import { lowState, type LowFacts } from './event.ts'
import type { LowCause } from './low.ts'

export type CloseRefusal =
  | 'close-already'
  | 'close-not-recovered'
  | 'close-follow-up-missing'
  | 'close-not-told'
  | 'close-cause-missing'
  | 'close-note-missing'

export const LOW_CAUSES: readonly LowCause[] = [
  'missed-or-delayed-meal',
  'dose-too-high',
  'stacking',
  'renal',
  'nil-by-mouth',
  'nutrition-stopped',
  'other',
]

/**
 * Closes the event with its likely cause. Refused, in this order, while it is not recovered, its follow-up is not done,
 * the prescriber is not told, or no cause is chosen; "other" says in a note what it was. A low afterwards is a new
 * event, linked to this one.
 */
export function closeLow(
  entry: { readonly cause: LowCause | null; readonly note: string; readonly byId: string },
  facts: LowFacts,
): Outcome<LedgerEvent[], CloseRefusal> {
  const { low, nowMs } = facts
  const { missing, phase } = lowState(facts)
  if (phase === 'closed') return refuse('close-already')
  if (missing.includes('recovery')) return refuse('close-not-recovered')
  if (missing.includes('follow-up')) return refuse('close-follow-up-missing')
  if (missing.includes('prescriber-told')) return refuse('close-not-told')
  const { cause } = entry
  if (cause === null) return refuse('close-cause-missing')
  const note = entry.note.trim()
  if (cause === 'other' && note === '') return refuse('close-note-missing')
  return accept([
    {
      ...eventHead(low, entry.byId, nowMs),
      type: 'low-event-closed',
      body: { lowId: low.lowId, cause, note },
    },
  ])
}
