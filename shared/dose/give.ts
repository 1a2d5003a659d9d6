/** Giving a verified dose, or charting why it was not given. */
import { INSULIN_CLASS, type InsulinOrder } from '../order/order.ts'
import { hasNotEatingRule, isNotEating } from '../order/parts.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { isNilByMouth, type BedsideFacts, type Stay } from '../stay/stay.ts'
import type { Deviation, Dose, FoodAnswer, InjectionSite } from './dose.ts'
import { doseState, hasMealTerm, isAfterMeal, isMealtimeDose, validUntilMs } from './state.ts'
import { MINUTE_MS } from '../time/span.ts'

/** What the nurse says of the food; null: not answered. `trayInMin`: minutes until the tray, for one that is coming. */
export type FoodSaid = {
  readonly food: FoodAnswer | null
  readonly trayInMin: number | null
  readonly willEat: 'yes' | 'no' | null
}

export type GiveRefusal =
  | 'dose-void'
  | 'dose-lapsed'
  | 'dose-not-verified'
  | 'dose-settled'
  | 'wristband-wrong'
  | 'given-in-future'
  | 'given-before-signed'
  | 'food-not-coming'
  | 'patient-not-eating'
  | 'tray-too-far'
  | 'tray-minutes-missing'
  | 'order-ended'
  | 'food-unanswered'
  | 'eating-unanswered'
  | 'worked-out-for-eating'
  | 'tray-delayed'
  | 'deviation-note-missing'

declare module '../outcome.ts' {
  interface RefusalDetails {
    /** Minutes. */
    'tray-too-far': { found: number; limit: number }
    /** Minutes. */
    'tray-minutes-missing': { limit: number }
  }
}

export type Given = {
  readonly doseId: string
  readonly site: InjectionSite
  readonly food: FoodAnswer
  readonly atMs: number
  readonly trayArrivedNow: boolean
  readonly deviation: Deviation | null
}

/**
 * Accepts a giving at `atMs`, which must lie between the second signature and the end of its valid minutes, both in.
 * What counts is when it was given, not when it is charted: a dose given in its time can be charted after it lapsed or
 * was void, since a fact must never be left out. Time alone can end an order after the dose was signed: then nothing
 * is given on it.
 *
 * Food and eating are asked wherever `asksFood` says. A meal part is not given when food is not here or coming within
 * the policy's minutes, or the patient will not eat or is nil by mouth at `atMs`. A correction that was worked out for a
 * patient who eats is not given to one who does not, where the order has a rule for that. After a charted delay of the
 * trays a meal part waits until the tray is here.
 *
 * A stop stands before the injection. A signed dose that was injected in spite of one is charted as given, with the stop
 * and the nurse's note (`alreadyGiven`).
 */
export function giveDose(given: {
  readonly dose: Dose
  readonly policy: WardPolicy
  readonly nowMs: number
  readonly atMs: number
  readonly wristband: string
  readonly patient: Pick<Stay, 'wristband' | 'bed'>
  readonly site: InjectionSite
  readonly said: FoodSaid
  /** The order version that the dose was worked out from; null: by direction alone. */
  readonly order: InsulinOrder | null
  /** The stay's facts: nil by mouth counts. */
  readonly bedside: BedsideFacts
  /** When the tray is expected after a charted delay of its round; null: no delay is charted. */
  readonly trayDelayedToMs: number | null
  /** The nurse says that it was injected already although something stops it, and why; null: she does not. */
  readonly alreadyGiven: { readonly note: string } | null
}): Outcome<Given, GiveRefusal> {
  const decided = giveOnTime(given)
  if (decided.ok || given.alreadyGiven === null || given.dose.product === null || !MAY_DEVIATE.has(decided.reason))
    return decided
  const note = given.alreadyGiven.note.trim()
  if (note === '') return refuse('deviation-note-missing')
  return accept({
    doseId: given.dose.doseId,
    site: given.site,
    food: given.said.food ?? 'not-with-a-meal',
    atMs: Math.max(given.atMs, given.dose.product.atMs),
    trayArrivedNow: false,
    deviation: { stop: decided.reason, note },
  })
}

/** Stops before an injection. One that came too late stops nothing: what was injected is charted. */
const MAY_DEVIATE: ReadonlySet<GiveRefusal> = new Set([
  'dose-void',
  'dose-lapsed',
  'order-ended',
  'food-not-coming',
  'patient-not-eating',
  'tray-too-far',
  'tray-minutes-missing',
  'tray-delayed',
  'food-unanswered',
  'eating-unanswered',
  'worked-out-for-eating',
])

