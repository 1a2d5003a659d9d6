/** The state of a dose, derived from its facts and the time; never stored, so that time alone can change it. */
import { INSULIN_CLASS, isBasal, type InsulinName } from '../order/order.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Dose, DoseState, SecondAnswer } from './dose.ts'
import { MINUTE_MS } from '../time/span.ts'

/** How many second answers differed. */
export function mismatches(dose: Dose): number {
  return dose.answers.filter((answer) => !answer.agreed).length
}

/** The answer that agreed, if the last one did. */
export function agreedAnswer(dose: Dose): SecondAnswer | null {
  const last = dose.answers[dose.answers.length - 1]
  return last?.agreed === true ? last : null
}

/**
 * The last instant at which the next step may still be taken (in). Until agreement a dose from a reading stands as
 * long as the reading does (the policy's reading age), any other for the same minutes from its proposal; from agreement
 * on for the policy's valid minutes (30), within which the product is read and the dose given. A dose that
 * needs no second check has these minutes from the reading of its product on. Whatever was signed, a dose from a reading
 * is given within the policy's minutes after the reading (60; Endocrine Society 2022, S), and one after the meal within
 * the policy's minutes after it was calculated. A direction has no such end: the prescriber decided about the age.
 */
export function validUntilMs(dose: Dose, policy: WardPolicy): number {
  return Math.min(stepUntilMs(dose, policy), giveByMs(dose, policy))
}

/** The last instant for the injection by what the dose rests on; Infinity: none. Rules of version 1 had none. */
function giveByMs(dose: Dose, { dose: limits }: WardPolicy): number {
  const { kind, inputs, proposedAtMs, working } = dose
  if (working.rules === 1) return Infinity
  if (kind === 'after-meal') return proposedAtMs + limits.afterMealWithinMin * MINUTE_MS
  const rests = kind === 'from-reading' || isMealtimeDose(dose)
  const takenAtMs = rests ? inputs.readingTakenAtMs : null
  return takenAtMs === null ? Infinity : takenAtMs + limits.readingAgeMaxMin * MINUTE_MS
}

function stepUntilMs(dose: Dose, policy: WardPolicy): number {
  const validMs = policy.dose.verifiedValidMin * MINUTE_MS
  const agreed = agreedAnswer(dose)
  if (agreed !== null) return agreed.atMs + validMs
  if (!dose.secondCheckRequired && dose.product !== null) return dose.product.atMs + validMs
  const isAfter = dose.kind === 'after-meal' && dose.working.rules > 1
  if (isAfter) return dose.proposedAtMs + policy.dose.afterMealWithinMin * MINUTE_MS
  const restsOnReading = dose.kind === 'from-reading' || dose.kind === 'after-meal'
  const from = restsOnReading ? (dose.inputs.readingTakenAtMs ?? dose.proposedAtMs) : dose.proposedAtMs
  return from + policy.dose.readingAgeMaxMin * MINUTE_MS
}

/**
 * The state at an instant. What was done outweighs what changed later: a dose that was given stays given though its
 * reading was corrected afterwards.
 */
export function doseState(dose: Dose, policy: WardPolicy, nowMs: number): DoseState {
  if (dose.outcome !== null) return dose.outcome.kind === 'zero-charted' ? 'zero' : dose.outcome.kind
  if (dose.voided !== null) return 'void'
  if (dose.units === 0 && (!dose.secondCheckRequired || agreedAnswer(dose) !== null)) return 'zero'
  if (nowMs > validUntilMs(dose, policy)) return 'lapsed'
  if (dose.product !== null) return 'verified'
  if (agreedAnswer(dose) !== null) return 'agreed'
  if (!dose.secondCheckRequired) return 'to-draw-up'
  return mismatches(dose) > dose.restarts.length ? 'differed' : 'awaiting-second-check'
}

/** True while somebody still has to do something with the dose. */
export function isUnsettled(state: DoseState): boolean {
  return (
    state === 'awaiting-second-check' ||
    state === 'differed' ||
    state === 'agreed' ||
    state === 'to-draw-up' ||
    state === 'verified'
  )
}

/**
 * True for scheduled rapid or regular insulin: it needs a fresh reading and food like a meal part. Doses of rules before
 * version 3 did not.
 */
export function isMealtimeDose({ kind, insulin, working }: Pick<Dose, 'kind' | 'insulin' | 'working'>): boolean {
  return kind === 'scheduled' && !isBasal(insulin) && working.rules >= 3
}

/** True when the meal part counts in the dose. */
export function hasMealTerm(dose: Dose): boolean {
  if (isMealtimeDose(dose)) return dose.inputs.food?.by !== 'feed'
  return dose.working.terms.some(
    (term) => (term.part === 'meal-fixed' || term.part === 'meal-ratio') && !term.held && term.amount.numerator > 0,
  )
}

/** True when the meal part was worked out from what was eaten: food is no longer a question. */
export function isAfterMeal(dose: Dose): boolean {
  return dose.kind === 'after-meal'
}

/** A scheduled dose that its order holds below a value: the newest reading was held against it. */
export function hasHold(dose: Dose): boolean {
  return (
    dose.kind === 'scheduled' &&
    dose.working.guards.some(({ guard, details }) => guard === 'scheduled-hold' && 'limit' in details)
  )
}

/** The reading without which the dose would not stand: its own, or the one held against a scheduled dose; null: none. */
export function restsOn(dose: Dose): string | null {
  return dose.readingId ?? (hasHold(dose) || isMealtimeDose(dose) ? dose.working.readingId : null)
}

/**
 * True when insulin charted as given changes what an open dose rests on: the same insulin, or two that act within hours
 * of a meal (rapid or regular), which stack.
 */
export function bearsOn(insulin: InsulinName, dose: Pick<Dose, 'insulin'>): boolean {
  return insulin === dose.insulin || (isShort(insulin) && isShort(dose.insulin))
}

function isShort(insulin: InsulinName): boolean {
  return INSULIN_CLASS[insulin] === 'rapid' || INSULIN_CLASS[insulin] === 'regular'
}

/**
 * A dose that was signed, so that it may be in a syringe or in the patient, and of which nobody has charted whether it
 * was given. Until somebody does, no other dose of an insulin that stacks with it is worked out: a dose given and not
 * charted would be given twice. `doses` are the stay's; null: there is none.
 */
export function unaccountedDose(
  doses: readonly Dose[],
  insulin: InsulinName,
  policy: WardPolicy,
  nowMs: number,
): Dose | null {
  return (
    doses.find((dose) => {
      if (dose.product === null || dose.outcome !== null || !bearsOn(insulin, dose)) return false
      return doseState(dose, policy, nowMs) !== 'verified'
    }) ?? null
  )
}
