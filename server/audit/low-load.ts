/** Loads the data for an audit of lows: each stay once, from the day before its first low. */
import {
  antecedentsOf,
  LOOK_BACK_MS,
  patientStateAt,
  type AntecedentFacts,
  type PatientState,
} from '../../shared/audit/antecedents.ts'
import type { Antecedent } from '../../shared/audit/antecedent.ts'
import { auditLow, type LowAudit } from '../../shared/audit/low-audit.ts'
import type { LowMeals } from '../../shared/audit/low-steps.ts'
import type { Dose } from '../../shared/dose/dose.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { lowCourse } from '../../shared/low/course.ts'
import { lowLine, type LineEntry } from '../../shared/low/line.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import { mealsAround } from '../../shared/low/meals.ts'
import { isInForce } from '../../shared/order/order.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { maskedDose, maskedFor } from '../../shared/reading/mask.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { BedSpan, Stay } from '../../shared/stay/stay.ts'
import { contains, type Interval } from '../../shared/time/interval.ts'
import { HOUR_MS, MINUTE_MS } from '../../shared/time/span.ts'
import { insulinText } from '../../views/words/happened.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { StayAudit } from '../store/contract.ts'

/** A dose belongs to the period in which it was given, but is found by its calculation time, shortly before. */
const DOSE_MARGIN_MS = 2 * HOUR_MS

export type LowAndStay = { readonly low: LowEvent; readonly stay: Stay }

/** One low with everything that its pages show. */
export type LoadedLow = LowAndStay & {
  readonly facts: AntecedentFacts
  /** Readings in the policy's unit. The low's course is derived from them. */
  readonly readings: readonly Reading[]
  readonly policy: WardPolicy
  readonly audit: LowAudit
  readonly line: readonly LineEntry[]
  readonly before: readonly Antecedent[]
  readonly patientState: PatientState
  readonly visibility: Visibility
}

/** What this person may see of a stay now. Null: awaiting second check. */
export type Visibility = {
  readonly valueOf: (reading: Reading) => string | null
  readonly doseText: (dose: Dose) => string | null
}

/** A requested period, with the stay's events in it. */
export type RequestedPeriod = {
  readonly span: Interval
  readonly facts: AntecedentFacts
  readonly visibility: Visibility
}

/**
 * The lows in the given order. Each patient's page counts as read. A stay that this person may no longer see is left
 * out.
 */
export function loadLows(ctx: RequestContext, found: readonly LowAndStay[]): readonly LoadedLow[] {
  const byStay = new Map<string, LowAndStay[]>()
  for (const one of found) byStay.set(one.stay.stayId, [...(byStay.get(one.stay.stayId) ?? []), one])
  const loaded = new Map<string, LoadedLow>()
  for (const [stayId, own] of byStay) {
    const facts = loadAround(ctx, stayId, own)
    if (facts === undefined) continue
    recordPatientRead(ctx, stayId)
    for (const one of own) {
      const loadedLow = loadLow(ctx, one, facts)
      if (loadedLow !== undefined) loaded.set(one.low.lowId, loadedLow)
    }
  }
  return found.flatMap(({ low }) => loaded.get(low.lowId) ?? [])
}

/** Everything charted about the stay in the period, and who stopped its orders. */
export function stayIn(ctx: RequestContext, stayId: string, span: Interval): (StayAudit & AntecedentFacts) | undefined {
  const history = ctx.store.stayAudit(ctx.scope, stayId, { fromMs: span.fromMs - DOSE_MARGIN_MS, toMs: span.toMs })
  return history === undefined ? undefined : { ...history, orderStops: ctx.store.orderStops(ctx.scope, stayId) }
}

