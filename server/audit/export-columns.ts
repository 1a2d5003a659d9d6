/**
 * The columns of every export: what each holds, in words, and how it is read from a row. The page and the files share
 * them.
 */
import { createHmac } from 'node:crypto'
import { stepShown } from '../../shared/audit/low-audit.ts'
import { auditedSteps, type AuditedStep } from '../../shared/audit/low-steps.ts'
import type { Share } from '../../shared/audit/rates.ts'
import { inMgPerDl } from '../../shared/glucose/convert.ts'
import { glucoseDigits, isNumeric } from '../../shared/glucose/value.ts'
import { lowTimes } from '../../shared/low/line.ts'
import { lowCourse } from '../../shared/low/course.ts'
import { ageOn } from '../../shared/measure/hospitalization.ts'
import { occasionGroupOf } from '../../shared/audit/by-hour.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import { DAY_MS, MINUTE_MS } from '../../shared/time/span.ts'
import { localToUtc, wardDate, wardTime } from '../../shared/time/zone.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { Cell } from '../http/csv.ts'
import type { MeasuredStay } from './measures-load.ts'
import type { LowFound } from './rates-load.ts'
import { policyAt, type PeriodWard } from './rates-question.ts'

export type Column<R> = {
  readonly name: string
  readonly says: string
  /** only in a file with patient names */
  readonly names?: true
  readonly of: (row: R) => Cell
}

/** The stay of a row. `number` replaces every id of the stay. */
export type StayRow = { readonly ward: PeriodWard; readonly stay: Stay; readonly number: string }

/** An age above this can identify a person, so 90 means 90 and above (45 CFR 164.514(b)(2); R). */
const OLDEST_YEARS = 90

/** The number that replaces a stay's id in one file. */
export type StayNumber = (stayId: string) => string

/**
 * In files with patient names, a stay has the same number in all of them. In a file without names, the numbers belong
 * to this file only. They use another key and `fileId`, which is stored nowhere. So such a file cannot be linked to any
 * other file. A number begins with a letter, so that no spreadsheet reads it as a number.
 */
export function stayNumbers(
  { store }: Pick<RequestContext, 'store'>,
  file: { readonly identified: true } | { readonly identified: false; readonly fileId: string },
): StayNumber {
  const key = store.secret(file.identified ? 'stay numbers of exports' : 'stay numbers of files without names')
  return (stayId) =>
    `s${createHmac('sha256', key)
      .update(file.identified ? stayId : `${file.fileId} ${stayId}`)
      .digest('hex')
      .slice(0, 16)}`
}

/** Calendar days from admission on the ward's clock. The day of admission is 0. */
function dayOf({ ward: { zone }, stay }: StayRow, ms: number): number {
  const noon = (at: number): number => localToUtc(wardDate(at, zone), '12:00', 'UTC')
  return Math.round((noon(ms) - noon(stay.admittedAtMs)) / DAY_MS)
}

function isoLocal(ms: number, zone: string): string {
  return `${wardDate(ms, zone)}T${wardTime(ms, zone)}`
}

const minutes = (ms: number | null): Cell => (ms === null ? null : Math.round((ms / MINUTE_MS) * 10) / 10)
const yesNo = (holds: boolean): Cell => (holds ? 'yes' : 'no')

/** The first columns of every row about a stay. */
function stayColumns<R extends StayRow>(): readonly Column<R>[] {
  return [
    {
      name: 'stay',
      says: 'number of the stay, and no id of the record: the same in every file that names patients; without names another in each file',
      of: ({ number }) => number,
    },
    { name: 'wristband', says: 'wristband number', names: true, of: ({ stay }) => stay.wristband },
    { name: 'family_name', says: 'family name', names: true, of: ({ stay }) => stay.familyName },
    { name: 'given_name', says: 'given name', names: true, of: ({ stay }) => stay.givenName },
    { name: 'born_on', says: 'date of birth', names: true, of: ({ stay }) => stay.bornOn },
    {
      name: 'admitted_at',
      says: 'admission, ward-local',
      names: true,
      of: ({ stay, ward }) => isoLocal(stay.admittedAtMs, ward.zone),
    },
    { name: 'ward', says: 'name of the ward', of: ({ ward }) => ward.name },
    {
      name: 'age_years',
      says: 'age in years at admission; 90 stands for 90 and above',
      of: ({ stay, ward }) => Math.min(OLDEST_YEARS, ageOn(stay.bornOn, wardDate(stay.admittedAtMs, ward.zone))),
    },
  ]
}

