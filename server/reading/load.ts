/** Loads what the pages about one reading decide on, and whether this person may see it yet. */
import { isInForce } from '../../shared/order/order.ts'
import { callByMs } from '../../shared/critical/call.ts'
import { newestReading } from '../../shared/order/inputs.ts'
import { criticalHiddenFrom, maskedFor, takersOf } from '../../shared/reading/mask.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { parameter } from '../check/load.ts'
import { stayFactsNow } from '../dose/overtaken.ts'
import { isId } from '../http/ids.ts'
import type { Visit } from '../http/visit.ts'
import type { StayFacts } from '../store/contract.ts'

export type ReadingContext = {
  readonly reading: Reading
  readonly facts: StayFacts
  readonly zone: string
  readonly masked: boolean
}

/** The reading of the address with its stay; undefined when it is not there, or not on a ward of this person's. */
export function readingContext(visit: Visit): ReadingContext | undefined {
  const readingId = parameter(visit, 'id')
  const reading = isId(readingId) ? visit.store.readingById(visit.scope, readingId) : undefined
  const facts = reading === undefined ? undefined : stayFactsNow(visit, reading.stayId)
  if (reading === undefined || facts === undefined) return undefined
  return { reading, facts, zone: facts.policy.policy.zone, masked: isMasked(visit, reading, facts) }
}

/** True when this person must see "awaiting second check" in place of the reading. */
export function isMasked(visit: Visit, reading: Reading, facts: StayFacts): boolean {
  const hasApplicableOrder = facts.orders.some(
    (version) => isInForce(version, visit.nowMs) && (version.order.correction !== null || version.order.meal !== null),
  )
  return maskedFor(visit.actor, reading, facts.doses, {
    nowMs: visit.nowMs,
    policy: facts.policy.policy,
    hasApplicableOrder,
  })
}

/** True when the waiting call about a critical result must not be shown to this person yet. */
export function isCriticalHidden(
  visit: Visit,
  facts: StayFacts,
  item: { readonly subjectId: string; readonly sinceMs: number },
): boolean {
  const newest = newestReading(facts.readings)
  const critical = facts.readings.filter(({ readingId }) => readingId === item.subjectId)
  return criticalHiddenFrom(visit.actor, {
    newestMasked: newest !== null && isMasked(visit, newest, facts),
    takenBy: takersOf(critical),
    callByMs: callByMs(item.sinceMs, facts.policy.policy),
    nowMs: visit.nowMs,
  })
}

/** The name of a member of staff for a sentence; an id that nobody has is shown as a dash. */
export function nameOf(visit: Visit, staffId: string): string {
  return visit.store.staffById(staffId)?.name ?? '–'
}
