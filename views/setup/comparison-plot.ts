/**
 * The plot of a meter's pairs: difference against the laboratory's value, with the published limits as lines. It is
 * readable in black and white: lines differ by dash, points by shape.
 */
import { html, type Html } from '../html.ts'

/** Positions are in the plot's own units. The table of pairs beside it says the same in text. */
export type PlotView = {
  readonly width: number
  readonly height: number
  readonly area: { readonly left: number; readonly right: number; readonly top: number; readonly bottom: number }
  readonly xTicks: readonly { readonly x: number; readonly text: string }[]
  readonly yTicks: readonly { readonly y: number; readonly text: string; readonly isZero: boolean }[]
  /** One limit: its paths above and below zero, each as "M…L…". */
  readonly lines: readonly { readonly name: string; readonly dash: string; readonly paths: readonly string[] }[]
  readonly points: readonly { readonly x: number; readonly y: number; readonly shape: PointShape }[]
  readonly unit: string
  readonly summary: string
}

/** ring: inside every limit. triangle: outside some. square: outside all. */
export type PointShape = 'ring' | 'triangle' | 'square'
const SHAPE_SAYS: Readonly<Record<PointShape, string>> = {
  ring: 'inside every limit',
  triangle: 'outside one or two',
  square: 'outside all three',
}
const SHAPES = Object.keys(SHAPE_SAYS) as readonly PointShape[]

export function comparisonPlot(view: PlotView): Html {
  const { area } = view
  return html`<figure class="plot"><svg viewBox="0 0 ${view.width} ${view.height}" role="img" aria-label="${view.summary}">
<g fill="none" stroke="currentColor">
${view.yTicks.map(({ y, isZero }) => html`<line x1="${area.left}" x2="${area.right}" y1="${y}" y2="${y}" stroke-width="${isZero ? 2 : 1}" stroke-opacity="${isZero ? 1 : 0.2}"/>`)}
<line x1="${area.left}" x2="${area.left}" y1="${area.top}" y2="${area.bottom}" stroke-width="2"/>
${view.lines.map(({ dash, paths }) => paths.map((path) => html`<path d="${path}" stroke-width="2.5" stroke-dasharray="${dash}"/>`))}
${view.points.map((point) => pointMark(point))}
</g>
<g font-size="20" fill="currentColor">
${view.xTicks.map(({ x, text }) => html`<text x="${x}" y="${area.bottom + 22}" text-anchor="middle">${text}</text>`)}
${view.yTicks.map(({ y, text }) => html`<text x="${area.left - 8}" y="${y + 6}" text-anchor="end">${text}</text>`)}
<text x="${area.right}" y="${area.bottom + 46}" text-anchor="end">Laboratory, ${view.unit}</text>
<text x="4" y="18">Meter − laboratory, ${view.unit}</text>
</g></svg>
<figcaption><ul class="legend">${view.lines.map(({ name, dash }) => html`<li><svg viewBox="0 0 60 20" width="60" height="20" aria-hidden="true"><path d="M2 10 L58 10" fill="none" stroke="currentColor" stroke-width="2.5" stroke-dasharray="${dash}"/></svg> ${name}</li>`)}
${SHAPES.map((shape) => html`<li><svg viewBox="0 0 20 20" width="20" height="20" aria-hidden="true"><g fill="none" stroke="currentColor">${pointMark({ x: 10, y: 10, shape })}</g></svg> ${SHAPE_SAYS[shape]}</li>`)}</ul></figcaption></figure>`
}

function pointMark({ x, y, shape }: { readonly x: number; readonly y: number; readonly shape: PointShape }): Html {
  switch (shape) {
    case 'ring':
      return html`<circle cx="${x}" cy="${y}" r="5.5" stroke-width="2"/>`
    case 'triangle':
      return html`<path d="M${x} ${y - 7} L${x + 7} ${y + 6} L${x - 7} ${y + 6} Z" stroke-width="2"/>`
    case 'square':
      return html`<rect x="${x - 6}" y="${y - 6}" width="12" height="12" fill="currentColor" stroke-width="2"/>`
  }
}
