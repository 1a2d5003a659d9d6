/**
 * The figures of one stay's day on one ward. They are always computed from all its readings, so that an incremental
 * update equals a rebuild.
 */
import { isNumeric, type GlucoseUnit } from '../glucose/value.ts'
import { isEffective, type Reading } from '../reading/reading.ts'
import { riskMillionths } from './risk.ts'

export type PatientDayHead = {
  readonly stayId: string
  readonly wardId: string
  /** ward-local, YYYY-MM-DD */
  readonly wardDate: string
  readonly unit: GlucoseUnit
}

/**
 * Sums and extremes count whole mg/dL or whole tenths of mmol/L. All figures are integers, so the order of adding does
 * not change them.
 */
export type PatientDay = PatientDayHead & {
  readonly readings: number
  readonly numeric: number
  readonly sum: number
  readonly sumOfSquares: number
  readonly least: number | null
  readonly most: number | null
  readonly below54: number
  readonly below70: number
  readonly in70to180: number
  readonly above180: number
  readonly above250: number
  readonly above300: number
  readonly lo: number
  readonly hi: number
  /** Sums of the risk on the low and the high side (risk.ts), in whole millionths. */
  readonly lowRisk: number
  readonly highRisk: number
}

/**
 * The limits after which the shares are named. In mmol/L 54, 70, 180 and 250 are the pairs printed by the American
 * Diabetes Association (3.0, 3.9, 10.0, 13.9; R). 300 is 16.65, rounded to 16.7 (D).
 */
const LIMITS: Readonly<
  Record<
    GlucoseUnit,
    {
      readonly at54: number
      readonly at70: number
      readonly at180: number
      readonly at250: number
      readonly at300: number
    }
  >
> = {
  'mg/dL': { at54: 54, at70: 70, at180: 180, at250: 250, at300: 300 },
  'mmol/L': { at54: 30, at70: 39, at180: 100, at250: 139, at300: 167 },
}

/** A low is over from this value on: 70 mg/dL, or 39 tenths of mmol/L (3.9). */
export const RESOLVED_FROM: Readonly<Record<GlucoseUnit, number>> = {
  'mg/dL': LIMITS['mg/dL'].at70,
  'mmol/L': LIMITS['mmol/L'].at70,
}

/**
 * The day's figures from that day's readings, in any order.
 *
 * Superseded and voided readings do not count. A reading in another unit than the day's does not count either: a ward
 * may change its unit and must still be able to chart. below70 includes below54. above180 includes above250 and
 * above300. 70 and 180 are in range. LO and HI are counted separately. They enter no sum and no share, because they are
 * not numbers.
 */
export function patientDay(head: PatientDayHead, dayReadings: readonly Reading[]): PatientDay {
  const limit = LIMITS[head.unit]
  const readings = dayReadings.filter((reading) => isEffective(reading) && reading.glucose.unit === head.unit)
  const numbers = readings.map((reading) => reading.glucose).filter(isNumeric)
  const values = numbers.map((glucose) => glucose.value)
  const risks = numbers.map(riskMillionths)
  const count = (holds: (value: number) => boolean): number => values.filter(holds).length
  return {
    stayId: head.stayId,
    wardId: head.wardId,
    wardDate: head.wardDate,
    unit: head.unit,
    readings: readings.length,
    numeric: values.length,
    sum: values.reduce((sum, value) => sum + value, 0),
    sumOfSquares: values.reduce((sum, value) => sum + value * value, 0),
    least: values.length === 0 ? null : Math.min(...values),
    most: values.length === 0 ? null : Math.max(...values),
    below54: count((value) => value < limit.at54),
    below70: count((value) => value < limit.at70),
    in70to180: count((value) => value >= limit.at70 && value <= limit.at180),
    above180: count((value) => value > limit.at180),
    above250: count((value) => value > limit.at250),
    above300: count((value) => value > limit.at300),
    lo: readings.filter((reading) => reading.glucose.value === 'LO').length,
    hi: readings.filter((reading) => reading.glucose.value === 'HI').length,
    lowRisk: risks.reduce((sum, { low }) => sum + low, 0),
    highRisk: risks.reduce((sum, { high }) => sum + high, 0),
  }
}
