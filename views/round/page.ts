/** The Round: the scan box, which stays, and the list beside it, which refreshes itself. */
import type { Html } from '../html.ts'
import { attribute, html } from '../html.ts'
import { field, stateMark, warningLine } from '../parts.ts'
import { patientHead, type MarkView, type PatientHead } from './row.ts'

export type Beds = 'mine' | 'all'

export type RoundListView = {
  readonly beds: Beds
  /** True when this person has taken beds, so that there is a choice. */
  readonly hasBeds: boolean
  readonly heading: string
  /** "12 of 18 done, tray in 24 min" */
  readonly progress: string
  readonly accounted: number
  readonly total: number
  /** "Trays come 45 min late: the windows of this round are moved." Null: they come on time. */
  readonly traysLate: string | null
  /** Set when something urgent waits on beds that are not shown. */
  readonly elsewhere: Html | null
  /** Shown patients with an unverified insulin order. */
  readonly unverified: readonly { readonly bed: string; readonly path: string }[]
  readonly rows: readonly Html[]
  readonly missed: readonly Html[]
  readonly scheduled: readonly Html[]
  /** Patients with something waiting who have no line. */
  readonly alsoWaiting: readonly Html[]
  readonly others: readonly Html[]
  /** Ward-local, "07:20" */
  readonly asOf: string
  /** Ward time of this response. The timers of its rows start from it. */
  readonly nowMs: number
}

export type KitLineView = { readonly label: string; readonly needed: number; readonly spare: number }
export type KitView = {
  readonly lines: readonly KitLineView[]
  readonly meters: readonly { readonly serial: string; readonly mark: MarkView }[]
  readonly lots: readonly { readonly lot: string; readonly expires: string; readonly expired: boolean }[]
}

/** The whole page's body. The scan box and the kit are outside the list, so that a refresh loses no typing. */
export function roundPage(view: {
  readonly list: RoundListView
  readonly kit: KitView
  /** the note that this person's meter training has ended */
  readonly training: string | null
}): Html {
  return html`<div class="round">
${view.training === null ? null : warningLine(view.training)}
${scanBox({ value: '', error: null })}
${roundList(view.list)}
<details class="card"><summary>Kit for what is left</summary>
${kitTables(view.kit)}
<p class="actions"><a class="button quiet" href="/print/kit">Print the kit list</a></p>
</details>
<p class="actions"><a class="button quiet" href="/board">Ward board</a> <a class="button quiet" href="/handover">Handover</a> <a class="button quiet" href="/print/round">Print the round sheet for downtime</a> <a class="button quiet" href="/round/trays-late">Trays late</a> <a class="button quiet" href="/setup/beds">Beds: admit, move, discharge</a></p>
</div>`
}

/** The field for scanning or typing a wristband. The scanner ends with Enter, which submits it. */
export function scanBox(view: { readonly value: string; readonly error: string | null }): Html {
  return html`<form class="scan" method="post" action="/scan" novalidate>
${field({ name: 'wristband', label: 'Scan or type a wristband', value: view.value, error: view.error, autofocus: true, maxlength: 40 })}
<p class="actions"><button type="submit" class="main">Find patient</button></p>
</form>`
}

/** The list alone, for the page and for its refresh every 15 seconds. */
export function roundList(view: RoundListView): Html {
  return html`<section id="round-list" data-now="${view.nowMs}" aria-labelledby="round-heading" hx-get="/round/list?beds=${view.beds}" hx-trigger="every 15s" hx-target="this" hx-swap="outerHTML">
<div class="round-head">
<h1 id="round-heading">${view.heading}</h1>
<p class="round-progress"><progress max="${Math.max(1, view.total)}" value="${view.accounted}" aria-hidden="true"></progress> <strong>${view.progress}</strong></p>
${view.hasBeds ? bedsChoice(view.beds) : html`<p class="muted">You have taken no beds: the whole ward is shown. <a href="/ward">Choose your beds</a></p>`}
</div>
${view.traysLate === null ? null : html`<p class="warning"><span aria-hidden="true">◔</span> ${view.traysLate}</p>`}
${view.elsewhere}
${unverifiedNote(view.unverified)}
${
  view.rows.length === 0
    ? html`<p class="card">Nothing is due here in this round.</p>`
    : html`<ol class="rows" id="round-rows">
${view.rows}</ol>`
}
${section('Scheduled insulin', view.scheduled)}
${section('Missed: each needs a reason', view.missed)}
${section('Also waiting', view.alsoWaiting)}
${section('Other beds', view.others)}
<p class="muted">As of ${view.asOf}, ward time. Refreshes by itself.</p>
</section>`
}

/** An unverified order gives no dose. The note says so before the nurse is at the bed. */
function unverifiedNote(waiting: RoundListView['unverified']): Html | null {
  if (waiting.length === 0) return null
  return html`<p class="warning"><span aria-hidden="true">▲</span> ${waiting.length === 1 ? 'Insulin order not verified yet' : `Insulin orders not verified yet, ${waiting.length} patients`}: ${waiting.map(({ bed, path }, index) => html`${index === 0 ? '' : ', '}<a href="/${path}">bed ${bed}</a>`)}</p>`
}

