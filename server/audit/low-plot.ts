/** Lays out the plot of a low. d3-scale provides the scales; the charted events provide the rest. */
import { scaleLinear } from 'd3-scale'
import { antecedentsIn } from '../../shared/audit/antecedents.ts'
import { parseCheckKey } from '../../shared/check/plan.ts'
import { glucoseDigits, isNumeric, type GlucoseUnit } from '../../shared/glucose/value.ts'
import { lowCourse } from '../../shared/low/course.ts'
import { lowLine } from '../../shared/low/line.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { isEffective, type Reading } from '../../shared/reading/reading.ts'
import { contains, type Interval } from '../../shared/time/interval.ts'
import { HOUR_MS, MINUTE_MS } from '../../shared/time/span.ts'
import type { LowPlotView } from '../../views/audit/plot-low.ts'
import { formatNumber, formatTime, formatUnits } from '../../views/format.ts'
import { timeTicks } from '../../views/plot/time-ticks.ts'
import type { MarkShape } from '../../views/plot/marks.ts'
import { amountParts } from '../../views/words/low.ts'
import { MEAL_NAME } from '../../views/words/stay.ts'
import { inUnit, type LoadedLow, type RequestedPeriod } from './low-load.ts'

/** Narrow enough for its text to stay readable on a phone. */
const WIDTH = 520
const AREA = { left: 78, right: 490, top: 34, bottom: 226 } as const
/** The lanes lie below the time axis. */
const LANES_TOP = 274
const LANE_HEIGHT = 42
/** Margin before and after the event, and the shortest period shown. */
const BEFORE_MS = HOUR_MS
const AFTER_MS = 15 * MINUTE_MS
const LEAST_MS = 2 * HOUR_MS
/** Values closer than this many units are labelled above and below their marks in turn. */
const CLOSE = 36
/** Width of one letter in a lane. */
const LETTER = 8.5
const UNITS_IN_ONE: Readonly<Record<GlucoseUnit, number>> = { 'mg/dL': 1, 'mmol/L': 10 }
/** Margin below the lowest and above the highest value, in mg/dL or tenths. */
const PAD: Readonly<Record<GlucoseUnit, number>> = { 'mg/dL': 15, 'mmol/L': 8 }

type Placed = { readonly atMs: number; readonly shape: MarkShape; readonly text: string }

/** The plot of the event, or of the requested period. */
export function plotOfLow({
  loadedLow,
  window,
  bed,
}: {
  readonly loadedLow: LoadedLow
  readonly window: RequestedPeriod | null
  readonly bed: string
}): LowPlotView {
  const { policy, audit } = loadedLow
  const { unit, zone, limits } = policy
  const { span, facts, visibility } = window ?? {
    span: eventSpan(loadedLow),
    facts: loadedLow.facts,
    visibility: loadedLow.visibility,
  }
  // the plot leaves out a value that this person may not see yet
  const readings = facts.readings
    .filter(
      (reading) =>
        contains(span, reading.takenAtMs) && reading.glucose.unit === unit && visibility.valueOf(reading) !== null,
    )
    .sort((a, b) => a.takenAtMs - b.takenAtMs)
  const counts = readings.flatMap(({ glucose }) => (isNumeric(glucose) ? [glucose.value] : []))
  const perUnit = UNITS_IN_ONE[unit]
  const domain = [
    Math.max(0, Math.min(limits.level2, ...counts) - PAD[unit]),
    Math.max(limits.recovered + PAD[unit], ...counts) + PAD[unit],
  ]
  const y = scaleLinear().domain(domain).nice(5).range([AREA.bottom, AREA.top])
  const x = scaleLinear().domain([span.fromMs, span.toMs]).range([AREA.left, AREA.right])
  const at = (value: number): number => Math.round(value * 10) / 10
  const own = new Set(
    lowCourse(loadedLow.low, loadedLow.readings, policy).parts.map(({ reading }) => reading.readingId),
  )
  const values = placeValues(readings, {
    own,
    lowId: loadedLow.low.lowId,
    x: (ms) => at(x(ms)),
    y: (reading) => at(placeOf(reading, y)),
  })
  const lanes = lanesOf(policy, { span, facts, visibility })
  return {
    width: WIDTH,
    height: LANES_TOP + lanes.length * LANE_HEIGHT,
    label: `${bed}, ${formatTime(span.fromMs, zone)} to ${formatTime(span.toMs, zone)}: ${readings.map((reading) => `${visibility.valueOf(reading) ?? ''} at ${formatTime(reading.takenAtMs, zone)}`).join(', ')}. First value of the low at ${formatTime(audit.startMs, zone)}. What was done stands in the tables.`,
    axes: {
      area: AREA,
      xTicks: timeTicks(span.fromMs, span.toMs, zone, 6).map(({ ms, text }) => ({ x: at(x(ms)), text })),
      yTicks: y.ticks(5).map((value) => ({ y: at(y(value)), text: formatNumber(value / perUnit) })),
      yName: `Glucose, ${unit}`,
      xName: null,
    },
    limits: limitLines(loadedLow).map(({ value, text, dash }) => ({ y: at(y(value)), text, dash })),
    values,
    lanes: lanes.map(({ name, marks }, index) => ({
      name,
      y: LANES_TOP + index * LANE_HEIGHT,
      marks: placeMarks(marks, (ms) => at(x(ms))),
    })),
  }
}

/** From an hour before the first value to shortly after the last action. */
function eventSpan({ low, audit, line }: LoadedLow): Interval {
  const done = line.filter(({ fact }) => fact.kind !== 'closed').map(({ atMs }) => atMs)
  const lastMs = Math.max(audit.startMs, ...done, ...low.treatments.map(({ atMs }) => atMs))
  const fromMs = audit.startMs - BEFORE_MS
  return { fromMs, toMs: Math.max(lastMs + AFTER_MS, fromMs + LEAST_MS) }
}

