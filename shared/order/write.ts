/** Writes a patient's order: a first version, or the next version of an existing order. Orders are never edited. */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import { isBasal, type InsulinOrder, type OrderVersion } from './order.ts'

export type WriteRefusal = 'stay-discharged' | 'order-changed' | 'order-ended' | 'order-overlaps' | 'basal-order-beside'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'order-overlaps': { insulin: string; prescriber: string; version: number }
    'basal-order-beside': { insulin: string; prescriber: string; version: number }
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
  const others = orders.filter((other) => other.orderId !== orderId)
  const beside = overlappingOrder(order, others, nowMs)
  if (beside !== null)
    return refuse('order-overlaps', {
      insulin: beside.order.insulin,
      prescriber: beside.order.prescriber,
      version: beside.version,
    })
  const basal = order.inAddition === true ? null : basalOrderBeside(order, others, nowMs)
  if (basal !== null)
    return refuse('basal-order-beside', {
      insulin: basal.order.insulin,
      prescriber: basal.order.prescriber,
      version: basal.version,
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
  return bears(order) ? (alongside(order, others, nowMs).find((other) => bears(other.order)) ?? null) : null
}

/**
 * Another order of NPH or long-acting insulin at listed times in the same period, that is not in addition either: two
 * basal insulins are asked about (common practice). Null: none.
 */
export function basalOrderBeside(
  order: InsulinOrder,
  others: readonly OrderVersion[],
  nowMs: number,
): OrderVersion | null {
  const isBasalOrder = ({ insulin, scheduled }: InsulinOrder): boolean => isBasal(insulin) && scheduled.length > 0
  if (!isBasalOrder(order)) return null
  return (
    alongside(order, others, nowMs).find((other) => isBasalOrder(other.order) && other.order.inAddition !== true) ??
    null
  )
}

/** The versions that count at the same time as the order. */
function alongside(order: InsulinOrder, others: readonly OrderVersion[], nowMs: number): readonly OrderVersion[] {
  const [from, until] = [Math.max(nowMs, order.startsAtMs), order.stopsAtMs ?? Infinity]
  return others.filter((other) => {
    const ends = Math.min(other.order.stopsAtMs ?? Infinity, other.endedAtMs ?? Infinity)
    return other.order.startsAtMs < until && from < ends
  })
}

function bears(order: InsulinOrder): boolean {
  return order.correction !== null || order.meal !== null
}
