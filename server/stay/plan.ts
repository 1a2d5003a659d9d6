/** GET and POST /stays/:stayId/plan and /plan/:version/end: when a patient is checked, and from when. */
import { z } from 'zod'
import {
  additionsLeft,
  basePlanAt,
  changePlan,
  endAddition,
  overlayLeft,
  type PlanChangeFacts,
  type PlanRefusal,
} from '../../shared/check/change-plan.ts'
import type { Check, PlanVersion } from '../../shared/check/check.ts'
import { plannedChecks } from '../../shared/check/plan.ts'
import { checkState } from '../../shared/check/state.ts'
import { DAY_MS, HOUR_MS } from '../../shared/time/span.ts'
import { formatWhen, OCCASION_NAME } from '../../views/format.ts'
import { endAdditionForm, planForm, type PlanLineView } from '../../views/stay/plan.ts'
import { CHECK_STATE_MARK } from '../../views/words/check.ts'
import { planText } from '../../views/words/stay.ts'
import { PLAN_SENTENCES, STAY_GONE } from '../../views/words/stay-refusals.ts'
import { STAY_ADDRESS, type StayRequest, versionNumber } from '../http/parameters.ts'
import type { FormSpec, RequestContext } from '../http/request-context.ts'
import { stayOfAddress } from '../bedside/facts-now.ts'
import type { StayFacts } from '../store/contract.ts'
import {
  INSTANT,
  PLAN_FIELDS,
  PLAN_FIELD_OF,
  PLAN_READ_SENTENCES,
  readInstant,
  readPlan,
  type InstantRefusal,
  type PlanReadRefusal,
} from './fields.ts'
import { decideStay, drawStay } from './load.ts'

const WHILE_NIL = z
  .enum(['after', 'now'], { error: 'Choose one of these.' })
  .optional()
  .transform((value) => value ?? null)
const PLAN_FORM = z.strictObject({ ...PLAN_FIELDS, from: INSTANT, until: INSTANT, whileNil: WHILE_NIL })
type Refusal = PlanRefusal | PlanReadRefusal | InstantRefusal<'plan-from' | 'plan-until'> | 'stay-gone'

/** The checks beside the form cover the last hours and the next day. */
const [BACK_MS, AHEAD_MS] = [6 * HOUR_MS, DAY_MS]

export const planSpec: FormSpec<z.output<typeof PLAN_FORM>, Refusal, StayRequest> = {
  name: 'plan',
  schema: PLAN_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawStay(ctx, 'Check plan', state, (view, facts) => {
      const {
        plans,
        policy: {
          policy: { zone },
        },
      } = facts
      const overlay = overlayLeft(plans, ctx.nowMs)
      return planForm({
        ...view,
        base: lineOf(basePlanAt(plans, ctx.nowMs), ctx, zone),
        later: plans
          .filter(
            (one) =>
              !one.overlay &&
              one.fromMs > ctx.nowMs &&
              one.untilMs !== one.fromMs &&
              one.plan.kind !== 'once' &&
              one.plan.kind !== 'overnight',
          )
          .map((one) => lineText(one, ctx, zone)),
        overlay: overlay === null ? null : lineText(overlay, ctx, zone),
        additions: additionsLeft(plans, ctx.nowMs).map((one) => ({
          version: one.version,
          text: lineText(one, ctx, zone),
        })),
        checks: checksAround(ctx, facts).map(({ check, state: found }) => ({
          when: formatWhen(check.dueMs, ctx.nowMs, zone),
          what: OCCASION_NAME[check.occasion],
          mark: CHECK_STATE_MARK[found],
        })),
      })
    }),
  decide: (fields, ctx) =>
    decideStay<Exclude<Refusal, 'stay-gone'>>(
      ctx,
      (facts) => {
        const at = { zone: facts.policy.policy.zone, nowMs: ctx.nowMs }
        const plan = readPlan(fields, at)
        if (!plan.ok) return plan
        const from = readInstant('plan-from', fields.from, at)
        if (!from.ok) return from
        const until = readInstant('plan-until', fields.until, at)
        if (!until.ok) return until
        return changePlan(
          {
            plan: plan.value,
            fromMs: from.value,
            untilMs: until.value,
            whileNil: fields.whileNil,
            byId: ctx.actor.staffId,
          },
          planFacts(facts, ctx),
        )
      },
      ({ stay }) => `/stays/${stay.stayId}/plan`,
    ),
  sentences: {
    ...PLAN_SENTENCES,
    ...PLAN_READ_SENTENCES,
    ...STAY_GONE,
    'plan-from-not-read': () => 'Choose date and time, or leave it empty.',
    'plan-until-not-read': () => 'Choose date and time, or leave it empty.',
  },
  fieldOf: {
    ...PLAN_FIELD_OF,
    'plan-from-past': 'from',
    'plan-from-not-read': 'from',
    'plan-too-far': 'from',
    'plan-until-not-after-from': 'until',
    'plan-until-not-read': 'until',
    'plan-while-nil-missing': 'whileNil',
    'plan-same': 'kind',
  },
  statusOf: {
    'plan-stay-discharged': 409,
    'plan-same': 409,
    'plan-not-addition': 409,
    'plan-already-ended': 409,
    'stay-gone': 404,
  },
}

