/**
 * A stay of this record as the facts that the two harm measures look at. A stay here is one admission to a ward of this
 * service, whatever wards it was moved between, and counts as one inpatient encounter: an emergency or observation visit
 * before it is not on record, so none joins it, and a readmission within the hour stays a stay of its own.
 *
 * - Drugs are the insulin doses given here and those charted as given elsewhere; insulin counts in both sets. Other
 *   glucose-lowering drugs are a bedside fact without administrations, so they bring nobody in.
 * - Results are the readings that still count, laboratory values included: a corrected one counts as corrected, one
 *   entered in error not at all. mmol/L is converted with 18.0156 and not rounded, so 11.1 mmol/L is 199.97 mg/dL and
 *   stays below 200.
 * - Diabetes is type 1, type 2 or another type as charted; gestational and steroid-induced are no diagnosis of the set.
 * - Comfort care and discharge to hospice are not charted here: no stay is left out for them.
 */
import type { Dose, OutsideDose } from '../dose/dose.ts'
import { inMgPerDl } from '../glucose/convert.ts'
import { isNumeric } from '../glucose/value.ts'
import { isEffective, type Reading } from '../reading/reading.ts'
import type { DiabetesType, Stay } from '../stay/stay.ts'
import { wardDate } from '../time/zone.ts'
import type { DrugGiven, GlucoseResult, MeasureFacts } from './facts.ts'

/** A stay that has ended, whole. */
export type EndedRecord = {
  readonly stay: Stay
  readonly readings: readonly Reading[]
  readonly doses: readonly Dose[]
  readonly outsideDoses: readonly OutsideDose[]
}

const IS_DIAGNOSIS: Readonly<Record<DiabetesType, boolean>> = {
  'type-1': true,
  'type-2': true,
  other: true,
  'steroid-induced': false,
  gestational: false,
  'none-known': false,
}

/** `zone` is that of the ward from which the patient was discharged: it dates the encounter, and so the age. */
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
