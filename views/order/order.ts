/** One version of an order as the paper prints it, with who transcribed and verified it. */
import { html, type Html } from '../html.ts'
import { caution, stateMark } from '../parts.ts'
import type { MarkView } from '../round/row.ts'
import { banner, type BannerView } from '../stay/banner.ts'
import { cellName } from './list.ts'

export type VerificationView = {
  readonly agreed: boolean
  /** "Omar Reyes, Tue 10 Mar, 07:20" */
  readonly byWhen: string
  readonly answers: readonly {
    readonly question: string
    readonly entered: string
    readonly transcribed: string
    readonly agrees: boolean
  }[]
}

export type OrderPageView = {
  readonly stayId: string
  readonly patient: BannerView
  readonly title: string
  readonly mark: MarkView
  /** What it waits for before it gives a dose. Null: nothing. */
  readonly waits: string | null
  readonly facts: readonly { readonly name: string; readonly value: string }[]
  readonly table: Html
  /** The limits that apply to a dose from it today. */
  readonly limits: readonly { readonly name: string; readonly value: string }[]
  readonly verifications: readonly VerificationView[]
  /** Set when this version can never be verified. Otherwise null. */
  readonly differed: { readonly revisePath: string | null } | null
  readonly actions: readonly { readonly path: string; readonly label: string; readonly main: boolean }[]
  readonly others: readonly { readonly path: string; readonly label: string }[]
}

export function orderPage(view: OrderPageView): Html {
  return html`<h1>${view.title}</h1>
<div class="card">${banner(view.patient)}
<p>${stateMark(view.mark)}</p>
${view.waits === null ? null : html`<p>${view.waits}</p>`}
${view.differed === null ? null : differedNote(view.differed, view.verifications)}
<dl class="facts">${view.facts.map(({ name, value }) => html`<dt>${name}</dt><dd>${value}</dd>`)}</dl>
<p class="actions">${view.actions.map(({ path, label, main }) => html`<a class="${main ? 'button main' : 'button'}" href="/${path}">${label}</a> `)}</p></div>
<section class="card"><h2>As transcribed</h2>
${view.table}
${caution()}</section>
<section class="card"><h2>Limits when a dose is worked out</h2>
<dl class="facts">${view.limits.map(({ name, value }) => html`<dt>${name}</dt><dd>${value}</dd>`)}</dl>
${caution()}</section>
<section class="card"><h2>Verification from the original</h2>
${view.verifications.length === 0 ? html`<p>Nobody has answered the questions of this version.</p>` : view.verifications.map(verification)}</section>
${
  view.others.length === 0
    ? null
    : html`<section class="card"><h2>Other versions of this order</h2>
<ul>${view.others.map(({ path, label }) => html`<li><a class="quiet" href="/${path}">${label}</a></li>`)}</ul></section>`
}
<p><a class="quiet" href="/stays/${view.stayId}/orders">All orders of this patient</a> <a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}

function differedNote(
  { revisePath }: NonNullable<OrderPageView['differed']>,
  verifications: readonly VerificationView[],
): Html {
  const differing = verifications.flatMap(({ answers }) =>
    answers.filter(({ agrees }) => !agrees).map(({ question }) => question),
  )
  return html`<div class="loud"><p><span aria-hidden="true">■</span> The original and the transcription differed at: ${differing.join('; ')}. Both look at the original again. This version gives no dose and can never be verified.</p>
${revisePath === null ? null : html`<p class="actions"><a class="button main" href="/${revisePath}">Write a new version</a></p>`}</div>`
}

function verification({ agreed, byWhen, answers }: VerificationView): Html {
  return html`<h3>${byWhen}</h3>
<p>${stateMark(agreed ? { shape: '✓', word: 'All answers agreed', tone: 'done' } : { shape: '▲', word: 'Differed', tone: 'urgent' })}</p>
<table class="table stacked"><caption>Asked of the second person, answered from the original</caption>
<thead><tr><th scope="col">Question</th><th scope="col">From the original</th><th scope="col">Transcribed</th><th scope="col">Compared</th></tr></thead>
<tbody>${answers.map((answer) => html`<tr><th scope="row">${answer.question}</th><td>${cellName('From the original:')}${answer.entered}</td><td>${cellName('Transcribed:')}${answer.transcribed}</td><td>${answer.agrees ? '✓ the same' : html`<strong>▲ differs</strong>`}</td></tr>`)}</tbody></table>`
}
