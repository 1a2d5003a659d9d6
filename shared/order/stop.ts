/** Stopping an insulin order before its own date: by whom it was ordered, and why. */
import type { LedgerEvent } from '../ledger/events.ts'
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

/** `versions` are all of one order's, of a stay on the ward. */
export type StopFacts = {
  readonly versions: readonly OrderVersion[]
  readonly wardId: string
  readonly dischargedAtMs: number | null
  readonly nowMs: number
}

/** How an order came to be stopped, as its page shows it. `orderedBy` and `received` are null where they were not asked. */
export type OrderStop = {
  readonly orderId: string
  readonly reason: string
  readonly orderedBy: string | null
  readonly received: InsulinOrder['received'] | null
  readonly byId: string
  readonly atMs: number
}

/** True while the version is not over: in force, or still to start. */
export function isRunning({ endedAtMs, order: { stopsAtMs } }: OrderVersion, nowMs: number): boolean {
  return (endedAtMs === null || nowMs < endedAtMs) && (stopsAtMs === null || nowMs < stopsAtMs)
}

/** Stops every version of the order that is running or still to start, now. By telephone it is read back first. */
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
      wardId,
      stayId: running.stayId,
      actorId: entry.byId,
      happenedAtMs: nowMs,
      chartedAtMs: nowMs,
      type: 'order-stopped',
      body: { orderId: running.orderId, reason: entry.reason, orderedBy: entry.orderedBy, received },
    },
  ])
}
