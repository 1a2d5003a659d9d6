/**
 * Which results came from this lot or meter between these times: the question, and its answer on one printable page.
 */
import { html, type Html } from '../html.ts'
import { caution, field, problem, select } from '../parts.ts'
import type { FormView } from './meters-forms.ts'

type Option = { readonly value: string; readonly label: string }

export type RecallRowView = {
  readonly when: string
  readonly patient: string
  /** "bed 4", "Birch, bed A", "discharged Tue 10 Mar" */
  readonly where: string
  readonly stayPath: string
  readonly value: string
  readonly readingPath: string
  readonly by: string
  /** "meter M-4401, strips L5520" */
  readonly supplies: string
  readonly doses: readonly string[]
  readonly lows: readonly { readonly text: string; readonly path: string }[]
  /** Corrected, entered in error, charted in doubt. */
  readonly notes: readonly string[]
}

export type RecallPageView = FormView & {
  readonly meters: readonly Option[]
  readonly lots: readonly Option[]
  /** The answer. Null: nothing was asked yet, or the question is invalid. */
  readonly answer: {
    readonly asked: string
    readonly rows: readonly RecallRowView[]
    readonly patients: number
    readonly doses: number
    readonly lows: number
    readonly printed: string
  } | null
}

export function recallPage(view: RecallPageView): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  return html`<h1>Results from a meter or lot</h1>
${problem(view.problem)}
<section class="card no-print"><form method="get" action="/recall" novalidate>
<div class="check-supplies">${select({ name: 'meter', label: 'Meter', options: [{ value: '', label: 'Any' }, ...view.meters], value: value('meter'), error: error('meter') })}
${select({ name: 'lot', label: 'Strip lot', options: [{ value: '', label: 'Any' }, ...view.lots], value: value('lot'), error: error('lot') })}
${field({ name: 'from', label: 'From', type: 'datetime-local', value: value('from'), error: error('from') })}
${field({ name: 'to', label: 'Up to', type: 'datetime-local', value: value('to'), error: error('to') })}</div>
<p class="actions"><button type="submit" class="main">Look for the results</button></p></form></section>
${view.answer === null ? null : answerSection(view.answer)}
<p class="no-print"><a class="quiet" href="/setup/meters">Meters</a></p>`
}

function answerSection(answer: NonNullable<RecallPageView['answer']>): Html {
  const results = answer.rows.length === 1 ? '1 result' : `${String(answer.rows.length)} results`
  return html`<section class="card"><h2>${results}</h2>
<p>${answer.asked}</p>
<p class="basis">${results} of ${answer.patients} ${answer.patients === 1 ? 'patient' : 'patients'}; doses given from them: ${answer.doses}; low events opened by them: ${answer.lows}.</p>
${
  answer.rows.length === 0
    ? null
    : html`<table class="table stacked recall"><caption class="visually-hidden">Results by time</caption>
<thead><tr><th scope="col">Taken</th><th scope="col">Patient</th><th scope="col">Value</th><th scope="col">With</th><th scope="col">What followed</th></tr></thead>
<tbody>${answer.rows.map((row) => resultRow(row))}</tbody></table>`
}
<p class="muted">${answer.printed}</p>
${caution()}</section>`
}

function resultRow(row: RecallRowView): Html {
  const followed = [
    ...row.doses.map((dose) => html`<br>${dose}`),
    ...row.lows.map(({ text, path }) => html`<br><a class="quiet" href="/${path}">${text}</a>`),
    ...row.notes.map((note) => html`<br>${note}`),
  ]
  return html`<tr><th scope="row">${row.when}</th><td><a class="quiet" href="/${row.stayPath}">${row.patient}</a><br><span class="muted">${row.where}</span></td>
<td><a class="quiet" href="/${row.readingPath}">${row.value}</a></td><td>${row.supplies}<br><span class="muted">${row.by}</span></td><td>${followed.length === 0 ? 'No dose, no low event' : html`<span class="followed">${followed}</span>`}</td></tr>`
}
