/** Timeliness of planned checks: how many were on time, late, excused or missed. */
import type { CheckOutcome, PlanVersion, TrayDelay } from '../check/check.ts'
import { plannedChecks } from '../check/plan.ts'
import { checkState } from '../check/state.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { BedSpan, Stay } from '../stay/stay.ts'
import { containsOpen } from '../time/interval.ts'

/** The part of a stay on this ward. The spans are those on this ward only. */
export type StayTimes = {
  readonly stay: Pick<Stay, 'stayId' | 'admittedAtMs' | 'dischargedAtMs'>
  readonly spans: readonly BedSpan[]
  readonly plans: readonly PlanVersion[]
  readonly outcomes: ReadonlyMap<string, CheckOutcome>
}

/** A policy of the ward and the part of the period in which it was in force: from is included, to is excluded. */
export type PolicyStretch = { readonly policy: WardPolicy; readonly fromMs: number; readonly toMs: number }

export type Timeliness = {
  /**
   * Checks due in the period while the patient was on the ward, and no longer open. It is the sum of the five below.
   */
  readonly checks: number
  /** A reading taken no later than the instant after which the check is late. */
  readonly onTime: number
  readonly late: number
  /** Accounted for with a reason before the check closed. */
  readonly excused: number
  /** Closed without a reading; the reason was charted afterwards. */
  readonly missedWithReason: number
  readonly missedWithoutReason: number
}

const NONE: Timeliness = { checks: 0, onTime: 0, late: 0, excused: 0, missedWithReason: 0, missedWithoutReason: 0 }

/**
 * Counts the planned checks of the stays by outcome. A check belongs to the ward where the patient was when it was due.
 * The policy in force then decides. Checks still open at `nowMs` do not count yet. Rechecks of a low and extra checks
 * are not planned, so they are not counted.
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
  // a new policy can move a check's due time into the next period; it still counts once
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
