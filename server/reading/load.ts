/** Loads what the pages about one reading decide on, and whether this person may see it yet. */
import { isInForce } from '../../shared/order/order.ts'
import { maskedFor } from '../../shared/reading/mask.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { parameter } from '../check/load.ts'
import { isId } from '../http/ids.ts'
import type { Visit } from '../http/visit.ts'
import type { StayFacts } from '../store/contract.ts'

export type ReadingContext = { readonly reading: Reading; readonly facts: StayFacts; readonly zone: string; readonly masked: boolean }

/** The reading of the address with its stay; undefined when it is not there, or not on a ward of this person's. */
export function readingContext(visit: Visit): ReadingContext | undefined {
  const readingId = parameter(visit, 'id')
  const reading = isId(readingId) ? visit.store.readingById(visit.scope, readingId) : undefined
  const facts = reading === undefined ? undefined : visit.store.stayFacts(visit.scope, reading.stayId, visit.nowMs)
  if (reading === undefined || facts === undefined) return undefined
  return { reading, facts, zone: facts.policy.policy.zone, masked: isMasked(visit, reading, facts) }
}

/** True when this person must see "awaiting second check" in place of the reading. */
export function isMasked(visit: Visit, reading: Reading, facts: StayFacts): boolean {
  const hasApplicableOrder = facts.orders.some((version) => isInForce(version, visit.nowMs) && (version.order.correction !== null || version.order.meal !== null))
  return maskedFor(visit.actor, reading, facts.doses, { nowMs: visit.nowMs, policy: facts.policy.policy, hasApplicableOrder })
}

/** The name of a member of staff for a sentence; an id that nobody has is shown as a dash. */
export function nameOf(visit: Visit, staffId: string): string {
  return visit.store.staffById(staffId)?.name ?? '–'
}
