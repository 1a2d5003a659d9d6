/** A stay's facts with the doses that a newer policy overtook standing as void, as time alone makes them. */
import type { Dose } from '../../shared/dose/dose.ts'
import { overtakenByPolicy } from '../../shared/dose/policy-changed.ts'
import type { Visit } from '../http/visit.ts'
import type { PolicyVersion, StayFacts } from '../store/contract.ts'

/** The stay's facts at this visit's instant; undefined when it is not there, or not on a ward of this person's. */
export function stayFactsNow(visit: Visit, stayId: string): StayFacts | undefined {
  const facts = visit.store.stayFacts(visit.scope, stayId, visit.nowMs)
  return facts === undefined ? undefined : { ...facts, doses: withOvertaken(visit, facts.doses, facts.policy) }
}

/** The doses as they stand under the policy in force. A dose of another ward was voided when the patient moved. */
export function withOvertaken(
  visit: Pick<Visit, 'store' | 'scope'>,
  doses: readonly Dose[],
  policy: PolicyVersion,
): readonly Dose[] {
  const versions = (): ReturnType<Visit['store']['policyVersions']> =>
    visit.store.policyVersions(visit.scope, policy.wardId)
  return doses.map((dose) => (dose.wardId === policy.wardId ? overtakenByPolicy(dose, policy, versions) : dose))
}
