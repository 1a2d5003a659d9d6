/** Glucose as a laboratory reports it: the meter's range, and higher values that a meter shows as HI. */
import { accept, type Outcome } from '../outcome.ts'
import { METER_RANGE, parseGlucose, type Glucose, type GlucoseRefusal, type GlucoseUnit } from './value.ts'

/**
 * Highest value accepted from a laboratory: 2000 mg/dL, 111.0 mmol/L. Beyond it a typing error is more likely (own
 * setting).
 */
export const LABORATORY_MOST: Readonly<Record<GlucoseUnit, number>> = { 'mg/dL': 2000, 'mmol/L': 1110 }

/**
 * Like parseGlucose, but also accepts values above the meter's range. Below it the wrong-unit guard still applies: 12
 * on a mg/dL ward is far more likely to be 12 mmol/L. A laboratory value below the meter's range is charted as LO.
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
