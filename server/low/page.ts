/** From a low event and its state to the treatment page. */
import { formatGlucose } from '../../shared/glucose/value.ts'
import type { ArmAnswer } from '../../shared/low/arm.ts'
import { armKey } from '../../shared/low/chart.ts'
import type { DueStep, LowState } from '../../shared/low/event.ts'
import { asOrderedAnswer, askByMs, insulinsAskedAbout } from '../../shared/low/insulin.ts'
import { lowLine } from '../../shared/low/line.ts'
import { newestReading } from '../../shared/order/inputs.ts'
import { occasionOfReading } from '../../shared/order/occasion.ts'
import { isInForce } from '../../shared/order/order.ts'
import { hasMealPart } from '../../shared/order/parts.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { formatDateTime, formatTime, formatWhen } from '../../views/format.ts'
import type { ClockView, FoodView, LineRowView, LowPageView, NowView } from '../../views/low/page.ts'
import {
  amountParts,
  ARM_HOW,
  answersText,
  CALL_FOR,
  lineText,
  lineValue,
  LOW_ANSWER,
  LOW_CAUSE,
  MISSING,
  stepText,
} from '../../views/words/low.ts'
import { newFormKey } from '../http/forms.ts'
import { isNurse } from '../http/page.ts'
import type { RequestContext } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import { isMasked } from '../bedside/masking.ts'
import { bannerOf } from '../bedside/banner.ts'
import { isInsulinAsked } from './load.ts'
import type { LowContext } from './context.ts'
import { tokenOf } from './seen.ts'

const SECOND_MS = 1000

export function lowView(ctx: RequestContext, context: LowContext): LowPageView {
  const view = viewWithoutToken(ctx, context)
  return { ...view, seen: view.closed === null ? tokenOf(ctx, context, view) : null }
}

function viewWithoutToken(ctx: RequestContext, context: LowContext): LowPageView {
  const {
    facts,
    lowFacts: { low, policy },
    state,
    zone,
  } = context
  const { closing } = low.charted
  const clock = clockAt(ctx, zone)
  return {
    lowId: low.lowId,
    stayId: low.stayId,
    patient: bannerOf(facts, ctx.nowMs, true),
    nowMs: ctx.nowMs,
    level: levelText(state, policy),
    lowest: state.lowest === null ? null : formatGlucose(state.lowest),
    closed:
      closing === null
        ? null
        : `Closed ${formatDateTime(closing.atMs, zone)} by ${nameOf(ctx, closing.byId)}: ${LOW_CAUSE[closing.cause]}${closing.note === '' ? '' : `, ${closing.note}`}.`,
    now: nowView(ctx, context, clock),
    food: foodView(ctx, context, clock),
    steps: state.steps.map((step) => ({
      kind: step.kind,
      text: stepText(step),
      clock: clock(step.deadlineMs),
      path: stepPath(step, low.lowId),
    })),
    missing: state.missing.map((one) => MISSING[one]),
    insulin: insulinView(ctx, context, clock),
    line: lineRows(ctx, context),
    earlier: earlierLows(ctx, context),
    mayChart: isNurse(ctx.actor) && low.closedAtMs === null,
    seen: null,
    asOf: formatTime(ctx.nowMs, zone),
  }
}

type Clock = (dueMs: number) => ClockView

function clockAt(ctx: RequestContext, zone: string): Clock {
  return (dueMs) => ({ dueMs, due: formatWhen(dueMs, ctx.nowMs, zone), past: ctx.nowMs > dueMs })
}

function levelText(state: LowState, policy: WardPolicy): string {
  const limit = (value: number): string => formatGlucose({ unit: policy.unit, value })
  switch (state.level) {
    case 3:
      return 'Level 3: by the nurse’s finding'
    case 2:
      return `Level 2: below ${limit(policy.limits.level2)}`
    case 1:
      return `Level 1: below ${limit(policy.limits.low)}`
    case null:
      return 'No low value counts'
  }
}

/** Rechecks are done on their own page; every other step has a page of the event. */
function stepPath(step: DueStep, lowId: string): string | null {
  switch (step.kind) {
    case 'recheck':
    case 'follow-up':
      return `checks/low.${lowId}.${String(step.cycle)}`
    case 'escalate':
    case 'tell-prescriber':
      return `lows/${lowId}/prescriber-calls`
    case 'lasting-food':
      return `lows/${lowId}/food`
    case 'close':
      return `lows/${lowId}/close`
    case 'call-emergency':
      return `lows/${lowId}/emergency-calls`
    case 'treat':
      return `lows/${lowId}/treatments`
    case 'look-again':
      return null
  }
}

