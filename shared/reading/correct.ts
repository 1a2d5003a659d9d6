/** Putting right what was charted wrongly: nothing is edited or deleted, and what hung on it stays for a person. */
import { reopensLow } from '../low/current.ts'
import { type Glucose } from '../glucose/value.ts'
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { StayReadingFacts } from './facts.ts'
import type { Reading } from './reading.ts'
import { eventsFor, refuseAtBedside } from './record.ts'

export type CorrectionEntry = {
  readonly readingId: string
  readonly newLowId: string
  readonly wristband: string
  readonly glucose: Glucose
  /** Of a laboratory value: as it was reported. */
  readonly reported?: Glucose
  readonly reason: string
  readonly byId: string
}

export type CorrectionRefusal =
  | 'wristband-wrong'
  | 'stay-discharged'
  | 'reading-other-unit'
  | 'reading-already-corrected'
  | 'reading-already-in-error'
  | 'correction-same-value'

/**
 * A new reading that supersedes `reading`, with the reason. It keeps when and where it was taken, its check, meter and
 * strips and their doubts; it is charted now, by the person who corrects. Corrected to a low with no low event open,
 * it opens one; corrected from a low, the event stays as it is and is flagged for a person. A reading already
 * superseded or in error is a conflict, so that of two corrections at once one counts.
 */
export function correctReading(
  entry: CorrectionEntry,
  reading: Reading,
  facts: StayReadingFacts,
  nowMs: number,
): Outcome<LedgerEvent[], CorrectionRefusal> {
  const refusal = refuseAtBedside(entry, facts)
  if (refusal !== null) return refusal
  const stands = refuseUnlessStanding(reading)
  if (!stands.ok) return stands
  if (entry.glucose.value === reading.glucose.value) return refuse('correction-same-value')
  const { chartedById: _typedBy, ...kept } = reading
  const corrected: Reading = {
    ...kept,
    readingId: entry.readingId,
    glucose: entry.glucose,
    ...(entry.reported === undefined ? {} : { reported: entry.reported }),
    chartedAtMs: nowMs,
    byId: entry.byId,
    supersedes: { readingId: reading.readingId, reason: entry.reason },
  }
  const again = reopened(reading, corrected, facts, { byId: entry.byId, nowMs })
  // a value that is low after all belongs to the event that opens again by it
  const events = eventsFor(corrected, { newLowId: entry.newLowId, actorId: entry.byId }, facts)
  return accept([...events.filter(({ type }) => again.length === 0 || type !== 'low-event-opened'), ...again])
}

export type VoidRefusal = 'reading-already-corrected' | 'reading-already-in-error'

/** Marks a reading entered in error (wrong patient, say), with the reason. It stays readable, struck through. */
export function voidReading(
  entry: { readonly reason: string; readonly byId: string },
  reading: Reading,
  nowMs: number,
  facts: Pick<StayReadingFacts, 'lows' | 'readings' | 'policy' | 'stay'>,
): Outcome<LedgerEvent[], VoidRefusal> {
  const stands = refuseUnlessStanding(reading)
  if (!stands.ok) return stands
  return accept([
    {
      ...eventHead(reading, entry.byId, nowMs),
      type: 'reading-voided',
      body: { readingId: reading.readingId, reason: entry.reason },
    },
    ...reopened(reading, null, facts, { byId: entry.byId, nowMs }),
  ])
}

/** The low event that the value had closed is open again, while the patient is here. */
function reopened(
  retired: Reading,
  instead: Reading | null,
  { lows, readings, policy, stay }: Pick<StayReadingFacts, 'lows' | 'readings' | 'policy' | 'stay'>,
  { byId, nowMs }: { readonly byId: string; readonly nowMs: number },
): LedgerEvent[] {
  const low = stay.dischargedAtMs === null ? reopensLow(retired, instead, lows, readings, policy.policy) : null
  return low === null
    ? []
    : [{ ...eventHead(low, byId, nowMs), type: 'low-event-reopened', body: { lowId: low.lowId } }]
}

function refuseUnlessStanding(reading: Reading): Outcome<null, VoidRefusal> {
  if (reading.supersededBy !== null) return refuse('reading-already-corrected')
  return reading.voided === null ? accept(null) : refuse('reading-already-in-error')
}
