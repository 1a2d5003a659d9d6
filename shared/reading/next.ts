/**
 * What must happen after a reading: one pure function of the reading, the patient's facts, the policy and the orders. It
 * returns everything that applies, the most urgent first. The sentences are in views/words/next.ts. It proposes no dose:
 * shared/order/propose.ts does.
 */
import { lowCourse } from '../low/course.ts'
import { currentLow } from '../low/current.ts'
import type { Occasion } from '../check/check.ts'
import { recheckCheck } from '../check/plan.ts'
import { criticalClock } from '../critical/call.ts'
import {
  confirmationOf,
  criticalConfirmed,
  criticalKind,
  type Confirmation,
  type CriticalKind,
} from '../critical/confirm.ts'
import type { Dose, DoseState, LowAnswer, LowForDose } from '../dose/dose.ts'
import { doseState } from '../dose/state.ts'
import { isAbove, isNumeric, type Glucose, type GlucoseUnit } from '../glucose/value.ts'
import { lowLevel } from '../low/level.ts'
import { askByMs, insulinsAskedAbout } from '../low/insulin.ts'
import type { LowEvent, LowLevel } from '../low/low.ts'
import { lowForDose, lowProgress } from '../low/recheck.ts'
import { isInForce, type InsulinName, type OrderVersion } from '../order/order.ts'
import { asksEating, hasMealPart } from '../order/parts.ts'
import { callStepOf } from '../order/call.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { DiabetesType } from '../stay/stay.ts'
import { isEffective, type MeterDoubt, type Reading } from './reading.ts'
import { MINUTE_MS } from '../time/span.ts'

export type NextStep =
  /** It counts no more: corrected (by that reading), or entered in error. Nothing else is asked of it. */
  | { readonly kind: 'not-current'; readonly correctedBy: string | null }
  | {
      readonly kind: 'treat-low'
      /** null where no event is open */ readonly lowId: string | null
      readonly level: LowLevel
      readonly glucose: Glucose
      readonly limit: Glucose
      readonly recheckKey: string | null
      readonly recheckDueMs: number
    }
  /** Insulin waits for the low: no correction; what else is ordered is asked of the prescriber, louder in type 1. */
  | {
      readonly kind: 'ask-about-insulin'
      /** null where no event is open */ readonly lowId: string | null
      readonly low: Exclude<LowForDose, 'none'>
      readonly insulins: readonly InsulinName[]
      readonly askByMs: number
      readonly type1: boolean
    }
  | {
      readonly kind: 'recheck-due'
      readonly phase: 'open' | 'recovered'
      readonly recheckKey: string
      readonly dueMs: number
      readonly recovered: Glucose
    }
  | {
      readonly kind: 'critical-repeat'
      readonly which: CriticalKind
      readonly glucose: Glucose
      readonly limit: Glucose
      readonly confirmation: Confirmation
      readonly byMs: number
      readonly withinMin: number
    }
  | { readonly kind: 'critical-in-doubt' }
  | {
      readonly kind: 'critical-call'
      readonly which: CriticalKind
      readonly byMs: number
      readonly told: boolean
      readonly afterRepeat: boolean
    }
  | { readonly kind: 'out-of-range-high' }
  /** LO and HI wait for a laboratory's value; `readingId` once it is charted. */
  | {
      readonly kind: 'laboratory'
      readonly which: 'LO' | 'HI'
      readonly byMs: number
      readonly readingId: string | null
    }
  | { readonly kind: 'meter-in-doubt'; readonly doubts: readonly MeterDoubt[] }
  /** Fit when it was taken; the meter failed a control since. */
  | { readonly kind: 'meter-failed'; readonly atMs: number }
  | { readonly kind: 'newer-reading'; readonly readingId: string }
  | { readonly kind: 'too-old'; readonly minutes: number; readonly limitMin: number }
  | { readonly kind: 'dose-exists'; readonly doseId: string; readonly state: DoseState }
  | { readonly kind: 'scale-says-call'; readonly atLeast: Glucose; readonly also: string | null }
  | { readonly kind: 'order-not-verified'; readonly insulin: InsulinName; readonly version: number }
  | { readonly kind: 'propose-dose'; readonly insulin: InsulinName; readonly version: number }
  | { readonly kind: 'not-this-occasion'; readonly occasion: Occasion; readonly insulins: readonly InsulinName[] }
  | { readonly kind: 'no-order'; readonly above: Glucose | null }
  | { readonly kind: 'done' }

