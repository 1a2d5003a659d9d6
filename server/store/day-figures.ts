/** Keeps the figure of a stay's day and the sums of its ward's day as readings land, so that both equal a rebuild to the bit. */
import { patientDay, type PatientDay } from '../../shared/audit/patient-day.ts'
import { hasInBand, meansOf, type Band } from '../../shared/audit/rates.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { Derived } from './derived.ts'
import { patientDayOf, type PatientDayRow } from './facts.ts'
import { factsOf, listOf } from './rows.ts'
import { patient_day, type ward_day } from './tables.ts'

type WardDayRow = typeof ward_day.$inferSelect
type Sums = Omit<WardDayRow, 'ward_id' | 'ward_date' | 'unit'>

type DayAsked = { readonly stayId: string; readonly wardId: string; readonly wardDate: string }

/** Call it with a reading that came, changed or stopped counting: its whole day is worked out again. */
export function dayFiguresOf(derived: Derived): (reading: Reading) => void {
  // in no order, on purpose: asked for one, SQLite walks the whole stay by time instead of looking up the day
  const readingsOf = factsOf<Reading, DayAsked>(
    derived.connection,
    `SELECT fact FROM reading
     WHERE stay_id = @stayId AND ward_date = @wardDate AND ward_id = @wardId AND effective = 1`,
  )
  const onOtherWards = listOf<typeof patient_day, DayAsked>(
    derived.connection,
    patient_day,
    'FROM patient_day t WHERE t.stay_id = @stayId AND t.ward_date = @wardDate AND t.ward_id <> @wardId',
  )
  const ofWard = listOf<typeof patient_day, Omit<DayAsked, 'stayId'>>(
    derived.connection,
    patient_day,
    'FROM patient_day t WHERE t.ward_id = @wardId AND t.ward_date = @wardDate',
  )

  /** Adds to the sums of a ward's day; whole numbers, so in any order they come out the same. */
  const add = (row: PatientDayRow, by: Sums): void => {
    const before = derived.wardDay.get(row.ward_id, row.ward_date, row.unit)
    const after = before === undefined ? by : plus(before, by)
    if (after.readings === 0) derived.wardDay.remove(row.ward_id, row.ward_date, row.unit)
    else derived.wardDay.put({ ward_id: row.ward_id, ward_date: row.ward_date, unit: row.unit, ...after })
  }
  const replace = (before: PatientDayRow | undefined, after: PatientDayRow | undefined): void => {
    if (before !== undefined && after !== undefined && before.unit === after.unit) {
      add(after, plus(shareOf(after), minus(shareOf(before))))
      return
    }
    if (before !== undefined) add(before, minus(shareOf(before)))
    if (after !== undefined) add(after, shareOf(after))
  }
  /** The sums of a ward's day from all of its patient-days. */
  const again = (id: string, date: string): void => {
    for (const unit of ['mg/dL', 'mmol/L'] as const) derived.wardDay.remove(id, date, unit)
    for (const row of ofWard({ wardId: id, wardDate: date })) add(row, shareOf(row))
  }

  return (reading) => {
    const about = { stayId: reading.stayId, wardId: reading.wardId, wardDate: reading.wardDate }
    const before = derived.patientDay.get(about.stayId, about.wardDate, about.wardId)
    const others = onOtherWards(about)
    const readings = readingsOf(about)
    // a day left without a reading has no figure
    const after =
      readings.length === 0
        ? undefined
        : rowOf(patientDay({ ...about, unit: reading.glucose.unit }, readings), others.length > 0)
    if (after === undefined) derived.patientDay.remove(about.stayId, about.wardDate, about.wardId)
    else derived.patientDay.put(after)
    if (others.length === 0) {
      replace(before, after)
      return
    }
    // a stay with figures on two wards for one date is one patient-day of the hospital
    for (const other of others) derived.patientDay.put({ ...other, shared: others.length > 1 || after !== undefined })
    for (const id of [about.wardId, ...others.map((other) => other.ward_id)]) again(id, about.wardDate)
  }
}

/** What one patient-day gives to the sums of its ward's day; one that is shared with another ward is no day of this one alone. */
function shareOf(row: PatientDayRow): Sums {
  const {
    readings,
    numeric,
    sum,
    sum_of_squares,
    below_54,
    below_70,
    in_70_to_180,
    above_180,
    above_250,
    above_300,
    lo,
    hi,
    low_risk,
    high_risk,
  } = row
  const day = patientDayOf(row)
  const own = row.shared ? 0 : 1
  const [mean] = meansOf([day])
  const having = (band: Band): number => (own === 1 && hasInBand(day, band) ? 1 : 0)
  return {
    readings,
    numeric,
    sum,
    sum_of_squares,
    below_54,
    below_70,
    in_70_to_180,
    above_180,
    above_250,
    above_300,
    lo,
    hi,
    low_risk,
    high_risk,
    days: own,
    days_numeric: mean === undefined ? 0 : own,
    day_means: own * (mean ?? 0),
    days_below_54: having('below54'),
    days_below_70: having('below70'),
    days_in_70_to_180: having('in70to180'),
    days_above_180: having('above180'),
    days_above_250: having('above250'),
    days_above_300: having('above300'),
  }
}

const NAMES = [
  'readings',
  'numeric',
  'sum',
  'sum_of_squares',
  'lo',
  'hi',
  'low_risk',
  'high_risk',
  'below_54',
  'below_70',
  'in_70_to_180',
  'above_180',
  'above_250',
  'above_300',
  'days',
  'days_numeric',
  'day_means',
  'days_below_54',
  'days_below_70',
  'days_in_70_to_180',
  'days_above_180',
  'days_above_250',
  'days_above_300',
] as const satisfies readonly (keyof Sums)[]

function plus(a: Sums, b: Sums): Sums {
  const sums = { ...b }
  for (const name of NAMES) sums[name] = a[name] + b[name]
  return sums
}

function minus(a: Sums): Sums {
  const sums = { ...a }
  // no negative zero: it is stored as another number
  for (const name of NAMES) sums[name] = 0 - a[name]
  return sums
}

function rowOf(day: PatientDay, shared: boolean): PatientDayRow {
  return {
    stay_id: day.stayId,
    ward_id: day.wardId,
    ward_date: day.wardDate,
    unit: day.unit,
    readings: day.readings,
    numeric: day.numeric,
    sum: day.sum,
    sum_of_squares: day.sumOfSquares,
    least: day.least,
    most: day.most,
    below_54: day.below54,
    below_70: day.below70,
    in_70_to_180: day.in70to180,
    above_180: day.above180,
    above_250: day.above250,
    above_300: day.above300,
    lo: day.lo,
    hi: day.hi,
    low_risk: day.lowRisk,
    high_risk: day.highRisk,
    shared,
  }
}