function loadAround(
  ctx: RequestContext,
  stayId: string,
  own: readonly LowAndStay[],
): (StayAudit & AntecedentFacts) | undefined {
  // the list includes the whole minute of the closing
  const toMs = Math.max(...own.map(({ low }) => low.closedAtMs ?? ctx.nowMs)) + MINUTE_MS
  const from = (startsMs: readonly number[]): number => Math.min(...startsMs) - LOOK_BACK_MS
  const fromMs = from(own.map(({ low }) => low.openedAtMs))
  const facts = stayIn(ctx, stayId, { fromMs, toMs })
  if (facts === undefined) return undefined
  // a value charted later may precede the one that opened the event: then load the day before it
  const firstMs = from(
    own.map(({ low }) => {
      const policy = policyWhenOpened(ctx, low, facts.beds)
      return lowCourse(low, inUnit(facts.readings, policy), policy).startMs
    }),
  )
  return firstMs < fromMs ? stayIn(ctx, stayId, { fromMs: firstMs, toMs }) : facts
}

/**
 * The policy under which the low was opened. It is that of the ward where the patient was then, since an open event
 * moves with the patient. A policy contains no patient data, so the ward need not be one of this person's. Throws when
 * there is none: every ward has a policy from its opening on.
 */
function policyWhenOpened(ctx: RequestContext, { wardId, openedAtMs }: LowEvent, beds: readonly BedSpan[]): WardPolicy {
  const then =
    beds.find(({ fromMs, toMs }) => contains({ fromMs, toMs: toMs ?? Number.POSITIVE_INFINITY }, openedAtMs))?.wardId ??
    wardId
  const version = ctx.store.policyOfAnyWard(then, openedAtMs)
  if (version === undefined) throw new Error('a low on a ward without a policy')
  return version.policy
}

function loadLow(ctx: RequestContext, { low, stay }: LowAndStay, facts: AntecedentFacts): LoadedLow | undefined {
  const policy = policyWhenOpened(ctx, low, facts.beds)
  const { lows } = facts
  const readings = inUnit(facts.readings, policy)
  const { startMs, recoveredAtMs } = lowCourse(low, readings, policy)
  const audit = auditLow({
    low,
    readings,
    lows,
    meals: mealsFor(facts, recoveredAtMs ?? startMs, policy),
    policy,
    nowMs: ctx.nowMs,
  })
  return {
    low,
    stay,
    facts,
    readings,
    policy,
    audit,
    line: lowLine(low, readings, policy),
    before: antecedentsOf(facts, audit.startMs, policy),
    patientState: patientStateAt(facts, audit.startMs),
    visibility: visibilityOf(ctx, facts, policy),
  }
}

/** After a move the stay may have readings in another ward's unit. This ward's limits do not apply to them. */
export function inUnit(readings: readonly Reading[], { unit }: Pick<WardPolicy, 'unit'>): readonly Reading[] {
  return readings.filter(({ glucose }) => glucose.unit === unit)
}

/** Trays as planned by policy, and their time of serving. Past delays are not stored separately. */
function mealsFor(facts: AntecedentFacts, atMs: number, policy: WardPolicy): LowMeals {
  const patientState = patientStateAt(facts, atMs)
  return {
    mealsMs: mealsAround(atMs, atMs + HOUR_MS, policy, []),
    servedMs: facts.trays.flatMap(({ servedAtMs }) => servedAtMs ?? []),
    nothingByMouth: patientState.nilByMouth || (patientState.facts !== null && patientState.facts.feeding !== 'oral'),
  }
}

export function visibilityOf(
  ctx: RequestContext,
  { doses, orders }: Pick<AntecedentFacts, 'doses' | 'orders'>,
  policy: WardPolicy,
): Visibility {
  const { actor, nowMs } = ctx
  const hasApplicableOrder = orders.some(
    (version) => isInForce(version, nowMs) && (version.order.correction !== null || version.order.meal !== null),
  )
  return {
    valueOf: (reading) =>
      maskedFor(actor, reading, doses, { nowMs, policy, hasApplicableOrder }) ? null : formatGlucose(reading.glucose),
    doseText: (dose) => (maskedDose(actor, dose, { nowMs, policy }) ? null : insulinText(dose)),
  }
}
