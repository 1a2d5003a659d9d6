/** The guards on the size of a dose and of a meal. No published universal limit exists: each is a ward setting. */
import type { GuardResult } from '../dose/dose.ts'
import { MINUTE_MS } from '../time/span.ts'
import { INSULIN_CLASS, type InsulinClass } from './order.ts'
import type { DoseFacts, Parts } from './parts.ts'
import { result } from './reading-guards.ts'

/**
 * A dose above the ward's asking limit for its class, or long-acting insulin above its limit for the patient's weight,
 * stops until the nurse types the units again (`unitsAgain`). Units; the weight in kilograms.
 */
export function largeDose({ insulin, policy, inputs }: DoseFacts, units: number): GuardResult {
  const kind = INSULIN_CLASS[insulin]
  const limit = policy.dose.classLimits[kind].ask
  const { weightKg, unitsAgain } = inputs
  const outcome = unitsAgain === units ? 'warns' : 'stops'
  if (units > limit) return result('large-dose', outcome, { found: units, limit, per: kind })
  if (kind === 'long-acting' && weightKg !== undefined) {
    const forWeight = tenths(policy.dose.longActingAskPerKg * weightKg)
    if (units > forWeight)
      return result('large-dose', outcome, { found: units, limit: forWeight, per: 'weight', weightKg })
  }
  return result('large-dose', 'passed')
}

/** All insulin of 24 hours with this dose, above the ward's units for each kilogram: a warning, never a stop. */
export function dayTotal({ policy, inputs }: DoseFacts, units: number): GuardResult {
  const { weightKg, dayUnits = 0 } = inputs
  if (weightKg === undefined || units === 0) return result('day-total', 'passed')
  const found = dayUnits + units
  const limit = tenths(policy.dose.dayWarnPerKg * weightKg)
  return found > limit ? result('day-total', 'warns', { found, limit, weightKg }) : result('day-total', 'passed')
}

/** Grams above the ward's limits: typed again, or refused. 220 g typed for 22 g would give ten times the meal part. */
export function largeMeal({ order, policy, inputs }: DoseFacts, parts: Parts): GuardResult {
  const grams = inputs.meal?.carbohydrateGrams ?? null
  if (grams === null || !parts.meal || order?.order.meal?.kind !== 'ratio') return result('large-meal', 'passed')
  const { mealGramsAsk: ask, mealGramsStop: stop } = policy.dose
  if (grams > stop) return result('large-meal', 'stops', { found: grams, limit: stop, kind: 'stop' })
  if (grams <= ask) return result('large-meal', 'passed')
  return result('large-meal', inputs.gramsAgain === grams ? 'warns' : 'stops', {
    found: grams,
    limit: ask,
    kind: 'ask',
  })
}

const SHORT: ReadonlySet<InsulinClass> = new Set(['rapid', 'regular'])

/**
 * Rapid or regular insulin by direction: the sum of these within the correction interval, with this dose. Above the
 * ward's multiple of the asking limit the second check is the charge nurse's.
 */
export function directedSum({ insulin, policy, inputs }: DoseFacts, units: number): GuardResult {
  const kind = INSULIN_CLASS[insulin]
  if (inputs.directionId === null || units === 0 || !SHORT.has(kind)) return result('directed-sum', 'passed')
  const { correctionIntervalMin, classLimits, directedSumTimes } = policy.dose
  const sum = inputs.earlierDoses
    .filter((dose) => {
      const other = INSULIN_CLASS[dose.insulin]
      const minutes = Math.max(correctionIntervalMin[kind] ?? 0, correctionIntervalMin[other] ?? 0)
      return SHORT.has(other) && inputs.nowMs - dose.givenAtMs < minutes * MINUTE_MS
    })
    .reduce((total, dose) => total + dose.units, units)
  const limit = classLimits[kind].ask * directedSumTimes
  return sum > limit ? result('directed-sum', 'warns', { found: sum, limit }) : result('directed-sum', 'passed')
}

/** A limit for a weight, without the remainder of a binary fraction. */
function tenths(units: number): number {
  return Math.round(units * 10) / 10
}
