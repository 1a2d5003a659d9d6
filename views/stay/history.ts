/** The history of a stay. */
import { html, type Html } from '../html.ts'
import { banner, type BannerView } from './banner.ts'

/** One entry: the first one charted, or a change. */
export type ChangeView = {
  readonly when: string
  readonly by: string
  readonly reason: string | null
  /** `before` is null for the first entry. */
  readonly changes: readonly { readonly name: string; readonly before: string | null; readonly after: string }[]
}

export type HistoryView = {
  readonly stayId: string
  readonly patient: BannerView
  readonly admitted: string
  readonly discharged: string | null
  /** The earlier stay. Its id is null if the viewer may not open it. */
  readonly previous: { readonly stayId: string | null } | null
  /** Newest first. */
  readonly facts: readonly ChangeView[]
  readonly identities: readonly ChangeView[]
  readonly beds: readonly { readonly where: string; readonly span: string }[]
  readonly plans: readonly { readonly text: string; readonly overlay: boolean }[]
  readonly interruptions: readonly { readonly text: string; readonly by: string }[]
}

export function historyPage(view: HistoryView): Html {
  return html`<h1>History of the stay</h1>
<div class="card">${banner(view.patient)}
<p>Admitted ${view.admitted}.${view.discharged === null ? null : ` Discharged ${view.discharged}.`}</p>
${view.previous === null ? null : html`<p>Follows an earlier stay${view.previous.stayId === null ? ' on a ward that is not yours.' : html`: <a href="/stays/${view.previous.stayId}">open it</a>.`}</p>`}</div>
<section class="card"><h2>Facts at the bedside</h2>
${changeTable('Facts at the bedside, newest first', view.facts)}</section>
<section class="card"><h2>Beds</h2>
<ul>${view.beds.map(({ where, span }) => html`<li>${where}: ${span}</li>`)}</ul></section>
<section class="card"><h2>Check plans</h2>
${view.plans.length === 0 ? html`<p>None.</p>` : html`<ul>${view.plans.map(({ text, overlay }) => html`<li>${text}${overlay ? ' (laid over the plan while nil by mouth)' : null}</li>`)}</ul>`}</section>
${
  view.interruptions.length === 0
    ? null
    : html`<section class="card"><h2>Feed interruptions</h2>
<ul>${view.interruptions.map(({ text, by }) => html`<li>${text}, by ${by}</li>`)}</ul></section>`
}
<section class="card"><h2>Name and identifiers</h2>
${changeTable('Name and identifiers, newest first', view.identities)}</section>
<p><a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}

function changeTable(caption: string, rows: readonly ChangeView[]): Html {
  return html`<table class="table stacked"><caption class="visually-hidden">${caption}</caption>
<thead><tr><th scope="col">When</th><th scope="col">Who</th><th scope="col">What</th></tr></thead>
<tbody>${rows.map((row) => html`<tr><td>${row.when}</td><td>${row.by}</td><td>${row.reason === null ? null : html`<p>Because: ${row.reason}</p>`}<ul>${row.changes.map((change) => html`<li>${change.name}: ${change.before === null ? null : html`<s>${change.before}</s> → `}<strong>${change.after}</strong></li>`)}</ul></td></tr>`)}</tbody></table>`
}
