/** Where the parts of the step plot stand, in pixels: scales and ticks by d3-scale, everything else by the answers. */
import { scaleLinear } from 'd3-scale'
import { glucoseDigits, METER_RANGE, type GlucoseUnit } from '../../shared/glucose/value.ts'
import type { OrderAnswer } from '../../shared/order/answers.ts'
import { formatNumber, formatUnits } from '../../views/format.ts'
import type { PlotView } from '../../views/order/plot.ts'

const WIDTH = 480
const HEIGHT = 250
const AREA = { left: 44, right: 466, top: 26, bottom: 210 } as const
/** What is drawn to each side of the first and last change, and the least that is drawn: mg/dL, or tenths of mmol/L. */
const ROOM: Readonly<Record<GlucoseUnit, { readonly before: number; readonly after: number }>> = {
  'mg/dL': { before: 40, after: 60 },
  'mmol/L': { before: 22, after: 33 },
}
/** Narrower than this many pixels and a number would stand on its neighbour. */
const ROOM_FOR_TEXT = 14
/** Between two slanted strokes, in pixels. */
const HATCH = 12

/** Values with one answer, both ends in. */
type Stretch = { readonly from: number; to: number; readonly answer: OrderAnswer['answer'] }

/**
 * The plot of an answer for every glucose a meter can show. `answerAt` takes a count in `unit`; `low` is the ward's low
 * limit; `title` names the drawing for who does not see it.
 */
export function plotOf({
  unit,
  low,
  title,
  answerAt,
}: {
  readonly unit: GlucoseUnit
  readonly low: number
  readonly title: string
  readonly answerAt: (glucose: number) => OrderAnswer
}): PlotView {
  const { least, most } = METER_RANGE[unit]
  const every = stretchesOf(least, most, (glucose) => answerAt(glucose).answer)
  const [first, last] = [every[1]?.from ?? low, every.at(-1)?.from ?? low]
  const [from, to] = [
    Math.max(least, Math.min(low, first) - ROOM[unit].before),
    Math.min(most, last + ROOM[unit].after),
  ]
  const counts = every.flatMap(({ answer }) => (typeof answer === 'number' ? [answer] : []))
  // half a count to each side: a step stands between two values, and neither dot on the other
  const x = scaleLinear()
    .domain([from - 0.5, to + 0.5])
    .range([AREA.left, AREA.right])
  const y = scaleLinear()
    .domain([0, Math.max(2, ...counts)])
    .nice(5)
    .range([AREA.bottom, AREA.top + 22])
  const at = (value: number): number => Math.round(value * 10) / 10
  const shown = every
    .filter((stretch) => stretch.to >= from && stretch.from <= to)
    .map((stretch) => ({
      ...stretch,
      begins: stretch.from > from,
      ends: stretch.to < to,
      x1: at(x(Math.max(from, stretch.from))),
      x2: at(x(Math.min(to + 0.5, stretch.to + 1))),
    }))
  return {
    width: WIDTH,
    height: HEIGHT,
    label: `${title}: ${every.map((stretch) => stretchText(stretch, unit, least, most)).join('; ')}`,
    unit,
    area: AREA,
    // a tick stands on a whole value: tenths of mmol/L are divided by 10 for the eye alone
    xTicks: scaleLinear()
      .domain(unit === 'mmol/L' ? [from / 10, to / 10] : [from, to])
      .ticks(7)
      .map((value) => ({ x: at(x(unit === 'mmol/L' ? value * 10 : value)), text: formatNumber(value) })),
    yTicks: y
      .ticks(5)
      .filter(Number.isInteger)
      .map((units) => ({ y: at(y(units)), text: String(units) })),
    stretches: shown.flatMap((stretch) =>
      typeof stretch.answer === 'number'
        ? [
            {
              x1: stretch.x1,
              x2: stretch.x2,
              y: at(y(stretch.answer)),
              begins: stretch.begins,
              ends: stretch.ends,
              text: stretch.x2 - stretch.x1 < ROOM_FOR_TEXT ? null : formatNumber(stretch.answer),
            },
          ]
        : [],
    ),
    calls: shown
      .filter(({ answer }) => typeof answer !== 'number')
      .map(({ x1, x2 }) => ({ x1, x2, strokes: strokesOf(x1, x2) })),
    low:
      low >= from && low <= to
        ? { x: at(x(low - 0.5)), text: `low, below ${glucoseDigits({ unit, value: low })}` }
        : null,
  }
}

function stretchesOf(
  least: number,
  most: number,
  answerAt: (glucose: number) => OrderAnswer['answer'],
): readonly Stretch[] {
  const found: Stretch[] = []
  for (let glucose = least; glucose <= most; glucose++) {
    const answer = answerAt(glucose)
    const before = found.at(-1)
    if (before?.answer === answer) before.to = glucose
    else found.push({ from: glucose, to: glucose, answer })
  }
  return found
}

function stretchText({ from, to, answer }: Stretch, unit: GlucoseUnit, least: number, most: number): string {
  const digits = (value: number): string => glucoseDigits({ unit, value })
  const range =
    from === least ? `up to ${digits(to)}` : to === most ? `from ${digits(from)}` : `${digits(from)} to ${digits(to)}`
  return `${range} ${unit} ${answerText(answer)}`
}

/** "4 units", "no dose, call", "above the limit: no dose". */
export function answerText(answer: OrderAnswer['answer']): string {
  if (answer === 'call') return 'no dose, call'
  return answer === 'above-limit' ? 'above the limit: no dose' : formatUnits(answer)
}

/** Slanted strokes that fill the stretch, kept inside it. */
function strokesOf(x1: number, x2: number): PlotView['calls'][number]['strokes'] {
  const height = AREA.bottom - AREA.top
  const strokes: { x1: number; x2: number; y1: number; y2: number }[] = []
  for (let start = x1 - height; start < x2; start += HATCH) {
    const [from, to] = [Math.max(start, x1), Math.min(start + height, x2)]
    if (to > from) strokes.push({ x1: from, x2: to, y1: AREA.bottom - (from - start), y2: AREA.bottom - (to - start) })
  }
  return strokes
}
