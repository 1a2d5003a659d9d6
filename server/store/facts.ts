/** Rows as the facts that the rules know. */
import type { CheckOutcome, PlanVersion } from '../../shared/check/check.ts'
import { INSULIN_CLASS } from '../../shared/order/order.ts'
import type { Dose, EarlierDose, OutsideDose, TrayFact } from '../../shared/dose/dose.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import type { StandardOrder } from '../../shared/order/standard.ts'
import type { PolicyChange } from '../../shared/policy/change.ts'
import { completePolicy } from '../../shared/policy/ward-policy.ts'
import type { PatientDay } from '../../shared/audit/patient-day.ts'
import type { BedSpan, FactsVersion, FeedInterruption, Stay } from '../../shared/stay/stay.ts'
import type {
  Meter,
  MeterRecord,
  OpenItem,
  OrderVerification,
  PolicyRecord,
  Staff,
  StripLot,
  Ward,
} from './contract.ts'
import type * as setup from './tables-setup.ts'
import type * as tables from './tables.ts'

type Row<T extends { readonly $inferSelect: unknown }> = T['$inferSelect']

export function wardOf(row: Row<typeof tables.ward>): Ward {
  return { wardId: row.ward_id, name: row.name, beds: row.beds, dataVersion: row.data_version }
}

export function staffOf(row: Row<typeof tables.staff>): Staff {
  return {
    staffId: row.staff_id,
    badge: row.badge,
    name: row.name,
    role: row.role,
    wardIds: row.ward_ids,
    locked:
      row.locked_reason === null || row.locked_at_ms === null
        ? null
        : { reason: row.locked_reason, atMs: row.locked_at_ms },
    leftAtMs: row.left_at_ms,
    trainingUntil: row.training_until,
  }
}

export function meterOf(row: Row<typeof tables.meter>): Meter {
  const lastControl =
    row.control_passed === null || row.control_at_ms === null
      ? null
      : { passed: row.control_passed, atMs: row.control_at_ms }
  return { meterId: row.meter_id, serial: row.serial, wardId: row.ward_id, unit: row.unit, lastControl }
}

export function meterRecordOf(row: Row<typeof tables.meter>): MeterRecord {
  return {
    ...meterOf(row),
    retired:
      row.retired_reason === null || row.retired_at_ms === null
        ? null
        : { reason: row.retired_reason, atMs: row.retired_at_ms },
  }
}

export function stripLotOf(row: Row<typeof tables.strip_lot>): StripLot {
  return { lot: row.lot, wardId: row.ward_id, expiresOn: row.expires_on, ranges: row.ranges }
}

export function stayOf(row: Row<typeof tables.stay>): Stay {
  return {
    stayId: row.stay_id,
    wardId: row.ward_id,
    bed: row.bed,
    wristband: row.wristband,
    familyName: row.family_name,
    givenName: row.given_name,
    bornOn: row.born_on,
    admittedAtMs: row.admitted_at_ms,
    dischargedAtMs: row.discharged_at_ms,
    facts: row.facts,
  }
}

export function planOf(row: Row<typeof tables.plan_version>): PlanVersion {
  return {
    stayId: row.stay_id,
    version: row.version,
    plan: row.plan,
    fromMs: row.from_ms,
    untilMs: row.until_ms,
    overlay: row.overlay,
  }
}

/** The outcome of a check; the table's own CHECKs make the columns of a kind come together. */
export function outcomeOf(row: Row<typeof tables.check_outcome>): CheckOutcome {
  if (row.reading_id !== null) return { kind: 'done', readingId: row.reading_id, atMs: row.at_ms }
  if (row.reason === null || row.note === null || row.by_id === null)
    throw new Error(`outcome of check ${row.check_key} is incomplete`)
  return { kind: 'excused', reason: row.reason, note: row.note, byId: row.by_id, atMs: row.at_ms }
}

export function outcomesByKey(rows: readonly Row<typeof tables.check_outcome>[]): ReadonlyMap<string, CheckOutcome> {
  return new Map(rows.map((row) => [row.check_key, outcomeOf(row)]))
}

export function lowOf(row: Row<typeof tables.low_event>): LowEvent {
  return {
    lowId: row.low_id,
    stayId: row.stay_id,
    wardId: row.ward_id,
    openedByReadingId: row.opened_by_reading_id,
    openedAtMs: row.opened_at_ms,
    treatments: row.treatments,
    charted: row.charted,
    closedAtMs: row.closed_at_ms,
    previousLowId: row.previous_low_id,
    previousClosedAtMs: row.previous_closed_at_ms,
  }
}

export function itemOf(row: Row<typeof tables.open_item>): OpenItem {
  return {
    itemId: row.item_id,
    kind: row.kind,
    wardId: row.ward_id,
    stayId: row.stay_id,
    sinceMs: row.since_ms,
    subjectId: row.subject_id,
    detail: row.detail,
  }
}

export type PatientDayRow = Row<typeof tables.patient_day>

