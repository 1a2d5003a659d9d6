/** One shift's lows and near misses, on the screen and on paper. */
import { html, type Html } from '../html.ts'
import { caution, stateMark } from '../parts.ts'
import {
  beforeInShort,
  clockCell,
  happenedTable,
  lowFacts,
  lowHead,
  notesList,
  plotAndStory,
  sheetFrame,
  stepsTable,
  valuesLine,
  type AuditedLowView,
  type MarkView,
} from './low-parts.ts'
import { lowsText } from '../words/audit.ts'

export type NearMissView = {
  readonly when: string
  readonly what: string
  readonly detail: string
  readonly patient: string
  readonly by: string
  readonly path: string | null
}

export type ShiftAuditView = {
  readonly wardId: string
  readonly wardName: string
  /** "Night, Mon 9 Mar 2026, 19:00 to Tue 10 Mar 2026, 07:00" */
  readonly period: string
  readonly query: string
  /** True when the period is not over yet. */
  readonly running: boolean
  readonly limits: string
  readonly totals: {
    readonly lows: number
    readonly levels: readonly { readonly mark: MarkView; readonly count: number }[]
    /** "Treated within 5 min", "3 of 4" */
    readonly rates: readonly { readonly name: string; readonly share: string }[]
    readonly inError: number
  }
  readonly lows: readonly AuditedLowView[]
  /** "Bed 13: 5 lows in 5 days" */
  readonly runs: readonly string[]
  readonly nearMisses: readonly NearMissView[]
  readonly printed: string
  /** True when the person may add notes. */
  readonly mayNote: boolean
}

export function shiftPage(view: ShiftAuditView): Html {
  return html`<h1>Lows on ${view.wardName}</h1>
<p class="basis">${view.period}${view.running ? ', so far' : null}</p>
${overview(view)}
${view.lows.map((low) => lowSection(low, view))}
<p class="actions"><a class="button" href="/print/audit/shift?${view.query}">Print report</a> <a class="quiet" href="/print/audit/shift?${view.query}&amp;before=all">Print it with everything charted in the 24 h before</a> <a class="quiet" href="/audit?ward=${view.wardId}">Another shift or period</a></p>`
}

/**
 * The same on paper: an overview sheet, then each low on its own sheet. `whole`: with everything charted in the 24 h
 * before.
 */
export function shiftReport(view: ShiftAuditView, whole: boolean): Html {
  const head = `Audit of lows: ${view.wardName}. ${view.period}${view.running ? ', so far' : ''}`
  return html`<div class="sheet audit-report">
${sheetFrame(
  head,
  html`<header><h1>Audit of lows: ${view.wardName}</h1>
<p><strong>${view.period}${view.running ? ', so far' : null}</strong></p>
<p>${view.printed}</p></header>
${overview(view)}`,
)}
${view.lows.map((low) => html`<div class="audit-sheet">${sheetFrame(lowHead(low, view.wardName), lowOnPaper(low, whole))}</div>`)}</div>`
}

/** The part before the individual lows: a line for each, the totals, the near misses. */
function overview(view: ShiftAuditView): Html {
  return html`${view.lows.length === 0 ? html`<p>No low was open in this period.</p>` : summaryTable(view)}
${totalsSection(view)}
${nearMissSection(view.nearMisses)}`
}

function totalsSection({ totals, limits }: ShiftAuditView): Html {
  return html`<section class="card" aria-labelledby="totals-heading"><h2 id="totals-heading">${lowsText(totals.lows)}</h2>
<ul class="plain levels">${totals.levels.map(({ mark, count }) => html`<li>${stateMark(mark)} <strong>${count}</strong></li>`)}</ul>
<dl class="facts">${totals.rates.map(({ name, share }) => html`<div><dt>${name}</dt><dd>${share}</dd></div>`)}</dl>
${totals.inError === 0 ? null : html`<p>${totals.inError === 1 ? '1 event is' : `${String(totals.inError)} events are`} listed and in none of these figures: no value of it counts as low any more.</p>`}
<p class="muted">${limits}</p>${caution()}</section>`
}

