/** A stay's facts, with doses voided by a newer policy shown as void. */
import type { Dose } from '../../shared/dose/dose.ts'
import { voidIfPolicyChanged } from '../../shared/dose/policy-changed.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { PolicyVersion, StayFacts } from '../store/contract.ts'

/** The stay's facts at the time of this request. Undefined: it does not exist, or is on no ward of this person's. */
export function stayFactsNow(ctx: RequestContext, stayId: string): StayFacts | undefined {
  const facts = ctx.store.stayFacts(ctx.scope, stayId, ctx.nowMs)
  return facts === undefined ? undefined : { ...facts, doses: withPolicyVoids(ctx, facts.doses, facts.policy) }
}

/** The doses, void where a newer policy came into force. A dose from another ward was voided when the patient moved. */
export function withPolicyVoids(
  ctx: Pick<RequestContext, 'store' | 'scope'>,
  doses: readonly Dose[],
  policy: PolicyVersion,
): readonly Dose[] {
  const versions = (): ReturnType<RequestContext['store']['policyVersions']> =>
    ctx.store.policyVersions(ctx.scope, policy.wardId)
  return doses.map((dose) => (dose.wardId === policy.wardId ? voidIfPolicyChanged(dose, policy, versions) : dose))
}

/** The stay in the path, its doses as stored. Undefined: it does not exist, or is on no ward of this person's. */
export function stayOfAddress(ctx: StayRequest): StayFacts | undefined {
  return ctx.store.stayFacts(ctx.scope, ctx.params.stayId, ctx.nowMs)
}

/** The stay in the path, with doses voided by a newer policy shown as void. */
export function stayContext(ctx: StayRequest): StayFacts | undefined {
  return stayFactsNow(ctx, ctx.params.stayId)
}
