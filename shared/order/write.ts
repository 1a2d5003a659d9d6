/** Writes a patient's order: a first version, or the next version of an existing order. Orders are never edited. */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { InsulinOrder, OrderVersion } from './order.ts'

export type WriteRefusal = 'stay-discharged' | 'order-changed' | 'order-ended' | 'order-overlaps'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'order-overlaps': { insulin: string; prescriber: string; version: number }
  }
}

export type WriteFacts = {
  readonly stay: { readonly stayId: string; readonly wardId: string; readonly dischargedAtMs: number | null }
  /** Every order version of the stay that may still count. */
  readonly orders: readonly OrderVersion[]
  readonly nowMs: number
  /** True when the newest version ended because its verification differed, and the order has not been stopped since. */
  readonly differed?: boolean
}

/** Writes version 1 under a new id. Refuses an order for readings if another one would be in force at the same time. */
export function writeOrder(
  entry: { readonly orderId: string; readonly order: InsulinOrder; readonly byId: string },
  facts: WriteFacts,
): Outcome<readonly LedgerEvent[], WriteRefusal> {
  if (facts.stay.dischargedAtMs !== null) return refuse('stay-discharged')
  return written(entry, 1, facts)
}

/**
 * Writes the next version of an order. The version before counts until the new one starts, and stays readable.
 * `basedOn` is the version on which the form is based. Refuses if another has been written since, or if the order was
 * stopped. After a verification that differed, the next version corrects the order.
 */
export function reviseOrder(
  entry: { readonly orderId: string; readonly basedOn: number; readonly order: InsulinOrder; readonly byId: string },
  facts: WriteFacts,
): Outcome<readonly LedgerEvent[], WriteRefusal> {
  if (facts.stay.dischargedAtMs !== null) return refuse('stay-discharged')
  const latest = latestVersion(facts.orders, entry.orderId)
  if (latest === undefined || latest.version !== entry.basedOn) return refuse('order-changed')
  if (latest.endedAtMs !== null && facts.differed !== true) return refuse('order-ended')
  return written(entry, latest.version + 1, facts)
}

function written(
  { orderId, order, byId }: { readonly orderId: string; readonly order: InsulinOrder; readonly byId: string },
  version: number,
  { stay, orders, nowMs }: WriteFacts,
): Outcome<readonly LedgerEvent[], WriteRefusal> {
  const beside = overlappingOrder(
    order,
    orders.filter((other) => other.orderId !== orderId),
    nowMs,
  )
  if (beside !== null)
    return refuse('order-overlaps', {
      insulin: beside.order.insulin,
      prescriber: beside.order.prescriber,
      version: beside.version,
    })
  return accept([
    {
      ...eventHead(stay, byId, nowMs),
      type: 'order-written',
      body: { orderId, version, order },
    },
  ])
}

/** The newest version of the order; undefined when there is none. */
export function latestVersion(orders: readonly OrderVersion[], orderId: string): OrderVersion | undefined {
  return orders
    .filter((version) => version.orderId === orderId)
    .reduce<OrderVersion | undefined>(
      (best, version) => (best === undefined || version.version > best.version ? version : best),
      undefined,
    )
}

/**
 * Another order that answers readings in the same period. With two at once no dose is calculated, verified or not.
 * Null: none, or this order has scheduled doses only.
 */
export function overlappingOrder(
  order: InsulinOrder,
  others: readonly OrderVersion[],
  nowMs: number,
): OrderVersion | null {
  if (!bears(order)) return null
  const [from, until] = [Math.max(nowMs, order.startsAtMs), order.stopsAtMs ?? Infinity]
  return (
    others.find((other) => {
      const ends = Math.min(other.order.stopsAtMs ?? Infinity, other.endedAtMs ?? Infinity)
      return bears(other.order) && other.order.startsAtMs < until && from < ends
    }) ?? null
  )
}

function bears(order: InsulinOrder): boolean {
  return order.correction !== null || order.meal !== null
}