function summaryTable({ lows, runs }: ShiftAuditView): Html {
  return html`<section class="card" aria-labelledby="summary-heading"><h2 id="summary-heading">The lows, by time</h2>
${runs.length === 0 ? null : html`<p><strong>${runs.join('; ')}.</strong></p>`}
<table class="table stacked audit-summary"><caption class="visually-hidden">Lows of the period, one line each</caption>
<thead><tr><th scope="col">First value</th><th scope="col">Patient</th><th scope="col">Lowest</th><th scope="col">Treated</th><th scope="col">Rechecked</th><th scope="col">Recovered</th><th scope="col">Prescriber told</th><th scope="col">Repeat low</th></tr></thead>
<tbody>${lows.map(
    (
      low,
    ) => html`<tr><th scope="row"><a class="quiet" href="/audit/lows/${low.lowId}">${low.whenShort}</a></th><td>${low.bed}: ${low.patient}${low.reviewedBy.length === 0 ? null : html` ${stateMark({ shape: '✓', word: `reviewed by ${low.reviewedBy.join(', ')}`, tone: 'done' })}`}</td><td>${low.lowest} ${stateMark(low.level)}</td>
<td><span class="cell-name">Treated</span> ${clockCell(low.treated)}</td><td><span class="cell-name">Rechecked</span> ${clockCell(low.rechecked)}</td><td><span class="cell-name">Recovered</span> ${clockCell(low.recovered)}</td><td><span class="cell-name">Prescriber told</span> ${clockCell(low.prescriberTold)}</td><td><span class="cell-name">Repeat low</span> ${low.recurrence.join('; ')}</td></tr>`,
  )}</tbody></table></section>`
}

function lowSection(low: AuditedLowView, { mayNote }: ShiftAuditView): Html {
  return html`<section class="card audit-low" aria-label="${`${low.bed}, ${low.when}`}"><h2>${low.bed}: ${low.patient}, ${low.when}</h2>
<p>${low.identifiers}.</p>
${valuesLine(low)}
${plotAndStory(low, html`<h3>What happened</h3>`)}
${lowFacts(low, true)}
<h3>The 24 h before</h3>${beforeInShort(low, true)}
${stepsTable(low)}
<details><summary>Everything charted from an hour before the first value to the closing</summary>${happenedTable(low.list.caption, low.list.rows)}</details>
<h3>Educator’s notes</h3>${notesList(low.notes)}
${caution()}
<p class="actions"><a class="button" href="/audit/lows/${low.lowId}">Open this low</a>${mayNote ? html` <a class="quiet" href="/audit/lows/${low.lowId}/notes">Add a note</a>` : null}</p></section>`
}

/**
 * The steps already contain their times, so paper does not repeat them. The caution is in the middle: at the end it
 * could take a sheet of its own.
 */
function lowOnPaper(low: AuditedLowView, whole: boolean): Html {
  return html`<section class="audit-low" aria-label="${`${low.bed}, ${low.when}`}"><h2>${low.bed}: ${low.patient}, ${low.when}</h2>
${valuesLine(low)}
${plotAndStory(low, html`<h3>What happened</h3>`)}
${lowFacts(low, false)}
${caution()}
${stepsTable(low)}
<h3>The 24 h before</h3>${beforeInShort(low, false)}
${happenedTable(low.list.caption, low.list.rows)}
${whole ? happenedTable('Everything charted in the 24 h before the first value', low.before) : null}
${low.notes.length === 0 ? null : html`<h3>Educator’s notes</h3>${notesList(low.notes)}`}</section>`
}

function nearMissSection(rows: readonly NearMissView[]): Html {
  return html`<section class="card near-misses" aria-labelledby="misses-heading"><h2 id="misses-heading">Near misses</h2>
<p class="muted">Caught before they reached a patient: wrong wristbands, second checks and order verifications that differed, values of the wrong unit, doses that a guard stopped.</p>
${
  rows.length === 0
    ? html`<p>None in this period.</p>`
    : html`<table class="table stacked"><caption class="visually-hidden">Near misses of the period, by time</caption>
<thead><tr><th scope="col">When</th><th scope="col">What</th><th scope="col">Detail</th><th scope="col">Patient</th><th scope="col">By</th></tr></thead>
<tbody>${rows.map((row) => html`<tr><td>${row.when}</td><td>${row.path === null ? html`<strong>${row.what}</strong>` : html`<a href="/${row.path}"><strong>${row.what}</strong></a>`}</td><td>${row.detail}</td><td>${row.patient}</td><td>${row.by}</td></tr>`)}</tbody></table>`
}</section>`
}
