/** Every version of every insulin order of one patient, newest first. */
import { html, type Html } from '../html.ts'
import { caution, stateMark } from '../parts.ts'
import type { MarkView } from '../round/row.ts'
import { banner, type BannerView } from '../stay/banner.ts'

export type OrderRowView = {
  readonly path: string
  /** "insulin lispro, version 2" */
  readonly title: string
  readonly mark: MarkView
  readonly transcribed: string
  /** "by Omar Reyes, 07:20"; "–" if nobody has. */
  readonly verified: string
  /** "from Mon 9 Mar, 05:20, until further notice" */
  readonly runs: string
  /** Links for a nurse: verify. */
  readonly ways: readonly { readonly path: string; readonly label: string }[]
}

export type OrderListView = {
  readonly stayId: string
  readonly patient: BannerView
  readonly rows: readonly OrderRowView[]
  readonly mayChart: boolean
}

export function orderList(view: OrderListView): Html {
  return html`<h1>Insulin orders, bed ${view.patient.bed}</h1>
<div class="card">${banner(view.patient)}
${view.mayChart ? html`<p class="actions"><a class="button main" href="/stays/${view.stayId}/orders/new">Write an order</a> <a class="button" href="/stays/${view.stayId}/orders/standard">From a standard order</a></p>` : null}</div>
${
  view.rows.length === 0
    ? html`<p class="card">No insulin order was written in this stay.</p>`
    : html`<section class="card"><h2>All versions, newest first</h2>
<table class="table stacked"><caption class="visually-hidden">Every version of every order, newest first</caption>
<thead><tr><th scope="col">Order</th><th scope="col">State</th><th scope="col">Transcribed</th><th scope="col">Verified</th><th scope="col">Runs</th></tr></thead>
<tbody>${view.rows.map((row) => html`<tr><th scope="row"><a class="button quiet" href="/${row.path}">${row.title}</a></th><td>${stateMark(row.mark)}${row.ways.length === 0 ? null : html`<p class="actions">${row.ways.map((way) => html`<a class="button" href="/${way.path}" aria-label="${way.label}: ${row.title}">${way.label}</a>`)}</p>`}</td><td>${cellName('Transcribed')}${row.transcribed}</td><td>${cellName('Verified')}${row.verified}</td><td>${cellName('Runs')}${row.runs}</td></tr>`)}</tbody></table>
<p class="muted">An order gives no dose before a second nurse has verified it from the original. A version is never edited: a change is a new version, and every dose keeps the version it was worked out from.</p>
${caution()}</section>`
}
<p><a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}

/** On a phone the table's head is hidden, so each cell has its own label. */
export function cellName(name: string): Html {
  return html`<span class="cell-name">${name} </span>`
}
