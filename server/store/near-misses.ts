/** Near misses: what was stopped before it reached a patient. Each is told by an event that has its own handler too. */
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { NearMiss, NearMissKind } from './contract.ts'
import type { Derived } from './derived.ts'

type Told = { readonly kind: NearMissKind; readonly subjectId: string | null; readonly details: NearMiss['details'] }

/** What the event tells as a near miss; null: nothing. */
function toldBy(event: LedgerEvent): Told | null {
  switch (event.type) {
    case 'wristband-mismatched':
      return { kind: 'wristband', subjectId: event.body.foundStayId, details: { at: event.body.at } }
    case 'second-check-answered':
      return event.body.answer.agreed
        ? null
        : { kind: 'second-check-differed', subjectId: event.body.doseId, details: {} }
    case 'entry-refused':
      return { kind: 'wrong-unit', subjectId: null, details: { at: event.body.at } }
    case 'dose-stopped':
      return {
        kind: 'guard-stopped',
        subjectId: event.body.readingId,
        details: {
          guards: event.body.guards.join(' '),
          ...(event.body.orderId === null ? {} : { orderId: event.body.orderId }),
        },
      }
    case 'order-verification-answered':
      return event.body.agreed
        ? null
        : {
            kind: 'verification-differed',
            subjectId: event.body.orderId,
            details: { version: String(event.body.version) },
          }
    default:
      return null
  }
}

/** Prepares keeping them; called after the event's own handler. Numbered by ward in the order of the ledger. */
export function nearMissesOf(derived: Derived): (event: LedgerEvent) => void {
  const last = derived.connection.raw.prepare<[string], { last: number | null }>(
    'SELECT max(number) AS last FROM near_miss WHERE ward_id = ?',
  )
  return (event) => {
    const told = toldBy(event)
    if (told === null || event.wardId === null) return
    derived.nearMiss.insert({
      ward_id: event.wardId,
      number: (last.get(event.wardId)?.last ?? 0) + 1,
      kind: told.kind,
      stay_id: event.stayId,
      subject_id: told.subjectId,
      by_id: event.actorId,
      at_ms: event.happenedAtMs,
      details: told.details,
    })
  }
}
