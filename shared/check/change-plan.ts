/** Changes of a stay's check plan: a new plan, a cancelled addition, and the temporary plan for nil by mouth. */
import type { EventHead, LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome, type Refused } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { BedsideFacts, Stay } from '../stay/stay.ts'
import { containsOpen } from '../time/interval.ts'
import { DAY_MS, MINUTE_MS } from '../time/span.ts'
import type { CheckPlan, PlanVersion } from './check.ts'
import { isAddition } from './plan.ts'

/** A plan change or a single ordered check is charted at most this many days ahead (common practice: a week's plan). */
export const PLAN_AHEAD_DAYS = 7
/** A plan with more times a day than one an hour cannot be carried out at the bedside. */
export const LISTED_TIMES_MOST = 24

type NilByMouth = BedsideFacts['nilByMouth']
type PlanEvent = Extract<LedgerEvent, { type: 'plan-set' | 'plan-laid-over' | 'plan-end-set' }>

/** after: the new plan starts when the patient may eat again. now: it starts at once, nil by mouth or not. */
export type WhileNil = 'after' | 'now'

/** A nurse's request. `fromMs` null: from now. `untilMs` null: until changed. `whileNil` null: not answered. */
export type PlanEntry = {
  readonly plan: CheckPlan
  readonly fromMs: number | null
  readonly untilMs: number | null
  readonly whileNil: WhileNil | null
  readonly byId: string
}
export type PlanChangeFacts = {
  readonly stay: Pick<Stay, 'stayId' | 'wardId' | 'dischargedAtMs' | 'facts'>
  readonly plans: readonly PlanVersion[]
  readonly policy: Pick<WardPolicy, 'nilByMouthPlan'>
  readonly nowMs: number
}

export type PlanRefusal =
  | 'plan-stay-discharged'
  | 'plan-from-past'
  | 'plan-too-far'
  | 'plan-until-not-after-from'
  | 'plan-once-past'
  | 'plan-times-missing'
  | 'plan-same'
  | 'plan-while-nil-missing'
  | 'plan-not-addition'
  | 'plan-already-ended'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'plan-too-far': { days: number }
  }
}

/** True for a plan whose checks depend on trays. Without trays, their times mean nothing. */
export function isMealAnchored(plan: CheckPlan): boolean {
  return plan.kind === 'ac-and-hs' || plan.kind === 'before-meals'
}

/** The patient's own plan in force at the instant, without overlays and additions. Null: none. */
export function basePlanAt(plans: readonly PlanVersion[], ms: number): PlanVersion | null {
  return newest(plans.filter((one) => !one.overlay && !isAddition(one.plan) && containsOpen(one, ms)))
}

/** The overlay plan in force at the instant. Null: none. */
export function overlayAt(plans: readonly PlanVersion[], ms: number): PlanVersion | null {
  return newest(plans.filter((one) => one.overlay && containsOpen(one, ms)))
}

/** The overlay plan that is in force now or starts later. Null: none. */
export function overlayLeft(plans: readonly PlanVersion[], nowMs: number): PlanVersion | null {
  return newest(plans.filter((one) => one.overlay && isLeft(one, nowMs)))
}

/** Additions (once, overnight) that can still add a check. */
export function additionsLeft(plans: readonly PlanVersion[], nowMs: number): readonly PlanVersion[] {
  return plans.filter(
    (one) => isAddition(one.plan) && isLeft(one, nowMs) && (one.plan.kind !== 'once' || one.plan.atMs > nowMs),
  )
}

function isLeft({ fromMs, untilMs }: PlanVersion, nowMs: number): boolean {
  return untilMs === null || (untilMs > nowMs && untilMs > fromMs)
}

function newest(versions: readonly PlanVersion[]): PlanVersion | null {
  return versions.reduce<PlanVersion | null>(
    (best, one) => (best === null || one.version > best.version ? one : best),
    null,
  )
}

