/** A prescriber's direction for one dose: who, read back, why. It leads to a dose, and to a second check all the same. */
import type { InsulinName } from '../order/order.ts'
import { isDeliverable } from '../order/scale.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import type { Direction } from './dose.ts'

export type DirectionRefusal =
  | 'direction-not-read-back'
  | 'direction-prescriber-missing'
  | 'direction-why-missing'
  | 'direction-units-not-deliverable'
  | 'direction-above-ward-limit'

declare module '../outcome.ts' {
  interface RefusalDetails {
    /** Units. */
    'direction-above-ward-limit': { units: number; limit: number }
  }
}

/**
 * Accepts a direction in whole or half units, not above the ward's single-dose limit, read back to who gave it.
 * 0 units is a direction too ("give none").
 */
export function recordDirection(given: {
  readonly directionId: string
  readonly reading: Reading
  readonly prescriber: string
  readonly readBack: boolean
  readonly why: string
  readonly insulin: InsulinName
  readonly units: number
  readonly byId: string
  readonly nowMs: number
  readonly policy: WardPolicy
}): Outcome<Direction, DirectionRefusal> {
  if (!given.readBack) return refuse('direction-not-read-back')
  const prescriber = given.prescriber.trim()
  if (prescriber === '') return refuse('direction-prescriber-missing')
  const why = given.why.trim()
  if (why === '') return refuse('direction-why-missing')
  if (!isDeliverable(given.units)) return refuse('direction-units-not-deliverable')
  const limit = given.policy.dose.singleDoseLimit
  if (given.units > limit) return refuse('direction-above-ward-limit', { units: given.units, limit })
  const { directionId, reading, insulin, units, byId, nowMs } = given
  return accept({
    directionId,
    stayId: reading.stayId,
    readingId: reading.readingId,
    prescriber,
    readBack: true,
    why,
    units,
    insulin,
    byId,
    atMs: nowMs,
  })
}