function limitLines({
  policy: { limits, unit },
}: LoadedLow): readonly { readonly value: number; readonly text: string; readonly dash: string }[] {
  const digits = (value: number): string => glucoseDigits({ unit, value })
  return [
    { value: limits.low, text: `low: below ${digits(limits.low)}`, dash: '9 5' },
    { value: limits.level2, text: `level 2: below ${digits(limits.level2)}`, dash: '3 4' },
    ...(limits.recovered === limits.low
      ? []
      : [{ value: limits.recovered, text: `recovered: from ${digits(limits.recovered)}`, dash: '14 4 3 4' }]),
  ]
}

/** LO and HI have no number, so they are placed on the lower and upper edge. */
function placeOf({ glucose }: Reading, y: (value: number) => number): number {
  return isNumeric(glucose) ? y(glucose.value) : glucose.value === 'LO' ? AREA.bottom - 6 : AREA.top + 6
}

function placeValues(
  readings: readonly Reading[],
  {
    own,
    lowId,
    x,
    y,
  }: {
    readonly own: ReadonlySet<string>
    readonly lowId: string
    readonly x: (ms: number) => number
    readonly y: (reading: Reading) => number
  },
): LowPlotView['values'] {
  let above = true
  let lastX = Number.NEGATIVE_INFINITY
  return readings.map((reading) => {
    const place = { x: x(reading.takenAtMs), y: y(reading) }
    above = place.x - lastX >= CLOSE ? true : !above
    lastX = place.x
    // keep the lowest values clear of the axis
    const textY = above || place.y > AREA.bottom - 28 ? place.y - 12 : place.y + 25
    return {
      ...place,
      shape: shapeOf(reading, own, lowId),
      text: glucoseDigits(reading.glucose),
      textY: Math.round(textY * 10) / 10,
    }
  })
}

function shapeOf(reading: Reading, own: ReadonlySet<string>, lowId: string): MarkShape {
  if (!isEffective(reading)) return 'cross'
  const parsed = reading.checkKey === null ? null : parseCheckKey(reading.checkKey)
  if (parsed?.kind === 'recheck' && parsed.lowId === lowId) return 'target'
  return own.has(reading.readingId) ? 'dot' : 'ring'
}

/** The actions, one lane for each kind. Empty lanes are left out. */
function lanesOf(
  policy: WardPolicy,
  { span, facts, visibility }: RequestedPeriod,
): readonly { readonly name: string; readonly marks: readonly Placed[] }[] {
  const happened = antecedentsIn(facts, span, policy)
  const line = facts.lows
    .flatMap((low) => lowLine(low, inUnit(facts.readings, policy), policy))
    .filter(({ atMs }) => contains(span, atMs))
    .sort((a, b) => a.atMs - b.atMs)
  const treated = line.flatMap(({ atMs, fact }): Placed[] =>
    fact.kind === 'treatment'
      ? [
          {
            atMs,
            shape: 'triangle',
            text:
              fact.amount === null ? 'given' : `${amountParts(fact.amount).digits} ${amountParts(fact.amount).unit}`,
          },
        ]
      : [],
  )
  const called = line.flatMap(({ atMs, fact }): Placed[] =>
    fact.kind === 'told'
      ? [{ atMs, shape: 'half', text: 'told' }]
      : fact.kind === 'emergency-call'
        ? [{ atMs, shape: 'plus', text: 'emergency' }]
        : fact.kind === 'insulin-answer'
          ? [{ atMs, shape: 'half', text: 'insulin asked' }]
          : [],
  )
  const insulin = happened.flatMap(({ atMs, fact }): Placed[] =>
    fact.kind === 'dose'
      ? [
          {
            atMs,
            shape: 'triangle-down',
            text: visibility.doseText(fact.dose) === null ? '' : formatUnits(fact.dose.units),
          },
        ]
      : fact.kind === 'outside-dose'
        ? [{ atMs, shape: 'triangle-down', text: formatUnits(fact.dose.units) }]
        : [],
  )
  const meals = [
    ...happened.flatMap(({ atMs, fact }): Placed[] =>
      fact.kind === 'tray'
        ? [
            {
              atMs,
              shape: 'box',
              text: `${MEAL_NAME[fact.tray.meal].toLowerCase()}${fact.tray.shareEatenPercent === null ? '' : ` ${String(fact.tray.shareEatenPercent)} %`}`,
            },
          ]
        : [],
    ),
    ...line.flatMap(({ atMs, fact }): Placed[] =>
      fact.kind === 'food' ? [{ atMs, shape: 'box', text: `${String(fact.grams)} g` }] : [],
    ),
  ].sort((a, b) => a.atMs - b.atMs)
  return [
    { name: 'Treated', marks: treated },
    { name: 'Called', marks: called },
    { name: 'Insulin', marks: insulin },
    { name: 'Food', marks: meals },
  ].filter(({ marks }) => marks.length > 0)
}

/**
 * Each text goes under its mark, inside the plot. A text that would overlap the one before is left out; the tables
 * contain it.
 */
function placeMarks(marks: readonly Placed[], x: (ms: number) => number): LowPlotView['lanes'][number]['marks'] {
  let endX = Number.NEGATIVE_INFINITY
  return marks.map(({ atMs, shape, text }) => {
    const half = (text.length * LETTER) / 2
    const textX = Math.round(Math.min(x(atMs), WIDTH - half) * 10) / 10
    const fits = text !== '' && textX - half > endX
    if (fits) endX = textX + half
    return { x: x(atMs), shape, text: fits ? { x: textX, says: text } : null }
  })
}
