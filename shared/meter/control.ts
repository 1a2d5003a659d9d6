/** Checks a meter with control solution: whether both levels lie in the ranges on the strip lot's label. */
import type { Glucose, GlucoseUnit } from '../glucose/value.ts'
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome, type Refused } from '../outcome.ts'
import { wardDate } from '../time/zone.ts'
import type { ControlMeasurement, ControlRange } from './meter.ts'

export type ControlEntry = {
  readonly lot: string
  readonly level1: Glucose
  readonly level2: Glucose
  readonly byId: string
}

export type ControlFacts = {
  readonly meter: {
    readonly meterId: string
    readonly wardId: string
    readonly unit: GlucoseUnit
    readonly retired: { readonly reason: string } | null
  }
  /** The ward's lot. Undefined: the ward has no such lot. */
  readonly lot:
    | {
        readonly lot: string
        readonly expiresOn: string
        readonly ranges: { readonly level1: ControlRange; readonly level2: ControlRange } | null
      }
    | undefined
  readonly ward: { readonly unit: GlucoseUnit; readonly zone: string }
}

export type ControlRefusal =
  | 'control-meter-retired'
  | 'control-meter-other-unit'
  | 'control-lot-unknown'
  | 'control-lot-expired'
  | 'control-ranges-missing'
  | 'control-ranges-other-unit'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'control-meter-other-unit': { unit: string; found: string }
    'control-lot-expired': { lot: string; expiresOn: string }
    'control-ranges-missing': { lot: string }
    'control-ranges-other-unit': { unit: string; found: string }
  }
}

/** True when the value lies in the range, both ends included. LO and HI lie in none. Values in two units are a bug. */
export function isInControlRange(value: Glucose, range: ControlRange): boolean {
  if (value.unit !== range.unit) throw new Error('a control value and a range of two units compared')
  return typeof value.value === 'number' && range.from <= value.value && value.value <= range.to
}

/**
 * Charts both levels of one occasion and the verdict: passed only when each lies in its range. Two levels every 24 h of
 * use is common hospital practice (M). Today means the ward's calendar day (meterFitness).
 *
 * Refuses a retired meter, a meter in another unit than the ward's, and a lot of another ward or past its last day.
 * Also refuses a lot without label ranges, because without them there is no verdict.
 */
export function chartControl(
  entry: ControlEntry,
  facts: ControlFacts,
  nowMs: number,
): Outcome<LedgerEvent[], ControlRefusal> {
  const { meter, ward } = facts
  if (meter.retired !== null) return refuse('control-meter-retired')
  if (meter.unit !== ward.unit) return refuse('control-meter-other-unit', { unit: ward.unit, found: meter.unit })
  const usable = usableRanges(facts, nowMs)
  if (!usable.ok) return usable
  const { level1, level2 } = usable.value
  const head = eventHead({ wardId: meter.wardId }, entry.byId, nowMs)
  const measured = (level: 1 | 2, value: Glucose, inRange: boolean): LedgerEvent => ({
    ...head,
    type: 'control-measured',
    body: { meterId: meter.meterId, lot: entry.lot, level, value, inRange },
  })
  const first = isInControlRange(entry.level1, level1)
  const second = isInControlRange(entry.level2, level2)
  return accept([
    measured(1, entry.level1, first),
    measured(2, entry.level2, second),
    { ...head, type: 'meter-controlled', body: { meterId: meter.meterId, passed: first && second } },
  ])
}

function usableRanges(
  { lot, meter, ward }: ControlFacts,
  nowMs: number,
): Outcome<{ readonly level1: ControlRange; readonly level2: ControlRange }, ControlRefusal> {
  if (lot === undefined) return refuse('control-lot-unknown')
  if (isLotExpired(lot, ward.zone, nowMs))
    return refuse('control-lot-expired', { lot: lot.lot, expiresOn: lot.expiresOn })
  return lot.ranges === null ? refuse('control-ranges-missing', { lot: lot.lot }) : sameUnit(lot.ranges, meter.unit)
}

function sameUnit(
  ranges: { readonly level1: ControlRange; readonly level2: ControlRange },
  unit: GlucoseUnit,
): Outcome<typeof ranges, 'control-ranges-other-unit'> | Refused<'control-ranges-other-unit'> {
  return ranges.level1.unit === unit && ranges.level2.unit === unit
    ? accept(ranges)
    : refuse('control-ranges-other-unit', { unit, found: ranges.level1.unit })
}

/** True when the lot's last day has passed on the ward. The last day itself is still good. */
export function isLotExpired(lot: { readonly expiresOn: string }, zone: string, nowMs: number): boolean {
  return lot.expiresOn < wardDate(nowMs, zone)
}

/** Meters whose last control failed, on whatever ward, with the time of that control. */
export type FailedControls = ReadonlyMap<string, number>

/**
 * When the meter of a reading failed a control at or after the reading was taken (UTC ms). Null: it did not, it has
 * passed one since, or no meter took the reading. When a control fails, patients measured since the last good control
 * are reviewed (common laboratory practice, M). So the value leads to no insulin until the meter has passed.
 */
export function meterFailedSince(
  reading: { readonly meterId: string | null; readonly takenAtMs: number },
  failed: FailedControls,
): number | null {
  const atMs = reading.meterId === null ? undefined : failed.get(reading.meterId)
  return atMs === undefined || atMs < reading.takenAtMs ? null : atMs
}

/** Both levels measured on one occasion. Null: the level is missing. */
export type ControlOccasion = {
  readonly atMs: number
  readonly byId: string
  readonly lot: string
  readonly level1: ControlMeasurement | null
  readonly level2: ControlMeasurement | null
  readonly passed: boolean
}

/**
 * Groups the measurements by occasion, newest first. One person's measurements at one instant with one lot belong
 * together.
 */
export function controlOccasions(measurements: readonly ControlMeasurement[]): readonly ControlOccasion[] {
  const groups = new Map<string, ControlMeasurement[]>()
  for (const one of measurements) {
    const key = `${String(one.atMs)} ${one.byId} ${one.lot}`
    groups.set(key, [...(groups.get(key) ?? []), one])
  }
  return [...groups.values()].flatMap((group) => occasionOf(group)).sort((a, b) => b.atMs - a.atMs)
}

function occasionOf(group: readonly ControlMeasurement[]): readonly ControlOccasion[] {
  const [any] = group
  if (any === undefined) return []
  const level1 = group.find(({ level }) => level === 1) ?? null
  const level2 = group.find(({ level }) => level === 2) ?? null
  return [
    {
      atMs: any.atMs,
      byId: any.byId,
      lot: any.lot,
      level1,
      level2,
      passed: level1?.inRange === true && level2?.inRange === true,
    },
  ]
}
