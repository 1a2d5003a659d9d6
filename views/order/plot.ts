/** The step plot of an order: units against glucose, rendered on the server and readable in black and white. */
import { html, type Html } from '../html.ts'

/** Positions in pixels of the plot. server/order/preview-plot.ts calculates them. */
export type PlotView = {
  readonly width: number
  readonly height: number
  /** What the plot shows, in words, for readers who cannot see it. */
  readonly label: string
  readonly unit: string
  readonly area: { readonly left: number; readonly right: number; readonly top: number; readonly bottom: number }
  readonly xTicks: readonly { readonly x: number; readonly text: string }[]
  readonly yTicks: readonly { readonly y: number; readonly text: string }[]
  /** One answer over a range of glucose. `x` is that of its last value; `text` is above it where there is room. */
  readonly stretches: readonly {
    readonly x1: number
    readonly x2: number
    readonly y: number
    readonly begins: boolean
    readonly ends: boolean
    readonly text: string | null
  }[]
  /** Ranges that say "no dose, call": slanted strokes over the whole height. */
  readonly calls: readonly {
    readonly x1: number
    readonly x2: number
    readonly strokes: readonly { readonly x1: number; readonly x2: number; readonly y1: number; readonly y2: number }[]
  }[]
  readonly low: { readonly x: number; readonly text: string } | null
}

/** A full dot marks the first value of a range, an open one the start of the next. */
export function stepPlot(view: PlotView): Html {
  const { area } = view
  return html`<svg class="plot" viewBox="0 0 ${view.width} ${view.height}" role="img" aria-label="${view.label}">
${view.yTicks.map(({ y, text }) => html`<line class="grid" x1="${area.left}" x2="${area.right}" y1="${y}" y2="${y}"/><text class="tick end" x="${area.left - 8}" y="${y + 5}">${text}</text>`)}
${view.xTicks.map(({ x, text }) => html`<line class="axis" x1="${x}" x2="${x}" y1="${area.bottom}" y2="${area.bottom + 6}"/><text class="tick middle" x="${x}" y="${area.bottom + 22}">${text}</text>`)}
${view.calls.map(({ x1, x2, strokes }) => html`<g class="call">${strokes.map((stroke) => html`<line x1="${stroke.x1}" x2="${stroke.x2}" y1="${stroke.y1}" y2="${stroke.y2}"/>`)}<line x1="${x1}" x2="${x1}" y1="${area.top}" y2="${area.bottom}"/><text class="middle" x="${(x1 + x2) / 2}" y="${area.top + 16}">no dose,</text><text class="middle" x="${(x1 + x2) / 2}" y="${area.top + 34}">call</text></g>`)}
${view.low === null ? null : html`<g class="low-line"><line x1="${view.low.x}" x2="${view.low.x}" y1="${area.top}" y2="${area.bottom}"/><text x="${view.low.x + 5}" y="${area.top + 12}">${view.low.text}</text></g>`}
<line class="axis" x1="${area.left}" x2="${area.right}" y1="${area.bottom}" y2="${area.bottom}"/><line class="axis" x1="${area.left}" x2="${area.left}" y1="${area.top}" y2="${area.bottom}"/>
${view.stretches.map(({ x1, x2, y, begins, ends, text }) => html`<g class="stretch"><line x1="${x1}" x2="${x2}" y1="${y}" y2="${y}"/>${begins ? html`<circle class="in" cx="${x1}" cy="${y}" r="4.5"/>` : null}${ends ? html`<circle class="out" cx="${x2}" cy="${y}" r="4.5"/>` : null}${text === null ? null : html`<text class="middle" x="${(x1 + x2) / 2}" y="${y - 9}">${text}</text>`}</g>`)}
<text class="name" x="${area.left - 30}" y="14">units</text><text class="name end" x="${area.right}" y="${view.height - 4}">${view.unit}</text>
</svg>`
}
