/** One low on one page: what happened to this patient, and when. */
import { html, type Html } from '../html.ts'
import { caution, field, problem, stateMark } from '../parts.ts'
import {
  beforeInShort,
  happenedTable,
  lowFacts,
  lowHead,
  notesList,
  plotAndStory,
  sheetFrame,
  stepsTable,
  valuesLine,
  type AuditedLowView,
} from './low-parts.ts'

export type LowAuditPageView = {
  readonly low: AuditedLowView
  readonly wardName: string
  /** True when a period was requested. The list and the plot show it. */
  readonly asked: boolean
  /** True when this person's own note was just saved. */
  readonly noteSaved: boolean
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
  readonly mayNote: boolean
  readonly printed: string
}

export function lowAuditPage(view: LowAuditPageView): Html {
  const { low, wardName, noteSaved } = view
  const notes = notesSection(view)
  const body = html`<h1>Low: ${low.bed}, ${low.when}</h1>
<p class="paper-only">${view.printed}</p>
${problem(view.problem)}
${noteSaved ? html`<p class="note-saved" role="status">${stateMark({ shape: '✓', word: 'Note saved', tone: 'done' })}</p>${notes}` : null}
<section class="card" aria-label="The low"><p class="basis">${low.patient} <span class="muted">${low.identifiers}, ${wardName}</span></p>
${valuesLine(low)}
${plotAndStory(low, html`<h2>What happened</h2>`)}
${lowFacts(low, true)}${caution()}</section>
<section class="card" aria-labelledby="before-heading"><h2 id="before-heading">The 24 h before</h2>${beforeInShort(low, true)}</section>
<section class="card" aria-label="Protocol steps">${stepsTable(low)}</section>
<section class="card" id="charted" aria-labelledby="charted-heading"><h2 id="charted-heading">What happened between</h2>${windowForm(view)}
${happenedTable(low.list.caption, low.list.rows)}${view.asked ? html`<p class="no-print"><a class="quiet" href="/audit/lows/${low.lowId}">Back to the low from first value to closing</a></p>` : null}${caution()}</section>
${noteSaved ? null : notes}
<p class="actions"><a class="quiet" href="/stays/${low.stayId}">Patient page</a> <a class="quiet" href="/lows/${low.lowId}">The low as it was treated</a> <a class="quiet" href="/audit">Audit</a></p>`
  return html`<div class="audit-report audit-one">${sheetFrame(lowHead(low, wardName), body)}</div>`
}

function notesSection({ low, mayNote }: LowAuditPageView): Html {
  return html`<section class="card" id="notes" aria-labelledby="notes-heading"><h2 id="notes-heading">Educator’s notes</h2>${notesList(low.notes)}
${mayNote ? html`<p class="actions"><a class="button" href="/audit/lows/${low.lowId}/notes">Add a note</a></p>` : null}</section>`
}

/** The list's period, current or requested. */
function windowForm({ low, values, errors }: LowAuditPageView): Html {
  return html`<form class="no-print" method="get" action="/audit/lows/${low.lowId}#charted" novalidate>
<div class="asking-window">${field({ name: 'from', label: 'From', type: 'datetime-local', value: values['from'] ?? '', error: errors['from'] ?? null })}
${field({ name: 'to', label: 'Up to', type: 'datetime-local', value: values['to'] ?? '', error: errors['to'] ?? null })}
<p class="actions"><button type="submit" class="main">List everything charted</button></p></div></form>`
}
