/** The head of an event that the signed-in person charts now. */
import type { EventHead } from '../../shared/ledger/events.ts'
import { eventHead, type EventSubject } from '../../shared/ledger/head.ts'
import type { RequestContext } from '../http/request-context.ts'

/** Subject, actor and times of an event that happened at `happenedAtMs` (now, unless it is charted late). */
export function headOf(ctx: RequestContext, about: EventSubject, happenedAtMs: number = ctx.nowMs): EventHead {
  return eventHead(about, ctx.actor.staffId, ctx.nowMs, happenedAtMs)
}