function timeColumns<R extends StayRow>(what: string, msOf: (row: R) => number): readonly Column<R>[] {
  return [
    {
      name: `${what}_at`,
      says: 'ward-local date and time',
      names: true,
      of: (row) => isoLocal(msOf(row), row.ward.zone),
    },
    {
      name: `${what}_day`,
      says: 'calendar days since admission; 0 is the day of admission',
      of: (row) => dayOf(row, msOf(row)),
    },
    { name: `${what}_time`, says: 'ward-local time of day', of: (row) => wardTime(msOf(row), row.ward.zone) },
  ]
}

export type ReadingRow = StayRow & { readonly reading: Reading }

export const READING_COLUMNS: readonly Column<ReadingRow>[] = [
  ...stayColumns<ReadingRow>(),
  ...timeColumns<ReadingRow>('taken', ({ reading }) => reading.takenAtMs),
  {
    name: 'value',
    says: 'the number as measured, in its unit; empty for LO and HI',
    of: ({ reading: { glucose } }) => (isNumeric(glucose) ? Number(glucoseDigits(glucose)) : null),
  },
  { name: 'unit', says: 'mg/dL or mmol/L', of: ({ reading }) => reading.glucose.unit },
  {
    name: 'out_of_range',
    says: 'LO or HI; empty for a number',
    of: ({
      reading: {
        glucose: { value },
      },
    }) => (typeof value === 'number' ? null : value),
  },
  {
    name: 'mg_per_dl',
    says: 'the number in mg/dL, converted with 18.0156 and not rounded; empty for LO and HI',
    of: ({ reading: { glucose } }) => (isNumeric(glucose) ? inMgPerDl(glucose) : null),
  },
  { name: 'source', says: 'capillary, venous (laboratory) or paper', of: ({ reading }) => reading.source },
  {
    name: 'occasion',
    says: 'round that it answers; recheck or extra',
    of: ({ reading, ward }) => occasionGroupOf(reading, policyAt(ward, reading.takenAtMs)),
  },
]

/** `nowMs` judges the recheck of an open event. */
export type LowRow = StayRow & { readonly found: LowFound; readonly nowMs: number }

const timesOf = ({ found: { low, readings }, ward }: LowRow): ReturnType<typeof lowTimes> =>
  lowTimes(low, readings, policyAt(ward, low.openedAtMs))

/**
 * The recheck that represents the low: the most overdue one, otherwise the slowest (shared/audit/low-audit.ts). Meals
 * do not affect rechecks.
 */
function recheckOf({ found: { low, readings }, ward, nowMs }: LowRow): AuditedStep | null {
  return stepShown(
    auditedSteps(
      low,
      readings,
      { mealsMs: [], servedMs: [], nothingByMouth: false },
      policyAt(ward, low.openedAtMs),
      nowMs,
    ),
    'recheck',
  )
}

export const LOW_COLUMNS: readonly Column<LowRow>[] = [
  ...stayColumns<LowRow>(),
  ...timeColumns<LowRow>('began', ({ found }) => found.figure.startMs),
  {
    name: 'lowest',
    says: 'lowest value as measured, LO if it was out of range; empty when no low value counts any more',
    of: (row) => lowestOf(row),
  },
  { name: 'unit', says: 'mg/dL or mmol/L', of: ({ found: { low }, ward }) => policyAt(ward, low.openedAtMs).unit },
  {
    name: 'level',
    says: '1 or 2 by the lowest value and the ward’s limits',
    of: ({ found: { figure } }) => figure.level,
  },
  { name: 'level_3', says: 'level 3 found at the bedside', of: ({ found: { figure } }) => yesNo(figure.levelThree) },
  {
    name: 'minutes_to_treatment',
    says: 'from the first value to the first treatment',
    of: (row) => minutes(timesOf(row).toTreatment),
  },
  {
    name: 'minutes_to_recheck',
    says: 'from the first value to the first value after the treatment',
    of: (row) => minutes(timesOf(row).toRecheck),
  },
  {
    name: 'minutes_treatment_to_recheck',
    says: 'from a treatment to the value after it, of the latest recheck; empty when it was not done',
    of: (row) => {
      const step = recheckOf(row)
      return minutes(step === null || step.doneMs === null ? null : step.doneMs - step.fromMs)
    },
  },
  {
    name: 'recheck',
    says: 'kept, late or missed by the ward’s limit, the worst of them; waiting: not due yet; empty: none was asked for',
    of: (row) => recheckOf(row)?.verdict ?? null,
  },
  {
    name: 'minutes_to_recovery',
    says: 'from the first value to the recovery that held, by the ward’s limit',
    of: (row) => minutes(timesOf(row).toRecovery),
  },
  {
    name: 'minutes_to_70',
    says: 'from the first value to the first at or above 70 mg/dL (3.9 mmol/L)',
    of: ({ found: { figure } }) => minutes(figure.toResolutionMs),
  },
  {
    name: 'minutes_to_told',
    says: 'from the first value to telling the prescriber',
    of: (row) => minutes(timesOf(row).toTold),
  },
  {
    name: 'again_within_24_h',
    says: '10 min to 24 h after an earlier low event of the stay',
    of: ({ found: { figure } }) => yesNo(figure.withinDay),
  },
  {
    name: 'again_in_stay',
    says: 'not the first low event of the stay',
    of: ({ found: { figure } }) => yesNo(figure.againInStay),
  },
  {
    name: 'cause',
    says: 'likely cause chosen at closing; empty while open',
    of: ({ found: { low } }) => low.charted.closing?.cause ?? null,
  },
]

