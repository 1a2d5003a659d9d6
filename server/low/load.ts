/** Loads a low event with everything that its pages derive from. */
import { lowState, type LowFacts } from '../../shared/low/event.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import { mealsAround } from '../../shared/low/meals.ts'
import { isMasked } from '../bedside/masking.ts'
import type { StayFacts } from '../store/contract.ts'
import { isUnchanged } from './seen.ts'
import type { LowContext } from './context.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { LowRequest } from '../http/parameters.ts'

/** The low event of the address; undefined when there is none such, or not on a ward of this person's. */
export function lowContext(ctx: LowRequest): LowContext | undefined {
  const { lowId } = ctx.params
  const low = ctx.store.lowById(ctx.scope, lowId)
  if (low === undefined) return undefined
  // a closed event is shown with the readings and the policy of its own time
  const facts = ctx.store.stayFacts(ctx.scope, low.stayId, Math.min(ctx.nowMs, low.closedAtMs ?? Infinity))
  return facts === undefined ? undefined : contextOf(ctx, facts, lowId)
}

/** True when nothing was written on the event's ward since the page that sends this, and no clock has turned. */
export function isVersionSeen(ctx: LowRequest, seen: string): boolean {
  const low = ctx.store.lowById(ctx.scope, ctx.params.lowId)
  return low !== undefined && isUnchanged(seen, ctx.store.wardVersion(ctx.scope, low.wardId), ctx.nowMs)
}

function contextOf(ctx: RequestContext, facts: StayFacts, lowId: string): LowContext | undefined {
  const low = facts.lows.find((one) => one.lowId === lowId)
  if (low === undefined) return undefined
  const lowFacts = lowFactsOf(facts, low, ctx.nowMs)
  return { facts, lowFacts, state: lowState(lowFacts), zone: facts.policy.policy.zone }
}

/** A low event of the stay as the rules take it. */
export function lowFactsOf(facts: StayFacts, low: LowEvent, nowMs: number): LowFacts {
  return {
    low,
    readings: facts.readings,
    bedside: facts.stay.facts,
    policy: facts.policy.policy,
    mealsMs: mealsAround(low.openedAtMs, nowMs, facts.policy.policy, facts.trayDelays),
    servedMs: facts.trays.flatMap(({ servedAtMs }) => (servedAtMs === null ? [] : [servedAtMs])),
    nowMs,
  }
}

/** True when the prescriber is still to be asked about meal and long-acting insulin. */
export function isInsulinAsked({ facts, lowFacts: { low } }: Pick<LowContext, 'facts' | 'lowFacts'>): boolean {
  return facts.openItems.some(({ kind, subjectId }) => kind === 'insulin-question' && subjectId === low.lowId)
}

/** Critical results of the event's own readings that wait for their call, oldest first; none whose value this person may not see yet. */
export function criticalsWaiting(ctx: RequestContext, { facts, state }: LowContext): readonly string[] {
  const own = new Set(
    state.course.parts.filter(({ reading }) => !isMasked(ctx, reading, facts)).map(({ reading }) => reading.readingId),
  )
  return facts.openItems
    .filter(({ kind, subjectId }) => kind === 'critical' && own.has(subjectId))
    .map(({ subjectId }) => subjectId)
}
