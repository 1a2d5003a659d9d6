/** The guards on the reading. Each reports what it found and its limit, in the guard's own count. */
import type { Fraction, GuardDetails, GuardName, GuardOutcome, GuardResult } from '../dose/dose.ts'
import { formatGlucose, isAbove, isBelow } from '../glucose/value.ts'
import type { DoseFacts, Parts } from './parts.ts'
import { boundText } from './scale.ts'
import { MINUTE_MS } from '../time/span.ts'

type DetailsFor<G extends GuardName> = object extends GuardDetails[G]
  ? readonly [details?: GuardDetails[G]]
  : readonly [details: GuardDetails[G]]

/** What a guard found. It needs the details of its sentence, unless it passed for certain. */
export function result(guard: GuardName, outcome: 'passed', details?: { readonly servedMs: number }): GuardResult
export function result<G extends GuardName>(guard: G, outcome: GuardOutcome, ...details: DetailsFor<G>): GuardResult
export function result(guard: GuardName, outcome: GuardOutcome, details: object = {}): GuardResult {
  return { guard, outcome, details } as GuardResult
}

/** `stops` when the fault is present, otherwise passed. */
export function stopsIf<G extends GuardName>(fault: boolean, guard: G, ...details: DetailsFor<G>): GuardResult {
  return result(guard, fault ? 'stops' : 'passed', ...details)
}

/**
 * The reading is too old: more than the policy's minutes since it was taken (60; glucose within 60 min before meal
 * insulin, Endocrine Society 2022, S). Exactly 60 min passes. A reading dated after the calculation has no reliable
 * age, so it stops too.
 */
export function readingAge({ policy, inputs }: DoseFacts): GuardResult {
  const takenAtMs = inputs.readingTakenAtMs
  if (takenAtMs === null)
    return result('reading-age', 'stops', { found: 'no-reading', limit: policy.dose.readingAgeMaxMin })
  const limitMs = policy.dose.readingAgeMaxMin * MINUTE_MS
  const ageMs = inputs.nowMs - takenAtMs
  if (ageMs < 0) return result('reading-age', 'stops', { found: 'not-yet-taken', limit: policy.dose.readingAgeMaxMin })
  return stopsIf(ageMs > limitMs, 'reading-age', {
    found: Math.floor(ageMs / MINUTE_MS),
    limit: policy.dose.readingAgeMaxMin,
  })
}

/**
 * The age of the reading with time left to check, draw up and give: the injection is at most the policy's minutes after
 * the reading (60; Endocrine Society 2022, S). With fewer minutes left than `dose.readingSpareMin` a new reading comes
 * first. For a dose after the meal the age counts to the tray.
 */
export function readingAgeToGive(facts: DoseFacts, parts: Parts): GuardResult {
  const { policy, inputs } = facts
  const { readingTakenAtMs: takenAtMs, trayServedAtMs: servedMs } = inputs
  if (parts.kind === 'after-meal' && servedMs !== null && takenAtMs !== null && takenAtMs <= servedMs)
    return readingAge({ ...facts, inputs: { ...inputs, nowMs: servedMs } })
  const age = readingAge(facts)
  if (age.outcome === 'stops' || takenAtMs === null) return age
  const { readingAgeMaxMin: limit, readingSpareMin: spare } = policy.dose
  const ageMs = inputs.nowMs - takenAtMs
  return ageMs > (limit - spare) * MINUTE_MS
    ? result('reading-age', 'stops', { found: Math.floor(ageMs / MINUTE_MS), limit, spare })
    : age
}

/** A meter without its controls, or that has failed one since, never leads to insulin. Nor does an expired lot. */
export function readingInDoubt({ reading, inputs: { meterFailedAtMs } }: DoseFacts): GuardResult {
  if (meterFailedAtMs !== undefined)
    return result('reading-in-doubt', 'stops', { found: 'meter-failed', foundMs: meterFailedAtMs })
  return stopsIf((reading?.doubts.length ?? 0) > 0, 'reading-in-doubt', { found: reading?.doubts.join(', ') ?? '' })
}