export function patientDayOf(row: PatientDayRow): PatientDay {
  return {
    stayId: row.stay_id,
    wardId: row.ward_id,
    wardDate: row.ward_date,
    unit: row.unit,
    readings: row.readings,
    numeric: row.numeric,
    sum: row.sum,
    sumOfSquares: row.sum_of_squares,
    least: row.least,
    most: row.most,
    below54: row.below_54,
    below70: row.below_70,
    in70to180: row.in_70_to_180,
    above180: row.above_180,
    above250: row.above_250,
    above300: row.above_300,
    lo: row.lo,
    hi: row.hi,
    lowRisk: row.low_risk,
    highRisk: row.high_risk,
  }
}

export function trayOf(row: Row<typeof tables.tray>): TrayFact {
  return {
    stayId: row.stay_id,
    date: row.date,
    meal: row.meal,
    servedAtMs: row.served_at_ms,
    shareEatenPercent: row.share_eaten_percent,
  }
}

export function policyRecordOf(row: Row<typeof tables.policy_version>): PolicyRecord {
  return {
    wardId: row.ward_id,
    version: row.version,
    policy: completePolicy(row.policy),
    fromMs: row.from_ms,
    byId: row.set_by,
    chartedAtMs: row.charted_at_ms,
    changeId: row.change_id,
    note: row.note,
  }
}

export function policyChangeOf(row: Row<typeof setup.policy_change>): PolicyChange {
  const outcome =
    row.outcome === null || row.outcome_by === null || row.outcome_at_ms === null
      ? null
      : { kind: row.outcome, byId: row.outcome_by, atMs: row.outcome_at_ms, reason: row.outcome_reason }
  return {
    changeId: row.change_id,
    wardId: row.ward_id,
    basedOn: row.based_on,
    policy: completePolicy(row.policy),
    fromMs: row.from_ms,
    note: row.note,
    writtenById: row.written_by,
    writtenAtMs: row.written_at_ms,
    outcome,
  }
}

export function standardOrderOf(row: Row<typeof setup.standard_order>): StandardOrder {
  return {
    standardOrderId: row.standard_order_id,
    version: row.version,
    wardId: row.ward_id,
    name: row.name,
    order: row.insulin_order,
    writtenById: row.written_by,
    writtenAtMs: row.written_at_ms,
    approved:
      row.approved_by === null || row.approved_at_ms === null
        ? null
        : { byId: row.approved_by, atMs: row.approved_at_ms },
    endedAtMs: row.ended_at_ms,
  }
}

export function verificationOf(row: Row<typeof setup.order_verification>): OrderVerification {
  return {
    orderId: row.order_id,
    version: row.version,
    answers: row.answers,
    agreed: row.agreed,
    byId: row.by_id,
    atMs: row.at_ms,
  }
}

export function factsVersionOf(row: Row<typeof setup.facts_version>): FactsVersion {
  return { number: row.number, facts: row.facts, atMs: row.at_ms, byId: row.by_id }
}

export function interruptionOf(row: Row<typeof setup.feed_interruption>): FeedInterruption {
  return {
    interruptionId: row.interruption_id,
    stayId: row.stay_id,
    reason: row.reason,
    fromMs: row.from_ms,
    untilMs: row.until_ms,
    byId: row.by_id,
  }
}

export function bedSpanOf(row: Row<typeof tables.stay_bed>): BedSpan {
  return { number: row.number, wardId: row.ward_id, bed: row.bed, fromMs: row.from_ms, toMs: row.to_ms }
}

/** The rapid and regular insulin among what was given, for the stacking guard. */
export function shortActing(given: readonly EarlierDose[], sinceMs: number): readonly EarlierDose[] {
  return given.filter(
    ({ insulin, givenAtMs }) =>
      givenAtMs >= sinceMs && (INSULIN_CLASS[insulin] === 'rapid' || INSULIN_CLASS[insulin] === 'regular'),
  )
}

/**
 * Insulin given, from any source, newest first. A dose from elsewhere, and one directed by the
 * prescriber, counts as holding a correction: nothing shows that it does not.
 */
export function insulinGivenOf(given: readonly Dose[], outside: readonly OutsideDose[]): readonly EarlierDose[] {
  const here = given.flatMap((dose): EarlierDose[] =>
    dose.outcome?.kind === 'given'
      ? [
          {
            doseId: dose.doseId,
            insulin: dose.insulin,
            units: dose.units,
            givenAtMs: dose.outcome.atMs,
            source: 'here',
            withCorrection: holdsCorrection(dose),
            ...(dose.kind === 'by-direction' ? {} : { orderId: dose.working.orderId }),
            ...(dose.inputs.inAddition === true ? { inAddition: true as const } : {}),
          },
        ]
      : [],
  )
  const others = outside.map((dose): EarlierDose => ({
    doseId: dose.outsideDoseId,
    insulin: dose.insulin,
    units: dose.units,
    givenAtMs: dose.givenAtMs,
    source: dose.source,
    withCorrection: true,
  }))
  return [...here, ...others].filter(({ units }) => units > 0).sort((a, b) => b.givenAtMs - a.givenAtMs)
}

function holdsCorrection({ working }: Dose): boolean {
  return working.terms.some(
    (term) =>
      term.part === 'direction' ||
      ((term.part === 'correction-scale' || term.part === 'correction-factor') &&
        !term.held &&
        term.amount.numerator > 0),
  )
}
