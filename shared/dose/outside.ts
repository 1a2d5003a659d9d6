/** Insulin given elsewhere, or on paper while the service was down: a fact entered afterwards, past the guards. */
import type { InsulinName } from '../order/order.ts'
import { isDeliverable } from '../order/scale.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { EarlierDose, OutsideDose } from './dose.ts'
import { DAY_MS } from '../time/span.ts'

/** Older than this it bears on nothing that the service works out. */
const OLDEST_DAYS = 7

export type OutsideDoseRefusal =
  | 'outside-units-not-deliverable'
  | 'outside-in-future'
  | 'outside-too-old'
  | 'outside-before-admission'
  | 'outside-checker-missing'
  | 'outside-same-person'
  | 'outside-already-charted'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'outside-too-old': { days: number }
  }
}

/**
 * Accepts a dose above 0 in whole or half units, given in the last 7 days and not in the future. One charted on paper
 * was given during the stay and names both signers. The same insulin at the same minute is charted once.
 */
export function recordOutsideDose(given: {
  readonly outsideDose: OutsideDose
  readonly admittedAtMs: number
  readonly earlierDoses: readonly EarlierDose[]
}): Outcome<OutsideDose, OutsideDoseRefusal> {
  const { outsideDose, admittedAtMs, earlierDoses } = given
  const { units, givenAtMs, chartedAtMs, source, givenBy, checkedBy, insulin } = outsideDose
  if (!isDeliverable(units) || units === 0 || units > 100) return refuse('outside-units-not-deliverable')
  if (givenAtMs > chartedAtMs) return refuse('outside-in-future')
  if (givenAtMs < chartedAtMs - OLDEST_DAYS * DAY_MS) return refuse('outside-too-old', { days: OLDEST_DAYS })
  if (source === 'paper' && givenAtMs < admittedAtMs) return refuse('outside-before-admission')
  if (source === 'paper' && checkedBy === null) return refuse('outside-checker-missing')
  if (checkedBy !== null && checkedBy.toLowerCase() === givenBy.toLowerCase()) return refuse('outside-same-person')
  if (alreadyCharted(earlierDoses, insulin, givenAtMs)) return refuse('outside-already-charted')
  return accept(outsideDose)
}

function alreadyCharted(earlierDoses: readonly EarlierDose[], insulin: InsulinName, givenAtMs: number): boolean {
  return earlierDoses.some(
    (dose) => dose.insulin === insulin && Math.floor(dose.givenAtMs / 60_000) === Math.floor(givenAtMs / 60_000),
  )
}