/**
 * Sets a plan from now, or from a later instant at most 7 days ahead.
 *
 * Only checks due from then on follow the new plan. Earlier checks keep their key and time, and done or excused checks
 * stay as they are (plannedChecks). A later plan that this one replaces is ended too. An instant within the last minute
 * counts as now, because forms send whole minutes.
 *
 * During a nil by mouth overlay, the nurse says whether the new plan starts at once or afterwards. An order of every 4
 * h must not be hidden by the ward's every 6 h. A meal-anchored plan that starts while the patient is nil by mouth gets
 * the ward's overlay plan. Refuses what PlanRefusal lists.
 */
export function changePlan(entry: PlanEntry, facts: PlanChangeFacts): Outcome<PlanEvent[], PlanRefusal> {
  const { stay, plans, nowMs } = facts
  const { plan } = entry
  if (stay.dischargedAtMs !== null) return refuse('plan-stay-discharged')
  const fault = planFault(plan, nowMs)
  if (fault !== null) return fault
  if (entry.fromMs !== null && entry.fromMs <= nowMs - MINUTE_MS) return refuse('plan-from-past')
  const fromMs = plan.kind === 'once' ? nowMs : Math.max(nowMs, entry.fromMs ?? nowMs)
  if (fromMs > nowMs + PLAN_AHEAD_DAYS * DAY_MS) return refuse('plan-too-far', { days: PLAN_AHEAD_DAYS })
  const untilMs = plan.kind === 'once' ? null : entry.untilMs
  if (untilMs !== null && untilMs <= fromMs) return refuse('plan-until-not-after-from')
  if (isSame(plan, untilMs, fromMs, plans)) return refuse('plan-same')
  const laid = isAddition(plan) ? null : overlayLeft(plans, fromMs)
  if (laid !== null && entry.whileNil === null) return refuse('plan-while-nil-missing')

  const head = eventHead(stay, entry.byId, nowMs)
  const version = nextVersion(plans)
  const events: PlanEvent[] = [{ ...head, happenedAtMs: fromMs, type: 'plan-set', body: { version, plan, untilMs } }]
  if (laid !== null && entry.whileNil === 'now')
    events.push({
      ...head,
      type: 'plan-end-set',
      body: { version: laid.version, untilMs: Math.max(laid.fromMs, fromMs) },
    })
  if (laid === null && isMealAnchored(plan)) {
    const overlay = nilOverlay(stay.facts.nilByMouth, { ...facts, earliestMs: fromMs, latestMs: untilMs })
    if (overlay !== null) events.push({ ...head, type: 'plan-laid-over', body: { version: version + 1, ...overlay } })
  }
  return accept(events)
}

/** What is wrong with a plan by itself. Null: nothing. */
export function planFault(
  plan: CheckPlan,
  nowMs: number,
): Refused<'plan-once-past' | 'plan-too-far' | 'plan-times-missing'> | null {
  if (plan.kind === 'listed-times' && plan.times.length === 0) return refuse('plan-times-missing')
  if (plan.kind !== 'once') return null
  if (plan.atMs <= nowMs) return refuse('plan-once-past')
  return plan.atMs > nowMs + PLAN_AHEAD_DAYS * DAY_MS ? refuse('plan-too-far', { days: PLAN_AHEAD_DAYS }) : null
}

/**
 * True when the same plan with the same end is already in force and no plan follows it. A second overnight addition
 * would repeat the first.
 */
function isSame(plan: CheckPlan, untilMs: number | null, fromMs: number, plans: readonly PlanVersion[]): boolean {
  const text = JSON.stringify(plan)
  if (plan.kind === 'overnight') return plans.some((one) => one.plan.kind === 'overnight' && isLeft(one, fromMs))
  if (isAddition(plan))
    return plans.some(
      (one) => containsOpen(one, fromMs) && one.untilMs === untilMs && JSON.stringify(one.plan) === text,
    )
  const before = basePlanAt(plans, fromMs)
  return before !== null && before.untilMs === untilMs && JSON.stringify(before.plan) === text
}

