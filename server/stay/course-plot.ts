/** Lays out a course plot. d3-scale provides the scales; texts are placed where there is room. */
import { scaleLinear, type ScaleLinear } from 'd3-scale'
import { inMgPerDl, inMmolPerL } from '../../shared/glucose/convert.ts'
import { isNumeric, type Glucose, type GlucoseUnit, type NumericGlucose } from '../../shared/glucose/value.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Course } from '../../shared/stay/course.ts'
import { formatNumber } from '../../views/format.ts'
import type { CoursePlotView } from '../../views/plot/course.ts'
import { dayTicks } from '../../views/plot/day-ticks.ts'
import type { MarkShape } from '../../views/plot/marks.ts'
import { COURSE_KEY, READING_SHAPE, valueOnPlot } from '../../views/words/course.ts'
import { lanesOf, LETTER } from './course-lanes.ts'

/** full: 72 h, every value with its number. small: 24 h for a printed sheet, with the numbers beside it. */
type Size = {
  readonly width: number
  readonly left: number
  readonly right: number
  readonly top: number
  readonly floor: number
  readonly everyHours: 3 | 4 | 6
  readonly full: boolean
}
const SIZES: Readonly<Record<'full' | 'small', Size>> = {
  full: { width: 1100, left: 160, right: 990, top: 30, floor: 310, everyHours: 6, full: true },
  small: { width: 660, left: 166, right: 550, top: 34, floor: 220, everyHours: 6, full: false },
}
/**
 * Smallest range of the axis, as the unit prints it: from below level 2 to above most limits. So all plots of a ward
 * look alike.
 */
const LEAST_DRAWN: Readonly<Record<GlucoseUnit, readonly [number, number]>> = { 'mg/dL': [40, 300], 'mmol/L': [2, 17] }
/** Space kept free at both ends of the glucose axis for the marks of LO and HI, which lie this far inside it. */
const EDGE = 26
const EDGE_MARK = 8
/** Half the width of a mark. */
const MARK = 6

/** The layout of the course. `describedBy` is the id of the element that says where the numbers are listed. */
export function coursePlotView(
  course: Course,
  {
    policy,
    size,
    label,
    describedBy,
  }: {
    readonly policy: WardPolicy
    readonly size: 'full' | 'small'
    readonly label: string
    readonly describedBy: string
  },
): CoursePlotView {
  const { width, left, right, top, floor, everyHours, full } = SIZES[size]
  const { unit, zone } = policy
  const x = scaleLinear().domain([course.fromMs, course.toMs]).range([left, right])
  const y = glucoseScale(course, unit).range([floor - EDGE, top + EDGE])
  const at = (ms: number): number => whole(x(ms))
  const heightOf = (glucose: Glucose): number =>
    isNumeric(glucose) ? whole(y(printed(glucose, unit))) : glucose.value === 'LO' ? floor - EDGE_MARK : top + EDGE_MARK
  const lanes = lanesOf(course, { at, unit, left, right, top: floor, full })
  const bottom = lanes.at(-1)?.bottom ?? floor
  const ticks = dayTicks(course.fromMs, course.toMs, zone, everyHours)
  const values = course.readings.flatMap(({ glucose, kind, atMs }) =>
    glucose === null
      ? []
      : [
          {
            x: at(atMs),
            y: heightOf(glucose),
            shape: READING_SHAPE[kind],
            text: full || !isNumeric(glucose) ? valueOnPlot(glucose, unit) : null,
          },
        ],
  )
  const used = new Set<MarkShape>([
    ...values.map(({ shape }) => shape),
    ...lanes.flatMap(({ marks }) => marks.flatMap(({ shape }) => (shape === 'tick' ? [] : [shape]))),
  ])
  return {
    width,
    height: bottom + 56,
    large: !full,
    label,
    describedBy,
    axes: {
      area: { left, right, top, bottom },
      xTicks: ticks.hours.map(({ ms, text }) => ({ x: at(ms), text })),
      yTicks: y.ticks(5).map((value) => ({ y: whole(y(value)), text: formatNumber(value) })),
      yName: unit,
      xName: null,
    },
    floor,
    boundaries: ticks.boundaries.map(at),
    // a day with only a small visible part has no room for its name
    days: ticks.days.flatMap(({ fromMs, toMs, text }) =>
      at(toMs) - at(fromMs) < text.length * LETTER
        ? []
        : [{ x: whole((at(fromMs) + at(toMs)) / 2), y: bottom + 48, text }],
    ),
    limits: limitsOf(policy, y, heightOf, full),
    lines: course.runs
      .filter((run) => run.length > 1)
      .map((run) =>
        run
          .flatMap(({ atMs, glucose }, index) =>
            glucose === null ? [] : [`${index === 0 ? 'M' : 'L'}${String(at(atMs))} ${String(heightOf(glucose))}`],
          )
          .join(' '),
      ),
    values: withRoom(values, floor),
    places: course.readings.filter(({ glucose }) => glucose === null).map(({ atMs }) => at(atMs)),
    lanes,
    key: COURSE_KEY.filter(({ shape }) => used.has(shape)),
  }
}

