/**
 * Every guard of a proposal, in the order they are shown. A guard that stops leaves no dose; one that holds sets its
 * part to 0; one that warns lets the dose go on beside its warning. What would release each is in views/words/dose.ts.
 */
import type { Fraction, GuardName, GuardResult } from '../dose/dose.ts'
import { alreadyDosed, carbohydrateNeeded, mealTiming, notEating, notEatingRule, stacking } from './meal-guards.ts'
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
import type { DoseFacts, Parts } from './parts.ts'
import {
  criticalHigh,
  lowEventOpen,
  lowGlucose,
  outOfRange,
  readingAge,
  readingInDoubt,
  readingNotEffective,
  readingSuperseded,
  wardUnit,
} from './reading-guards.ts'
import type { ScaleLookup } from './scale.ts'

/**
 * A prescriber who has been told decides over these: by direction they warn. What stays absolute: a reading that was
 * corrected or in error, one from a meter in doubt, one that a newer reading replaced, the ward's single-dose limit.
 */
const DECIDED_BY_PRESCRIBER: ReadonlySet<GuardName> = new Set([
  'reading-age',
  'critical-high-unconfirmed',
  'out-of-range-value',
  'low-glucose',
  'low-event-open',
])

/** The guards that stand before the sum; only the low event's looks at the correction. */
export function guardsBefore(facts: DoseFacts, parts: Parts, correction: Fraction | null): readonly GuardResult[] {
  switch (parts.kind) {
    case 'by-direction':
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
      // long-acting insulin is not held by reading age, meal or stacking: its holds come from its order
      return [
        wardUnit(facts),
        orderInForce(facts),
        orderVerified(facts),
        scheduledTime(facts, parts),
        lowGlucose(facts),
        lowEventOpen(facts, parts, correction),
        scheduledHold(facts, parts),
        alreadyDosed(facts, parts),
        insulinElsewhereAsked(facts),
      ]
    case 'from-reading':
    case 'after-meal':
      return [
        readingNotEffective(facts),
        readingSuperseded(facts),
        readingInDoubt(facts),
        readingAge(facts),
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
        alreadyDosed(facts, parts),
        insulinElsewhereAsked(facts),
      ]
  }
}

/** The guards that need the correction's step and amount. */
export function guardsOnCorrection(
  facts: DoseFacts,
  parts: Parts,
  lookup: ScaleLookup | null,
  correction: Fraction | null,
): readonly GuardResult[] {
  return parts.kind === 'from-reading' ? [scaleSaysCall(lookup), stacking(facts, parts, correction)] : []
}

/** The guard on the whole, after rounding. */
export function guardOnUnits(facts: DoseFacts, units: number): GuardResult {
  return singleDose(facts, units)
}

function byDirection(found: GuardResult): GuardResult {
  return found.outcome === 'stops' && DECIDED_BY_PRESCRIBER.has(found.guard) ? { ...found, outcome: 'warns' } : found
}

function named(found: GuardResult | null): readonly GuardResult[] {
  return found === null ? [] : [found]
}
