/** Stops an insulin order before its own end: who ordered the stop, and why. */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { InsulinOrder, OrderVersion } from './order.ts'

export type StopRefusal = 'order-gone' | 'stay-discharged' | 'order-ended-already' | 'stop-not-read-back'

export type StopEntry = {
  readonly byId: string
  readonly reason: string
  /** The prescriber who ordered the stop. */
  readonly orderedBy: string
  readonly received: 'written' | 'telephone'
  readonly readBack: boolean
}

/** `versions` are all versions of one order, of a stay on the ward. */
export type StopFacts = {
  readonly versions: readonly OrderVersion[]
  readonly wardId: string
  readonly dischargedAtMs: number | null
  readonly nowMs: number
}

/** How an order was stopped, for its page. `orderedBy` and `received` are null where they were not asked. */
export type OrderStop = {
  readonly orderId: string
  readonly reason: string
  readonly orderedBy: string | null
  readonly received: InsulinOrder['received'] | null
  readonly byId: string
  readonly atMs: number
}

/** True while the version is in force or still to start. */
export function isRunning({ endedAtMs, order: { stopsAtMs } }: OrderVersion, nowMs: number): boolean {
  return (endedAtMs === null || nowMs < endedAtMs) && (stopsAtMs === null || nowMs < stopsAtMs)
}

/**
 * Stops every version of the order that runs or is still to start, from now. A stop by telephone must be read back
 * first.
 */
export function stopOrder(
  entry: StopEntry,
  { versions, wardId, dischargedAtMs, nowMs }: StopFacts,
): Outcome<readonly LedgerEvent[], StopRefusal> {
  if (dischargedAtMs !== null) return refuse('stay-discharged')
  const running = versions.find((version) => isRunning(version, nowMs))
  if (running === undefined) return refuse('order-ended-already')
  if (entry.received === 'telephone' && !entry.readBack) return refuse('stop-not-read-back')
  const received = entry.received === 'written' ? 'written' : 'telephone-read-back'
  return accept([
    {
      ...eventHead({ wardId, stayId: running.stayId }, entry.byId, nowMs),
      type: 'order-stopped',
      body: { orderId: running.orderId, reason: entry.reason, orderedBy: entry.orderedBy, received },
    },
  ])
}
