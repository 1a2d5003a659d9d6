/** A scheduled dose's slot: its address, its identity, and whether it was settled. */
import { settledSlotsOf } from '../bedside/tasks.ts'
import type { StayFacts } from '../store/contract.ts'
import { isSlotSettled, slotAddress } from '../../shared/check/scheduled.ts'
import { isInForce, type OrderVersion } from '../../shared/order/order.ts'
import { isCalendarDate, localToUtc } from '../../shared/time/zone.ts'

export type Slot = {
  readonly slot: string
  readonly slotKey: string
  readonly date: string
  readonly time: string
  readonly dueMs: number
  readonly order: OrderVersion
}

/**
 * Takes a slot (YYYY-MM-DD.HHMM.order) apart; undefined when it is none or no order of the stay lists its time. An
 * address without its order, as older pages have it, names the order in force.
 */
export function slotOf(facts: StayFacts, slot: string): Slot | undefined {
  const match = /^(\d{4}-\d{2}-\d{2})\.([01]\d|2[0-3])([0-5]\d)(?:\.([a-z0-9]{1,32}))?$/.exec(slot)
  if (match === null) return undefined
  const [, date = '', hour = '', minute = '', orderId] = match
  if (!isCalendarDate(date)) return undefined
  const time = `${hour}:${minute}`
  const dueMs = localToUtc(date, time, facts.policy.policy.zone)
  const listing = facts.orders.filter(
    (version) =>
      (orderId === undefined || version.orderId === orderId) &&
      version.order.scheduled.some((dose) => dose.time === time),
  )
  // the version in force at its time is the one that asks for it; failing that, the newest, so that its guard can say why not
  const order = listing.find((version) => isInForce(version, dueMs)) ?? listing.sort((a, b) => b.version - a.version)[0]
  if (order === undefined) return undefined
  const address = slotAddress(date, time, order.orderId)
  return { slot: address, slotKey: `${facts.stay.stayId}.${address}`, date, time, dueMs, order }
}

/** A slot is given once: charted by a dose of its own or by a direction. */
export function slotSettled(facts: StayFacts, slotKey: string): boolean {
  return isSlotSettled(settledSlotsOf(facts), slotKey)
}
