/** Lays out the plot of a meter's pairs. */
import { scaleLinear } from 'd3-scale'
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import {
  judgePair,
  limitAt,
  limitTurnsAt,
  STANDARDS,
  type Limit,
  type Pair,
  type StandardName,
} from '../../shared/meter/accuracy.ts'
import type { PlotView, PointShape } from '../../views/setup/comparison-plot.ts'
import { STANDARD } from '../../views/words/meter.ts'

const WIDTH = 720
const HEIGHT = 420
const AREA = { left: 62, right: WIDTH - 14, top: 34, bottom: HEIGHT - 60 } as const
/** Smallest span of the vertical axis, in counts. It shows the flat part of every limit. */
const LEAST_DIFFERENCE: Readonly<Record<GlucoseUnit, number>> = { 'mg/dL': 40, 'mmol/L': 25 }
const LEAST_LABORATORY: Readonly<Record<GlucoseUnit, number>> = { 'mg/dL': 200, 'mmol/L': 110 }
const DASH: Readonly<Record<StandardName, string>> = {
  'iso-15197-2013': 'none',
  'clsi-poct12-a3': '14 5',
  'fda-point-of-care': '3 5',
}

/** The plot of the pairs, all in one unit. Null: there are none. */
export function plotOf(pairs: readonly Pair[]): PlotView | null {
  const [first] = pairs
  if (first === undefined) return null
  const { unit } = first
  const perCount = unit === 'mg/dL' ? 1 : 10
  const differences = pairs.map(({ meter, laboratory }) => meter - laboratory)
  const mostLaboratory = Math.max(LEAST_LABORATORY[unit], ...pairs.map(({ laboratory }) => laboratory))
  const mostDifference = Math.max(LEAST_DIFFERENCE[unit], ...differences.map((difference) => Math.abs(difference)))
  const x = scaleLinear()
    .domain([0, mostLaboratory * 1.05])
    .range([AREA.left, AREA.right])
  const y = scaleLinear()
    .domain([-mostDifference * 1.1, mostDifference * 1.1])
    .range([AREA.bottom, AREA.top])
  const at = (scale: (value: number) => number, value: number): number => Math.round(scale(value) * 10) / 10
  return {
    width: WIDTH,
    height: HEIGHT,
    area: AREA,
    xTicks: x.ticks(6).map((value) => ({ x: at(x, value), text: String(value / perCount) })),
    yTicks: y.ticks(7).map((value) => ({ y: at(y, value), text: signed(value / perCount), isZero: value === 0 })),
    lines: STANDARDS.map(({ name, inner }) => ({
      name: STANDARD[name].name,
      dash: DASH[name],
      paths: [1, -1].map((sign) =>
        limitPath(
          inner.limit,
          unit,
          sign,
          (value) => at(x, value),
          (value) => at(y, value),
          x.domain()[1] ?? 0,
          y.domain()[1] ?? 0,
        ),
      ),
    })),
    points: pairs.map((pair) => ({
      x: at(x, pair.laboratory),
      y: at(y, pair.meter - pair.laboratory),
      shape: shapeOf(pair),
    })),
    unit,
    summary: `${String(pairs.length)} pairs: the meter’s value less the laboratory’s, against the laboratory’s value. The table of pairs below has the numbers.`,
  }
}

/** "+15", "−5", "0", with a minus sign instead of a hyphen. */
export function signed(value: number): string {
  return value > 0 ? `+${String(value)}` : value < 0 ? `−${String(-value)}` : '0'
}

function shapeOf(pair: Pair): PointShape {
  const outside = judgePair(pair).filter(({ insideInner }) => !insideInner).length
  return outside === 0 ? 'ring' : outside === STANDARDS.length ? 'square' : 'triangle'
}

/** The limit is flat, jumps where the source has a jump, then is relative, and is clipped at the edge. */
function limitPath(
  limit: Limit,
  unit: GlucoseUnit,
  sign: number,
  x: (value: number) => number,
  y: (value: number) => number,
  end: number,
  most: number,
): string {
  const turn = limitTurnsAt(unit, limit)
  const flat = limitAt(0, unit, limit)
  const share = limit.withinPermille / 1000
  const last = Math.min(end, most / share)
  return `M${String(x(0))} ${String(y(sign * flat))} L${String(x(turn))} ${String(y(sign * flat))} L${String(x(turn))} ${String(y(sign * turn * share))} L${String(x(last))} ${String(y(sign * last * share))}`
}
