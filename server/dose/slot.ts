/** A scheduled dose's slot: its address, its identity, and whether it was settled. */
import type { StayFacts } from '../store/contract.ts'
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

/** Takes a slot (YYYY-MM-DD.HHMM) apart; undefined when it is none or no order of the stay lists its time. */
export function slotOf(facts: StayFacts, slot: string): Slot | undefined {
  const match = /^(\d{4}-\d{2}-\d{2})\.([01]\d|2[0-3])([0-5]\d)$/.exec(slot)
  if (match === null) return undefined
  const [, date = '', hour = '', minute = ''] = match
  if (!isCalendarDate(date)) return undefined
  const time = `${hour}:${minute}`
  const dueMs = localToUtc(date, time, facts.policy.policy.zone)
  const listing = facts.orders.filter((version) => version.order.scheduled.some((dose) => dose.time === time))
  // the version in force at its time is the one that asks for it; failing that, the newest, so that its guard can say why not
  const order = listing.find((version) => isInForce(version, dueMs)) ?? listing.sort((a, b) => b.version - a.version)[0]
  return order === undefined ? undefined : { slot, slotKey: `${facts.stay.stayId}.${slot}`, date, time, dueMs, order }
}

/** A slot is given once: charted by a dose of its own or by a direction. */
export function slotSettled(facts: StayFacts, slotKey: string): boolean {
  return facts.doses.some((dose) => dose.slotKey === slotKey && dose.outcome !== null)
}
