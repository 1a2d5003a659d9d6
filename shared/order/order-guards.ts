/** The guards on the order, the schedule and the size of the dose. */
import { SCHEDULED_WINDOW_MIN } from '../check/scheduled.ts'
import type { GuardDetails, GuardResult } from '../dose/dose.ts'
import { formatGlucose, isBelow } from '../glucose/value.ts'
import { isBasal } from './order.ts'
import type { DoseFacts, Parts } from './parts.ts'
import { result, stopsIf } from './reading-guards.ts'
import type { RulesVersion } from './rules.ts'
import { boundText } from './scale.ts'
import type { CorrectionDecision } from './terms.ts'
import { wardLimit } from './validate.ts'
import { MINUTE_MS } from '../time/span.ts'

/** The order has not started, or it has expired, stopped or been replaced. */
export function orderInForce({ order, inputs }: DoseFacts): GuardResult {
  const stopsAtMs = order?.order.stopsAtMs ?? null
  const expired = stopsAtMs !== null && inputs.nowMs >= stopsAtMs
  return stopsIf(
    !inputs.orderInForce,
    'order-in-force',
    expired ? { found: 'expired', foundMs: stopsAtMs } : { found: inputs.orderInForce ? 'in-force' : 'ended' },
  )
}

/** A second person must verify the transcription before the order can produce a dose. */
export function orderVerified({ inputs }: DoseFacts): GuardResult {
  return stopsIf(!inputs.orderVerified, 'order-verified')
}

/** The order has no dose for this round: none of its parts applies, and no meal part waits for the end of the meal. */
export function occasionNotOrdered({ inputs }: DoseFacts, parts: Parts): GuardResult {
  return stopsIf(!parts.correction && !parts.meal && !parts.mealLater, 'occasion-not-ordered', {
    found: inputs.occasion ?? 'none',
    ownOccasion: inputs.atOrderOccasion ? 'yes' : 'no',
  })
}

/**
 * A scheduled dose opens an hour before its listed time and is late after the policy's minutes for timed checks. An
 * hour after its time the prescriber is asked: NPH and long-acting insulin may be given up to the ward's minutes late (4
 * h, hospital medication timing; S). It is neither dropped nor given as if it were on time.
 */
export function scheduledTime({ insulin, policy, inputs }: DoseFacts, parts: Parts, rules: RulesVersion): GuardResult {
  const dueMs = inputs.scheduledDueMs
  if (parts.scheduled === null || dueMs === null) return result('scheduled-time', 'stops', { found: 'not-ordered' })
  const windowMs = SCHEDULED_WINDOW_MIN * MINUTE_MS
  const { nowMs } = inputs
  if (nowMs < dueMs - windowMs)
    return result('scheduled-time', 'stops', { found: 'early', dueMs, opensMs: dueMs - windowMs })
  const mayBeLateMin = rules >= 3 && isBasal(insulin) ? policy.dose.basalLateMin : SCHEDULED_WINDOW_MIN
  if (nowMs >= dueMs + mayBeLateMin * MINUTE_MS)
    return result('scheduled-time', 'stops', { found: 'closed', dueMs, limit: mayBeLateMin })
  const lateAfter = policy.windows.timed.lateAfter
  return result('scheduled-time', nowMs > dueMs + lateAfter * MINUTE_MS ? 'warns' : 'passed', {
    found: 'open',
    dueMs,
    limit: lateAfter,
  })
}

/**
 * The order's own hold of a scheduled dose. A hold needs a reading that is not in doubt; otherwise it asks for a new
 * one. An old reading is named.
 */
export function scheduledHold({ order, policy, reading, inputs }: DoseFacts, parts: Parts): GuardResult {
  const holdBelow = parts.scheduled?.holdBelow ?? null
  if (holdBelow === null || order === null) return result('scheduled-hold', 'passed')
  const limit = `${boundText(holdBelow, order.order.unit)} ${order.order.unit}`
  if (reading === null || inputs.readingTakenAtMs === null)
    return result('scheduled-hold', 'stops', { found: 'no-reading', limit })
  const ageMin = Math.floor((inputs.nowMs - inputs.readingTakenAtMs) / MINUTE_MS)
  const details = { found: formatGlucose(reading.glucose), limit, ageMin }
  if (reading.glucose.unit === order.order.unit && isBelow(reading.glucose, holdBelow))
    return result('scheduled-hold', 'stops', details)
  if (inputs.meterFailedAtMs !== undefined || inputs.holdReadingInDoubt === true)
    return result('scheduled-hold', 'stops', {
      ...details,
      inDoubt: inputs.meterFailedAtMs === undefined ? ('charted' as const) : ('meter-failed' as const),
    })
  return result('scheduled-hold', ageMin > policy.dose.readingAgeMaxMin ? 'warns' : 'passed', details)
}

/** At the first dose and after a transfer the nurse is asked whether insulin was given elsewhere. */
export function insulinElsewhereAsked({ inputs }: DoseFacts): GuardResult {
  return stopsIf(!inputs.elsewhereAsked, 'insulin-elsewhere-asked')
}

/**
 * A step that says "no dose, call" is not 0 units: it stops the dose. Where the order holds all for a patient who does
 * not eat, the hold gives 0 units and the call stays owed: it warns.
 */
export function scaleSaysCall(decided: CorrectionDecision | null): GuardResult {
  if (decided?.calls !== true) return result('scale-says-call', 'passed')
  const also = decided.part?.lookup?.also ?? null
  const details: GuardDetails['scale-says-call'] = {
    ...(also === null ? {} : { also }),
    ...(decided.held ? { held: 'not-eating' as const } : {}),
  }
  return result('scale-says-call', decided.noDose ? 'stops' : 'warns', details)
}

/**
 * The lower of the order's and the ward's limit. A direction is held to the ward's alone. That limit is absolute: it
 * catches a "15" misheard as "50". No published universal maximum exists.
 */
export function singleDose(
  { order, insulin, policy, inputs }: DoseFacts,
  units: number,
  rules: RulesVersion,
): GuardResult {
  const wards = rules === 1 ? policy.dose.singleDoseLimit : wardLimit(insulin, policy)
  const limit = order === null || inputs.directionId !== null ? wards : Math.min(order.order.maxSingleDose, wards)
  return stopsIf(units > limit, 'single-dose-limit', { found: units, limit })
}