/** What stands in large type: treating goes before telling, whatever is due first among the rest. */
function nowView(ctx: RequestContext, context: LowContext, clock: Clock): NowView | null {
  const {
    state,
    lowFacts: { low },
  } = context
  const { next } = state
  if (next === null) return null
  switch (next.kind) {
    case 'call-emergency':
      return { kind: 'emergency', key: newFormKey(ctx, 'low-emergency') }
    case 'look-again':
      return { kind: 'look-again', flagPath: flagPath(context) }
    case 'treat':
      return state.arm === null
        ? {
            kind: 'ask',
            again: low.treatments.length > 0 || low.charted.answers.length > 0,
            form: { key: newFormKey(ctx, 'low-answers'), asksTube: asksTube(context), values: {}, errors: {} },
          }
        : armView(ctx, context, state.arm)
    case 'close':
      return { kind: 'close', path: `lows/${low.lowId}/close` }
    default: {
      const recheck = state.steps.find((step) => step.kind === 'recheck' || step.kind === 'follow-up')
      // telling is a call in between; what is looked at from across the room is the recheck
      const isCallOverdue =
        next.kind === 'tell-prescriber' &&
        ctx.nowMs > next.deadlineMs &&
        (recheck === undefined || ctx.nowMs < recheck.deadlineMs)
      if (recheck === undefined || next.kind === 'escalate' || isCallOverdue)
        return { kind: 'tell', path: `lows/${low.lowId}/prescriber-calls`, clock: clock(next.deadlineMs) }
      return {
        kind: 'recheck',
        what: recheck.kind === 'recheck' ? 'Recheck' : 'Follow-up recheck',
        path: stepPath(recheck, low.lowId) ?? '',
        come: ctx.nowMs >= recheck.deadlineMs,
        clock: clock(recheck.deadlineMs),
      }
    }
  }
}

export function asksTube({ lowFacts }: LowContext): boolean {
  return lowFacts.bedside.feeding === 'tube'
}

function flagPath({ facts, lowFacts: { low } }: LowContext): string | null {
  const flag = facts.openItems.find(({ kind, subjectId }) => kind === 'flag' && subjectId === low.lowId)
  return flag === undefined ? null : `flags/${flag.itemId}`
}

function armView(ctx: RequestContext, { state }: LowContext, arm: ArmAnswer): NowView {
  if (arm.kind === 'call') return { kind: 'call', says: CALL_FOR[arm.wouldBe] }
  const { digits, unit, also } = amountParts(arm.amount)
  const seen = state.answers === null ? '' : answersText(state.answers)
  return {
    kind: 'give',
    key: newFormKey(ctx, 'low-treatment'),
    shown: armKey(arm),
    arm: arm.arm,
    digits,
    unit,
    also: arm.arm === 'iv-dextrose' ? also : null,
    how: arm.how === null ? ARM_HOW[arm.arm] : `${ARM_HOW[arm.arm]}: ${arm.how}`,
    working: `${state.lowest === null ? '' : `For ${formatGlucose(valueShown(state))}. `}${seen}.`,
  }
}

/** The newest value that waits; the line below shows them all. */
function valueShown({ course, lowest }: LowState): NonNullable<LowState['lowest']> {
  const waiting =
    course.parts
      .filter(({ reading }) => course.untreatedSinceMs !== null && reading.takenAtMs >= course.untreatedSinceMs)
      .at(-1)?.reading.glucose ?? lowest
  if (waiting === null) throw new Error('an arm without a value')
  return waiting
}

function foodView(ctx: RequestContext, { state, zone }: LowContext, clock: Clock): FoodView | null {
  const { lasting } = state
  if (lasting === null) return null
  if (lasting.kind === 'ask')
    return {
      kind: 'note',
      text: 'Recovered, and nothing by mouth: ask the prescriber how the glucose is kept up (feed, or glucose into the vein).',
    }
  if (lasting.kind === 'meal')
    return {
      kind: 'note',
      text: `Recovered. The meal comes within the hour (${formatTime(lasting.atMs, zone)}): see that it is eaten.`,
    }
  const step = state.steps.find(({ kind }) => kind === 'lasting-food')
  return {
    kind: 'give',
    key: newFormKey(ctx, 'low-food'),
    grams: lasting.grams,
    clock: clock(step?.deadlineMs ?? ctx.nowMs),
  }
}

