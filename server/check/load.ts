/** Loads what the pages of one check decide on and show. */
import type { Check, CheckOutcome } from '../../shared/check/check.ts'
import { parseCheckKey } from '../../shared/check/plan.ts'
import { findCheck } from '../../shared/reading/facts.ts'
import type { Refused } from '../../shared/outcome.ts'
import { refuse } from '../../shared/outcome.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { CheckFacts, StayFacts } from '../store/contract.ts'
import type { RequestContext } from '../http/request-context.ts'

type ContextOf<F> = {
  readonly check: Check
  readonly outcome: CheckOutcome | undefined
  readonly facts: F
  readonly zone: string
}
export type CheckContext = ContextOf<StayFacts>

/** A text of the address; empty when it is not there. */
export function parameter(ctx: RequestContext, name: string): string {
  const params = ctx.request.params as Readonly<Record<string, unknown>>
  const value = params[name]
  return typeof value === 'string' ? value : ''
}

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
  const stayId = stayOf(ctx, checkKey)
  const facts = stayId === undefined ? undefined : read(stayId)
  if (facts === undefined) return undefined
  const check = findCheck(checkKey, facts, ctx.nowMs)
  return check === null
    ? undefined
    : { check, outcome: facts.outcomes.get(checkKey), facts, zone: facts.policy.policy.zone }
}

function stayOf(ctx: RequestContext, checkKey: string): string | undefined {
  const parsed = parseCheckKey(checkKey)
  if (parsed === null) return undefined
  // an open low event is an open item of its own key, which names its stay
  return parsed.kind === 'recheck' ? ctx.store.openItem(ctx.scope, `low.${parsed.lowId}`)?.stayId : parsed.stayId
}

/** Whose wristband was read instead: its bed, and its ward's name when it is another ward that this person may see. */
export function wrongWristbandDetails(
  ctx: RequestContext,
  facts: CheckFacts,
  wristband: string,
): Readonly<Record<string, string>> {
  const expected = facts.stay.bed
  const found = ctx.store.stayByWristband(wristband)
  if (found === undefined) return { expected }
  if (found.wardId === facts.stay.wardId) return { expected, bed: found.bed }
  const ward = ctx.store.wards(ctx.scope).find((one) => one.wardId === found.wardId)
  return ward === undefined ? { expected, ward: 'another ward' } : { expected, bed: found.bed, ward: ward.name }
}

/** The refusal of a wrong wristband, with whose it is. */
export function refuseWristband(ctx: RequestContext, facts: CheckFacts, wristband: string): Refused<'wristband-wrong'> {
  return refuse('wristband-wrong', wrongWristbandDetails(ctx, facts, wristband))
}

/** Which form it was, where a value of the other unit was typed. */
type TypedAt = Extract<LedgerEvent, { type: 'entry-refused' }>['body']['at']

/**
 * What a form that charts a glucose keeps of its refusal: a wrong wristband, or a value of the other unit, never the
 * number of either. `facts` are loaded for these two alone.
 */
export function nearMissOf(
  ctx: RequestContext,
  refused: { readonly reason: string; readonly wristband: string; readonly at: TypedAt },
  facts: () => StayFacts | undefined,
): readonly LedgerEvent[] {
  const { reason, wristband, at } = refused
  if (reason !== 'wristband-wrong' && reason !== 'glucose-looks-like-other-unit') return []
  const known = facts()
  if (known === undefined) return []
  if (reason === 'wristband-wrong') return [mismatchEvent(ctx, known, wristband)]
  const { wardId, stayId } = known.stay
  return [
    {
      wardId,
      stayId,
      actorId: ctx.actor.staffId,
      happenedAtMs: ctx.nowMs,
      chartedAtMs: ctx.nowMs,
      type: 'entry-refused',
      body: { what: 'wrong-unit', at },
    },
  ]
}

/** The near miss, which is a fact of its own. The number that was read is not kept. */
export function mismatchEvent(ctx: RequestContext, facts: StayFacts, wristband: string): LedgerEvent {
  return {
    wardId: facts.stay.wardId,
    stayId: facts.stay.stayId,
    actorId: ctx.actor.staffId,
    happenedAtMs: ctx.nowMs,
    chartedAtMs: ctx.nowMs,
    type: 'wristband-mismatched',
    body: {
      expectedStayId: facts.stay.stayId,
      foundStayId: ctx.store.stayByWristband(wristband)?.stayId ?? null,
      at: 'check',
    },
  }
}
