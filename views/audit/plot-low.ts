/**
 * The plot of a low: values over time with the ward's limits, and below it the actions, one lane for each kind. It is
 * readable in black and white.
 */
import { html, type Html } from '../html.ts'
import { axes, type AxesView } from '../plot/axes.ts'
import { legend, mark, type MarkShape } from '../plot/marks.ts'

/** Positions in the plot's own units. server/audit/low-plot.ts calculates them. */
export type LowPlotView = {
  readonly width: number
  readonly height: number
  /** What the plot shows, in words. The tables beside it contain every value. */
  readonly label: string
  readonly axes: AxesView
  readonly limits: readonly { readonly y: number; readonly text: string; readonly dash: string }[]
  readonly values: readonly {
    readonly x: number
    readonly y: number
    readonly shape: MarkShape
    readonly text: string
    readonly textY: number
  }[]
  readonly lanes: readonly {
    readonly name: string
    readonly y: number
    readonly marks: readonly {
      readonly x: number
      readonly shape: MarkShape
      /** null: no room beside its neighbour */
      readonly text: { readonly x: number; readonly says: string } | null
    }[]
  }[]
}

/** ◇ ◆ ■ mark the levels of a low; use them for nothing else here. */
const KEY: readonly { readonly shape: MarkShape; readonly says: string }[] = [
  { shape: 'dot', says: 'value of the low' },
  { shape: 'target', says: 'recheck or follow-up' },
  { shape: 'ring', says: 'other reading' },
  { shape: 'cross', says: 'corrected or in error' },
  { shape: 'triangle', says: 'treatment' },
  { shape: 'half', says: 'prescriber called' },
  { shape: 'plus', says: 'emergency call' },
  { shape: 'triangle-down', says: 'insulin' },
  { shape: 'box', says: 'meal or food' },
]

export function lowPlot(view: LowPlotView): Html {
  const { area } = view.axes
  const drawn = new Set([...view.values, ...view.lanes.flatMap(({ marks }) => marks)].map(({ shape }) => shape))
  return html`<figure class="low-plot"><svg class="plot wide" viewBox="0 0 ${view.width} ${view.height}" role="img" aria-label="${view.label}">
${axes(view.axes)}
${view.limits.map(({ y, text, dash }) => html`<g class="limit"><line x1="${area.left}" x2="${area.right}" y1="${y}" y2="${y}" stroke-dasharray="${dash}"/><text class="end" x="${area.right}" y="${y - 5}">${text}</text></g>`)}
${view.lanes.map(({ name, y, marks }) => html`<g class="lane"><text class="tick" x="4" y="${y + 5}">${name}</text><line class="grid" x1="${area.left}" x2="${area.right}" y1="${y}" y2="${y}"/>${marks.map((one) => html`${mark({ x: one.x, y, shape: one.shape })}${one.text === null ? null : html`<text class="middle over" x="${one.text.x}" y="${y + 23}">${one.text.says}</text>`}`)}</g>`)}
${view.values.map((value) => html`${mark(value)}<text class="middle over value" x="${value.x}" y="${value.textY}">${value.text}</text>`)}
</svg>
<figcaption>${legend(KEY.filter(({ shape }) => drawn.has(shape)))}</figcaption></figure>`
}
