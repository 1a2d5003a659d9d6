/** Loads what the pages about one reading decide on, and whether this person may see it yet. */
import { isInForce } from '../../shared/order/order.ts'
import { callByMs } from '../../shared/critical/call.ts'
import { newestReading } from '../../shared/order/inputs.ts'
import { criticalHiddenFrom, maskedFor, takersOf } from '../../shared/reading/mask.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { parameter } from '../check/load.ts'
import { stayFactsNow } from './facts-now.ts'
import { isId } from '../http/ids.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { StayFacts } from '../store/contract.ts'

export type ReadingContext = {
  readonly reading: Reading
  readonly facts: StayFacts
  readonly zone: string
  readonly masked: boolean
}

/** The reading of the address with its stay; undefined when it is not there, or not on a ward of this person's. */
export function readingContext(ctx: RequestContext): ReadingContext | undefined {
  const readingId = parameter(ctx, 'id')
  const reading = isId(readingId) ? ctx.store.readingById(ctx.scope, readingId) : undefined
  const facts = reading === undefined ? undefined : stayFactsNow(ctx, reading.stayId)
  if (reading === undefined || facts === undefined) return undefined
  return { reading, facts, zone: facts.policy.policy.zone, masked: isMasked(ctx, reading, facts) }
}

/** True when this person must see "awaiting second check" in place of the reading. */
export function isMasked(ctx: RequestContext, reading: Reading, facts: StayFacts): boolean {
  const hasApplicableOrder = facts.orders.some(
    (version) => isInForce(version, ctx.nowMs) && (version.order.correction !== null || version.order.meal !== null),
  )
  return maskedFor(ctx.actor, reading, facts.doses, {
    nowMs: ctx.nowMs,
    policy: facts.policy.policy,
    hasApplicableOrder,
  })
}

/** True when the waiting call about a critical result must not be shown to this person yet. */
export function isCriticalHidden(
  ctx: RequestContext,
  facts: StayFacts,
  item: { readonly subjectId: string; readonly sinceMs: number },
): boolean {
  const newest = newestReading(facts.readings)
  const critical = facts.readings.filter(({ readingId }) => readingId === item.subjectId)
  return criticalHiddenFrom(ctx.actor, {
    newestMasked: newest !== null && isMasked(ctx, newest, facts),
    takenBy: takersOf(critical),
    callByMs: callByMs(item.sinceMs, facts.policy.policy),
    nowMs: ctx.nowMs,
  })
}

/** The name of a member of staff for a sentence; an id that nobody has is shown as a dash. */
export function nameOf(ctx: RequestContext, staffId: string): string {
  return ctx.store.staffById(staffId)?.name ?? '–'
}