export type NextFacts = {
  readonly reading: Reading
  /** The stay's readings, `reading` and the ones that do not count any more included. */
  readonly readings: readonly Reading[]
  readonly lows: readonly LowEvent[]
  readonly orders: readonly OrderVersion[]
  readonly doses: readonly Dose[]
  readonly policy: WardPolicy
  readonly diabetes: DiabetesType
  /** The round that the reading belongs to. */
  readonly occasion: Occasion
  /** A prescriber was told of this critical result. */
  readonly criticalTold: boolean
  /** The prescriber's "give as ordered" after the low that is followed now; null: none. */
  readonly lowAnswer?: LowAnswer | null
  /** When the reading's meter failed a control after it (shared/meter/control.ts); null: it did not. */
  readonly meterFailedAtMs: number | null
  readonly nowMs: number
}

/** Upper end of the target range on a ward, in: 180 mg/dL, 10.0 mmol/L (ADA 2023, recommendation 16.5; R). */
const TARGET_MOST: Readonly<Record<GlucoseUnit, number>> = { 'mg/dL': 180, 'mmol/L': 100 }

/** Everything that must happen next, in order of urgency; never empty. */
export function whatNext(facts: NextFacts): readonly NextStep[] {
  const { reading, policy } = facts
  if (!isEffective(reading)) return [{ kind: 'not-current', correctedBy: reading.supersededBy }]
  const before = [...lowSteps(facts), ...criticalSteps(facts)]
  if (reading.glucose.value === 'HI') before.push({ kind: 'out-of-range-high' })
  before.push(...laboratorySteps(facts))
  if (lowLevel(reading.glucose, policy) !== null || reading.glucose.value === 'HI') return before
  return [...before, ...insulinSteps(facts)]
}

function count(value: number, policy: WardPolicy): Glucose {
  return { unit: policy.unit, value }
}

function lowSteps(facts: NextFacts): NextStep[] {
  const { reading, readings, lows, policy, nowMs } = facts
  const open = currentLow(lows)
  const level = lowLevel(reading.glucose, policy)
  const steps: NextStep[] = []
  if (open === undefined && level === null) return steps
  const progress = open === undefined ? null : lowProgress(open, readings, policy)
  const recheckKey =
    open === undefined || progress === null
      ? null
      : recheckCheck(open, progress.cycle, progress.dueMs ?? nowMs, policy).key
  if (level !== null) {
    const dueMs = progress?.dueMs ?? reading.takenAtMs + policy.low.recheckMin * MINUTE_MS
    const limit = count(level === 2 ? policy.limits.level2 : policy.limits.low, policy)
    steps.push({
      kind: 'treat-low',
      lowId: open?.lowId ?? null,
      level,
      glucose: reading.glucose,
      limit,
      recheckKey,
      recheckDueMs: dueMs,
    })
  } else if (recheckKey !== null && progress !== null && progress.dueMs !== null && progress.phase !== 'followed-up') {
    steps.push({
      kind: 'recheck-due',
      phase: progress.phase,
      recheckKey,
      dueMs: progress.dueMs,
      recovered: count(policy.limits.recovered, policy),
    })
  }
  const low = level !== null ? 'open' : lowForDose(lows, readings, policy, nowMs)
  if (low !== 'none') {
    const runStartMs = open === undefined ? 0 : lowCourse(open, readings, policy).runStartMs
    const isAnswered = open?.charted.insulinAnswers.some(({ atMs }) => atMs >= runStartMs) === true
    const byMs =
      open === undefined ? reading.takenAtMs + policy.low.insulinQuestionMin * MINUTE_MS : askByMs(open, policy)
    steps.push({
      kind: 'ask-about-insulin',
      lowId: open?.lowId ?? null,
      low,
      insulins: isAnswered ? [] : insulinsAskedAbout(facts.orders, nowMs),
      askByMs: byMs,
      type1: facts.diabetes === 'type-1',
    })
  }
  return steps
}

function criticalSteps(facts: NextFacts): NextStep[] {
  const { reading, policy } = facts
  const which = criticalKind(reading.glucose, policy)
  if (which === null) return criticalConfirmed(reading, facts) === false ? [{ kind: 'critical-in-doubt' }] : []
  const confirmation = confirmationOf(reading, facts) ?? 'confirmed'
  const steps: NextStep[] = []
  const isTreated = facts.lows.some((low) => low.treatments.some((treatment) => treatment.atMs >= reading.takenAtMs))
  // once a low is being treated the next reading is a recheck; and a laboratory value has been repeated already
  if (!(which === 'low' && isTreated) && reading.source !== 'venous') {
    const limit = count(which === 'low' ? policy.limits.criticalLow : policy.limits.criticalHigh, policy)
    const withinMin = policy.critical.repeatWithinMin
    steps.push({
      kind: 'critical-repeat',
      which,
      glucose: reading.glucose,
      limit,
      confirmation,
      byMs: reading.takenAtMs + withinMin * MINUTE_MS,
      withinMin,
    })
  }
  const afterRepeat = which === 'high' && reading.glucose.value !== 'HI' && confirmation !== 'confirmed'
  steps.push({
    kind: 'critical-call',
    which,
    byMs: reading.takenAtMs + policy.critical.callWithinMin * MINUTE_MS,
    told: facts.criticalTold,
    afterRepeat,
  })
  return steps
}

