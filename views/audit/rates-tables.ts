/** Tables of figures: each share with its number and interval in one cell, and a word where the number is small. */
import { html, type Html } from '../html.ts'
import { sharePlot, type SharePlotView } from './rates-plot.ts'

/** 12 of 40, "30 %", "18.1 to 45.4 %". Share and interval are null when the denominator is 0. */
export type ShareView = {
  readonly count: number
  readonly of: number
  readonly share: string | null
  readonly interval: string | null
  readonly small: boolean
}

/** "30 %" above "12 of 40, 18.1 to 45.4 %". `name` precedes it where a phone shows the row as a block. */
function shareCell({ count, of, share, interval, small }: ShareView, name: string | null): Html {
  const label = name === null ? null : html`<span class="cell-name">${name}: </span>`
  if (share === null || interval === null) return html`<td class="number">${label}none of 0</td>`
  return html`<td class="number">${label}<strong>${share}</strong>${small ? html` <span class="few"><span aria-hidden="true">○</span> few</span>` : null}<br><span class="behind">${count} of ${of}, ${interval}</span></td>`
}

export type DenominatorView = {
  readonly name: string
  /** what it counts, and how many */
  readonly of: string
}

/** Rows of one figure with each of the three denominators. */
export type ByThreeView = {
  readonly name: string
  readonly readings: ShareView
  readonly days: ShareView
  readonly stays: ShareView
  readonly mean: string | null
}

/** `id` is that of the heading above the table. */
export function byThree(id: string, keyName: string, rows: readonly ByThreeView[]): Html {
  const withMean = rows.some(({ mean }) => mean !== null)
  return html`<div class="scroll" role="region" tabindex="0" aria-labelledby="${id}"><table class="table rates stacked"><thead><tr><th scope="col">${keyName}</th><th scope="col" class="number">By reading</th><th scope="col" class="number">By patient-day</th><th scope="col" class="number">By stay</th>${withMean ? html`<th scope="col" class="number">Mean of readings</th>` : null}</tr></thead><tbody>
${rows.map(({ name, readings, days, stays, mean }) => html`<tr><th scope="row">${name}</th>${shareCell(readings, 'By reading')}${shareCell(days, 'By patient-day')}${shareCell(stays, 'By stay')}${mean === null ? null : html`<td class="number"><span class="cell-name">Mean: </span>${mean}</td>`}</tr>`)}
</tbody></table></div>`
}

/** Every band with every denominator, and what each denominator counts. */
export function bandTable(view: {
  readonly denominators: readonly DenominatorView[]
  readonly rows: readonly ByThreeView[]
}): Html {
  return html`<h2 id="by-band">Three denominators</h2>
<dl class="facts denominators">${view.denominators.map(({ name, of }) => html`<div><dt>${name}</dt><dd>${of}</dd></div>`)}</dl>
${byThree('by-band', 'Value', view.rows)}`
}

/** Outcomes: one share for each. */
export type OutcomesView = {
  readonly id: string
  readonly name: string
  readonly of: string
  readonly rows: readonly { readonly label: string; readonly share: ShareView }[]
}

export function outcomesTable(view: OutcomesView): Html {
  return html`<section class="card"><h3 id="${view.id}">${view.name}</h3>
<p>${view.of}</p>
<div class="scroll" role="region" tabindex="0" aria-labelledby="${view.id}"><table class="table rates"><tbody>
${view.rows.map(({ label, share }) => html`<tr><th scope="row">${label}</th>${shareCell(share, null)}</tr>`)}
</tbody></table></div></section>`
}

/** Rows of name, value and the number behind it. */
export type FigureView = { readonly label: string; readonly value: string; readonly from: string }

export function figureTable(view: {
  readonly id: string
  readonly title: string
  readonly rows: readonly FigureView[]
}): Html {
  return html`<h2 id="${view.id}">${view.title}</h2>
<div class="scroll" role="region" tabindex="0" aria-labelledby="${view.id}"><table class="table rates stacked"><thead><tr><th scope="col">Figure</th><th scope="col" class="number">Value</th><th scope="col">From</th></tr></thead><tbody>
${view.rows.map(({ label, value, from }) => html`<tr><th scope="row">${label}</th><td class="number">${value}</td><td>${from}</td></tr>`)}
</tbody></table></div>`
}

/** One band by month, by ward, by occasion or by hour: the plot and its table, under one heading. */
export type GroupView = {
  readonly id: string
  readonly title: string
  readonly keyName: string
  readonly plot: SharePlotView | null
  readonly rows: readonly ByThreeView[]
}

export function groupPart({ id, title, keyName, plot, rows }: GroupView): Html {
  return html`<section><h3 id="${id}">${title}</h3>
${
  rows.length === 0
    ? html`<p>No readings.</p>`
    : html`${plot === null ? null : sharePlot(plot)}
${byThree(id, keyName, rows)}`
}</section>`
}