function insulinView(ctx: RequestContext, context: LowContext, clock: Clock): LowPageView['insulin'] {
  const {
    facts,
    lowFacts: { low, policy },
    state,
  } = context
  const says =
    state.phase === 'closed' || state.phase === 'followed-up'
      ? 'This low blocks no insulin any more.'
      : 'No correction insulin until the low has recovered and its follow-up is satisfactory.'
  const answered = answeredView(ctx, context)
  if (!isInsulinAsked(context)) return { says, ask: null, answered }
  const insulins = insulinsAskedAbout(facts.orders, ctx.nowMs).join(', ')
  return {
    says,
    answered,
    ask: {
      clock: clock(askByMs(low, policy)),
      path: `lows/${low.lowId}/insulin-question`,
      insulins: insulins === '' ? 'meal and long-acting insulin' : insulins,
      type1: facts.stay.facts.diabetes === 'type-1',
    },
  }
}

/** The prescriber's "give as ordered", and where it leads to a dose now: from the newest value, if the order has a meal part at its time. */
function answeredView(
  ctx: RequestContext,
  { facts, lowFacts: { low, policy }, zone }: LowContext,
): LowPageView['insulin']['answered'] {
  const { nowMs } = ctx
  const answer = asOrderedAnswer({
    lows: facts.lows,
    readings: facts.readings,
    directions: facts.directions,
    policy,
    nowMs,
  })
  if (answer === null || answer.lowId !== low.lowId) return null
  const releases = answer.standing === 'releases'
  const newest = newestReading(facts.readings)
  const at = newest === null ? null : occasionOfReading(newest, policy, facts.trayDelays)
  const hasMeal =
    at !== null &&
    at.own &&
    facts.orders.some((version) => isInForce(version, nowMs) && hasMealPart(version.order, at.occasion))
  const mayWork = releases && hasMeal && newest !== null && isNurse(ctx.actor) && !isMasked(ctx, newest, facts)
  return {
    says: `“Give as ordered”: ${answer.told}, ${formatWhen(answer.atMs, nowMs, zone)}, read back. ${LOW_ANSWER[answer.standing]}`,
    releases,
    dosePath: mayWork ? `readings/${newest.readingId}/dose` : null,
  }
}

function lineRows(ctx: RequestContext, { facts, lowFacts: { low, policy }, zone }: LowContext): readonly LineRowView[] {
  return lowLine(low, facts.readings, policy).map(({ atMs, chartedAtMs, byId, fact, afterMs, late }) => {
    const reading =
      fact.kind === 'reading' ? facts.readings.find(({ readingId }) => readingId === fact.readingId) : undefined
    const value = reading === undefined || isMasked(ctx, reading, facts) ? null : lineValue(fact)
    return {
      when: formatWhen(atMs, ctx.nowMs, zone),
      after: afterMs === 0 ? '' : `+ ${elapsed(afterMs)}`,
      ...lineText(fact, value),
      late: late ? `charted late, ${formatWhen(chartedAtMs, ctx.nowMs, zone)}` : null,
      by: nameOf(ctx, byId),
      path: reading === undefined ? null : `readings/${reading.readingId}`,
    }
  })
}

/** "4:07" min:s, "1:02:05" with hours. */
export function elapsed(ms: number): string {
  const seconds = Math.floor(Math.abs(ms) / SECOND_MS)
  const two = (n: number): string => String(n).padStart(2, '0')
  const [h, m, s] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, seconds % 60]
  return h === 0 ? `${String(m)}:${two(s)} min` : `${String(h)}:${two(m)}:${two(s)} h`
}

/** The stay's other low events, so that a recurrence is seen where it is treated. */
function earlierLows(ctx: RequestContext, { facts, lowFacts: { low }, zone }: LowContext): LowPageView['earlier'] {
  return facts.lows
    .filter((other) => other.lowId !== low.lowId && other.openedAtMs < low.openedAtMs)
    .sort((a, b) => b.openedAtMs - a.openedAtMs)
    .slice(0, 3)
    .map((other) => ({
      text: `${other.lowId === low.previousLowId ? 'The low before this one' : 'Earlier low'}: ${formatWhen(other.openedAtMs, ctx.nowMs, zone)}`,
      path: `lows/${other.lowId}`,
    }))
}
