/** The educator's finding and follow-up about a low. A note is added to the record and changes nothing else in it. */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import type { LowEvent } from '../low/low.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'

export type NoteRefusal = 'note-empty'

/** Adds a note. One of the two texts may be empty, but not both. The low stays open or closed as it was. */
export function addAuditNote(
  entry: { readonly noteId: string; readonly finding: string; readonly followUp: string; readonly byId: string },
  low: Pick<LowEvent, 'lowId' | 'stayId' | 'wardId'>,
  nowMs: number,
): Outcome<readonly LedgerEvent[], NoteRefusal> {
  const [finding, followUp] = [entry.finding.trim(), entry.followUp.trim()]
  if (finding === '' && followUp === '') return refuse('note-empty')
  return accept([
    {
      ...eventHead(low, entry.byId, nowMs),
      type: 'audit-note-added',
      body: { noteId: entry.noteId, lowId: low.lowId, finding, followUp },
    },
  ])
}
