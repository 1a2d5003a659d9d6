/** The rates of wards over whole days: three denominators, each named, with the number behind every figure. */
import { html, type Html } from '../html.ts'
import { caution, field, problem, select } from '../parts.ts'
import {
  bandTable,
  byThree,
  figureTable,
  groupPart,
  outcomesTable,
  type ByThreeView,
  type DenominatorView,
  type FigureView,
  type GroupView,
  type OutcomesView,
} from './rates-tables.ts'

export type Options = readonly { readonly value: string; readonly label: string }[]

/** The fields for wards and days, shared by the pages of rates and measures. */
export type PeriodFieldsView = {
  readonly wards: Options
  readonly values: { readonly ward: string; readonly from: string; readonly to: string }
  readonly errors: Readonly<Record<string, string>>
  /** the last day that can be requested, and why */
  readonly lastDay: string
}

export function periodFields({ wards, values, errors, lastDay }: PeriodFieldsView): Html {
  return html`${select({ name: 'ward', label: 'Ward', options: wards, value: values.ward, error: errors['ward'] ?? null })}
${field({ name: 'from', label: 'First day', type: 'date', value: values.from, error: errors['from'] ?? null })}
${field({ name: 'to', label: 'Last day', type: 'date', value: values.to, hint: lastDay, error: errors['to'] ?? null })}`
}

export type RatesAnswerView = {
  /** "Alder, 1 Feb 2026 to 2 Mar 2026" */
  readonly asked: string
  /** "Readings found: 18 Feb 2026 to 2 Mar 2026 (12 days)." */
  readonly found: string
  /** Notes on reading the figures: units, LO and HI, the time zone. */
  readonly notes: readonly string[]
  readonly denominators: readonly DenominatorView[]
  readonly bands: readonly ByThreeView[]
  readonly spread: readonly FigureView[]
  /** The meaning of each spread figure, with its source. */
  readonly spreadSays: readonly string[]
  /** The band shown by month, ward, occasion and hour. */
  readonly bandName: string
  readonly groups: readonly GroupView[]
  /** Why the rest is not shown. Null: it is shown. */
  readonly leftOut: string | null
  readonly detail: {
    readonly withoutRechecks: readonly ByThreeView[]
    readonly rechecks: string
    readonly groups: readonly GroupView[]
    readonly checks: OutcomesView
    readonly lows: OutcomesView
    readonly lowsFound: LowsFoundView
    readonly minutes: readonly FigureView[]
    readonly caught: readonly string[]
  } | null
}

/** "8 lows in 4 stays", and the links to them. */
export type LowsFoundView = {
  readonly text: string
  readonly ways: readonly { readonly label: string; readonly query: string }[]
}

export type RatesPageView = {
  readonly period: PeriodFieldsView
  readonly bands: Options
  readonly band: string
  readonly unit: string
  readonly problem: string | null
  readonly answer: RatesAnswerView | null
}

export function ratesPage(view: RatesPageView): Html {
  const { errors } = view.period
  return html`<h1>Rates</h1>
${problem(view.problem)}
<form method="get" action="/audit/rates" class="asking no-print" novalidate>
<div class="asking-fields">${periodFields(view.period)}
${select({
  name: 'unit',
  label: 'Shown in',
  options: [
    { value: 'mg/dL', label: 'mg/dL' },
    { value: 'mmol/L', label: 'mmol/L' },
  ],
  value: view.unit,
  error: errors['unit'] ?? null,
})}
${select({ name: 'band', label: 'By month, ward and hour', options: view.bands, value: view.band, error: errors['band'] ?? null })}</div>
<p class="actions"><button type="submit" class="main">Show the rates</button></p>
</form>
${view.answer === null ? null : answerPart(view.answer)}
${caution()}`
}

function answerPart(view: RatesAnswerView): Html {
  return html`<h2>${view.asked}</h2>
<p><strong>${view.found}</strong></p>
<ul>${view.notes.map((note) => html`<li>${note}</li>`)}</ul>
${bandTable({ denominators: view.denominators, rows: view.bands })}
${figureTable({ id: 'spread', title: 'Mean and spread', rows: view.spread })}
<ul>${view.spreadSays.map((line) => html`<li>${line}</li>`)}</ul>
${view.detail === null ? null : withoutRechecks(view.detail)}
<h2>${view.bandName}</h2>
${view.groups.map(groupPart)}
${view.leftOut === null ? null : html`<p class="warning"><span aria-hidden="true">▲</span> ${view.leftOut}</p>`}
${view.detail === null ? null : detailPart(view.detail)}`
}

function withoutRechecks({ withoutRechecks: rows, rechecks }: NonNullable<RatesAnswerView['detail']>): Html {
  return html`<h2 id="without-rechecks">Without rechecks of lows</h2>
<p>${rechecks}</p>
${rows.length === 0 ? null : byThree('without-rechecks', 'Value', rows)}`
}

function lowsFoundPart({ text, ways }: LowsFoundView): Html {
  return html`<p><strong>${text}</strong>${ways.map(({ label, query }) => html` <a class="quiet" href="/audit/shift?${query}">${label}</a>`)}</p>`
}

function detailPart({
  groups,
  checks,
  lows,
  lowsFound,
  minutes,
  caught,
}: NonNullable<RatesAnswerView['detail']>): Html {
  return html`${groups.map(groupPart)}
<h2>Checks and lows</h2>
${lowsFoundPart(lowsFound)}
<div class="rate-cards">${outcomesTable(checks)}${outcomesTable(lows)}</div>
${figureTable({ id: 'minutes', title: 'How long it took', rows: minutes })}
<h2>Caught before it reached a patient</h2>
<ul>${caught.map((line) => html`<li>${line}</li>`)}</ul>`
}