function laboratorySteps(facts: NextFacts): NextStep[] {
  const { value } = facts.reading.glucose
  const laboratory =
    typeof value === 'number' ? null : (criticalClock(facts.reading, { ...facts, calls: [] })?.laboratory ?? null)
  return laboratory === null || typeof value === 'number'
    ? []
    : [{ kind: 'laboratory', which: value, byMs: laboratory.byMs, readingId: laboratory.value?.readingId ?? null }]
}

/** A number that is not low: what the orders in force make of it. */
function insulinSteps(facts: NextFacts): NextStep[] {
  const { reading, readings, policy, nowMs } = facts
  const dose = facts.doses.find(
    (one) => one.readingId === reading.readingId && one.voided === null && doseState(one, policy, nowMs) !== 'lapsed',
  )
  if (dose !== undefined)
    return [...callOwed(dose), { kind: 'dose-exists', doseId: dose.doseId, state: doseState(dose, policy, nowMs) }]
  const orders = inForce(facts).filter(({ order }) => order.correction !== null || order.meal !== null)
  if (orders.length === 0) {
    const above = isAbove(reading.glucose, TARGET_MOST[reading.glucose.unit])
      ? count(TARGET_MOST[policy.unit], policy)
      : null
    const isRising = above !== null || facts.lows.some((low) => low.closedAtMs === null)
    return isRising ? [{ kind: 'no-order', above }] : [{ kind: 'no-order', above }, { kind: 'done' }]
  }
  const now = orders.filter(({ order }) => order.occasions.includes(facts.occasion))
  if (now.length === 0)
    return [
      {
        kind: 'not-this-occasion',
        occasion: facts.occasion,
        insulins: [...new Set(orders.map(({ order }) => order.insulin))],
      },
      { kind: 'done' },
    ]
  if (reading.doubts.length > 0) return [{ kind: 'meter-in-doubt', doubts: reading.doubts }]
  if (facts.meterFailedAtMs !== null) return [{ kind: 'meter-failed', atMs: facts.meterFailedAtMs }]
  const newer = readings.find((other) => isEffective(other) && other.takenAtMs > reading.takenAtMs)
  if (newer !== undefined) return [{ kind: 'newer-reading', readingId: newer.readingId }]
  const minutes = Math.floor((nowMs - reading.takenAtMs) / MINUTE_MS)
  if (nowMs - reading.takenAtMs > policy.dose.readingAgeMaxMin * MINUTE_MS)
    return [{ kind: 'too-old', minutes, limitMin: policy.dose.readingAgeMaxMin }]
  // the steps before this one say what an unconfirmed critical high and an open low wait for
  if (criticalConfirmed(reading, facts) === false) return []
  const isFollowed = lowForDose(facts.lows, readings, policy, nowMs) !== 'none'
  // while a low is followed a meal part alone can be worked out, by the prescriber's answer
  const answering = !isFollowed
    ? now
    : facts.lowAnswer?.standing === 'releases'
      ? now.filter(({ order }) => hasMealPart(order, facts.occasion))
      : []
  return answering.flatMap((version) => orderSteps(version, facts))
}

/** The call that the scale's step asks for and that a dose of 0 units by a hold does not replace. */
function callOwed({ readingId, working }: Dose): readonly NextStep[] {
  const owed = working.guards.some(({ guard, outcome }) => guard === 'scale-says-call' && outcome === 'warns')
  const term = working.terms.find(({ part }) => part === 'correction-scale')
  if (!owed || readingId === null || term?.part !== 'correction-scale' || working.glucose === null) return []
  const { unit } = working.glucose
  return term.atLeast === null
    ? []
    : [{ kind: 'scale-says-call', atLeast: { unit, value: term.atLeast }, also: term.also }]
}

function orderSteps(version: OrderVersion, { reading, occasion }: NextFacts): readonly NextStep[] {
  const { order } = version
  const { insulin } = order
  if (version.verified === null) return [{ kind: 'order-not-verified', insulin, version: version.version }]
  const proposes: NextStep = { kind: 'propose-dose', insulin, version: version.version }
  const step = callStepOf(order, reading.glucose, occasion)
  if (step !== null && isNumeric(reading.glucose)) {
    const value = step.atLeast ?? reading.glucose.value
    const call: NextStep = {
      kind: 'scale-says-call',
      atLeast: { unit: reading.glucose.unit, value },
      also: step.also,
    }
    // for a patient who does not eat the order may hold the correction or use another scale: the dose asks
    return asksEating(order, occasion) ? [call, proposes] : [call]
  }
  return [proposes]
}

function inForce({ orders, nowMs }: NextFacts): readonly OrderVersion[] {
  return orders.filter((version) => isInForce(version, nowMs))
}
