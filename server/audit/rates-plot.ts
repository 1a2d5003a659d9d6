/** Lays out plots of shares and their intervals: columns for months and hours, rows for wards, whose names are long. */
import { scaleLinear, scalePoint } from 'd3-scale'
import type { Share } from '../../shared/audit/rates.ts'
import type { SharePlotView } from '../../views/audit/rates-plot.ts'

export type PlottedShare = { readonly key: string; readonly name: string; readonly share: Share }

const WIDTH = 560
const ACROSS = { height: 300, left: 68, right: WIDTH - 12, top: 34, bottom: 240 } as const
const ROWS = { left: 168, right: WIDTH - 20, top: 34, row: 30, below: 56 } as const
/** Longest name at the start of a row. The table has the full name. */
const NAME_LETTERS = 17
/** Most names that fit side by side. */
const MOST_NAMES = 9

const at = (place: number): number => Math.round(place * 10) / 10
const percent = (share: number): string => `${String(Math.round(share * 1000) / 10)} %`

/** The top of the axis: the end of the largest interval, rounded up to a tick. */
function shareScale(points: readonly PlottedShare[], range: readonly [number, number]) {
  const most = Math.max(0.02, ...points.map(({ share }) => share.interval?.high ?? 0))
  const scale = scaleLinear()
    .domain([0, most])
    .nice(5)
    .range([...range])
  const [, top = 1] = scale.domain()
  // the axis never goes beyond 100 %
  return top > 1 ? scale.domain([0, 1]) : scale
}

/** Two alternating lines, so that neighbouring counts never overlap. */
const COUNT_LINES = [42, 60] as const

/**
 * Months or hours from left to right, one column for each point. `counts`: the number behind each point is written
 * under it, and points with small numbers (rates.ts) get no mark. Null without a share to draw, and for a single
 * column, which shows no trend.
 */
export function plotAcross(
  points: readonly PlottedShare[],
  what: { readonly label: string; readonly yName: string; readonly xName: string; readonly counts: boolean },
): SharePlotView | null {
  const drawn = what.counts ? points.filter(({ share }) => !share.small) : points
  if (points.length < 2 || !points.some(({ share }) => share.share !== null)) return null
  const y = shareScale(drawn, [ACROSS.bottom, ACROSS.top])
  const x = scalePoint()
    .domain(points.map(({ key }) => key))
    .range([ACROSS.left, ACROSS.right])
    .padding(0.7)
  const each = Math.ceil(points.length / MOST_NAMES)
  return {
    width: WIDTH,
    height: what.counts ? ACROSS.height + 24 : ACROSS.height,
    label: what.label,
    bars: 'upright',
    counts: what.counts
      ? {
          each: points.map(({ key, share }, index) => ({
            x: at(x(key) ?? 0),
            y: ACROSS.bottom + (COUNT_LINES[index % 2] ?? 0),
            text: String(share.of),
          })),
          name: { x: ACROSS.right, y: ACROSS.bottom + 80, text: `${what.xName}, and how many` },
        }
      : null,
    axes: {
      area: ACROSS,
      yName: what.yName,
      xName: what.counts ? null : what.xName,
      xTicks: points.flatMap(({ key, name }, index) =>
        index % each === 0 ? [{ x: at(x(key) ?? 0), text: name }] : [],
      ),
      yTicks: y.ticks(5).map((share) => ({ y: at(y(share)), text: percent(share) })),
    },
    marks: drawn.flatMap(({ key, share: { share, interval, small } }) => {
      if (share === null || interval === null) return []
      const across = at(x(key) ?? 0)
      return [
        {
          x: across,
          y: at(y(share)),
          x1: across,
          y1: at(y(interval.low)),
          x2: across,
          y2: at(y(interval.high)),
          small,
        },
      ]
    }),
  }
}

/** Wards from top to bottom. Null without a share to draw. */
export function plotInRows(
  points: readonly PlottedShare[],
  what: { readonly label: string; readonly yName: string; readonly xName: string },
): SharePlotView | null {
  if (!points.some(({ share }) => share.share !== null)) return null
  const bottom = ROWS.top + points.length * ROWS.row
  const x = shareScale(points, [ROWS.left, ROWS.right])
  const yOf = (index: number): number => ROWS.top + (index + 0.5) * ROWS.row
  return {
    width: WIDTH,
    height: bottom + ROWS.below,
    label: what.label,
    bars: 'lying',
    counts: null,
    axes: {
      area: { left: ROWS.left, right: ROWS.right, top: ROWS.top, bottom },
      yName: what.yName,
      xName: what.xName,
      grid: 'x',
      xTicks: x.ticks(5).map((share) => ({ x: at(x(share)), text: percent(share) })),
      yTicks: points.map(({ name }, index) => ({
        y: yOf(index),
        text: name.length > NAME_LETTERS ? `${name.slice(0, NAME_LETTERS - 1)}…` : name,
      })),
    },
    marks: points.flatMap(({ share: { share, interval, small } }, index) =>
      share === null || interval === null
        ? []
        : [
            {
              x: at(x(share)),
              y: yOf(index),
              x1: at(x(interval.low)),
              y1: yOf(index),
              x2: at(x(interval.high)),
              y2: yOf(index),
              small,
            },
          ],
    ),
  }
}
