/** The words of a course: what its plot and table say of a reading, a dose, a low and a meal. */
import { formatGlucose, glucoseDigits, type Glucose, type GlucoseUnit } from '../../shared/glucose/value.ts'
import type {
  CourseDose,
  CourseLow,
  CourseMeal,
  CourseReading,
  DoseStanding,
  ReadingKind,
} from '../../shared/stay/course.ts'
import { formatInsulin, formatUnits } from '../format.ts'
import type { MarkShape } from '../plot/marks.ts'
import { LOW_CAUSE } from './low.ts'
import { hiddenText } from './round.ts'
import { MEAL_NAME } from './stay.ts'

/** In the place of a dose that a possible second checker must not see. */
const WAITS = 'awaiting second check'
export const DOSE_WAITS_ON_PLOT = `dose ${WAITS}`
/** In the place of such a reading on a plot; its table says whether a dose waits. */
export const HIDDEN = 'hidden from second checkers'

export const READING_SHAPE: Readonly<Record<ReadingKind, MarkShape>> = {
  meter: 'dot',
  laboratory: 'diamond',
  'in-doubt': 'ring',
}
export const READING_KIND: Readonly<Record<ReadingKind, string>> = {
  meter: 'Reading',
  laboratory: 'Laboratory value',
  'in-doubt': 'Reading, meter or strips in doubt',
}

export const DOSE_SHAPE: Readonly<Record<DoseStanding, MarkShape | 'tick'>> = {
  given: 'tick',
  outside: 'tick',
  'not-yet': 'triangle-down',
  uncertain: 'cross',
}
const DOSE_STANDING: Readonly<Record<DoseStanding, string>> = {
  given: '',
  outside: 'on paper or elsewhere',
  'not-yet': 'not given yet',
  uncertain: 'not charted whether given',
}
const DOSE_WHAT: Readonly<Record<DoseStanding, string>> = {
  given: 'Insulin given',
  outside: 'Insulin given',
  'not-yet': 'Insulin worked out',
  uncertain: 'Insulin signed',
}

/** What the shapes stand for, in the order in which they are named. */
export const COURSE_KEY: readonly { readonly shape: MarkShape; readonly says: string }[] = [
  { shape: 'dot', says: 'reading' },
  { shape: 'diamond', says: 'laboratory value' },
  { shape: 'ring', says: 'reading with meter or strips in doubt' },
  { shape: 'square', says: HIDDEN },
  { shape: 'triangle-down', says: 'insulin not given yet' },
  { shape: 'cross', says: 'insulin: not charted whether given' },
  { shape: 'box', says: 'tray served' },
  { shape: 'plus', says: 'tray: serving not charted' },
]

/** A number of the ward's own unit alone, as the axis has it; any other value with its unit. */
export function valueOnPlot(glucose: Glucose, unit: GlucoseUnit): string {
  return glucose.unit === unit ? glucoseDigits(glucose) : formatGlucose(glucose)
}

/** On the lane of its insulin: "4 units", "4 units, not given yet". */
export function doseOnPlot({ standing }: Pick<CourseDose, 'standing'>, units: number): string {
  return [formatUnits(units), DOSE_STANDING[standing]].filter((part) => part !== '').join(', ')
}

/** A reading in a table or a list; what may not be seen yet, with why. */
export function readingInWords({ glucose, hasDose }: Pick<CourseReading, 'glucose' | 'hasDose'>): string {
  return glucose === null ? hiddenText(hasDose ? 'waits' : 'none') : formatGlucose(glucose)
}

/** In a table or a list: what it was, and "4 units of insulin lispro, on paper or elsewhere". */
export function doseInWords({ standing, what }: CourseDose): { readonly what: string; readonly value: string } {
  if (what === null) return { what: 'Dose', value: WAITS }
  return {
    what: DOSE_WHAT[standing],
    value: [formatInsulin(what.units, what.insulin), DOSE_STANDING[standing]].filter((part) => part !== '').join(', '),
  }
}

function levelText({ level }: CourseLow): string {
  return level === null ? 'level unknown' : `level ${String(level)}`
}

/** "level 2, lowest 48, open" */
export function lowOnPlot(low: CourseLow, unit: GlucoseUnit): string {
  return [
    levelText(low),
    low.lowest === null ? '' : `lowest ${valueOnPlot(low.lowest, unit)}`,
    low.closed ? '' : 'open',
  ]
    .filter((part) => part !== '')
    .join(', ')
}

/** "level 2, lowest 48 mg/dL, recovered 08:10, closed: Kidney function" */
export function lowInWords(low: CourseLow, recovered: string | null): string {
  const end = low.closed ? `closed${low.cause === null ? '' : `: ${LOW_CAUSE[low.cause].toLowerCase()}`}` : 'open'
  return [
    levelText(low),
    low.lowest === null ? '' : `lowest ${formatGlucose(low.lowest)}`,
    recovered === null ? 'not recovered' : `recovered ${recovered}`,
    end,
  ]
    .filter((part) => part !== '')
    .join(', ')
}

/** On the lane: "75 % eaten", "served". */
export function mealOnPlot({ sharePercent }: CourseMeal): string {
  return sharePercent === null ? 'served' : `${String(sharePercent)} % eaten`
}

export function mealInWords({ meal, sharePercent, atServing }: CourseMeal): {
  readonly what: string
  readonly value: string
} {
  const parts = [
    sharePercent === null ? 'served, share eaten not charted' : `${String(sharePercent)} % eaten`,
    atServing ? '' : 'serving not charted, at its planned time',
  ]
  return { what: MEAL_NAME[meal], value: parts.filter((part) => part !== '').join(', ') }
}