function planFacts({ stay, plans, policy: { policy } }: StayFacts, ctx: RequestContext): PlanChangeFacts {
  return { stay, plans, policy, nowMs: ctx.nowMs }
}

function lineOf(version: PlanVersion | null, ctx: RequestContext, zone: string): PlanLineView | null {
  return version === null ? null : { text: lineText(version, ctx, zone) }
}

/** "Every 4 h, from 14:00 until Wed 11 Mar, 06:00" */
export function lineText(
  { plan, fromMs, untilMs }: PlanVersion,
  { nowMs }: { readonly nowMs: number },
  zone: string,
): string {
  const from = plan.kind === 'once' ? '' : `, from ${formatWhen(fromMs, nowMs, zone)}`
  return `${planText(plan, zone)}${from}${untilMs === null ? '' : ` until ${formatWhen(untilMs, nowMs, zone)}`}`
}

/** Checks of the last hours and the next day as planned now, each with its state. */
function checksAround(
  ctx: RequestContext,
  facts: StayFacts,
): readonly { readonly check: Check; readonly state: ReturnType<typeof checkState> }[] {
  const {
    plans,
    trayDelays,
    outcomes,
    stay,
    policy: { policy },
  } = facts
  return plannedChecks({
    plans,
    policy,
    trayDelays,
    outcomes,
    stay,
    fromMs: ctx.nowMs - BACK_MS,
    toMs: ctx.nowMs + AHEAD_MS,
  }).map((check) => ({ check, state: checkState(check, outcomes.get(check.key), ctx.nowMs) }))
}

/** A form with only a button. The field prevents a stray POST from counting. */
const END_FORM = z.strictObject({ end: z.literal('yes', { error: 'Press the button to end it.' }) })

export const ADDITION_ADDRESS = STAY_ADDRESS.extend({ version: versionNumber })
type AdditionRequest = RequestContext<z.output<typeof ADDITION_ADDRESS>>

export const endAdditionSpec: FormSpec<z.output<typeof END_FORM>, PlanRefusal | 'stay-gone', AdditionRequest> = {
  name: 'plan-end',
  schema: END_FORM,
  initial: () => ({}),
  draw: (ctx, state) => {
    const facts = stayOfAddress(ctx)
    const version =
      facts === undefined
        ? undefined
        : additionsLeft(facts.plans, ctx.nowMs).find((one) => one.version === ctx.params.version)
    if (facts === undefined || version === undefined) return undefined
    return drawStay(ctx, 'End a check', state, (view) =>
      endAdditionForm({ ...view, version: version.version, text: lineText(version, ctx, facts.policy.policy.zone) }),
    )
  },
  decide: (_fields, ctx) =>
    decideStay(
      ctx,
      (facts) => endAddition(ctx.params.version, ctx.actor.staffId, planFacts(facts, ctx)),
      ({ stay }) => `/stays/${stay.stayId}/plan`,
    ),
  sentences: { ...PLAN_SENTENCES, ...STAY_GONE },
  fieldOf: {},
  statusOf: { 'plan-stay-discharged': 409, 'plan-not-addition': 404, 'plan-already-ended': 409, 'stay-gone': 404 },
}
