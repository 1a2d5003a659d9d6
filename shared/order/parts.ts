/** Which parts of an order apply to a proposal. The calculation and every guard ask this first. */
import { MEAL_OF, type Occasion } from '../check/check.ts'
import type { DoseKind, ProposalInputs } from '../dose/dose.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import type { InsulinName, InsulinOrder, OrderVersion, ScheduledDose } from './order.ts'

/** The facts behind a proposal. `order` is null only for a direction without an order in force. */
export type DoseFacts = {
  readonly order: OrderVersion | null
  /** The order's insulin, or the one that the prescriber's direction names. */
  readonly insulin: InsulinName
  readonly policy: WardPolicy
  readonly policyVersion: number
  /** The reading behind the dose. For a scheduled dose it is the newest one, for the order's hold. Null: none. */
  readonly reading: Reading | null
  readonly inputs: ProposalInputs
}

export type Parts = {
  readonly kind: DoseKind
  readonly correction: boolean
  /** The meal part is part of this dose. */
  readonly meal: boolean
  /** The order gives the meal part after eating, and the share eaten is not known yet. */
  readonly mealLater: boolean
  readonly scheduled: ScheduledDose | null
}

/** The kind of dose for these inputs. */
export function doseKind(order: InsulinOrder | null, inputs: ProposalInputs): DoseKind {
  if (inputs.directionId !== null) return 'by-direction'
  if (inputs.scheduledTime !== null) return 'scheduled'
  const share = inputs.meal?.shareEatenPercent ?? null
  return order?.mealTiming === 'after-by-share' && share !== null ? 'after-meal' : 'from-reading'
}

/** True when the order has a meal part at the occasion. */
export function hasMealPart(order: InsulinOrder, occasion: Occasion): boolean {
  if (order.meal === null || MEAL_OF[occasion] === null || !order.occasions.includes(occasion)) return false
  return order.meal.kind === 'ratio' || order.meal.units[occasion] !== undefined
}

/** True when the order has its own correction rule for a patient who does not eat. */
export function hasNotEatingRule(order: InsulinOrder): boolean {
  return order.correction !== null && order.notEating !== undefined && order.notEating.kind !== 'correction-as-ordered'
}

/** True when the correction at the occasion depends on whether the patient eats, so the nurse must be asked. */
export function asksEating(order: InsulinOrder, occasion: Occasion): boolean {
  return hasNotEatingRule(order) && MEAL_OF[occasion] !== null && order.occasions.includes(occasion)
}

/** Nil by mouth, or will not eat. */
export function isNotEating(inputs: ProposalInputs): boolean {
  return inputs.nilByMouth || inputs.meal?.willEat === 'no'
}

/**
 * The parts that apply. A dose after the meal has the meal part only; the correction belongs to the dose before it. The
 * meal part applies only at the order's own occasion, so that an extra reading never covers a meal twice.
 */
export function partsOf({ order, inputs }: DoseFacts): Parts {
  const written = order?.order ?? null
  const kind = doseKind(written, inputs)
  const none: Parts = { kind, correction: false, meal: false, mealLater: false, scheduled: null }
  if (written === null || kind === 'by-direction') return none
  if (kind === 'scheduled')
    return { ...none, scheduled: written.scheduled.find((dose) => dose.time === inputs.scheduledTime) ?? null }
  const occasion = inputs.occasion
  if (occasion === null || !written.occasions.includes(occasion)) return none
  const meal = inputs.atOrderOccasion && hasMealPart(written, occasion)
  if (kind === 'after-meal') return { ...none, meal }
  const later = written.mealTiming === 'after-by-share'
  return { ...none, correction: written.correction !== null, meal: meal && !later, mealLater: meal && later }
}