/** Lows and trays on other beds, because those patients must not wait either. */
export function otherBedsNote(waiting: number): Html {
  return html`<p class="warning"><span aria-hidden="true">▲</span> ${waiting === 1 ? 'One low or missing tray waits' : `${waiting} lows or missing trays wait`} on other beds. <a href="/round?beds=all">See the whole ward</a></p>`
}

function bedsChoice(beds: Beds): Html {
  return html`<nav class="beds-shown" aria-label="Beds shown"><ul>
<li><a href="/round?beds=mine"${attribute('aria-current', beds === 'mine' ? 'true' : null)}>My beds</a></li>
<li><a href="/round?beds=all"${attribute('aria-current', beds === 'all' ? 'true' : null)}>Whole ward</a></li>
</ul></nav>`
}

function section(title: string, rows: readonly Html[]): Html | null {
  return rows.length === 0
    ? null
    : html`<h2>${title}</h2>
<ul class="rows">
${rows}</ul>`
}

/** A line with a link: a missed check, a scheduled dose, a patient with something waiting, a bed without a check. */
export function sideRow(view: {
  readonly patient: PatientHead
  readonly what: string
  readonly mark: MarkView | null
  readonly extra: Html | null
  readonly ways: readonly { readonly path: string; readonly label: string }[]
}): Html {
  return html`<li class="row side">
<div class="round-patient">${patientHead(view.patient)}</div>
<div class="round-what"><p>${view.what}${view.mark === null ? null : html` ${stateMark(view.mark)}`}</p>
${view.extra}</div>
${view.ways.length === 0 ? null : html`<p class="round-action">${view.ways.map((way) => html`<a class="button quiet" href="/${way.path}"${attribute('aria-label', `${way.label}: bed ${view.patient.bed}, ${view.what}`)}>${way.label}</a> `)}</p>`}
</li>
`
}

/** What to take along, and which meters and strips may be used. */
export function kitTables(view: KitView): Html {
  return html`<table class="table"><caption>To take along</caption>
<thead><tr><th scope="col">Item</th><th scope="col">Needed</th><th scope="col">Spare</th></tr></thead>
<tbody>${view.lines.map((line) => html`<tr><th scope="row">${line.label}</th><td>${line.needed}</td><td>${line.spare}</td></tr>`)}</tbody>
</table>
${
  view.meters.length === 0
    ? html`<p class="warning">No meter is set up for this ward.</p>`
    : html`<table class="table"><caption>Meters</caption>
<thead><tr><th scope="col">Meter</th><th scope="col">For this round</th></tr></thead>
<tbody>${view.meters.map((meter) => html`<tr><th scope="row">${meter.serial}</th><td>${stateMark(meter.mark)}</td></tr>`)}</tbody>
</table>`
}
${
  view.lots.length === 0
    ? null
    : html`<table class="table"><caption>Strip lots</caption>
<thead><tr><th scope="col">Lot</th><th scope="col">Expires</th></tr></thead>
<tbody>${view.lots.map((lot) => html`<tr><th scope="row">${lot.lot}</th><td>${lot.expires}${lot.expired ? html` ${stateMark({ shape: '■', word: 'Expired: do not use', tone: 'urgent' })}` : null}</td></tr>`)}</tbody>
</table>`
}
<p class="muted">A reading from a meter that is not usable can be charted; it can open a low event and never leads to insulin. Hands washed or wiped and fully dry, one single-use lancet a stick, the meter cleaned after each patient.</p>`
}

/** A wristband of another ward. The message is as prominent as possible and names only the bed. */
export function wrongWristband(view: { readonly sentence: string }): Html {
  return html`<h1>Wrong wristband</h1>
<div class="loud" role="alert"><p><span aria-hidden="true">■</span> ${view.sentence}</p></div>
${scanBox({ value: '', error: null })}
<p class="actions"><a class="button quiet" href="/round">Back to the Round</a></p>`
}

/** The scan box again, with the error beside it. */
export function scanAgain(view: { readonly value: string; readonly error: string }): Html {
  return html`<h1>Find a patient</h1>
${scanBox(view)}
<p class="actions"><a class="button quiet" href="/round">Back to the Round</a></p>`
}

/** The patient is right but no check is open: the page offers an extra one. */
export function noCheckOpen(view: { readonly patient: PatientHead; readonly next: string | null }): Html {
  return html`<h1>Bed ${view.patient.bed}: no check is open now</h1>
<div class="card">${patientHead(view.patient)}
<p>${view.next === null ? 'No further check is planned in this round.' : view.next}</p></div>
<p class="actions"><a class="button main" href="/stays/${view.patient.stayId}/extra">Take an extra check</a> <a class="button quiet" href="/stays/${view.patient.stayId}">Patient page</a> <a class="button quiet" href="/round">Back to the Round</a></p>`
}