/** Rounds to whole thousandths of the plot's width, finer than a line. */
function whole(value: number): number {
  return Math.round(value)
}

/** As the unit prints it. A value from a ward with the other unit is placed by its unrounded conversion. */
function printed(glucose: NumericGlucose, unit: GlucoseUnit): number {
  return unit === 'mg/dL' ? inMgPerDl(glucose) : inMmolPerL(glucose)
}

function glucoseScale({ readings }: Course, unit: GlucoseUnit): ScaleLinear<number, number> {
  const [least, most] = LEAST_DRAWN[unit]
  const numbers = readings.flatMap(({ glucose }) =>
    glucose !== null && isNumeric(glucose) ? [printed(glucose, unit)] : [],
  )
  return scaleLinear().domain([Math.min(least, ...numbers), Math.max(most, ...numbers)])
}

/** Lines of text closer than this overlap. */
const LINE = 15

/**
 * The ward's limits inside the scale as dashed lines, each with its own dash pattern. Names of close limits are moved
 * apart. A small plot has room only for the low and the critical limit.
 */
function limitsOf(
  { unit, limits }: WardPolicy,
  y: ScaleLinear<number, number>,
  heightOf: (glucose: Glucose) => number,
  full: boolean,
): CoursePlotView['limits'] {
  const [least = 0, most = 0] = y.domain()
  const all = [
    { name: 'critical', value: limits.criticalHigh, dash: '14 4 3 4 3 4' },
    ...(limits.recovered === limits.low || !full
      ? []
      : [{ name: 'recovered', value: limits.recovered, dash: '14 4 3 4' }]),
    { name: 'low', value: limits.low, dash: '10 5' },
    ...(full ? [{ name: 'level 2', value: limits.level2, dash: '3 4' }] : []),
  ]
  const placed: { y: number; text: string; textY: number; dash: string }[] = []
  for (const { name, value, dash } of all) {
    const at = printed({ unit, value }, unit)
    if (at < least || at > most) continue
    const height = heightOf({ unit, value })
    placed.push({
      y: height,
      text: `${name}: ${valueOnPlot({ unit, value }, unit)}`,
      textY: Math.max(height, (placed.at(-1)?.textY ?? -Infinity) + LINE),
      dash,
    })
  }
  return placed
}

type Placed = CoursePlotView['values'][number]
type Box = { readonly from: number; readonly to: number; readonly top: number; readonly bottom: number }

/**
 * Places each number above or below its mark, where it covers no mark and no other number. If neither is free it is
 * left out; the table contains it. The lowest values are placed first, because they matter most.
 */
function withRoom(values: readonly Omit<Placed, 'textY'>[], floor: number): readonly Placed[] {
  const taken: Box[] = values.map(({ x, y }) => ({ from: x - MARK, to: x + MARK, top: y - MARK, bottom: y + MARK }))
  const placed = new Map<Omit<Placed, 'textY'>, number>()
  for (const value of [...values].sort((a, b) => b.y - a.y)) {
    const half = ((value.text?.length ?? 0) * LETTER) / 2
    const boxAt = (textY: number): Box => ({
      from: value.x - half,
      to: value.x + half,
      top: textY - 11,
      bottom: textY + 1,
    })
    const textY = [value.y - 11, value.y + 21].find(
      (candidate) => candidate < floor && !taken.some((other) => overlaps(other, boxAt(candidate))),
    )
    if (value.text === null || textY === undefined) continue
    taken.push(boxAt(textY))
    placed.set(value, textY)
  }
  return values.map((value) => {
    const textY = placed.get(value)
    return textY === undefined ? { ...value, text: null, textY: value.y } : { ...value, textY }
  })
}

function overlaps(a: Box, b: Box): boolean {
  return a.from < b.to && b.from < a.to && a.top < b.bottom && b.top < a.bottom
}
