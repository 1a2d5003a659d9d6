/**
 * The one function that turns an event into the derived tables: for a write that just happened and for a rebuild of
 * years alike. It reads nothing but the event and the derived tables, so the same events always give the same tables.
 */
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { DAY_MS } from '../../shared/time/span.ts'
import { auditHandlers } from './apply-audit.ts'
import { doseHandlers } from './apply-dose.ts'
import { lowHandlers } from './apply-low.ts'
import { meterHandlers } from './apply-meter.ts'
import { orderHandlers } from './apply-order.ts'
import { peopleHandlers } from './apply-people.ts'
import { planHandlers } from './apply-plan.ts'
import { policyHandlers } from './apply-policy.ts'
import { readingHandlers } from './apply-reading.ts'
import { standardOrderHandlers } from './apply-standard-order.ts'
import { stayHandlers } from './apply-stay.ts'
import { wardHandlers } from './apply-ward.ts'
import type { Connection } from './connection.ts'
import { derivedOf, type Derived, type Handlers } from './derived.ts'
import { doseBookOf, type DoseBook } from './dose-book.ts'
import { appliesWithImpliedVoids } from './implied-voids.ts'
import { MARKER } from './marker.ts'
import { nearMissesOf } from './near-misses.ts'
import { openItemsOf } from './open-items.ts'
import { CHANGES_ONLY_ITS_STAY, type WardChange } from './ward-changes.ts'

/**
 * Prepares applying on a connection; the answer must be called inside a transaction, and says which wards the event
 * changed, and whether more than its own patient. An event about a dose that no longer counts is broken code and throws.
 */
export function applierOf(connection: Connection): (event: LedgerEvent) => readonly WardChange[] {
  return partsOf(connection).apply
}

/**
 * Prepares applying a whole ledger, from its first row: the rows before its marker by the rules of their day
 * (implied-voids.ts), those after it as they are applied when they are written.
 */
export function rebuilderOf(connection: Connection): (event: LedgerEvent) => void {
  const { apply, derived, doses } = partsOf(connection)
  const applyOld = appliesWithImpliedVoids(derived, doses, apply)
  let isMarked = false
  return (event) => {
    isMarked ||= event.type === MARKER
    if (isMarked) apply(event)
    else applyOld(event)
  }
}

function partsOf(connection: Connection): {
  readonly apply: (event: LedgerEvent) => readonly WardChange[]
  readonly derived: Derived
  readonly doses: DoseBook
} {
  const derived = derivedOf(connection)
  const items = openItemsOf(derived)
  const doses = doseBookOf(derived, items)
  const handlers: Handlers<LedgerEvent['type']> = {
    ...wardHandlers(derived),
    ...policyHandlers(derived),
    ...peopleHandlers(derived),
    ...meterHandlers(derived),
    ...standardOrderHandlers(derived),
    ...stayHandlers(derived, items, doses),
    ...planHandlers(derived),
    ...orderHandlers(derived),
    ...readingHandlers(derived, items, doses),
    ...doseHandlers(derived, items, doses),
    ...lowHandlers(derived, items),
    ...auditHandlers(derived),
    [MARKER]: () => undefined,
  }
  const keepNearMiss = nearMissesOf(derived)
  const wardOfStay = connection.raw.prepare<[string], { ward_id: string }>('SELECT ward_id FROM stay WHERE stay_id = ?')
  const wardsMeasured = connection.raw.prepare<[string, number], { ward_id: string }>(
    'SELECT DISTINCT s.ward_id FROM reading r JOIN stay s ON s.stay_id = r.stay_id WHERE r.meter_id = ? AND r.taken_at_ms > ?',
  )
  const bump = connection.raw
    .prepare<[string], number>(
      'UPDATE ward SET data_version = data_version + 1 WHERE ward_id = ? RETURNING data_version',
    )
    .pluck()

  /** Wards whose people, meters or readings the event changes: asked before and after, since it may change just that. */
  const wardsOfSubject = (event: LedgerEvent): readonly string[] => {
    switch (event.type) {
      case 'staff-changed':
      case 'staff-badge-changed':
      case 'staff-locked':
      case 'staff-unlocked':
      case 'staff-left':
      case 'training-set':
        return derived.staff.get(event.body.staffId)?.ward_ids ?? []
      case 'meter-moved':
        return [derived.meter.need(event.body.meterId).ward_id]
      // a reading of the meter may be of a ward that it has left since
      case 'meter-controlled':
        return wardsMeasured.all(event.body.meterId, event.happenedAtMs - DAY_MS).map(({ ward_id: wardId }) => wardId)
      default:
        return []
    }
  }
  /** Wards whose pages the event changes: the one it names, the stay's own, and both ends of a move. */
  const wardsOf = (event: LedgerEvent): readonly string[] => {
    const stayWard = event.stayId === null ? undefined : wardOfStay.get(event.stayId)?.ward_id
    const moved = event.type === 'stay-moved' ? [event.body.fromWardId, event.body.toWardId] : []
    return [event.wardId, stayWard, ...moved].filter((wardId) => typeof wardId === 'string')
  }

  const apply = (event: LedgerEvent): readonly WardChange[] => {
    // the handler of an event's own type takes exactly that event; TypeScript cannot follow that through the table
    const handle = handlers[event.type] as (event: LedgerEvent) => void
    const before = wardsOfSubject(event)
    handle(event)
    keepNearMiss(event)
    const changed = new Set([...before, ...wardsOfSubject(event), ...wardsOf(event)])
    const stayId = CHANGES_ONLY_ITS_STAY[event.type] ? event.stayId : null
    return [...changed].flatMap((wardId) => {
      const version = bump.get(wardId)
      return version === undefined ? [] : [{ wardId, version, stayId }]
    })
  }
  return { apply, derived, doses }
}
