/** Where shares and their intervals stand in a drawing: across for months and hours, in rows for wards, whose names are long. */
import { scaleLinear, scalePoint } from 'd3-scale'
import type { Share } from '../../shared/audit/rates.ts'
import type { SharePlotView } from '../../views/audit/rates-plot.ts'

export type PlottedShare = { readonly key: string; readonly name: string; readonly share: Share }

const WIDTH = 560
const ACROSS = { height: 300, left: 68, right: WIDTH - 12, top: 34, bottom: 240 } as const
const ROWS = { left: 168, right: WIDTH - 20, top: 34, row: 30, below: 56 } as const
/** More than this fits no row's beginning; the table has the whole name. */
const NAME_LETTERS = 17
/** So many names fit side by side. */
const MOST_NAMES = 9

const at = (place: number): number => Math.round(place * 10) / 10
const percent = (share: number): string => `${String(Math.round(share * 1000) / 10)} %`

/** The top of the axis: the largest interval's end, on a whole tick. */
function shareScale(points: readonly PlottedShare[], range: readonly [number, number]) {
  const most = Math.max(0.02, ...points.map(({ share }) => share.interval?.high ?? 0))
  const scale = scaleLinear()
    .domain([0, most])
    .nice(5)
    .range([...range])
  const [, top = 1] = scale.domain()
  // half of nothing above the whole
  return top > 1 ? scale.domain([0, 1]) : scale
}

/** In two lines, so that neighbours' counts never touch. */
const COUNT_LINES = [42, 60] as const

/**
 * Months or hours from left to right, a place for each point. `counts`: how many stand behind each is written under it,
 * and few (rates.ts) get no mark. Null without a share to draw, and for one place alone: a trend of one is none.
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
