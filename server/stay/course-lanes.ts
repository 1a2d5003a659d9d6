/**
 * The lanes under a course plot: values awaiting a second check, each insulin, lows, meals. A lane grows until all its
 * texts fit.
 */
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import type { Course, CourseDose } from '../../shared/stay/course.ts'
import type { Lane, LaneMark } from '../../views/plot/course.ts'
import { DOSE_SHAPE, DOSE_WAITS_ON_PLOT, doseOnPlot, HIDDEN, lowOnPlot, mealOnPlot } from '../../views/words/course.ts'

/** Estimated width of a letter in plot units, wide enough that texts never overlap. */
export const LETTER = 8.4
const ROW = 22
/** Distance between a mark and its text, and between two texts. */
const APART = 10

/** `at` gives the position of an instant. `full` false: marks without texts, which are printed beside the plot. */
export type LanesOptions = {
  readonly at: (ms: number) => number
  readonly unit: GlucoseUnit
  readonly left: number
  readonly right: number
  readonly top: number
  readonly full: boolean
}

/** An entry of a lane before layout: a point or a span, and its text. */
type Entry = {
  readonly x1: number
  readonly x2: number
  readonly text: string
  readonly shape: LaneMark['shape'] | 'span' | 'open-span'
}

export function lanesOf(course: Course, options: LanesOptions): readonly Lane[] {
  const { at, unit, right } = options
  const point = (atMs: number, text: string, shape: LaneMark['shape']): Entry => ({
    x1: at(atMs),
    x2: at(atMs),
    text,
    shape,
  })
  const hidden = [
    ...course.readings
      .filter(({ glucose }) => glucose === null)
      .map(({ atMs }) => point(atMs, `reading ${HIDDEN}`, 'square')),
    ...course.doses.filter(({ what }) => what === null).map(({ atMs }) => point(atMs, DOSE_WAITS_ON_PLOT, 'square')),
  ]
  const lows = course.lows.map((low): Entry => ({
    x1: Math.max(options.left, at(Math.max(low.fromMs, course.fromMs))),
    x2: low.toMs === null ? right : at(Math.min(low.toMs, course.toMs)),
    text: lowOnPlot(low, unit),
    shape: low.toMs === null ? 'open-span' : 'span',
  }))
  const meals = course.meals.map((meal) => point(meal.atMs, mealOnPlot(meal), meal.atServing ? 'box' : 'plus'))
  const lanes: { readonly name: string; readonly entries: readonly Entry[] }[] = [
    { name: 'Second check', entries: hidden },
    ...insulinLanes(course.doses, point, options.full),
    { name: 'Lows', entries: lows },
    { name: 'Meals', entries: meals },
  ]
  const placed: Lane[] = []
  for (const { name, entries } of lanes) {
    if (entries.length > 0) placed.push(laneOf(name, entries, placed.at(-1)?.bottom ?? options.top, options))
  }
  return placed
}

/** One lane for each insulin, sorted by name. A small plot has one for all. */
function insulinLanes(
  doses: readonly CourseDose[],
  point: (atMs: number, text: string, shape: LaneMark['shape']) => Entry,
  full: boolean,
): readonly { readonly name: string; readonly entries: readonly Entry[] }[] {
  const byName = new Map<string, Entry[]>()
  for (const dose of doses) {
    if (dose.what === null) continue
    const name = full ? dose.what.insulin : 'Insulin'
    byName.set(name, [
      ...(byName.get(name) ?? []),
      point(dose.atMs, doseOnPlot(dose, dose.what.units), DOSE_SHAPE[dose.standing]),
    ])
  }
  return [...byName].sort(([a], [b]) => (a < b ? -1 : 1)).map(([name, entries]) => ({ name, entries }))
}

/** Texts go to the right of their marks, or to the left near the right end. Each takes the first row with room. */
function laneOf(name: string, entries: readonly Entry[], top: number, { left, right, full }: LanesOptions): Lane {
  const rows: { readonly from: number; readonly to: number }[][] = [[]]
  const placed = [...entries]
    .sort((a, b) => a.x1 - b.x1)
    .map((entry) => {
      const breadth = full ? entry.text.length * LETTER : 0
      const textEnd = entry.x2 + APART + breadth > right && entry.x1 - APART - breadth >= left
      const [from, to] = textEnd
        ? [entry.x1 - APART - breadth, entry.x2 + APART]
        : [entry.x1 - APART, entry.x2 + APART + breadth]
      let row = rows.findIndex((taken) => taken.every((other) => other.to <= from || other.from >= to))
      if (row === -1) row = rows.push([]) - 1
      rows[row]?.push({ from, to })
      return { ...entry, textEnd, textX: textEnd ? entry.x1 - APART : entry.x2 + APART, row }
    })
  const yOf = (row: number): number => top + 4 + ROW * row + ROW / 2
  const said = (text: string): string | null => (full ? text : null)
  return {
    name,
    top,
    bottom: top + 8 + ROW * rows.length,
    marks: placed.flatMap(({ x1, shape, text, textX, textEnd, row }) =>
      shape === 'span' || shape === 'open-span'
        ? []
        : [{ x: x1, y: yOf(row), shape, text: said(text), textX, textEnd }],
    ),
    spans: placed.flatMap(({ x1, x2, shape, text, textX, textEnd, row }) =>
      shape === 'span' || shape === 'open-span'
        ? [{ x1, x2, y: yOf(row), open: shape === 'open-span', text: said(text), textX, textEnd }]
        : [],
    ),
  }
}
