/**
 * Sums over the patient-day figures. They and their sums by ward and day are kept as readings land, so a year of a
 * hospital is summed without its readings; stays alone are grouped again, since a stay lies across days and wards.
 */
import {
  byBand,
  MEAN_SCALE,
  MG_IN_A_TENTH,
  type Band,
  type GroupSums,
  type RateSums,
} from '../../shared/audit/rates.ts'
import type { Connection } from './connection.ts'
import type { DatesAsked, Scope, Store } from './contract.ts'
import { patientDayOf, type PatientDayRow } from './facts.ts'
import { maySee } from './scope.ts'

type Reads = Pick<Store, 'rateSums' | 'rateSumsBy' | 'daysWithReadings' | 'patientDays'>
type By = 'all' | 'month' | 'ward'
type Asked = {
  readonly wardIds: string
  readonly fromDate: string
  readonly toDate: string
  readonly tenth: number
  readonly scale: number
}
type Row = Readonly<Record<string, number | string | null>>

const KEY: Readonly<Record<By, string>> = { all: "''", month: 'substr(ward_date, 1, 7)', ward: 'ward_id' }
const COLUMN: Readonly<Record<Band, string>> = {
  below54: 'below_54',
  below70: 'below_70',
  in70to180: 'in_70_to_180',
  above180: 'above_180',
  above250: 'above_250',
  above300: 'above_300',
}
/** LO lies below every limit and HI above every one (rates.ts). */
const HAS: Readonly<Record<Band, string>> = {
  below54: 'below_54 + lo',
  below70: 'below_70 + lo',
  in70to180: 'in_70_to_180',
  above180: 'above_180 + hi',
  above250: 'above_250 + hi',
  above300: 'above_300 + hi',
}
const BAND_NAMES = Object.keys(COLUMN) as Band[]
const IN_MG = `CASE unit WHEN 'mg/dL' THEN sum ELSE sum * @tenth END`

const TOTALS = [
  'sum(readings) AS readings',
  'sum(numeric) AS numeric',
  'sum(lo) AS lo',
  'sum(hi) AS hi',
  'sum(low_risk) AS low_risk',
  'sum(high_risk) AS high_risk',
  ...(['sum', 'sum_of_squares'] as const).flatMap((column) => [
    `sum(CASE unit WHEN 'mg/dL' THEN ${column} ELSE 0 END) AS ${column}_mg`,
    `sum(CASE unit WHEN 'mg/dL' THEN 0 ELSE ${column} END) AS ${column}_mmol`,
  ]),
  ...BAND_NAMES.map((band) => `sum(${COLUMN[band]}) AS ${COLUMN[band]}`),
].join(', ')
/** Patient-days of one ward alone; the shared ones are summed apart. */
const DAYS = [
  'sum(days) AS days',
  'sum(days_numeric) AS days_numeric',
  'sum(day_means) AS day_means',
  ...BAND_NAMES.map((band) => `sum(days_${COLUMN[band]}) AS days_${COLUMN[band]}`),
].join(', ')
/** A group of rows is one: what it has is what any of its rows has. */
const GROUPED = [
  'key',
  'count(*) AS days',
  'sum(n > 0) AS days_numeric',
  'sum(CASE WHEN n > 0 THEN CAST(round(@scale * mg / n) AS INTEGER) ELSE 0 END) AS day_means',
  ...BAND_NAMES.map((band) => `sum(has_${COLUMN[band]} > 0) AS days_${COLUMN[band]}`),
].join(', ')
const GROUP_PARTS = [
  'sum(numeric) AS n',
  `sum(${IN_MG}) AS mg`,
  ...BAND_NAMES.map((band) => `sum(${HAS[band]}) AS has_${COLUMN[band]}`),
].join(', ')

