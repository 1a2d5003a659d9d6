/** The access report: how often each person viewed, then every view, newest first. */
import { html, type Html } from '../html.ts'
import { stateMark, warningLine } from '../parts.ts'
import { LOOK_MARK } from '../words/access.ts'

type Mark = Parameters<typeof stateMark>[0]

export type AccessRowView = {
  /** Ward-local, with seconds. */
  readonly when: string
  /** The time zone, if it differs from the report's. */
  readonly zone: string | null
  readonly person: string
  /** "Floor nurse, badge N1001" */
  readonly about: string
  /** The page in words. */
  readonly what: string
  /** "wristband W7301". Null: a whole ward, or no patient. */
  readonly patient: string | null
  readonly ward: string | null
  readonly mark: Mark | null
  /** The request number, as in the log and on an error page. */
  readonly number: string
}

export type AccessTotalView = {
  readonly person: string
  readonly about: string
  /** What the person did and how often, in words. Only what was done. */
  readonly looks: readonly string[]
  /** Of these, views of a ward that was not the person's. */
  readonly foreign: number
  /** From the first to the last view. */
  readonly span: string
}

export type AccessReportView = {
  readonly by: 'patient' | 'person' | 'ward'
  /** "ward Alder", "Nora Lind, badge N1001" */
  readonly subject: string
  readonly period: string
  readonly zone: string
  /** Number of all rows, and counts by person. Null on a later page. */
  readonly count: number | null
  readonly totals: readonly AccessTotalView[] | null
  readonly rows: readonly AccessRowView[]
  /** Paths without their leading slash. Null: there is no such page. The file is offered on the first page only. */
  readonly newestPath: string | null
  readonly olderPath: string | null
  readonly filePath: string | null
  readonly fileMost: number
  readonly made: string
}

export function reportPage(view: AccessReportView): Html {
  const foreign = (view.totals ?? []).reduce((sum, total) => sum + total.foreign, 0)
  return html`<h1>Access report</h1>
<p>About <strong>${view.subject}</strong>, ${view.period} (${view.zone}).</p>
${view.by === 'patient' ? html`<p class="hint">Lists of a whole ward, such as the Round and the board, are no looks at one patient: ask about the ward for them.</p>` : null}
${foreign === 0 ? null : warningLine(foreign === 1 ? '1 look at a ward that the person did not belong to. It is marked.' : `${String(foreign)} looks at a ward that the person did not belong to. They are marked.`)}
${view.totals === null ? null : view.totals.length === 0 ? html`<p class="basis">Nobody looked in these days.</p>` : totalsSection(view.totals)}
${view.rows.length === 0 ? null : rowsSection(view)}
<p class="muted">${view.made}</p>
<p class="no-print"><a class="quiet" href="/setup/access">Ask something else</a></p>`
}

function totalsSection(totals: readonly AccessTotalView[]): Html {
  return html`<section class="card"><h2>By person</h2>
<table class="table stacked access"><caption class="visually-hidden">Looks by person</caption>
<thead><tr><th scope="col">Person</th><th scope="col">Looks</th><th scope="col">From first to last</th></tr></thead>
<tbody>${totals.map(
    ({
      person,
      about,
      looks,
      foreign,
      span,
    }) => html`<tr><th scope="row">${person}<br><span class="muted">${about}</span></th>
<td>${looks.join(', ')}${foreign === 0 ? null : html`<br>${stateMark({ ...LOOK_MARK.elsewhere, word: `${LOOK_MARK.elsewhere.word}: ${String(foreign)}` })}`}</td><td>${span}</td></tr>`,
  )}</tbody></table></section>`
}

function rowsSection(view: AccessReportView): Html {
  return html`<section class="card"><h2>${view.count === null ? 'Earlier looks' : view.count === 1 ? '1 look' : `${String(view.count)} looks`}, newest first</h2>
<table class="table stacked access"><caption class="visually-hidden">Looks, newest first</caption>
<thead><tr><th scope="col">When</th><th scope="col">Who</th><th scope="col">Page</th><th scope="col">Whose</th><th scope="col">Number of the answer</th></tr></thead>
<tbody>${view.rows.map(lookRow)}</tbody></table>
<p class="actions no-print">${view.newestPath === null ? null : html`<a class="button quiet" href="/${view.newestPath}">Newest</a> `}${view.olderPath === null ? null : html`<a class="button quiet" href="/${view.olderPath}">Older</a> `}
${view.filePath === null ? null : html`<a class="button quiet" href="/${view.filePath}" hx-boost="false">Take it as a file (CSV)</a>`}</p>
${view.filePath === null && view.count !== null ? html`<p class="hint">A file holds at most ${view.fileMost} rows: ask about fewer days for one.</p>` : null}</section>`
}

function lookRow(row: AccessRowView): Html {
  return html`<tr><th scope="row">${row.when}${row.zone === null ? null : html`<br><span class="muted">${row.zone}</span>`}</th>
<td>${row.person}<br><span class="muted">${row.about}</span></td>
<td>${row.what}${row.mark === null ? null : html`<br>${stateMark(row.mark)}`}</td>
<td>${row.patient ?? (row.ward === null ? 'nobody' : 'the whole ward')}${row.ward === null ? null : html`<br><span class="muted">${row.ward}</span>`}</td>
<td><code>${row.number}</code></td></tr>`
}
