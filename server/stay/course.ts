/** The last 72 h of a stay as one plot and its table, as this person may see them. */
import { maskedDose } from '../../shared/reading/mask.ts'
import { courseOf, type Course } from '../../shared/stay/course.ts'
import { DAY_MS } from '../../shared/time/span.ts'
import { formatWhen } from '../../views/format.ts'
import type { CourseRowView, CourseView } from '../../views/plot/course.ts'
import { doseInWords, lowInWords, mealInWords, READING_KIND, readingInWords } from '../../views/words/course.ts'
import type { RequestContext } from '../http/request-context.ts'
import { isMasked } from '../bedside/masking.ts'
import type { StayFacts } from '../store/contract.ts'
import { coursePlotView } from './course-plot.ts'

/** How far back the patient's page goes, like the facts of a stay. */
const SHOWN_MS = 3 * DAY_MS

export function courseView(ctx: RequestContext, facts: StayFacts): CourseView {
  const { nowMs, actor } = ctx
  const { policy } = facts.policy
  const course = courseOf(
    { ...facts, policy },
    {
      fromMs: nowMs - SHOWN_MS,
      toMs: nowMs,
      hidesReading: (reading) => isMasked(ctx, reading, facts),
      hidesDose: (dose) => maskedDose(actor, dose, { nowMs, policy }),
    },
  )
  const when = (ms: number): string => formatWhen(ms, nowMs, policy.zone)
  const caption = `Glucose in ${policy.unit} from ${when(course.fromMs)} to ${when(course.toMs)}, with insulin, lows and meals.`
  return {
    plot: coursePlotView(course, {
      policy,
      size: 'full',
      label: `Readings, insulin, lows and meals of the last 72 h: ${countsText(course)}`,
      describedBy: 'course-says',
    }),
    caption,
    rows: rowsOf(course, when),
  }
}

/** "9 readings, 4 insulin doses, 1 low, 6 meals" */
export function countsText({ readings, doses, lows, meals }: Course): string {
  const counted = (count: number, one: string, many: string): string => `${String(count)} ${count === 1 ? one : many}`
  return [
    counted(readings.length, 'reading', 'readings'),
    counted(doses.length, 'insulin dose', 'insulin doses'),
    counted(lows.length, 'low', 'lows'),
    counted(meals.length, 'meal', 'meals'),
  ].join(', ')
}

/** Everything that the plot shows, oldest first. */
function rowsOf({ readings, doses, lows, meals }: Course, when: (ms: number) => string): readonly CourseRowView[] {
  const dated: { readonly atMs: number; readonly row: Omit<CourseRowView, 'when'> }[] = [
    ...readings.map(({ atMs, kind, glucose, hasDose, readingId }) => ({
      atMs,
      row: { what: READING_KIND[kind], value: readingInWords({ glucose, hasDose }), path: `readings/${readingId}` },
    })),
    ...doses.map((dose) => ({
      atMs: dose.atMs,
      row: { ...doseInWords(dose), path: dose.standing === 'outside' ? null : `doses/${dose.doseId}` },
    })),
    ...lows.map((low) => ({
      atMs: low.fromMs,
      row: {
        what: 'Low',
        value: lowInWords(low, low.toMs === null ? null : when(low.toMs)),
        path: `lows/${low.lowId}`,
      },
    })),
    ...meals.map((meal) => ({ atMs: meal.atMs, row: { ...mealInWords(meal), path: null } })),
  ]
  return dated.sort((a, b) => a.atMs - b.atMs).map(({ atMs, row }) => ({ when: when(atMs), ...row }))
}
