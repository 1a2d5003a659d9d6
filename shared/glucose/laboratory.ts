/** Glucose as a laboratory reports it: the meter's values, and the high ones that a meter can only show as HI. */
import { accept, type Outcome } from '../outcome.ts'
import { METER_RANGE, parseGlucose, type Glucose, type GlucoseRefusal, type GlucoseUnit } from './value.ts'

/** Highest value accepted from a laboratory: 2000 mg/dL, 111.0 mmol/L; beyond it a typing slip is likelier (own setting). */
export const LABORATORY_MOST: Readonly<Record<GlucoseUnit, number>> = { 'mg/dL': 2000, 'mmol/L': 1110 }

/**
 * As parseGlucose, and above the meter's range as well. Below it the wrong-unit guard stays as it is: 12 on a mg/dL ward
 * is far likelier to be 12 mmol/L; a laboratory value below the meter's range is charted as LO.
 */
export function parseLaboratoryGlucose(typed: string, unit: GlucoseUnit): Outcome<Glucose, GlucoseRefusal> {
  const text = typed.trim()
  const high =
    unit === 'mg/dL'
      ? /^\d{3,4}$/.test(text)
        ? Number(text)
        : null
      : /^\d{2,3}\.\d$/.test(text)
        ? Number(text.replace('.', ''))
        : null
  if (high !== null && high > METER_RANGE[unit].most && high <= LABORATORY_MOST[unit])
    return accept({ unit, value: high })
  return parseGlucose(text, unit)
}
