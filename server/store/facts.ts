/** Rows as the facts that the rules know. */
import type { CheckOutcome, PlanVersion } from '../../shared/check/check.ts'
import { INSULIN_CLASS } from '../../shared/order/order.ts'
import type { Dose, EarlierDose, OutsideDose, TrayFact } from '../../shared/dose/dose.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import type { Meter, OpenItem, Staff, StripLot, Ward } from './contract.ts'
import type * as tables from './tables.ts'

type Row<T extends { readonly $inferSelect: unknown }> = T['$inferSelect']

export function wardOf(row: Row<typeof tables.ward>): Ward {
  return { wardId: row.ward_id, name: row.name, beds: row.beds, dataVersion: row.data_version }
}

export function staffOf(row: Row<typeof tables.staff>): Staff {
  return { staffId: row.staff_id, badge: row.badge, name: row.name, role: row.role, wardIds: row.ward_ids }
}

export function meterOf(row: Row<typeof tables.meter>): Meter {
  const lastControl = row.control_passed === null || row.control_at_ms === null ? null : { passed: row.control_passed, atMs: row.control_at_ms }
  return { meterId: row.meter_id, serial: row.serial, wardId: row.ward_id, unit: row.unit, lastControl }
}

export function stripLotOf(row: Row<typeof tables.strip_lot>): StripLot {
  return { lot: row.lot, wardId: row.ward_id, expiresOn: row.expires_on }
}

export function stayOf(row: Row<typeof tables.stay>): Stay {
  return {
    stayId: row.stay_id, wardId: row.ward_id, bed: row.bed, wristband: row.wristband, familyName: row.family_name, givenName: row.given_name,
    bornOn: row.born_on, admittedAtMs: row.admitted_at_ms, dischargedAtMs: row.discharged_at_ms, facts: row.facts,
  }
}

export function planOf(row: Row<typeof tables.plan_version>): PlanVersion {
  return { stayId: row.stay_id, version: row.version, plan: row.plan, fromMs: row.from_ms, untilMs: row.until_ms }
}

/** The outcome of a check; the table's own CHECKs make the columns of a kind come together. */
export function outcomeOf(row: Row<typeof tables.check_outcome>): CheckOutcome {
  if (row.reading_id !== null) return { kind: 'done', readingId: row.reading_id, atMs: row.at_ms }
  if (row.reason === null || row.note === null || row.by_id === null) throw new Error(`outcome of check ${row.check_key} is incomplete`)
  return { kind: 'excused', reason: row.reason, note: row.note, byId: row.by_id, atMs: row.at_ms }
}

export function outcomesByKey(rows: readonly Row<typeof tables.check_outcome>[]): ReadonlyMap<string, CheckOutcome> {
  return new Map(rows.map((row) => [row.check_key, outcomeOf(row)]))
}

export function lowOf(row: Row<typeof tables.low_event>): LowEvent {
  return {
    lowId: row.low_id, stayId: row.stay_id, wardId: row.ward_id, openedByReadingId: row.opened_by_reading_id, openedAtMs: row.opened_at_ms,
    treatments: row.treatments, charted: row.charted, closedAtMs: row.closed_at_ms, previousLowId: row.previous_low_id, previousClosedAtMs: row.previous_closed_at_ms,
  }
}

export function itemOf(row: Row<typeof tables.open_item>): OpenItem {
  return { itemId: row.item_id, kind: row.kind, wardId: row.ward_id, stayId: row.stay_id, sinceMs: row.since_ms, subjectId: row.subject_id, detail: row.detail }
}

export function trayOf(row: Row<typeof tables.tray>): TrayFact {
  return { stayId: row.stay_id, date: row.date, meal: row.meal, servedAtMs: row.served_at_ms, shareEatenPercent: row.share_eaten_percent }
}

/** The rapid and regular insulin among what was given, for the stacking guard. */
export function shortActing(given: readonly EarlierDose[], sinceMs: number): readonly EarlierDose[] {
  return given.filter(({ insulin, givenAtMs }) => givenAtMs >= sinceMs && (INSULIN_CLASS[insulin] === 'rapid' || INSULIN_CLASS[insulin] === 'regular'))
}

/**
 * Insulin given, from any source, newest first. A dose from elsewhere, and one directed by the
 * prescriber, counts as holding a correction: nothing shows that it does not.
 */
export function insulinGivenOf(given: readonly Dose[], outside: readonly OutsideDose[]): readonly EarlierDose[] {
  const here = given.flatMap((dose): EarlierDose[] => dose.outcome?.kind === 'given'
    ? [{ doseId: dose.doseId, insulin: dose.insulin, units: dose.units, givenAtMs: dose.outcome.atMs, source: 'here', withCorrection: holdsCorrection(dose) }]
    : [])
  const others = outside.map((dose): EarlierDose => ({ doseId: dose.outsideDoseId, insulin: dose.insulin, units: dose.units, givenAtMs: dose.givenAtMs, source: dose.source, withCorrection: true }))
  return [...here, ...others]
    .filter(({ units }) => units > 0)
    .sort((a, b) => b.givenAtMs - a.givenAtMs)
}

function holdsCorrection({ working }: Dose): boolean {
  return working.terms.some((term) => term.part === 'direction' || ((term.part === 'correction-scale' || term.part === 'correction-factor') && !term.held && term.amount.numerator > 0))
}
