/**
 * Shares with their 95 % intervals: a mark and a bar each, never stacked. A full dot means a denominator of 30 or more,
 * a ring a smaller one.
 */
import { html, type Html } from '../html.ts'
import { axes, type AxesView } from '../plot/axes.ts'
import { mark } from '../plot/marks.ts'

/** Positions in the plot's own units. server/audit/rates-plot.ts calculates them. */
export type SharePlotView = {
  readonly width: number
  readonly height: number
  /** What the plot shows, in words. The table beside it contains every number. */
  readonly label: string
  readonly axes: AxesView
  /** The interval runs from (x1, y1) to (x2, y2), with a short stroke of length `cap` across each end. */
  readonly marks: readonly {
    readonly x: number
    readonly y: number
    readonly x1: number
    readonly y1: number
    readonly x2: number
    readonly y2: number
    readonly small: boolean
  }[]
  /** Direction of the bars. */
  readonly bars: 'upright' | 'lying'
  /**
   * The number behind each place, written under it. Places with small numbers then have no mark. Null: every place has
   * its mark.
   */
  readonly counts: {
    readonly each: readonly { readonly x: number; readonly y: number; readonly text: string }[]
    readonly name: { readonly x: number; readonly y: number; readonly text: string }
  } | null
}

const CAP = 5

export function sharePlot(view: SharePlotView): Html {
  const [dx, dy] = view.bars === 'upright' ? [CAP, 0] : [0, CAP]
  const { counts } = view
  return html`<figure class="share-plot"><svg class="plot shares" viewBox="0 0 ${view.width} ${view.height}" role="img" aria-label="${view.label}">
${axes(view.axes)}
${view.marks.map(({ x, y, x1, y1, x2, y2, small }) => html`<path class="interval" d="M${x1} ${y1} L${x2} ${y2} M${x1 - dx} ${y1 - dy} L${x1 + dx} ${y1 + dy} M${x2 - dx} ${y2 - dy} L${x2 + dx} ${y2 + dy}"/>${mark({ x, y, shape: small ? 'ring' : 'dot' })}`)}
${counts === null ? null : html`${counts.each.map(({ x, y, text }) => html`<text class="tick middle" x="${x}" y="${y}">${text}</text>`)}<text class="name end" x="${counts.name.x}" y="${counts.name.y}">${counts.name.text}</text>`}
</svg>
<figcaption class="hint">Mark: the share. Bar: its 95 % interval. ${counts === null ? 'A ring instead of a dot: few, under 30.' : 'Under each hour: how many readings. Under 30 there is no mark: a share of so few says nothing.'}</figcaption></figure>`
}
