/** Glucose as a laboratory reports it: the meter's range, and higher values that a meter shows as HI. */
import { accept, refuse, type Outcome } from '../outcome.ts'
import { MG_PER_DL_IN_ONE_MMOL_PER_L } from './convert.ts'
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

export type ReportRefusal = GlucoseRefusal | 'laboratory-unusual'

declare module '../outcome.ts' {
  interface RefusalDetails {
    /** `value` with its unit, and what it would be if the unit were the other one. */
    'laboratory-unusual': { value: string; other: string }
  }
}

/** The value as the laboratory reported it, and the ward's count of it: mg/dL, or tenths of a mmol/L. */
export type ReportedGlucose = { readonly glucose: Glucose; readonly reported: Glucose }

/** Below 40 mg/dL, or above the meter's range in mmol/L, the number may belong to the other unit (own setting). */
const UNUSUAL_BELOW_MG = 40

/**
 * Reads a laboratory's report in the unit that the nurse chose: whole mg/dL, or mmol/L with one decimal; LO and HI as
 * they are. A report in the other unit is converted to the ward's count once, here, since every limit and order of the
 * ward counts in it (180.156 g/mol: LOINC part LG7967-5). A number that may belong to the other unit is asked about
 * once (`confirmed`) and never refused: 54.0 mmol/L can be true. A value below the meter's range is LO.
 */
export function readLaboratoryReport(given: {
  readonly typed: string
  readonly unit: GlucoseUnit
  readonly wardUnit: GlucoseUnit
  /** The nurse has read value and unit again. */
  readonly confirmed: boolean
}): Outcome<ReportedGlucose, ReportRefusal> {
  const { unit, wardUnit, confirmed } = given
  const typed = given.typed.trim()
  const parsed = parseGlucose(typed, unit)
  const isWord = parsed.ok && typeof parsed.value.value !== 'number'
  if (isWord) return accept({ glucose: { unit: wardUnit, value: parsed.value.value }, reported: parsed.value })
  const count = countOf(typed, unit)
  if (count === null) {
    if (!parsed.ok && parsed.reason !== 'glucose-looks-like-other-unit') return parsed
    return unit === 'mg/dL'
      ? refuse('glucose-needs-whole-number', { typed, unit })
      : refuse('glucose-needs-decimal-point', { typed, unit })
  }
  const most = LABORATORY_MOST[unit]
  if (count === 0 || count > most) {
    const scale = unit === 'mg/dL' ? 1 : 10
    return refuse('glucose-not-plausible', { typed, unit, least: 1 / scale, most: most / scale })
  }
  const isUnusual = unit === 'mg/dL' ? count < UNUSUAL_BELOW_MG : count > METER_RANGE[unit].most
  if (isUnusual && !confirmed)
    return refuse('laboratory-unusual', {
      value: `${typed} ${unit}`,
      other: `${typed} ${unit === 'mg/dL' ? 'mmol/L' : 'mg/dL'}`,
    })
  const value = inWardCount(count, unit, wardUnit)
  return accept({
    glucose: { unit: wardUnit, value: value < METER_RANGE[wardUnit].least ? 'LO' : value },
    reported: { unit, value: count },
  })
}

/** Whole mg/dL, or tenths of a mmol/L from a number with one decimal; null: it is not printed so. */
function countOf(text: string, unit: GlucoseUnit): number | null {
  if (unit === 'mg/dL') return /^\d{1,4}$/.test(text) ? Number(text) : null
  return /^\d{1,3}\.\d$/.test(text) ? Number(text.replace('.', '')) : null
}

function inWardCount(count: number, unit: GlucoseUnit, wardUnit: GlucoseUnit): number {
  if (unit === wardUnit) return count
  return Math.round(
    unit === 'mg/dL' ? (count * 10) / MG_PER_DL_IN_ONE_MMOL_PER_L : (count / 10) * MG_PER_DL_IN_ONE_MMOL_PER_L,
  )
}
