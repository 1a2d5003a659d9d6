/** Giving a verified dose, or charting why it was not given. */
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Dose, FoodAnswer, InjectionSite } from './dose.ts'
import { doseState, hasMealTerm, isAfterMeal, validUntilMs } from './state.ts'
import { MINUTE_MS } from '../time/span.ts'

/** What the nurse says of the food. `minutes` until the tray, for one that is coming. */
export type FoodSaid = { readonly food: FoodAnswer; readonly trayInMin: number | null; readonly willEat: 'yes' | 'no' }

export type GiveRefusal =
  | 'dose-void'
  | 'dose-lapsed'
  | 'dose-not-verified'
  | 'dose-settled'
  | 'wrong-wristband'
  | 'given-in-future'
  | 'given-before-signed'
  | 'food-not-coming'
  | 'patient-not-eating'
  | 'tray-too-far'
  | 'tray-minutes-missing'
  | 'order-ended'

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
}

/**
 * Accepts a giving at `atMs`, which must lie between the second signature and the end of its valid minutes, both in.
 * What counts is when it was given, not when it is charted: a dose given in its time can be charted after it lapsed or
 * was overtaken, since a fact must never be left out. A meal part is not given when food is not here or coming within
 * the policy's minutes, or the patient will not eat. Time alone can end an order after the dose was signed: then nothing
 * is given on it.
 */
export function giveDose(given: {
  readonly dose: Dose
  readonly policy: WardPolicy
  readonly nowMs: number
  readonly atMs: number
  readonly wristband: string
  readonly staysWristband: string
  readonly site: InjectionSite
  readonly said: FoodSaid
  /** When the order that the dose follows ends by itself; null: never, or by direction. An order stopped by a person voids the dose. */
  readonly orderStopsAtMs: number | null
}): Outcome<Given, GiveRefusal> {
  const { dose, policy, nowMs, atMs, said } = given
  if (dose.outcome !== null) return refuse('dose-settled')
  if (dose.voided !== null && (dose.product === null || dose.voided.atMs <= atMs)) return refuse('dose-void')
  if (dose.product === null)
    return refuse(doseState(dose, policy, nowMs) === 'lapsed' ? 'dose-lapsed' : 'dose-not-verified')
  if (given.wristband !== given.staysWristband) return refuse('wrong-wristband')
  if (atMs > nowMs) return refuse('given-in-future')
  // the form's times are whole minutes: the minute of the signature is not before it
  if (atMs < Math.floor(dose.product.atMs / MINUTE_MS) * MINUTE_MS) return refuse('given-before-signed')
  if (atMs > validUntilMs(dose, policy)) return refuse('dose-lapsed')
  if (given.orderStopsAtMs !== null && atMs >= given.orderStopsAtMs) return refuse('order-ended')
  const fault = foodFault(dose, policy, said)
  return (
    fault ??
    accept({
      doseId: dose.doseId,
      site: given.site,
      food: said.food,
      atMs: Math.max(atMs, dose.product.atMs),
      trayArrivedNow: said.food === 'tray-here' && !isAfterMeal(dose) && dose.kind !== 'scheduled',
    })
  )
}

function foodFault(dose: Dose, policy: WardPolicy, said: FoodSaid): ReturnType<typeof refuse<GiveRefusal>> | null {
  if (!hasMealTerm(dose) || isAfterMeal(dose)) return null
  const limit = policy.dose.trayWithinMin
  if (said.food === 'not-with-a-meal') return refuse('food-not-coming')
  if (said.willEat === 'no') return refuse('patient-not-eating')
  if (said.food === 'tray-here') return null
  if (said.trayInMin === null) return refuse('tray-minutes-missing', { limit })
  return said.trayInMin > limit ? refuse('tray-too-far', { found: said.trayInMin, limit }) : null
}

export type NotGivenRefusal = 'dose-settled' | 'dose-void' | 'not-given-reason-missing'

/**
 * Withheld by the nurse or refused by the patient, with the reason; from any state in which it could still be given, and
 * for a signed dose that was overtaken too, so that what was drawn up is accounted for.
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
