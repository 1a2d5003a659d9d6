/** The head of a ledger event: subject, actor and times. */
import type { EventHead } from '../../shared/ledger/events.ts'
import type { RequestContext } from '../http/request-context.ts'

/** Subject, actor and times of an event that happened at `happenedAtMs` (now, unless it is charted late). */
export function headOf(
  ctx: RequestContext,
  stay: { readonly wardId: string; readonly stayId: string },
  happenedAtMs: number = ctx.nowMs,
): EventHead {
  return {
    wardId: stay.wardId,
    stayId: stay.stayId,
    actorId: ctx.actor.staffId,
    happenedAtMs,
    chartedAtMs: ctx.nowMs,
  }
}
