/** Loads what the pages of one check decide on and show. */
import type { Check, CheckOutcome } from '../../shared/check/check.ts'
import { parseCheckKey } from '../../shared/check/plan.ts'
import { findCheck } from '../../shared/reading/facts.ts'
import type { CheckFacts, StayFacts } from '../store/contract.ts'
import type { RequestContext } from '../http/request-context.ts'

type ContextOf<F> = {
  readonly check: Check
  readonly outcome: CheckOutcome | undefined
  readonly facts: F
  readonly zone: string
}
export type CheckContext = ContextOf<StayFacts>

/** The check of the address with its stay; undefined when there is none such, or not on a ward of this person's. */
export function checkContext(ctx: RequestContext, checkKey: string): CheckContext | undefined {
  return contextOf(ctx, checkKey, (stayId) => ctx.store.stayFacts(ctx.scope, stayId, ctx.nowMs))
}

/** The same with only what charting a reading is decided by: the transaction reads no more than that. */
export function checkToDecide(ctx: RequestContext, checkKey: string): ContextOf<CheckFacts> | undefined {
  return contextOf(ctx, checkKey, (stayId) => ctx.store.checkFacts(ctx.scope, stayId, ctx.nowMs))
}

function contextOf<F extends CheckFacts>(
  ctx: RequestContext,
  checkKey: string,
  read: (stayId: string) => F | undefined,
): ContextOf<F> | undefined {
  const stayId = stayIdOfCheck(ctx, checkKey)
  const facts = stayId === undefined ? undefined : read(stayId)
  if (facts === undefined) return undefined
  const check = findCheck(checkKey, facts, ctx.nowMs)
  return check === null
    ? undefined
    : { check, outcome: facts.outcomes.get(checkKey), facts, zone: facts.policy.policy.zone }
}

/** The stay that the check is of. Undefined: the key names none. */
function stayIdOfCheck(ctx: RequestContext, checkKey: string): string | undefined {
  const parsed = parseCheckKey(checkKey)
  if (parsed === null) return undefined
  // an open low event is an open item of its own key, which names its stay
  return parsed.kind === 'recheck' ? ctx.store.openItem(ctx.scope, `low.${parsed.lowId}`)?.stayId : parsed.stayId
}
