/** Scheduled insulin (a dose without a scale, at a listed time) as daily slots that are due on the round. */
import { isBasal, isInForce, type OrderVersion } from '../order/order.ts'
import { addWardDays, localToUtc, wardDate } from '../time/zone.ts'
import { MINUTE_MS } from '../time/span.ts'

/** A slot is due from this many minutes before its listed time to this many after it. */
export const SCHEDULED_WINDOW_MIN = 60

/** due: within an hour of its time. late: past that and not accounted for. settled: given, withheld or refused. */
export type SlotState = 'due' | 'late' | 'settled'

/**
 * `slot` is its address (YYYY-MM-DD.HHMM.order). `slotKey` identifies it, so that only one dose can settle it. Two
 * insulins at one time are two slots: the order is part of the identity.
 */
export type ScheduledSlot = {
  readonly stayId: string
  readonly orderId: string
  readonly orderVersion: number
  readonly slot: string
  readonly slotKey: string
  readonly dueMs: number
  readonly state: SlotState
}

/** A slot's address: its local date and time, and its order. */
export function slotAddress(date: string, time: string, orderId: string): string {
  return `${date}.${time.replace(':', '')}.${orderId}`
}

/**
 * True when the slot is among the settled ones. Keys charted before the order was part of them name the time alone: they
 * settle every order's slot at that time, as they did then.
 */
export function isSlotSettled(settled: ReadonlySet<string>, slotKey: string): boolean {
  return settled.has(slotKey) || settled.has(slotKey.slice(0, slotKey.lastIndexOf('.')))
}

/**
 * The key by which a charted dose settles its slot. A scheduled dose of an older record settled its own order's slot; any
 * other dose with such a key settled the time.
 */
export function settledKeyOf(dose: {
  readonly slotKey: string
  readonly kind: string
  readonly orderId: string
}): string {
  const isOld = /\.\d{4}-\d{2}-\d{2}\.\d{4}$/.test(dose.slotKey)
  return isOld && dose.kind === 'scheduled' ? `${dose.slotKey}.${dose.orderId}` : dose.slotKey
}

/** Facts besides the order: the ward's zone, how far back slots are listed, and the settled ones. */
export type SlotFacts = { readonly zone: string; readonly lookBackHours: number; readonly settled: ReadonlySet<string> }

const WINDOW_MS = SCHEDULED_WINDOW_MIN * MINUTE_MS

function lookBackOf(facts: SlotFacts): number {
  return Math.max(WINDOW_MS, facts.lookBackHours * 60 * MINUTE_MS)
}

/**
 * The slots of one order version that are due now, or were due within `lookBackHours` and are not accounted for.
 * Scheduled insulin is never dropped silently. A slot belongs to the version in force at its listed time, never to one
 * written after it. Settled slots show until their hour is over.
 */
export function scheduledSlots(version: OrderVersion, facts: SlotFacts, nowMs: number): readonly ScheduledSlot[] {
  const today = wardDate(nowMs, facts.zone)
  const lookBackMs = lookBackOf(facts)
  return [-2, -1, 0, 1].flatMap((days) =>
    version.order.scheduled.flatMap(({ time }): readonly ScheduledSlot[] => {
      const date = addWardDays(today, days, facts.zone)
      const dueMs = localToUtc(date, time, facts.zone)
      if (nowMs < dueMs - WINDOW_MS || nowMs >= dueMs + lookBackMs) return []
      if (!isInForce(version, dueMs) || dueMs < version.writtenAtMs) return []
      const slot = slotAddress(date, time, version.orderId)
      const slotKey = `${version.stayId}.${slot}`
      const passed = nowMs >= dueMs + WINDOW_MS
      const settled = isSlotSettled(facts.settled, slotKey)
      if (passed && settled) return []
      return [
        {
          stayId: version.stayId,
          orderId: version.orderId,
          orderVersion: version.version,
          slot,
          slotKey,
          dueMs,
          state: settled ? 'settled' : passed ? 'late' : 'due',
        },
      ]
    }),
  )
}

/** Scheduled doses of basal insulin of these orders that are past their hour and that nobody has accounted for. */
export function missedBasalSlots(
  orders: readonly OrderVersion[],
  facts: SlotFacts,
  nowMs: number,
): readonly { readonly slotKey: string; readonly dueMs: number }[] {
  return orders
    .filter(({ order }) => isBasal(order.insulin))
    .flatMap((version) => scheduledSlots(version, facts, nowMs))
    .filter(({ state }) => state === 'late')
    .map(({ slotKey, dueMs }) => ({ slotKey, dueMs }))
}

/**
 * Unsettled slots of an order version between two instants (included, excluded), by time. The handover lists them for
 * the next shift.
 */
export function slotsAhead(
  version: OrderVersion,
  { zone, settled }: Pick<SlotFacts, 'zone' | 'settled'>,
  { fromMs, toMs }: { readonly fromMs: number; readonly toMs: number },
): readonly { readonly dueMs: number; readonly units: number; readonly holdBelow: number | null }[] {
  const found: { dueMs: number; units: number; holdBelow: number | null }[] = []
  for (let date = wardDate(fromMs, zone); date <= wardDate(toMs, zone); date = addWardDays(date, 1, zone)) {
    for (const { time, units, holdBelow } of version.order.scheduled) {
      const dueMs = localToUtc(date, time, zone)
      const isSettled = isSlotSettled(settled, `${version.stayId}.${slotAddress(date, time, version.orderId)}`)
      if (dueMs >= fromMs && dueMs < toMs && isInForce(version, dueMs) && dueMs >= version.writtenAtMs && !isSettled)
        found.push({ dueMs, units, holdBelow })
    }
  }
  return found.sort((a, b) => a.dueMs - b.dueMs)
}

/**
 * The next instant at which time alone can change the result of scheduledSlots for this version. Null: none is known.
 */
export function nextSlotChangeMs(version: OrderVersion, facts: SlotFacts, nowMs: number): number | null {
  const today = wardDate(nowMs, facts.zone)
  const edges = [-2, -1, 0, 1, 2]
    .flatMap((days) =>
      version.order.scheduled.map(({ time }) => localToUtc(addWardDays(today, days, facts.zone), time, facts.zone)),
    )
    .flatMap((dueMs) => [dueMs - WINDOW_MS, dueMs + WINDOW_MS, dueMs + lookBackOf(facts)])
    .filter((ms) => ms > nowMs)
  return edges.length === 0 ? null : Math.min(...edges)
}
