/**
 * Turns a reading, an order and the facts of the moment into a proposed dose with its working, or into the guards that
 * stop it. The function is pure, so the same facts always give the same answer. `recomputeDose` beside this file checks
 * that.
 */
import type { GuardResult, Working, WorkingTerm } from '../dose/dose.ts'
import { isNumeric } from '../glucose/value.ts'
import { add, fractionOf, roundUnits, ZERO } from './fraction.ts'
import { guardsBefore, guardsOnCorrection, guardsOnUnits } from './guards.ts'
import type { InsulinOrder, Rounding } from './order.ts'
import { isNotEating, partsOf, type DoseFacts, type Parts } from './parts.ts'
import { CURRENT_RULES, type RulesVersion } from './rules.ts'
import { decideCorrection, mealFor, type CorrectionDecision, type CorrectionPart } from './terms.ts'

export type { DoseFacts } from './parts.ts'

/** A dose (possibly 0 units), or the guard that stops it, with the working up to there. */
export type Proposal =
  | { readonly kind: 'dose'; readonly working: Working }
  | { readonly kind: 'stopped'; readonly guards: readonly GuardResult[]; readonly working: Working }

/** A direction uses steps that a pen can be set to, so nothing is left to round. */
const DIRECTION_ROUNDING: Rounding = { to: 0.5, ties: 'down' }

/**
 * Proposes the dose. Correction and meal part are exact fractions. They are added, limited to 0 or above, and rounded
 * once at the end. Only a guard that stops leaves no dose. A held part counts as 0 and stays in the working. The
 * function never repairs or guesses. `rules` is the version that the dose is calculated with.
 */
export function proposeDose(facts: DoseFacts, rules: RulesVersion = CURRENT_RULES): Proposal {
  const parts = partsOf(facts)
  const decided = parts.correction ? correctionDecision(facts) : null
  const correction = decided?.part ?? null
  const before = guardsBefore(facts, parts, correction?.amount ?? null, rules)
  const onCorrection = guardsOnCorrection(facts, parts, decided)
  const found = [...before, ...onCorrection]
  const terms = termsOf(facts, parts, correction, found)
  const sum = terms.reduce((total, term) => (term.held ? total : add(total, term.amount)), ZERO)
  const rounding =
    facts.order === null || parts.kind === 'by-direction' ? DIRECTION_ROUNDING : facts.order.order.rounding
  const units = roundUnits(sum, rounding)
  const guards = [...found, ...guardsOnUnits(facts, units, rules)]
  const also = correction?.lookup?.also ?? null
  const working: Working = {
    rules,
    orderId: facts.order?.orderId ?? facts.inputs.directionId ?? '',
    orderVersion: facts.order?.version ?? 0,
    policyVersion: facts.policyVersion,
    readingId: facts.reading?.readingId ?? null,
    glucose: facts.reading?.glucose ?? null,
    occasion: facts.inputs.occasion,
    terms,
    sum,
    rounding,
    units,
    guards,
    also: also === null ? [] : [also],
  }
  const stops = guards.some((guard) => guard.outcome === 'stops')
  return stops ? { kind: 'stopped', guards, working } : { kind: 'dose', working }
}

function termsOf(
  facts: DoseFacts,
  parts: Parts,
  correction: CorrectionPart | null,
  guards: readonly GuardResult[],
): readonly WorkingTerm[] {
  const { inputs } = facts
  if (parts.kind === 'by-direction') {
    const units = inputs.directedUnits ?? 0
    return [{ part: 'direction', units, directionId: inputs.directionId ?? '', amount: fractionOf(units), held: false }]
  }
  if (parts.scheduled !== null)
    return [
      {
        part: 'scheduled',
        units: inputs.instead?.units ?? parts.scheduled.units,
        time: parts.scheduled.time,
        amount: fractionOf(inputs.instead?.units ?? parts.scheduled.units),
        held: false,
      },
    ]
  const terms: WorkingTerm[] = []
  const holds = (outcome: GuardResult['outcome']): boolean => guards.some((guard) => guard.outcome === outcome)
  if (correction !== null) terms.push({ ...correction.term, held: holds('holds-correction') })
  const meal = parts.meal && facts.order !== null ? mealTerm(facts.order.order, facts, holds('holds-meal')) : null
  if (meal !== null) terms.push(meal)
  return terms
}

/** Null when nothing can be corrected: no number, or another unit. */
function correctionDecision({ order, reading, inputs }: DoseFacts): CorrectionDecision | null {
  if (order === null || reading === null || !isNumeric(reading.glucose) || reading.glucose.unit !== order.order.unit)
    return null
  return decideCorrection(order.order, reading.glucose, {
    atBedtime: inputs.occasion === 'bedtime',
    notEating: isNotEating(inputs),
  })
}

/** Null when the grams are unknown: their guard has stopped the dose, or the meal part is held. */
function mealTerm(order: InsulinOrder, { inputs }: DoseFacts, held: boolean): WorkingTerm | null {
  if (inputs.occasion === null) return null
  return mealFor(
    order,
    inputs.occasion,
    { grams: inputs.meal?.carbohydrateGrams ?? null, sharePercent: inputs.meal?.shareEatenPercent ?? null },
    held,
  )
}
