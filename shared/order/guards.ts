/**
 * Every guard of a proposal, in display order. A guard that stops leaves no dose. One that holds sets its part to 0.
 * One that warns allows the dose with its warning. views/words/dose.ts says what would release each.
 */
import type { Fraction, GuardName, GuardResult } from '../dose/dose.ts'
import { directedSum, largeDose, largeMeal, dayTotal } from './limit-guards.ts'
import { alreadyDosed, carbohydrateNeeded, mealTiming, notEating, notEatingRule, stacking } from './meal-guards.ts'
import { basalGap, mealtimeGuards } from './mealtime-guards.ts'
import type { RulesVersion } from './rules.ts'
import {
  insulinElsewhereAsked,
  occasionNotOrdered,
  orderInForce,
  orderVerified,
  scaleSaysCall,
  scheduledHold,
  scheduledTime,
  singleDose,
} from './order-guards.ts'
import { INSULIN_CLASS } from './order.ts'
import type { DoseFacts, Parts } from './parts.ts'
import {
  criticalHigh,
  lowEventOpen,
  lowGlucose,
  outOfRange,
  readingAge,
  readingAgeToGive,
  readingInDoubt,
  readingNotEffective,
  readingSuperseded,
  wardUnit,
} from './reading-guards.ts'
import type { CorrectionDecision } from './terms.ts'
import { wordGuards } from './word-guards.ts'

/**
 * A prescriber who has been told may decide these: by direction they only warn. The other guards always stop. They are
 * for a reading that was corrected or in error, was replaced by a newer one, or came from a meter in doubt. The ward's
 * single-dose limit always stops too.
 */
const DECIDED_BY_PRESCRIBER: ReadonlySet<GuardName> = new Set([
  'reading-age',
  'critical-high-unconfirmed',
  'out-of-range-value',
  'low-glucose',
  'low-event-open',
])

/** The guards evaluated before the sum. Only the low event's guard uses the correction. */
export function guardsBefore(
  facts: DoseFacts,
  parts: Parts,
  correction: Fraction | null,
  rules: RulesVersion,
): readonly GuardResult[] {
  switch (parts.kind) {
    case 'by-direction':
      if (rules > 1)
        return [
          ...directionGuards(facts, parts, correction),
          ...(rules < 3 ? [] : [basalGap(facts, parts), ...wordGuards(facts, parts)]),
        ]
      return [
        readingNotEffective(facts),
        readingSuperseded(facts),
        readingInDoubt(facts),
        readingAge(facts),
        outOfRange(facts),
        lowGlucose(facts),
        lowEventOpen(facts, parts, correction),
        criticalHigh(facts),
        alreadyDosed(facts, parts),
      ].map(byDirection)
    case 'scheduled':
      // reading age, meal and stacking do not hold long-acting insulin: its holds come from its order
      return [
        wardUnit(facts),
        orderInForce(facts),
        orderVerified(facts),
        scheduledTime(facts, parts, rules),
        lowGlucose(facts),
        lowEventOpen(facts, parts, correction),
        scheduledHold(facts, parts),
        alreadyDosed(facts, parts),
        insulinElsewhereAsked(facts),
        ...(rules < 3 ? [] : [basalGap(facts, parts), ...mealtimeGuards(facts, parts), ...wordGuards(facts, parts)]),
      ]
    case 'from-reading':
    case 'after-meal':
      return [
        readingNotEffective(facts),
        readingSuperseded(facts),
        readingInDoubt(facts),
        rules === 1 ? readingAge(facts) : readingAgeToGive(facts, parts),
        wardUnit(facts),
        outOfRange(facts),
        lowGlucose(facts),
        lowEventOpen(facts, parts, correction),
        criticalHigh(facts),
        orderInForce(facts),
        orderVerified(facts),
        occasionNotOrdered(facts, parts),
        mealTiming(facts, parts),
        notEating(facts, parts),
        ...named(notEatingRule(facts, parts)),
        carbohydrateNeeded(facts, parts),
        ...(rules === 1 ? [] : [largeMeal(facts, parts)]),
        alreadyDosed(facts, parts),
        insulinElsewhereAsked(facts),
        ...(rules < 3 ? [] : wordGuards(facts, parts)),
      ]
  }
}

/** The guards that need what the order decides about the correction. */
export function guardsOnCorrection(
  facts: DoseFacts,
  parts: Parts,
  decided: CorrectionDecision | null,
): readonly GuardResult[] {
  return parts.kind === 'from-reading'
    ? [scaleSaysCall(decided), stacking(facts, parts, decided?.part?.amount ?? null)]
    : []
}

/** The guards on the total, after rounding. */
export function guardsOnUnits(facts: DoseFacts, units: number, rules: RulesVersion): readonly GuardResult[] {
  return rules === 1
    ? [singleDose(facts, units, rules)]
    : [singleDose(facts, units, rules), largeDose(facts, units), dayTotal(facts, units), directedSum(facts, units)]
}

/**
 * The guards of a direction. "Give none" passes them all: it is the way out of a stop. While a low waits for its
 * treatment no insulin is given. Until it has recovered rapid and regular insulin stop; longer-acting insulin warns,
 * since the prescriber was told of the low.
 */
function directionGuards(facts: DoseFacts, parts: Parts, correction: Fraction | null): readonly GuardResult[] {
  const guards = [
    readingNotEffective(facts),
    readingSuperseded(facts),
    readingInDoubt(facts),
    readingAge(facts),
    outOfRange(facts),
    lowGlucose(facts),
    lowEventOpen(facts, parts, correction),
    criticalHigh(facts),
    alreadyDosed(facts, parts),
  ]
  const { inputs, insulin } = facts
  const isNone = inputs.directedUnits === 0
  const stopsShort = INSULIN_CLASS[insulin] === 'rapid' || INSULIN_CLASS[insulin] === 'regular'
  const lowHolds = inputs.lowTreatmentOwed === true || (inputs.low === 'open' && stopsShort)
  return guards.map((found) => {
    if (found.outcome !== 'stops') return found
    if (isNone) return { ...found, outcome: 'warns' }
    if (!DECIDED_BY_PRESCRIBER.has(found.guard)) return found
    if (found.guard === 'low-event-open' && lowHolds) return found
    return { ...found, outcome: 'warns' }
  })
}

function byDirection(found: GuardResult): GuardResult {
  return found.outcome === 'stops' && DECIDED_BY_PRESCRIBER.has(found.guard) ? { ...found, outcome: 'warns' } : found
}

function named(found: GuardResult | null): readonly GuardResult[] {
  return found === null ? [] : [found]
}
