/** The guards that look at the order, the schedule and the size of the dose. */
import { SCHEDULED_WINDOW_MIN } from '../check/scheduled.ts'
import type { GuardResult } from '../dose/dose.ts'
import { formatGlucose, isBelow } from '../glucose/value.ts'
import type { DoseFacts, Parts } from './parts.ts'
import { result, stopsIf } from './reading-guards.ts'
import { boundText, type ScaleLookup } from './scale.ts'
import { singleDoseLimit } from './validate.ts'
import { MINUTE_MS } from '../time/span.ts'

/** Not started, expired, stopped or replaced. */
export function orderInForce({ order, inputs }: DoseFacts): GuardResult {
  const stopsAtMs = order?.order.stopsAtMs ?? null
  const expired = stopsAtMs !== null && inputs.nowMs >= stopsAtMs
  return stopsIf(
    !inputs.orderInForce,
    'order-in-force',
    expired ? { found: 'expired', foundMs: stopsAtMs } : { found: inputs.orderInForce ? 'in-force' : 'ended' },
  )
}

/** A second person verifies the transcription before the order can produce a dose. */
export function orderVerified({ inputs }: DoseFacts): GuardResult {
  return stopsIf(!inputs.orderVerified, 'order-verified')
}

/** The order says nothing for this round: nothing of it is in play, and nothing waits for the end of the meal. */
export function occasionNotOrdered({ inputs }: DoseFacts, parts: Parts): GuardResult {
  return stopsIf(!parts.correction && !parts.meal && !parts.mealLater, 'occasion-not-ordered', {
    found: inputs.occasion ?? 'none',
    ownOccasion: inputs.atOrderOccasion ? 'yes' : 'no',
  })
}

/**
 * A scheduled dose opens an hour before its listed time, is late past the policy's minutes for timed checks, and an
 * hour after its time the prescriber is asked: it is not dropped, and not given as if nothing had happened.
 */
export function scheduledTime({ policy, inputs }: DoseFacts, parts: Parts): GuardResult {
  const dueMs = inputs.scheduledDueMs
  if (parts.scheduled === null || dueMs === null) return result('scheduled-time', 'stops', { found: 'not-ordered' })
  const windowMs = SCHEDULED_WINDOW_MIN * MINUTE_MS
  const { nowMs } = inputs
  if (nowMs < dueMs - windowMs)
    return result('scheduled-time', 'stops', { found: 'early', dueMs, opensMs: dueMs - windowMs })
  if (nowMs >= dueMs + windowMs)
    return result('scheduled-time', 'stops', { found: 'closed', dueMs, limit: SCHEDULED_WINDOW_MIN })
  const lateAfter = policy.windows.timed.lateAfter
  return result('scheduled-time', nowMs > dueMs + lateAfter * MINUTE_MS ? 'warns' : 'passed', {
    found: 'open',
    dueMs,
    limit: lateAfter,
  })
}

/** The order's own hold of a scheduled dose. A hold with no reading to hold it against, or with one in doubt, asks for one; an old one is named. */
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

/** A step that says "no dose, call" is not 0 units: it stops the dose. */
export function scaleSaysCall(lookup: ScaleLookup | null): GuardResult {
  const calls = lookup?.answer === 'call'
  return stopsIf(calls, 'scale-says-call', calls && lookup.also !== null ? { also: lookup.also } : {})
}

/**
 * The order's limit or the ward's, whichever is lower; for a direction the ward's alone, and that one is absolute: a
 * misheard "50" for "15" is what it is there for. No published universal maximum exists.
 */
export function singleDose({ order, policy, inputs }: DoseFacts, units: number): GuardResult {
  const limit =
    order === null || inputs.directionId !== null ? policy.dose.singleDoseLimit : singleDoseLimit(order.order, policy)
  return stopsIf(units > limit, 'single-dose-limit', { found: units, limit })
}
