/** Strip lots of a ward: their last day, and the two control ranges on the label. */
import { METER_RANGE, type GlucoseUnit } from '../glucose/value.ts'
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome, type Refused } from '../outcome.ts'
import { addDays, isCalendarDate, wardDate } from '../time/zone.ts'
import { isLotExpired } from './control.ts'
import type { ControlRange } from './meter.ts'

export type StripLotEntry = {
  readonly lot: string
  /** Last good day, YYYY-MM-DD. */
  readonly expiresOn: string
  readonly level1: ControlRange
  readonly level2: ControlRange
  /** The person confirms that the last day has passed and that the lot was used anyway. */
  readonly knownExpired: boolean
  readonly byId: string
}

export type StripLotFacts = {
  readonly ward: { readonly wardId: string; readonly unit: GlucoseUnit; readonly zone: string } | undefined
  /** The same lot if the ward already has it. */
  readonly existing: { readonly expiresOn: string; readonly ranges: unknown } | undefined
}

export type StripLotRefusal =
  | 'lot-ward-unknown'
  | 'lot-date-wrong'
  | 'lot-date-far-off'
  | 'lot-expired'
  | 'lot-already-there'
  | 'lot-other-date'
  | 'level1-turned-round'
  | 'level2-turned-round'
  | 'level2-not-above'
  | 'level1-out-of-range'
  | 'level2-out-of-range'
  | 'ranges-other-unit'

declare module '../outcome.ts' {
  interface RefusalDetails {
    /** Dates: YYYY-MM-DD. */
    'lot-date-far-off': { expiresOn: string }
    'lot-expired': { expiresOn: string }
    'lot-already-there': { lot: string }
    'lot-other-date': { lot: string; expiresOn: string }
    'ranges-other-unit': { unit: string }
  }
}

/** Strips last about two years. A last day further off than this is a mistyped year (own setting). */
export const LOT_DAYS_MOST = 5 * 366

/**
 * Adds a lot with its last day (still good on it) and its two control ranges, or adds ranges to a lot without them.
 *
 * Each range includes both ends and counts the ward's unit (whole mg/dL or tenths of mmol/L). It lies inside a meter's
 * range (20 to 600 mg/dL, 1.1 to 33.3 mmol/L) and ascends. Level 1 ends below the start of level 2.
 *
 * A lot past its last day is accepted only with confirmation: readings made with it must be chartable, marked. Refuses
 * a lot that already has ranges, and a lot that exists with another last day.
 */
export function enterStripLot(
  entry: StripLotEntry,
  facts: StripLotFacts,
  nowMs: number,
): Outcome<LedgerEvent[], StripLotRefusal> {
  const { ward, existing } = facts
  if (ward === undefined) return refuse('lot-ward-unknown')
  if (!isCalendarDate(entry.expiresOn)) return refuse('lot-date-wrong')
  if (existing !== undefined && existing.expiresOn !== entry.expiresOn)
    return refuse('lot-other-date', { lot: entry.lot, expiresOn: existing.expiresOn })
  if (existing !== undefined && existing.ranges !== null) return refuse('lot-already-there', { lot: entry.lot })
  if (existing === undefined && entry.expiresOn > addDays(wardDate(nowMs, ward.zone), LOT_DAYS_MOST))
    return refuse('lot-date-far-off', { expiresOn: entry.expiresOn })
  if (existing === undefined && isLotExpired(entry, ward.zone, nowMs) && !entry.knownExpired)
    return refuse('lot-expired', { expiresOn: entry.expiresOn })
  const fault = faultOfRanges(entry, ward.unit)
  if (fault !== null) return fault
  const head = eventHead({ wardId: ward.wardId }, entry.byId, nowMs)
  const added: LedgerEvent[] =
    existing === undefined
      ? [{ ...head, type: 'strip-lot-added', body: { lot: entry.lot, expiresOn: entry.expiresOn } }]
      : []
  return accept([
    ...added,
    { ...head, type: 'strip-lot-ranges-set', body: { lot: entry.lot, level1: entry.level1, level2: entry.level2 } },
  ])
}

function faultOfRanges(
  { level1, level2 }: Pick<StripLotEntry, 'level1' | 'level2'>,
  unit: GlucoseUnit,
): Refused<StripLotRefusal> | null {
  if (level1.unit !== unit || level2.unit !== unit) return refuse('ranges-other-unit', { unit })
  if (!isOnMeter(level1)) return refuse('level1-out-of-range')
  if (!isOnMeter(level2)) return refuse('level2-out-of-range')
  if (level1.from >= level1.to) return refuse('level1-turned-round')
  if (level2.from >= level2.to) return refuse('level2-turned-round')
  return level1.to < level2.from ? null : refuse('level2-not-above')
}

function isOnMeter({ unit, from, to }: ControlRange): boolean {
  const { least, most } = METER_RANGE[unit]
  return [from, to].every((end) => Number.isInteger(end) && end >= least && end <= most)
}