function giveOnTime(given: Parameters<typeof giveDose>[0]): Outcome<Given, GiveRefusal> {
  const { dose, policy, nowMs, atMs, said, order, bedside } = given
  const eating = eatingFault(dose, order, said, isNilByMouth(bedside, atMs))
  if (eating !== null) return eating
  if (dose.outcome !== null) return refuse('dose-settled')
  if (dose.voided !== null && (dose.product === null || dose.voided.atMs <= atMs)) return refuse('dose-void')
  if (dose.product === null)
    return refuse(doseState(dose, policy, nowMs) === 'lapsed' ? 'dose-lapsed' : 'dose-not-verified')
  if (given.wristband !== given.patient.wristband) return refuse('wristband-wrong', { expected: given.patient.bed })
  if (atMs > nowMs) return refuse('given-in-future')
  // the form's times are whole minutes: the minute of the signature is not before it
  if (atMs < Math.floor(dose.product.atMs / MINUTE_MS) * MINUTE_MS) return refuse('given-before-signed')
  if (atMs > validUntilMs(dose, policy)) return refuse('dose-lapsed')
  const stopsAtMs = orderStopsAtMs(dose, order)
  if (stopsAtMs !== null && atMs >= stopsAtMs) return refuse('order-ended')
  const food = said.food ?? (isAfterMeal(dose) ? 'tray-here' : 'not-with-a-meal')
  const delayedMs = given.trayDelayedToMs === null ? null : given.trayDelayedToMs - atMs
  const fault = foodFault(dose, policy, { ...said, food }, delayedMs)
  return (
    fault ??
    accept({
      doseId: dose.doseId,
      site: given.site,
      food,
      atMs: Math.max(atMs, dose.product.atMs),
      trayArrivedNow: food === 'tray-here' && !isAfterMeal(dose) && dose.kind !== 'scheduled',
      deviation: null,
    })
  )
}

/** True when food is asked about: of every rapid or regular dose that is not given after the meal by the share eaten. */
export function asksFood(dose: Dose): boolean {
  if (isMealtimeDose(dose)) return hasMealTerm(dose)
  const kind = INSULIN_CLASS[dose.insulin]
  return dose.kind !== 'scheduled' && !isAfterMeal(dose) && (kind === 'rapid' || kind === 'regular')
}

/**
 * When the order that the dose follows ends by itself; null: never. A direction is an order of its own, and an order
 * stopped by a person voids the dose.
 */
export function orderStopsAtMs(dose: Dose, order: InsulinOrder | null): number | null {
  return dose.kind === 'by-direction' ? null : (order?.stopsAtMs ?? null)
}

function eatingFault(
  dose: Dose,
  order: InsulinOrder | null,
  said: FoodSaid,
  nilByMouth: boolean,
): ReturnType<typeof refuse<GiveRefusal>> | null {
  if (asksFood(dose)) {
    if (said.food === null) return refuse('food-unanswered')
    if (said.willEat === null) return refuse('eating-unanswered')
  }
  if (hasMealTerm(dose) && !isAfterMeal(dose) && nilByMouth) return refuse('patient-not-eating')
  // at bedtime nobody was asked about a meal, and "no" says nothing new
  const saysNo = said.willEat === 'no' && dose.inputs.meal !== null
  return restsOnEating(dose, order) && (saysNo || nilByMouth) ? refuse('worked-out-for-eating') : null
}

/** The order has a rule for not eating, and the correction was worked out without it. */
function restsOnEating(dose: Dose, order: InsulinOrder | null): boolean {
  return (
    dose.kind === 'from-reading' &&
    order !== null &&
    hasNotEatingRule(order) &&
    !isNotEating(dose.inputs) &&
    dose.units > 0
  )
}

/** Minutes that the tray may be away at the injection: more for scheduled regular insulin, which acts later. */
function trayLimitMin(dose: Dose, { dose: limits }: WardPolicy): number {
  return isMealtimeDose(dose) && INSULIN_CLASS[dose.insulin] === 'regular'
    ? limits.trayWithinRegularMin
    : limits.trayWithinMin
}

function foodFault(
  dose: Dose,
  policy: WardPolicy,
  said: FoodSaid,
  delayedMs: number | null,
): ReturnType<typeof refuse<GiveRefusal>> | null {
  if (!hasMealTerm(dose) || isAfterMeal(dose)) return null
  const limit = trayLimitMin(dose, policy)
  if (said.food === 'not-with-a-meal') return refuse('food-not-coming')
  if (said.willEat === 'no') return refuse('patient-not-eating')
  if (said.food === 'tray-here') return null
  if (delayedMs !== null && delayedMs > limit * MINUTE_MS) return refuse('tray-delayed')
  if (said.trayInMin === null) return refuse('tray-minutes-missing', { limit })
  return said.trayInMin > limit ? refuse('tray-too-far', { found: said.trayInMin, limit }) : null
}

export type NotGivenRefusal = 'dose-settled' | 'dose-void' | 'not-given-reason-missing'

/**
 * Withheld by the nurse or refused by the patient, with the reason; from any state in which it could still be given, and
 * for a signed dose that is void too, so that what was drawn up is accounted for.
 */
export function notGiven(
  dose: Dose,
  kind: 'withheld' | 'refused',
  reason: string,
): Outcome<
  { readonly doseId: string; readonly kind: 'withheld' | 'refused'; readonly reason: string },
  NotGivenRefusal
> {
  if (dose.outcome !== null) return refuse('dose-settled')
  if (dose.voided !== null && dose.product === null) return refuse('dose-void')
  const text = reason.trim()
  return text === '' ? refuse('not-given-reason-missing') : accept({ doseId: dose.doseId, kind, reason: text })
}