function lowestOf({ found: { low, readings }, ward }: LowRow): Cell {
  const { lowest } = lowCourse(low, readings, policyAt(ward, low.openedAtMs))
  if (lowest === null) return null
  return isNumeric(lowest) ? Number(glucoseDigits(lowest)) : lowest.value
}

export type RateRow = {
  readonly grouping: 'all' | 'month' | 'ward'
  readonly group: string
  readonly denominator: 'readings' | 'patient-days' | 'stays'
  readonly figure: string
  readonly share: Share | null
  readonly value: number | null
  readonly behind: number
}

export const RATE_COLUMNS: readonly Column<RateRow>[] = [
  { name: 'grouping', says: 'all, month or ward', of: ({ grouping }) => grouping },
  {
    name: 'group',
    says: 'the month (YYYY-MM) or the ward; empty for all',
    of: ({ group }) => (group === '' ? null : group),
  },
  { name: 'denominator', says: 'readings, patient-days or stays', of: ({ denominator }) => denominator },
  {
    name: 'figure',
    says: 'below54, below70, in70to180, above180, above250, above300 (mg/dL or the printed pairs), lo, hi, mean, sd, cv, lbgi, hbgi',
    of: ({ figure }) => figure,
  },
  { name: 'count', says: 'how many; empty for a mean or an index', of: ({ share }) => share?.count ?? null },
  { name: 'of', says: 'of how many', of: ({ behind }) => behind },
  {
    name: 'value',
    says: 'share from 0 to 1; mean and SD in mg/dL; not rounded',
    of: ({ share, value }) => (share === null ? value : share.share),
  },
  {
    name: 'interval_low',
    says: 'lower end of the 95 % interval (Wilson) of a share',
    of: ({ share }) => share?.interval?.low ?? null,
  },
  { name: 'interval_high', says: 'its upper end', of: ({ share }) => share?.interval?.high ?? null },
]

export type MeasureRow = StayRow & { readonly rule: 'published' | 'classed'; readonly measured: MeasuredStay }

export const MEASURE_COLUMNS: readonly Column<MeasureRow>[] = [
  ...stayColumns<MeasureRow>(),
  {
    name: 'days_of_stay',
    says: 'calendar days from admission to discharge',
    of: (row) => dayOf(row, row.stay.dischargedAtMs ?? row.stay.admittedAtMs),
  },
  {
    name: 'rule',
    says: 'LO and HI: published (left out) or classed (LO below and HI above every limit)',
    of: ({ rule }) => rule,
  },
  {
    name: 'severe_low_denominator',
    says: 'CMS816: in the denominator',
    of: ({ measured: { low } }) => yesNo(low?.denominator === true),
  },
  { name: 'severe_low_numerator', says: 'CMS816: harm', of: ({ measured: { low } }) => yesNo(low?.numerator === true) },
  {
    name: 'severe_high_denominator',
    says: 'CMS871: in the denominator, exclusions included',
    of: ({ measured: { high } }) => yesNo(high?.denominator === true),
  },
  {
    name: 'severe_high_because',
    says: 'CMS871: diabetes, drug, glucose-200',
    of: ({ measured: { high } }) => (high === null ? null : high.because.join(' ')),
  },
  {
    name: 'severe_high_excluded',
    says: 'CMS871: why it is excluded; empty when it is not',
    of: ({ measured: { high } }) => (high === null || high.excluded.length === 0 ? null : high.excluded.join(' ')),
  },
  { name: 'severe_high_days', says: 'CMS871: eligible days', of: ({ measured: { high } }) => high?.eligibleDays ?? 0 },
  { name: 'severe_high_event_days', says: 'CMS871: event days', of: ({ measured: { high } }) => high?.eventDays ?? 0 },
]
