/** A bedtime value below the ward's limit with basal insulin due: a snack, and a check in the night. Basal is not stopped. */
import { isBelow } from '../glucose/value.ts'
import { occasionOfReading } from '../order/occasion.ts'
import { INSULIN_CLASS, isInForce } from '../order/order.ts'
import type { Reading } from '../reading/reading.ts'
import { HOUR_MS } from '../time/span.ts'
import { addWardDays, localToUtc, wardDate } from '../time/zone.ts'
import type { CareFacts } from './facts.ts'
import type { Task } from './task.ts'
import type { WatchTime } from './watch-time.ts'

/** How long a bedtime value asks for its snack: until the night's check has long been due (the ward's own figure). */
const ASKS_FOR_MS = 12 * HOUR_MS

/**
 * The bedtime readings of the last half day below the ward's limit (100 mg/dL or 5.6 mmol/L, the ward's own setting),
 * while an order of NPH or long-acting insulin at listed times is in force. A low has its own treatment.
 */
function lowishAtBedtime({ readings, orders, policy }: CareFacts, nowMs: number): readonly Reading[] {
  return readings.filter((reading) => {
    if (reading.takenAtMs < nowMs - ASKS_FOR_MS) return false
    if (!isBelow(reading.glucose, policy.limits.bedtimeSnack) || isBelow(reading.glucose, policy.limits.low))
      return false
    if (occasionOfReading(reading, policy, []).occasion !== 'bedtime') return false
    return orders.some(
      (version) =>
        isInForce(version, reading.takenAtMs) &&
        version.order.scheduled.length > 0 &&
        ['intermediate', 'long-acting'].includes(INSULIN_CLASS[version.order.insulin]),
    )
  })
}

export function bedtimeTasks(facts: CareFacts, nowMs: number): readonly Task[] {
  return lowishAtBedtime(facts, nowMs).map(({ readingId, takenAtMs }) => ({
    kind: 'bedtime-snack',
    key: `bedtime-snack.${readingId}`,
    stayId: facts.stay.stayId,
    subjectId: readingId,
    detail: null,
    sinceMs: takenAtMs,
    dueMs: null,
    chargeFromMs: null,
  }))
}

/** The check at the policy's overnight time (02:30 by default in this rule's source, the ward's own) after the value. */
export function bedtimeWatches(facts: CareFacts, nowMs: number): readonly WatchTime[] {
  const { zone, overnight } = facts.policy
  return lowishAtBedtime(facts, nowMs).map(({ readingId, takenAtMs }) => {
    const date = wardDate(takenAtMs, zone)
    const sameNightMs = localToUtc(date, overnight, zone)
    const dueMs = sameNightMs > takenAtMs ? sameNightMs : localToUtc(addWardDays(date, 1, zone), overnight, zone)
    return { id: `${readingId}b`, dueMs, reason: 'bedtime-below' }
  })
}
