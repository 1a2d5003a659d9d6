/** One low in one look: what happened to this patient, and when. */
import { html, type Html } from '../html.ts'
import { caution, field, problem, stateMark } from '../parts.ts'
import { happenedTable, ledTo, lineTable, lowFigures, notesList, plotOf, stepsTable, type AuditedLowView, type HappenedRowView } from './low-parts.ts'

export type LowLookView = {
  readonly low: AuditedLowView
  readonly wardName: string
  /** Everything charted in the window that was asked for; null: none was. */
  readonly window: { readonly caption: string; readonly rows: readonly HappenedRowView[] } | null
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
  readonly mayNote: boolean
}

export function lowLook(view: LowLookView): Html {
  const { low, window } = view
  return html`<h1>Low: ${low.bed}, ${low.when}</h1>
${problem(view.problem)}
<section class="card" aria-label="The low"><p class="basis">${low.patient} <span class="muted">${low.identifiers}, ${view.wardName}</span></p>
<p>Lowest <strong>${low.lowest}</strong> ${stateMark(low.level)}</p>
${plotOf(low)}
${lowFigures(low)}${caution()}</section>
${window === null ? null : html`<section class="card" aria-labelledby="window-heading"><h2 id="window-heading">In the window</h2>${happenedTable(window.caption, window.rows)}</section>`}
<section class="card" aria-labelledby="led-heading"><h2 id="led-heading">What led to it</h2>${ledTo(low)}</section>
<section class="card" aria-label="Protocol steps">${stepsTable(low)}</section>
<section class="card" aria-label="Minute by minute">${lineTable(low.line)}</section>
<section class="card" aria-label="The 24 h before">${happenedTable('The 24 h before the first value', low.before)}${caution()}</section>
<section class="card" aria-labelledby="notes-heading"><h2 id="notes-heading">Educator’s notes</h2>${notesList(low.notes)}
${view.mayNote ? html`<p class="actions"><a class="button" href="/audit/lows/${low.lowId}/notes">Add a note</a></p>` : null}</section>
<section class="card" aria-labelledby="ask-heading"><h2 id="ask-heading">What happened between</h2>
<form method="get" action="/audit/lows/${low.lowId}" novalidate>
<div class="pair">${field({ name: 'from', label: 'From', type: 'datetime-local', value: view.values['from'] ?? '', error: view.errors['from'] ?? null })}
${field({ name: 'to', label: 'Until before', type: 'datetime-local', value: view.values['to'] ?? '', error: view.errors['to'] ?? null })}</div>
<p class="actions"><button type="submit" class="main">List everything charted</button></p></form></section>
<p class="actions"><a class="quiet" href="/stays/${low.stayId}">Patient page</a> <a class="quiet" href="/lows/${low.lowId}">The low as it was treated</a> <a class="quiet" href="/audit">Audit</a></p>`
}
