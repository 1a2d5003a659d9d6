/** The two public harm measures: numbers by both rules, each stay's result and the reasons. */
import { html, type Child, type Html } from '../html.ts'
import { caution, problem, select, stateMark } from '../parts.ts'
import { periodFields, type PeriodFieldsView } from './rates.ts'
import type { ShareView } from './rates-tables.ts'

/** One stay: by bed and wristband, never by name. The lines give the reasons for its result. */
export type MeasuredStayView = {
  readonly stayId: string
  readonly who: string
  readonly when: string
  readonly counts: boolean
  readonly verdict: string
  readonly lines: readonly string[]
}

export type MeasureView = {
  readonly id: 'severe-low' | 'severe-high'
  readonly title: string
  readonly logic: readonly string[]
  readonly totals: readonly {
    readonly rule: string
    readonly denominator: string
    readonly excluded: string
    readonly numerator: string
    readonly share: ShareView
  }[]
  /** In the numerator first. */
  readonly stays: readonly MeasuredStayView[]
  /** Stays of the denominator that are not listed. */
  readonly more: number
  /** Number of ended stays in neither. */
  readonly outside: string
}

export type MeasuresPageView = {
  readonly period: PeriodFieldsView
  readonly rule: string
  readonly problem: string | null
  readonly answer: {
    readonly asked: string
    readonly ended: string
    readonly rules: string
    readonly how: readonly string[]
    readonly measures: readonly MeasureView[]
  } | null
}

export function measuresPage(view: MeasuresPageView): Html {
  return html`<h1>Harm measures</h1>
${problem(view.problem)}
<form method="get" action="/audit/measures" class="asking no-print" novalidate>
<div class="asking-fields">${periodFields(view.period)}
${select({
  name: 'rule',
  label: 'LO and HI in the lists below',
  options: [
    { value: 'published', label: 'Left out, as published' },
    { value: 'classed', label: 'Classed: LO below, HI above every limit' },
  ],
  value: view.rule,
  error: null,
})}</div>
<p class="actions"><button type="submit" class="main">Show the measures</button></p>
</form>
${
  view.answer === null
    ? null
    : html`<h2>${view.answer.asked}</h2>
<p>${view.answer.ended}</p>
${view.answer.measures.length === 0 ? null : html`<p>${view.answer.rules}</p>`}
<details><summary>How a stay here becomes a stay of the measures</summary><ul>${view.answer.how.map((line) => html`<li>${line}</li>`)}</ul></details>
${view.answer.measures.map(measurePart)}`
}
${caution()}`
}

function measurePart(view: MeasureView): Html {
  return html`<section><h2 id="${view.id}">${view.title}</h2>
<ul>${view.logic.map((line) => html`<li>${line}</li>`)}</ul>
<div class="scroll" role="region" tabindex="0" aria-labelledby="${view.id}"><table class="table rates"><thead><tr><th scope="col">LO and HI</th><th scope="col">Denominator</th><th scope="col">Excluded</th><th scope="col">Numerator</th><th scope="col" class="number">Rate</th><th scope="col" class="number">95 % interval</th></tr></thead><tbody>
${view.totals.map(({ rule, denominator, excluded, numerator, share }) => html`<tr><th scope="row">${rule}</th><td>${denominator}</td><td>${excluded}</td><td>${numerator}</td><td class="number">${share.share ?? '–'}</td><td class="number">${share.interval ?? '–'}</td></tr>`)}
</tbody></table></div>
<h3>Stays in the denominator</h3>
${view.stays.length === 0 ? html`<p>None.</p>` : html`<ul class="rows">${view.stays.map(stayRow)}</ul>`}
${view.more === 0 ? null : html`<p>${view.more} more without an event are not listed here: the export of measures has every stay.</p>`}
<p>${view.outside}</p></section>`
}

function stayRow(stay: MeasuredStayView): Child {
  return html`<li class="row measured"><p><a class="quiet" href="/stays/${stay.stayId}">${stay.who}</a> <span class="muted">${stay.when}</span></p>
<p>${stateMark(stay.counts ? { shape: '■', word: stay.verdict, tone: 'urgent' } : { shape: '○', word: stay.verdict, tone: 'calm' })}</p>
<ul>${stay.lines.map((line) => html`<li>${line}</li>`)}</ul></li>`
}