/** Ends an addition (once, overnight) from now on. Refuses any other plan, and one that adds no more checks. */
export function endAddition(version: number, byId: string, facts: PlanChangeFacts): Outcome<PlanEvent[], PlanRefusal> {
  const { stay, plans, nowMs } = facts
  if (stay.dischargedAtMs !== null) return refuse('plan-stay-discharged')
  const ended = plans.find((one) => one.version === version)
  if (ended === undefined || !isAddition(ended.plan)) return refuse('plan-not-addition')
  if (!additionsLeft(plans, nowMs).includes(ended)) return refuse('plan-already-ended')
  return accept([
    {
      ...eventHead(stay, byId, nowMs),
      type: 'plan-end-set',
      body: { version, untilMs: Math.max(ended.fromMs, nowMs) },
    },
  ])
}

/**
 * How a change of nil by mouth changes the plan. Nil by mouth from F until U overlays the policy's plan on the
 * patient's own, from F until U. The overlay never starts before now: checks that were due stay due. When the end moves
 * or the patient may eat again, the overlay's end moves too.
 *
 * Only a meal-anchored plan gets an overlay. A plan of every 4 h, every 6 h or listed times was chosen without counting
 * on trays. The ward's plan in its place could only reduce the ordered checks.
 */
export function nilByMouthChange(after: NilByMouth, byId: string, facts: PlanChangeFacts): readonly PlanEvent[] {
  const { stay, plans, nowMs } = facts
  const head = eventHead(stay, byId, nowMs)
  const laid = overlayLeft(plans, nowMs)
  const endAt = (version: number, untilMs: number | null): PlanEvent => ({
    ...head,
    type: 'plan-end-set',
    body: { version, untilMs },
  })
  const isOver = after === null || (after.untilMs !== null && after.untilMs <= nowMs)
  if (laid === null) return isOver ? [] : layOver(after, head, facts)
  const endedNow = endAt(laid.version, Math.max(laid.fromMs, nowMs))
  if (isOver) return [endedNow]
  const goesOn = laid.fromMs <= nowMs ? after.fromMs <= nowMs : after.fromMs === laid.fromMs
  if (!goesOn) return [endedNow, ...layOver(after, head, facts)]
  return laid.untilMs === after.untilMs ? [] : [endAt(laid.version, after.untilMs)]
}

/** The overlay plan of an admission. It starts at nil by mouth or at the admission, whichever is later. */
export function overlayOfAdmission(
  plan: CheckPlan,
  nil: NilByMouth,
  at: { readonly policy: PlanChangeFacts['policy']; readonly admittedAtMs: number; readonly nowMs: number },
): Overlay | null {
  return isMealAnchored(plan) ? nilOverlay(nil, { ...at, earliestMs: at.admittedAtMs, latestMs: null }) : null
}

type Overlay = { readonly plan: CheckPlan; readonly fromMs: number; readonly untilMs: number | null }

function layOver(nil: NilByMouth, head: EventHead, facts: PlanChangeFacts): PlanEvent[] {
  const overlay = nilOverlay(nil, { ...facts, earliestMs: facts.nowMs, latestMs: null })
  if (overlay === null) return []
  const base = basePlanAt(facts.plans, overlay.fromMs)
  if (base === null || !isMealAnchored(base.plan)) return []
  return [{ ...head, type: 'plan-laid-over', body: { version: nextVersion(facts.plans), ...overlay } }]
}

function nilOverlay(
  nil: NilByMouth,
  {
    policy,
    nowMs,
    earliestMs,
    latestMs,
  }: {
    readonly policy: PlanChangeFacts['policy']
    readonly nowMs: number
    readonly earliestMs: number
    readonly latestMs: number | null
  },
): Overlay | null {
  if (nil === null || policy.nilByMouthPlan === null) return null
  const fromMs = Math.max(nil.fromMs, earliestMs)
  const ends = [nil.untilMs, latestMs].filter((ms) => ms !== null)
  const untilMs = ends.length === 0 ? null : Math.min(...ends)
  if (untilMs !== null && (untilMs <= fromMs || untilMs <= nowMs)) return null
  return { plan: { kind: policy.nilByMouthPlan }, fromMs, untilMs }
}

function nextVersion(plans: readonly PlanVersion[]): number {
  return Math.max(0, ...plans.map(({ version }) => version)) + 1
}
