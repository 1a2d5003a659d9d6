/** One patient's page: who, the bedside facts, orders, and what happened in the last 72 h. */
import { html, type Child, type Html } from '../html.ts'
import { caution } from '../parts.ts'
import { courseFigure, type CourseView } from '../plot/course.ts'
import { banner, type BannerView } from './banner.ts'

export type TimelineRowView = {
  /** "Tue 24 Nov 2026, 07:31" */
  readonly when: string
  /** "Before breakfast", "Dose", "Low event" */
  readonly what: string
  /** "112 mg/dL", "4 units of insulin lispro", "awaiting second check" */
  readonly value: string
  /** Struck through with its reason: corrected or entered in error. */
  readonly struck: boolean
  readonly detail: string
  readonly path: string | null
}

export type StayPageView = {
  readonly stayId: string
  readonly patient: BannerView
  readonly facts: readonly { readonly name: string; readonly value: string }[]
  readonly plans: readonly string[]
  readonly orders: readonly { readonly heading: string; readonly table: Child }[]
  readonly waiting: readonly { readonly text: string; readonly path: string }[]
  readonly course: CourseView
  readonly rows: readonly TimelineRowView[]
  /** False for a person who may only read, and after the discharge. */
  readonly mayChart: boolean
  /** True for a nurse, once the patient has left. */
  readonly mayReadmit: boolean
}

export function stayPage(view: StayPageView): Html {
  return html`<h1>Patient in bed ${view.patient.bed}</h1>
<div class="card">${banner(view.patient)}
${view.waiting.length === 0 ? null : html`<ul class="alerts">${view.waiting.map(({ text, path }) => html`<li><span aria-hidden="true">▲</span> <a href="/${path}">${text}</a></li>`)}</ul>`}
${
  view.mayChart
    ? html`<p class="actions"><a class="button main" href="/stays/${view.stayId}/extra">Extra check</a> <a class="button" href="/stays/${view.stayId}/tray">Tray</a>
<a class="button" href="/stays/${view.stayId}/lab-value">Laboratory value</a> <a class="button" href="/stays/${view.stayId}/symptoms">Symptoms</a> <a class="button" href="/stays/${view.stayId}/ketones">Ketones</a>
<a class="button" href="/stays/${view.stayId}/paper-reading">Reading from paper</a> <a class="button" href="/stays/${view.stayId}/outside-dose">Insulin given elsewhere</a></p>`
    : null
}
${ways(view)}</div>
<section class="card"><h2>Last 72 h</h2>
${courseFigure(view.course)}
<h3>Everything charted, newest first</h3>
${view.rows.length === 0 ? html`<p>Nothing charted.</p>` : timeline(view.rows)}</section>
<section class="card"><h2>Insulin orders</h2>
${view.orders.length === 0 ? html`<p>No active insulin order.</p>` : view.orders.map(({ heading, table }) => html`<h3>${heading}</h3>${table}`)}
<p class="actions"><a class="button" href="/stays/${view.stayId}/orders">All orders, every version</a></p>
${caution()}</section>
<section class="card"><h2>At the bedside</h2>
<dl class="facts">${view.facts.map(({ name, value }) => html`<dt>${name}</dt><dd>${value}</dd>`)}</dl>
<h3>Check plan</h3>
${view.plans.length === 0 ? html`<p>No check plan.</p>` : view.plans.map((plan) => html`<p>${plan}</p>`)}</section>`
}

/** Links to forms about the stay that are not part of every round. */
function ways({ stayId, mayChart, mayReadmit }: StayPageView): Html {
  const link = (path: string, text: string): Html => html`<li><a href="/stays/${stayId}/${path}">${text}</a></li>`
  return html`<nav class="ways" aria-label="This stay"><ul>
${mayChart ? html`${link('facts', 'Facts, nil by mouth')}${link('plan', 'Check plan')}${link('feed', 'Feed')}${link('came-back', 'Back on the ward')}${link('other-insulin', 'Infusion or pump')}${link('move', 'Move')}${link('discharge', 'Discharge')}` : null}${mayChart || mayReadmit ? link('identity', 'Name and identifiers') : null}${link('history', 'History')}
${mayReadmit ? html`<li><a href="/setup/discharged/${stayId}/readmit">Readmit</a></li>` : null}</ul></nav>`
}

function timeline(rows: readonly TimelineRowView[]): Html {
  return html`<table class="table stacked"><caption class="visually-hidden">Readings, doses and lows of the last 72 h, newest first</caption>
<thead><tr><th scope="col">When</th><th scope="col">What</th><th scope="col">Value</th><th scope="col">Detail</th></tr></thead>
<tbody>${rows.map((row) => html`<tr><td>${row.when}</td><td>${row.path === null ? row.what : html`<a class="quiet" href="/${row.path}">${row.what}</a>`}</td><td>${row.struck ? html`<s>${row.value}</s>` : html`<strong>${row.value}</strong>`}</td><td>${row.detail}</td></tr>`)}</tbody></table>`
}
