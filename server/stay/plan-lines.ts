/** A stay's check plan at an instant, in words. */
import { additionsLeft, basePlanAt, overlayAt } from '../../shared/check/change-plan.ts'
import type { PlanVersion } from '../../shared/check/check.ts'
import { formatWhen } from '../../views/format.ts'
import { planText } from '../../views/words/stay.ts'

/** The patient's own plan in force, the overlay while nil by mouth, and the additions. */
export function planLines(plans: readonly PlanVersion[], nowMs: number, zone: string): readonly string[] {
  const [base, overlay] = [basePlanAt(plans, nowMs), overlayAt(plans, nowMs)]
  const textOf = (version: PlanVersion): string => planText(version.plan, zone)
  return [
    ...(overlay === null
      ? []
      : [
          `${textOf(overlay)} while nil by mouth${overlay.untilMs === null ? '' : `, until ${formatWhen(overlay.untilMs, nowMs, zone)}`}`,
        ]),
    ...(base === null ? [] : [overlay === null ? textOf(base) : `After that: ${textOf(base).toLowerCase()}`]),
    ...additionsLeft(plans, nowMs).map((version) => `Besides: ${textOf(version).toLowerCase()}`),
  ]
}
