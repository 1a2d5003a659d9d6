/** Loads what the dose pages decide on: the dose or reading, its stay's facts, and whether this person may see it yet. */
import { asOrderedAnswer } from '../../shared/low/insulin.ts'
import { isTreatmentOwed, lowForDose } from '../../shared/low/recheck.ts'
import type { Dose, DoseState } from '../../shared/dose/dose.ts'
import { doseState } from '../../shared/dose/state.ts'
import type { StayAtNow } from '../../shared/order/inputs.ts'
import type { OrderVersion } from '../../shared/order/order.ts'
import { maskedDose, nursesWhoKnow } from '../../shared/reading/mask.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { DoseRequest } from '../http/parameters.ts'
import type { StayFacts } from '../store/contract.ts'
import { stayFactsNow, withPolicyVoids } from '../bedside/facts-now.ts'

export type DoseContext = {
  readonly dose: Dose
  readonly facts: StayFacts
  readonly zone: string
  readonly state: DoseState
  readonly reading: Reading | null
  readonly order: OrderVersion | null
  /** Staff who had the reading's number before them. */
  readonly knows: ReadonlySet<string>
  /** True when this person must not see the dose or its reading yet. */
  readonly masked: boolean
}

/** The dose of the address with everything about it; undefined when it is not there or not this person's. */
export function doseContext(ctx: DoseRequest): DoseContext | undefined {
  const stored = ctx.store.doseById(ctx.scope, ctx.params.id)
  const facts = stored === undefined ? undefined : stayFactsNow(ctx, stored.stayId)
  if (stored === undefined || facts === undefined) return undefined
  const [dose = stored] = withPolicyVoids(ctx, [stored], facts.policy)
  const { policy } = facts.policy
  const reading =
    dose.readingId === null
      ? null
      : (facts.readings.find((one) => one.readingId === dose.readingId) ??
        ctx.store.readingById(ctx.scope, dose.readingId) ??
        null)
  const order =
    facts.orders.find(
      (version) => version.orderId === dose.working.orderId && version.version === dose.working.orderVersion,
    ) ?? null
  const knows = reading === null ? new Set<string>() : nursesWhoKnow(reading, facts.readings)
  return {
    dose,
    facts,
    zone: policy.zone,
    state: doseState(dose, policy, ctx.nowMs),
    reading,
    order,
    knows,
    masked: maskedDose(ctx.actor, dose, { nowMs: ctx.nowMs, policy }),
  }
}

/** A stay's facts as the rules take them. */
export function stayAtNow(facts: StayFacts, nowMs: number): StayAtNow {
  const { policy } = facts.policy
  const lowAnswer = asOrderedAnswer({
    lows: facts.lows,
    readings: facts.readings,
    directions: facts.directions,
    policy,
    nowMs,
  })
  return {
    nowMs,
    policy,
    facts: facts.stay.facts,
    readings: facts.readings,
    doses: facts.doses,
    earlierDoses: facts.earlierDoses,
    insulinGiven: facts.insulinGiven,
    trays: facts.trays,
    trayDelays: facts.trayDelays,
    low: lowForDose(
      [...facts.lows, ...(facts.returnedFrom?.lows ?? [])],
      [...facts.readings, ...(facts.returnedFrom?.readings ?? [])],
      policy,
      nowMs,
    ),
    failedControls: facts.failedControls,
    feedStoppedSinceMs: facts.feedStoppedSinceMs,
    entries: facts.entries,
    directions: facts.directions,
    questionOpen: facts.openItems.some(({ kind }) => kind === 'insulin-question'),
    ...(lowAnswer === null ? {} : { lowAnswer }),
    lowTreatmentOwed: isTreatmentOwed(facts.lows, facts.readings, policy, nowMs),
  }
}