/** The reading was corrected or entered in error. */
export function readingNotEffective({ inputs }: DoseFacts): GuardResult {
  return stopsIf(!inputs.readingEffective, 'reading-not-effective')
}

/** The stay has a newer reading, so the dose must follow from that one. */
export function readingSuperseded({ inputs }: DoseFacts): GuardResult {
  const newer = inputs.newerReadingAtMs
  return newer === null
    ? result('reading-superseded-by-newer', 'passed')
    : result('reading-superseded-by-newer', 'stops', { foundMs: newer })
}

/** No dose follows an unconfirmed critical high. `criticalConfirmed` null: the value is not critical. */
export function criticalHigh({ policy, reading, inputs }: DoseFacts): GuardResult {
  const above =
    reading !== null && reading.glucose.value !== 'HI' && isAbove(reading.glucose, policy.limits.criticalHigh)
  // null with a value above the limit would mean that nobody checked, so it stops too
  const unconfirmed = inputs.criticalConfirmed === false || (above && inputs.criticalConfirmed === null)
  const limit = `${boundText(policy.limits.criticalHigh, policy.unit)} ${policy.unit}`
  if (reading === null)
    return unconfirmed
      ? result('critical-high-unconfirmed', 'stops', { found: 'The value', limit })
      : result('critical-high-unconfirmed', 'passed')
  return stopsIf(unconfirmed, 'critical-high-unconfirmed', { found: formatGlucose(reading.glucose), limit })
}

/** LO and HI are not numbers, so no dose is calculated from them. */
export function outOfRange({ reading }: DoseFacts): GuardResult {
  const value = reading?.glucose.value
  return typeof value === 'string'
    ? result('out-of-range-value', 'stops', { found: value })
    : result('out-of-range-value', 'passed')
}

/**
 * Below the ward's low limit (70 mg/dL or 3.9 mmol/L by default, ADA since 2019): no insulin without the prescriber.
 */
export function lowGlucose({ policy, reading }: DoseFacts): GuardResult {
  if (reading === null) return result('low-glucose', 'passed')
  const limit = `${boundText(policy.limits.low, policy.unit)} ${policy.unit}`
  return stopsIf(reading.glucose.unit === policy.unit && isBelow(reading.glucose, policy.limits.low), 'low-glucose', {
    found: formatGlucose(reading.glucose),
    limit,
  })
}

/**
 * The correction waits for recovery and a satisfactory follow-up. Meal and long-acting insulin need the prescriber.
 * "Give as ordered" from the prescriber releases those two once the low has recovered. The correction beside the meal
 * part stays held. A subtracting correction stays in the dose, because holding it would raise the dose.
 */
export function lowEventOpen({ inputs }: DoseFacts, parts: Parts, correction: Fraction | null): GuardResult {
  const { low, lowAnswer } = inputs
  const asked = parts.meal || parts.scheduled !== null
  const details = { found: low, asks: asked ? 'prescriber' : 'follow-up' } as const
  if (low === 'none' || !asked || lowAnswer === undefined) return stopsIf(low !== 'none', 'low-event-open', details)
  const said = { ...details, answer: lowAnswer.standing, told: lowAnswer.told, toldMs: lowAnswer.atMs }
  if (lowAnswer.standing !== 'releases') return result('low-event-open', 'stops', said)
  return result('low-event-open', correction !== null && correction.numerator > 0 ? 'holds-correction' : 'warns', said)
}

/** Order, reading and ward must use one glucose unit. Moving to a ward of the other unit stops the order. */
export function wardUnit({ order, reading, inputs }: DoseFacts): GuardResult {
  const units = [order?.order.unit, reading?.glucose.unit].filter(
    (unit) => unit !== undefined && unit !== inputs.wardUnit,
  )
  return stopsIf(units.length > 0, 'ward-unit', { found: units[0] ?? inputs.wardUnit, limit: inputs.wardUnit })
}
