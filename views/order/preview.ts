/**
 * The preview beside the form while the order is typed: the plot and every edge with one value on each side, or what is
 * wrong.
 */
import { html, type Html } from '../html.ts'
import { caution, stateMark } from '../parts.ts'
import { stepPlot, type PlotView } from './plot.ts'

/** One value with its answer: "350", "4 units". `note` is for values below the low limit. */
export type CellView = { readonly glucose: string; readonly answer: string }
export type EdgeView = {
  readonly cells: readonly [before: CellView, at: CellView, after: CellView]
  readonly also: string | null
}
/** A value with the exact amount and the rounded one. */
export type FactorRowView = { readonly glucose: string; readonly exact: string; readonly answer: string }

/** A refusal: the sentence, and the field with its name. */
export type FaultView = { readonly sentence: string; readonly field: string | null; readonly where: string | null }

export type PartView = { readonly id: string; readonly title: string } & (
  | { readonly kind: 'scale'; readonly plot: PlotView; readonly edges: readonly EdgeView[] }
  | { readonly kind: 'factor'; readonly plot: PlotView; readonly rows: readonly FactorRowView[] }
  | { readonly kind: 'says'; readonly text: string }
  | { readonly kind: 'refused'; readonly fault: FaultView }
)

export type TriedView =
  | { readonly kind: 'asks'; readonly text: string }
  | {
      readonly kind: 'answer'
      readonly heading: string
      readonly answer: string
      readonly lines: readonly string[]
      readonly also: string | null
    }

export type PreviewView = {
  /** The ward's glucose unit. Null: no ward chosen yet, so there is no preview. */
  readonly unit: string | null
  readonly parts: readonly PartView[]
  /** The contradiction in the order as a whole, where each part alone is valid. */
  readonly fault: FaultView | null
  readonly tried: TriedView | null
}

/** The part of the page that is rendered again with every change. */
export function orderPreview(view: PreviewView): Html {
  if (view.unit === null)
    return html`<p class="muted">Choose the ward: its unit and limits decide what can be drawn.</p>`
  return html`${view.fault === null ? null : faultBox(view.fault)}
${view.tried === null ? null : triedBox(view.tried)}
${view.parts.map((part) => html`<section class="order-part" aria-labelledby="part-${part.id}"><h3 id="part-${part.id}">${part.title}</h3>${partBody(part, view.unit ?? '')}</section>`)}
${caution()}`
}

function faultBox({ sentence, field, where }: FaultView): Html {
  return html`<div class="warning order-fault"><p>${stateMark({ shape: '■', word: 'Not taken', tone: 'urgent' })}</p><p>${sentence}</p>${field === null || where === null ? null : html`<p><a href="#${field}">${where}</a></p>`}</div>`
}

function partBody(part: PartView, unit: string): Html {
  switch (part.kind) {
    case 'says':
      return html`<p>${part.text}</p>`
    case 'refused':
      return faultBox(part.fault)
    case 'scale':
      return html`${stepPlot(part.plot)}
<table class="table edges" data-part="${part.id}"><caption>Every edge, in ${unit}</caption>
<thead><tr><th scope="col">One below</th><th scope="col">The edge</th><th scope="col">One above</th></tr></thead>
<tbody>${part.edges.map(({ cells, also }) => html`<tr>${cells.map((cell) => html`<td><span class="at">${cell.glucose}</span> <strong>${cell.answer}</strong></td>`)}</tr>${also === null ? null : html`<tr class="also"><td colspan="3">${also}</td></tr>`}`)}</tbody></table>`
    case 'factor':
      return html`${stepPlot(part.plot)}
<table class="table factor" data-part="${part.id}"><caption>Answers, rounded once</caption>
<thead><tr><th scope="col">${unit}</th><th scope="col">Exact</th><th scope="col">Gives</th></tr></thead>
<tbody>${part.rows.map((row) => html`<tr><td>${row.glucose}</td><td>${row.exact}</td><td><strong>${row.answer}</strong></td></tr>`)}</tbody></table>`
  }
}

function triedBox(tried: TriedView): Html {
  if (tried.kind === 'asks') return html`<p class="tried-asks">${tried.text}</p>`
  return html`<section class="tried" aria-labelledby="tried-heading"><h3 id="tried-heading">${tried.heading}</h3>
<p class="tried-answer"><strong>${tried.answer}</strong></p>
<ul class="working">${tried.lines.map((line) => html`<li>${line}</li>`)}</ul>
${tried.also === null ? null : html`<p>The order adds: ${tried.also}</p>`}</section>`
}
