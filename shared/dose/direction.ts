/** A prescriber's direction for one dose: who, read back, why. It leads to a dose, and to a second check all the same. */
import { INSULIN_CLASS, type InsulinName } from '../order/order.ts'
import { isDeliverable } from '../order/scale.ts'
import { wardLimit } from '../order/validate.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import { DAY_MS, MINUTE_MS } from '../time/span.ts'
import type { Direction, EarlierDose, LowForDose } from './dose.ts'

export type DirectionRefusal =
  | 'direction-not-read-back'
  | 'direction-prescriber-missing'
  | 'direction-why-missing'
  | 'direction-units-not-deliverable'
  | 'direction-above-ward-limit'
  | 'direction-not-told-of-earlier'

declare module '../outcome.ts' {
  interface RefusalDetails {
    /** Units. */
    'direction-above-ward-limit': { units: number; limit: number }
  }
}

/** What the prescriber has to know before a direction: insulin that still acts, and a low that is followed. */
export type Bearing = { readonly doses: readonly EarlierDose[]; readonly low: LowForDose }

/**
 * The insulin that bears on a directed dose: each rapid or regular dose within the ward's interval, and the last dose of
 * each other class in 24 hours. Newest first.
 */
export function bearingOn(given: readonly EarlierDose[], low: LowForDose, policy: WardPolicy, nowMs: number): Bearing {
  const newestFirst = given
    .filter(({ givenAtMs }) => givenAtMs > nowMs - DAY_MS && givenAtMs <= nowMs)
    .sort((a, b) => b.givenAtMs - a.givenAtMs)
  const doses = newestFirst.filter((dose, index) => {
    const kind = INSULIN_CLASS[dose.insulin]
    const interval = policy.dose.correctionIntervalMin[kind]
    if (interval !== null) return nowMs - dose.givenAtMs < interval * MINUTE_MS
    return newestFirst.findIndex(({ insulin }) => INSULIN_CLASS[insulin] === kind) === index
  })
  return { doses, low }
}

/**
 * Accepts a direction in whole or half units, not above the ward's single-dose limit, read back to who gave it.
 * 0 units is a direction too ("give none"). The prescriber decides knowing what was given and of a low: the nurse
 * confirms that both were told.
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
  /** What bears on the dose now (`bearingOn`), and whether the prescriber was told of it. */
  readonly earlier: Bearing
  readonly toldOfEarlier: boolean
}): Outcome<Direction, DirectionRefusal> {
  if (!given.readBack) return refuse('direction-not-read-back')
  const prescriber = given.prescriber.trim()
  if (prescriber === '') return refuse('direction-prescriber-missing')
  const why = given.why.trim()
  if (why === '') return refuse('direction-why-missing')
  if (!isDeliverable(given.units)) return refuse('direction-units-not-deliverable')
  const limit = wardLimit(given.insulin, given.policy)
  if (given.units > limit) return refuse('direction-above-ward-limit', { units: given.units, limit })
  const { earlier } = given
  const hasEarlier = earlier.doses.length > 0 || earlier.low !== 'none'
  if (given.units > 0 && hasEarlier && !given.toldOfEarlier) return refuse('direction-not-told-of-earlier')
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
    ...(hasEarlier && given.toldOfEarlier
      ? { toldOf: { doseIds: earlier.doses.map(({ doseId }) => doseId), low: earlier.low } }
      : {}),
  })
}
