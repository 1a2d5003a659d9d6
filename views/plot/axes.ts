/**
 * The frame that all plots share: axes, ticks, grid and names. The server renders it with attributes and classes (no
 * style attribute, no script). It is readable in black and white: the content differs by shape and dash.
 */
import { html, type Html } from '../html.ts'

/** Positions are in the plot's own units. */
export type AxesView = {
  readonly area: { readonly left: number; readonly right: number; readonly top: number; readonly bottom: number }
  readonly xTicks: readonly { readonly x: number; readonly text: string }[]
  readonly yTicks: readonly { readonly y: number; readonly text: string }[]
  /** Above the vertical axis, and below the right end of the horizontal one. Null: none. */
  readonly yName: string | null
  readonly xName: string | null
  /** Which ticks have a faint grid line. Default: those of the vertical axis. */
  readonly grid?: 'x' | 'y'
}

/** The frame only; the marks are drawn over it. */
export function axes(view: AxesView): Html {
  const { area, xTicks, yTicks, xName, yName, grid = 'y' } = view
  return html`${yTicks.map(({ y, text }) => html`${grid === 'y' ? html`<line class="grid" x1="${area.left}" x2="${area.right}" y1="${y}" y2="${y}"/>` : null}<text class="tick end" x="${area.left - 8}" y="${y + 5}">${text}</text>`)}
${xTicks.map(({ x, text }) => html`${grid === 'x' ? html`<line class="grid" x1="${x}" x2="${x}" y1="${area.top}" y2="${area.bottom}"/>` : html`<line class="axis" x1="${x}" x2="${x}" y1="${area.bottom}" y2="${area.bottom + 6}"/>`}<text class="tick middle" x="${x}" y="${area.bottom + 22}">${text}</text>`)}
<line class="axis" x1="${area.left}" x2="${area.right}" y1="${area.bottom}" y2="${area.bottom}"/><line class="axis" x1="${area.left}" x2="${area.left}" y1="${area.top}" y2="${area.bottom}"/>
${yName === null ? null : html`<text class="name" x="4" y="16">${yName}</text>`}${xName === null ? null : html`<text class="name end" x="${area.right}" y="${area.bottom + 44}">${xName}</text>`}`
}
