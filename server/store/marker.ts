/**
 * The ledger's marker: the one row that parts rows with implied voids (implied-voids.ts) from rows after which nothing
 * is void without a `dose-voided`. It is written just before the next row of a ledger that has rows and no marker: in an
 * older database before the first row that this program adds, in a new one as the second row. A new ledger's first row
 * stays its own, since its hash tells one database's record from another's. It carries the instant of the row after it.
 */
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { eventHead } from '../../shared/ledger/head.ts'
import type { Connection } from './connection.ts'

export const MARKER = 'voids-are-events'

/** Prepares the question whether the ledger has its marker. An index holds that row alone, so asking is cheap. */
export function isMarkedOf({ raw }: Pick<Connection, 'raw'>): () => boolean {
  const found = raw.prepare<[], { found: number }>(
    "SELECT EXISTS (SELECT 1 FROM ledger WHERE type = 'voids-are-events') AS found",
  )
  return () => found.get()?.found === 1
}

/** The marker as it is written before `next`. */
export function markerBefore({ chartedAtMs }: LedgerEvent): LedgerEvent {
  const head = eventHead({ wardId: null }, 'program', chartedAtMs)
  return { ...head, type: MARKER, body: {} }
}
