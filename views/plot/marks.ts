/** The marks of plots. They differ by shape, with or without colour. */
import { html, type Html } from '../html.ts'

export type MarkShape =
  'ring' | 'dot' | 'diamond' | 'square' | 'cross' | 'triangle' | 'triangle-down' | 'box' | 'plus' | 'target' | 'half'

/** One mark around its centre, about 12 units wide. */
export function mark({ x, y, shape }: { readonly x: number; readonly y: number; readonly shape: MarkShape }): Html {
  switch (shape) {
    case 'ring':
      return html`<circle class="mark open" cx="${x}" cy="${y}" r="5.5"/>`
    case 'dot':
      return html`<circle class="mark full" cx="${x}" cy="${y}" r="5.5"/>`
    case 'target':
      return html`<circle class="mark open" cx="${x}" cy="${y}" r="6.5"/><circle class="mark full" cx="${x}" cy="${y}" r="2.2"/>`
    case 'half':
      return html`<circle class="mark open" cx="${x}" cy="${y}" r="6"/><path class="mark full" d="M${x} ${y - 6} A6 6 0 0 1 ${x} ${y + 6} Z"/>`
    case 'diamond':
      return html`<path class="mark full" d="M${x} ${y - 7.5} L${x + 7.5} ${y} L${x} ${y + 7.5} L${x - 7.5} ${y} Z"/>`
    case 'square':
      return html`<rect class="mark full" x="${x - 5.5}" y="${y - 5.5}" width="11" height="11"/>`
    case 'box':
      return html`<rect class="mark open" x="${x - 5.5}" y="${y - 5.5}" width="11" height="11"/>`
    case 'cross':
      return html`<path class="mark line" d="M${x - 5} ${y - 5} L${x + 5} ${y + 5} M${x - 5} ${y + 5} L${x + 5} ${y - 5}"/>`
    case 'plus':
      return html`<path class="mark line" d="M${x - 6.5} ${y} L${x + 6.5} ${y} M${x} ${y - 6.5} L${x} ${y + 6.5}"/>`
    case 'triangle':
      return html`<path class="mark full" d="M${x} ${y - 7} L${x + 7} ${y + 6} L${x - 7} ${y + 6} Z"/>`
    case 'triangle-down':
      return html`<path class="mark open" d="M${x} ${y + 7} L${x + 7} ${y - 6} L${x - 7} ${y - 6} Z"/>`
  }
}

/** The meaning of each shape, below the plot. */
export function legend(rows: readonly { readonly shape: MarkShape; readonly says: string }[]): Html {
  return html`<ul class="legend">${rows.map(({ shape, says }) => html`<li><svg class="plot key" viewBox="0 0 20 20" width="20" height="20" aria-hidden="true">${mark({ x: 10, y: 10, shape })}</svg> ${says}</li>`)}</ul>`
}
