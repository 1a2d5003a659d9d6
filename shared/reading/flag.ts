/** What hung on a reading that no longer counts, resolved by a person. */
import { lowCourse } from '../low/course.ts'
import type { LowEvent } from '../low/low.ts'
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from './reading.ts'

export type FlagRefusal = 'flag-note-missing' | 'flag-low-still-low'

/** True when readings that count still show a low in the event: then it is no error, whatever was corrected. */
export function hasLowReading(low: LowEvent, readings: readonly Reading[], policy: WardPolicy): boolean {
  return lowCourse(low, readings, policy).lowest !== null
}

/**
 * Resolves a flag with a note. With `closeLow` the low event that it is about is closed as an error too, which is
 * refused while a reading that counts is low.
 */
export function resolveFlag(
  entry: { readonly note: string; readonly closeLow: boolean; readonly byId: string },
  facts: {
    readonly flagId: string
    readonly stayId: string
    readonly wardId: string
    readonly low: LowEvent | null
    readonly readings: readonly Reading[]
    readonly policy: WardPolicy
  },
  nowMs: number,
): Outcome<LedgerEvent[], FlagRefusal> {
  const note = entry.note.trim()
  if (note === '') return refuse('flag-note-missing')
  const { low } = facts
  const head = eventHead(facts, entry.byId, nowMs)
  const events: LedgerEvent[] = [{ ...head, type: 'flag-resolved', body: { flagId: facts.flagId, note } }]
  if (!entry.closeLow || low === null || low.closedAtMs !== null) return accept(events)
  if (hasLowReading(low, facts.readings, facts.policy)) return refuse('flag-low-still-low')
  return accept([
    ...events,
    { ...head, type: 'low-event-closed', body: { lowId: low.lowId, cause: 'entered-in-error', note } },
  ])
}
