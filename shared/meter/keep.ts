/** The meters of a ward: adding, moving to another ward and retiring. */
import type { GlucoseUnit } from '../glucose/value.ts'
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'

export type MeterEntry = {
  readonly meterId: string
  readonly serial: string
  readonly unit: GlucoseUnit
  readonly wardId: string
  readonly byId: string
}

export type MeterKeepRefusal =
  | 'meter-ward-unknown'
  | 'meter-serial-taken'
  | 'meter-unit-differs'
  | 'meter-retired'
  | 'meter-same-ward'
  | 'meter-reason-missing'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'meter-serial-taken': { serial: string }
    'meter-unit-differs': { unit: string; found: string }
    'meter-retired': { reason: string }
  }
}

type MeterRecord = {
  readonly meterId: string
  readonly wardId: string
  readonly unit: GlucoseUnit
  readonly retired: { readonly reason: string } | null
}
/** A ward that the person may set up. Undefined: no such ward. */
type MeterWard = { readonly wardId: string; readonly unit: GlucoseUnit } | undefined

/**
 * Adds a meter to a ward. Its serial number is unique on all wards, and it shows the ward's unit: another unit cannot
 * be used there. It is usable once its controls have passed.
 */
export function addMeter(
  entry: MeterEntry,
  facts: { readonly ward: MeterWard; readonly sameSerial: { readonly wardId: string } | undefined },
  nowMs: number,
): Outcome<LedgerEvent[], MeterKeepRefusal> {
  const { ward, sameSerial } = facts
  if (ward === undefined) return refuse('meter-ward-unknown')
  if (sameSerial !== undefined) return refuse('meter-serial-taken', { serial: entry.serial })
  if (entry.unit !== ward.unit) return refuse('meter-unit-differs', { unit: ward.unit, found: entry.unit })
  return accept([
    {
      ...eventHead({ wardId: ward.wardId }, entry.byId, nowMs),
      type: 'meter-added',
      body: { meterId: entry.meterId, serial: entry.serial, unit: entry.unit },
    },
  ])
}

/** Moves a meter to another ward of the same unit. Its controls stay with the meter. */
export function moveMeter(
  entry: { readonly byId: string },
  facts: { readonly meter: MeterRecord; readonly toWard: MeterWard },
  nowMs: number,
): Outcome<LedgerEvent[], MeterKeepRefusal> {
  const { meter, toWard } = facts
  if (meter.retired !== null) return refuse('meter-retired', { reason: meter.retired.reason })
  if (toWard === undefined) return refuse('meter-ward-unknown')
  if (toWard.wardId === meter.wardId) return refuse('meter-same-ward')
  if (toWard.unit !== meter.unit) return refuse('meter-unit-differs', { unit: toWard.unit, found: meter.unit })
  return accept([
    {
      ...eventHead({ wardId: meter.wardId }, entry.byId, nowMs),
      type: 'meter-moved',
      body: { meterId: meter.meterId, toWardId: toWard.wardId },
    },
  ])
}

/** Retires a meter permanently, with the reason. Its readings and log stay. */
export function retireMeter(
  entry: { readonly reason: string; readonly byId: string },
  meter: MeterRecord,
  nowMs: number,
): Outcome<LedgerEvent[], MeterKeepRefusal> {
  if (meter.retired !== null) return refuse('meter-retired', { reason: meter.retired.reason })
  if (entry.reason.trim() === '') return refuse('meter-reason-missing')
  return accept([
    {
      ...eventHead({ wardId: meter.wardId }, entry.byId, nowMs),
      type: 'meter-retired',
      body: { meterId: meter.meterId, reason: entry.reason },
    },
  ])
}