export function rateReadsOf({ raw }: Connection): Reads {
  const every = raw.prepare<[], { count: number }>('SELECT count(*) AS count FROM ward')
  const dates = 'ward_date BETWEEN @fromDate AND @toDate'
  const ofWards = `${dates} AND ward_id IN (SELECT value FROM json_each(@wardIds))`
  const prepared = (by: By, where: string) => ({
    totals: raw.prepare<Asked, Row>(
      `SELECT ${KEY[by]} AS key, ${TOTALS}, ${DAYS} FROM ward_day WHERE ${where} GROUP BY key`,
    ),
    // for one ward at a time a date on two wards is a day of each
    sharedDays: raw.prepare<Asked, Row>(
      `SELECT ${GROUPED} FROM (SELECT ${KEY[by]} AS key, ${GROUP_PARTS} FROM patient_day WHERE shared = 1 AND ${where} GROUP BY key, stay_id, ward_date) GROUP BY key`,
    ),
    stays: raw.prepare<Asked, Row>(
      `SELECT ${GROUPED} FROM (SELECT ${KEY[by]} AS key, ${GROUP_PARTS} FROM patient_day WHERE ${where} GROUP BY ${by === 'all' ? '' : 'key, '}stay_id) GROUP BY key`,
    ),
  })
  const all = { all: prepared('all', dates), month: prepared('month', dates), ward: prepared('ward', dates) }
  const some = { all: prepared('all', ofWards), month: prepared('month', ofWards), ward: prepared('ward', ofWards) }
  const days = raw.prepare<Asked, PatientDayRow>(
    `SELECT * FROM patient_day WHERE ${ofWards} ORDER BY stay_id, ward_date, ward_id`,
  )

  const found = raw.prepare<Asked, { first: string | null; last: string | null; days: number }>(
    `SELECT min(ward_date) AS first, max(ward_date) AS last, count(DISTINCT ward_date) AS days FROM ward_day WHERE ${ofWards}`,
  )
  const askedOf = (scope: Scope, { wardIds, fromDate, toDate }: DatesAsked): Asked => ({
    wardIds: JSON.stringify(wardIds.filter((wardId) => maySee(scope, wardId))),
    fromDate,
    toDate,
    tenth: MG_IN_A_TENTH,
    scale: MEAN_SCALE,
  })

  const ask = (scope: Scope, asked: DatesAsked, by: By): ReadonlyMap<string, RateSums> => {
    const wardIds = asked.wardIds.filter((wardId) => maySee(scope, wardId))
    // the whole hospital is read in one walk over the table, without looking each ward up
    const statements = new Set(wardIds).size === every.get()?.count ? all[by] : some[by]
    const about = askedOf(scope, asked)
    const byKey = (rows: readonly Row[]): ReadonlyMap<string, Row> =>
      new Map(rows.map((row) => [String(row['key']), row]))
    const [shared, stays] = [byKey(statements.sharedDays.all(about)), byKey(statements.stays.all(about))]
    return new Map(
      statements.totals.all(about).map((row) => {
        const key = String(row['key'])
        return [key, sumsOfRow(row, groupOf(row, shared.get(key)), groupOf(stays.get(key)))]
      }),
    )
  }
  return {
    rateSums: (scope, asked) => ask(scope, asked, 'all').get('') ?? NOTHING,
    rateSumsBy: (scope, asked, by) => ask(scope, asked, by),
    daysWithReadings: (scope, asked) => {
      const { first = null, last = null, days: count = 0 } = found.get(askedOf(scope, asked)) ?? {}
      return first === null || last === null ? null : { first, last, days: count }
    },
    patientDays: (scope, asked) => days.all(askedOf(scope, asked)).map(patientDayOf),
  }
}

const count = (row: Row | undefined, column: string): number => Number(row?.[column] ?? 0)

/** The sum of the rows' groups; a second row adds those that were grouped apart. */
function groupOf(...rows: readonly (Row | undefined)[]): GroupSums {
  const add = (column: string): number => rows.reduce((sum, row) => sum + count(row, column), 0)
  return {
    count: add('days'),
    withNumbers: add('days_numeric'),
    sumOfMeans: add('day_means'),
    having: byBand((band) => add(`days_${COLUMN[band]}`)),
  }
}

function sumsOfRow(row: Row, days: GroupSums, stays: GroupSums): RateSums {
  const perUnit = (column: string): RateSums['sum'] => ({
    'mg/dL': count(row, `${column}_mg`),
    'mmol/L': count(row, `${column}_mmol`),
  })
  return {
    readings: count(row, 'readings'),
    numeric: count(row, 'numeric'),
    lo: count(row, 'lo'),
    hi: count(row, 'hi'),
    sum: perUnit('sum'),
    sumOfSquares: perUnit('sum_of_squares'),
    bands: byBand((band) => count(row, COLUMN[band])),
    lowRisk: count(row, 'low_risk'),
    highRisk: count(row, 'high_risk'),
    days,
    stays,
  }
}

const NO_GROUP: GroupSums = { count: 0, withNumbers: 0, having: byBand(() => 0), sumOfMeans: 0 }
const NOTHING: RateSums = {
  readings: 0,
  numeric: 0,
  lo: 0,
  hi: 0,
  sum: { 'mg/dL': 0, 'mmol/L': 0 },
  sumOfSquares: { 'mg/dL': 0, 'mmol/L': 0 },
  bands: byBand(() => 0),
  lowRisk: 0,
  highRisk: 0,
  days: NO_GROUP,
  stays: NO_GROUP,
}
