/** Planned checks against the clock: how many were done in time, late, excused or missed. */
import type { CheckOutcome, PlanVersion, TrayDelay } from '../check/check.ts'
import { plannedChecks } from '../check/plan.ts'
import { checkState } from '../check/state.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { BedSpan, Stay } from '../stay/stay.ts'
import { containsOpen } from '../time/interval.ts'

/** A stay as far as it lay on the ward: the spans are those on this ward alone. */
export type StayTimes = {
  readonly stay: Pick<Stay, 'stayId' | 'admittedAtMs' | 'dischargedAtMs'>
  readonly spans: readonly BedSpan[]
  readonly plans: readonly PlanVersion[]
  readonly outcomes: ReadonlyMap<string, CheckOutcome>
}

/** A policy of the ward and the stretch of the span in which it was in force: from is in, to is out. */
export type PolicyStretch = { readonly policy: WardPolicy; readonly fromMs: number; readonly toMs: number }

export type Timeliness = {
  /** Checks due in the span while the patient lay on the ward, and no longer open: the sum of the five below. */
  readonly checks: number
  /** A reading taken at or before the instant after which the check is late. */
  readonly onTime: number
  readonly late: number
  /** Accounted for with a reason before the check closed. */
  readonly excused: number
  /** Closed with no reading; why was charted afterwards. */
  readonly missedWithReason: number
  readonly missedWithoutReason: number
}

const NONE: Timeliness = { checks: 0, onTime: 0, late: 0, excused: 0, missedWithReason: 0, missedWithoutReason: 0 }

/**
 * Counts the planned checks of the stays by what became of them. A check belongs to the ward where the patient lay when
 * it was due, and is judged by the policy in force then. Checks that are still open at `nowMs` count nothing yet.
 * Rechecks of a low and extra checks are not planned and not here.
 */
export function timelinessOf(
  stays: readonly StayTimes[],
  {
    policies,
    trayDelays,
    nowMs,
  }: { readonly policies: readonly PolicyStretch[]; readonly trayDelays: readonly TrayDelay[]; readonly nowMs: number },
): Timeliness {
  return stays.map((one) => ofStay(one, policies, trayDelays, nowMs)).reduce(addTimeliness, NONE)
}

/** The sum over two wards, or two stays. */
export function addTimeliness(a: Timeliness, b: Timeliness): Timeliness {
  return {
    checks: a.checks + b.checks,
    onTime: a.onTime + b.onTime,
    late: a.late + b.late,
    excused: a.excused + b.excused,
    missedWithReason: a.missedWithReason + b.missedWithReason,
    missedWithoutReason: a.missedWithoutReason + b.missedWithoutReason,
  }
}

function ofStay(
  { stay, spans, plans, outcomes }: StayTimes,
  policies: readonly PolicyStretch[],
  trayDelays: readonly TrayDelay[],
  nowMs: number,
): Timeliness {
  // a new policy can move a check's due time over the border between two stretches: it is one check all the same
  const seen = new Set<string>()
  let sum = NONE
  for (const { policy, fromMs, toMs } of policies) {
    for (const check of plannedChecks({ plans, policy, trayDelays, outcomes, fromMs, toMs, stay })) {
      if (
        seen.has(check.key) ||
        !spans.some((span) => containsOpen({ fromMs: span.fromMs, untilMs: span.toMs }, check.dueMs))
      )
        continue
      seen.add(check.key)
      const outcome = outcomes.get(check.key)
      const state = checkState(check, outcome, nowMs)
      if (outcome?.kind === 'done') sum = plus(sum, outcome.atMs <= check.lateAfterMs ? 'onTime' : 'late')
      else if (outcome !== undefined) sum = plus(sum, outcome.atMs >= check.closesMs ? 'missedWithReason' : 'excused')
      else if (state === 'missed') sum = plus(sum, 'missedWithoutReason')
    }
  }
  return sum
}

function plus(sum: Timeliness, what: Exclude<keyof Timeliness, 'checks'>): Timeliness {
  return { ...sum, checks: sum.checks + 1, [what]: sum[what] + 1 }
}
