/**
 * Turns a stay of this record into the facts of the two harm measures.
 *
 * A stay is one admission to a ward of this service, including moves between wards. It counts as one inpatient
 * encounter. Earlier emergency or observation visits are not on record, so none joins it. A readmission within the hour
 * stays a separate stay.
 *
 * - Drugs are the insulin doses given here and those charted as given elsewhere. Insulin counts in both drug sets.
 *   Other glucose-lowering drugs are bedside facts without administrations, so they qualify no stay.
 * - Results are the readings that still count, laboratory values included. A corrected one counts as corrected; one
 *   entered in error does not count. mmol/L is converted with 18.0156 and not rounded, so 11.1 mmol/L is 199.97 mg/dL and
 *   stays below 200.
 * - Diabetes is type 1, type 2 or another type as charted. Gestational and steroid-induced diabetes are not in the
 *   diagnosis set.
 * - Comfort care and discharge to hospice are not charted here, so they exclude no stay.
 */
import type { Dose, OutsideDose } from '../dose/dose.ts'
import { inMgPerDl } from '../glucose/convert.ts'
import { isNumeric } from '../glucose/value.ts'
import { isEffective, type Reading } from '../reading/reading.ts'
import type { DiabetesType, Stay } from '../stay/stay.ts'
import { wardDate } from '../time/zone.ts'
import type { DrugGiven, GlucoseResult, MeasureFacts } from './facts.ts'

/** The whole record of an ended stay. */
export type EndedRecord = {
  readonly stay: Stay
  readonly readings: readonly Reading[]
  readonly doses: readonly Dose[]
  readonly outsideDoses: readonly OutsideDose[]
}

const IS_DIAGNOSIS: Readonly<Record<DiabetesType, boolean>> = {
  'type-1': true,
  'type-2': true,
  pancreatic: true,
  other: true,
  'steroid-induced': false,
  gestational: false,
  'none-known': false,
}

/** `zone` is that of the ward of discharge. It dates the encounter and thus the age. */
export function measureFactsOf({ stay, readings, doses, outsideDoses }: EndedRecord, zone: string): MeasureFacts {
  const { stayId, bornOn, admittedAtMs, dischargedAtMs, facts } = stay
  return {
    bornOn,
    encounters: [
      {
        encounterId: stayId,
        kind: 'inpatient',
        finished: dischargedAtMs !== null,
        startMs: admittedAtMs,
        endMs: dischargedAtMs,
        startDate: wardDate(admittedAtMs, zone),
        endDate: dischargedAtMs === null ? null : wardDate(dischargedAtMs, zone),
        diabetesDiagnosis: IS_DIAGNOSIS[facts.diabetes],
        toHospice: false,
      },
    ],
    results: readings.filter(isEffective).map(resultOf),
    drugs: [
      ...doses.flatMap(({ outcome }) => (outcome?.kind === 'given' ? [insulinAt(outcome.atMs)] : [])),
      ...outsideDoses.map(({ givenAtMs }) => insulinAt(givenAtMs)),
    ],
    listed: [],
    comfort: [],
  }
}

function resultOf({ readingId, takenAtMs, glucose }: Reading): GlucoseResult {
  return {
    resultId: readingId,
    atMs: takenAtMs,
    mgPerDl: isNumeric(glucose) ? inMgPerDl(glucose) : null,
    outOfRange: typeof glucose.value === 'number' ? null : glucose.value,
    accepted: true,
  }
}

/** An injection starts and ends at one instant. */
function insulinAt(ms: number): DrugGiven {
  return { startMs: ms, endMs: ms, status: 'completed', canCauseSevereLow: true, lowersGlucose: true }
}
