/** What this person may not see yet at the bedside: a reading before its second check, and the call about it. */
import { callByMs } from '../../shared/critical/call.ts'
import { newestReading } from '../../shared/order/inputs.ts'
import { isInForce } from '../../shared/order/order.ts'
import { criticalHiddenFrom, maskedFor, takersOf } from '../../shared/reading/mask.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { StayFacts } from '../store/contract.ts'

/** True when this person must see "awaiting second check" instead of the reading. */
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

/** True when the waiting call about a critical result must stay hidden from this person for now. */
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
