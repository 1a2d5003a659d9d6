/** Sentences about a ward's policy for the forms of a stay. */
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { PLAN } from '../../views/words/stay.ts'

/** How nil by mouth changes the check plan on this ward. */
export function nilPlanText({ nilByMouthPlan }: Pick<WardPolicy, 'nilByMouthPlan'>): string {
  if (nilByMouthPlan === null) return 'On this ward nil by mouth leaves the check plan as it is.'
  return `While nil by mouth, a plan that hangs on meals is replaced by checks ${PLAN[nilByMouthPlan].toLowerCase()}, and comes back by itself. A plan by the clock stays as it is.`
}
