/**
 * The one function that turns an event into the derived tables: for a write that just happened and for a rebuild of
 * years alike. It reads nothing but the event and the derived tables, so the same events always give the same tables.
 */
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { doseHandlers } from './apply-dose.ts'
import { lowHandlers } from './apply-low.ts'
import { orderHandlers } from './apply-order.ts'
import { readingHandlers } from './apply-reading.ts'
import { stayHandlers } from './apply-stay.ts'
import { wardHandlers } from './apply-ward.ts'
import type { Connection } from './connection.ts'
import { derivedOf, type Handlers } from './derived.ts'
import { doseBookOf } from './dose-book.ts'
import { openItemsOf } from './open-items.ts'

/** Prepares applying on a connection; the answer must be called inside a transaction. */
export function applierOf(connection: Connection): (event: LedgerEvent) => void {
  const derived = derivedOf(connection)
  const items = openItemsOf(derived)
  const doses = doseBookOf(derived, items)
  const handlers: Handlers<LedgerEvent['type']> = {
    ...wardHandlers(derived),
    ...stayHandlers(derived, items, doses),
    ...orderHandlers(derived, doses),
    ...readingHandlers(derived, items, doses),
    ...doseHandlers(derived, items, doses),
    ...lowHandlers(derived, items, doses),
  }
  const wardOfStay = connection.raw.prepare<[string], { ward_id: string }>('SELECT ward_id FROM stay WHERE stay_id = ?')
  const bump = connection.raw.prepare<[string]>('UPDATE ward SET data_version = data_version + 1 WHERE ward_id = ?')

  /** Wards whose pages the event changes: the one it names, the stay's own, and both ends of a move. */
  const wardsOf = (event: LedgerEvent): ReadonlySet<string> => {
    const stayWard = event.stayId === null ? undefined : wardOfStay.get(event.stayId)?.ward_id
    const moved = event.type === 'stay-moved' ? [event.body.fromWardId, event.body.toWardId] : []
    return new Set([event.wardId, stayWard, ...moved].filter((wardId) => typeof wardId === 'string'))
  }

  return (event) => {
    // the handler of an event's own type takes exactly that event; TypeScript cannot follow that through the table
    const handle = handlers[event.type] as (event: LedgerEvent) => void
    handle(event)
    for (const wardId of wardsOf(event)) bump.run(wardId)
  }
}
