/**
 * One bed of the handover sheet: who, what to know, the last 24 h, orders and open items. Screen and paper are the
 * same.
 */
import { html, type Child, type Html } from '../html.ts'
import { stateMark } from '../parts.ts'
import { coursePlot, type CoursePlotView } from '../plot/course.ts'
import { knowList, type MarkView, type PatientHead } from '../round/row.ts'

/** A line, with a mark if it is unsettled. On the screen `path` is its link. */
export type SheetLine = { readonly text: string; readonly mark: MarkView | null; readonly path: string | null }

export type HandoverBedView = {
  readonly patient: PatientHead
  /** Nil by mouth, isolation, restricted hands and the like. */
  readonly know: readonly string[]
  /** "Type 1 diabetes", "on a steroid", "78 kg" */
  readonly background: readonly string[]
  /** Null: no events in the period. */
  readonly plot: CoursePlotView | null
  /** The number of this bed on the sheet. Element ids are made from it. */
  readonly number: number
  /** Every reading of the plot with its unit, oldest first. Masked ones are words. */
  readonly numbers: readonly { readonly when: string; readonly value: string }[]
  readonly doses: readonly SheetLine[]
  readonly meals: readonly string[]
  readonly lows: readonly LowLine[]
  readonly plan: readonly string[]
  /** Checks and scheduled doses to the end of the next shift, including those due now. */
  readonly due: readonly SheetLine[]
  readonly orders: readonly SheetLine[]
  readonly open: readonly SheetLine[]
}

/** `recent`: also shown at the top of the sheet. */
export type LowLine = SheetLine & { readonly recent: boolean }

/**
 * `links`: on the screen, open items, lows and the patient's page are links; paper has none. `dueUntil`: the end of the
 * next shift.
 */
export function handoverBed(
  view: HandoverBedView,
  { links, dueUntil }: { readonly links: boolean; readonly dueUntil: string },
): Html {
  const { patient, plot, numbers } = view
  return html`<section class="handover-bed" aria-labelledby="bed-${view.number}">
<header><h2 id="bed-${view.number}">Bed ${patient.bed}: ${links ? html`<a href="/stays/${patient.stayId}">${patient.name}</a>` : patient.name}</h2>
<p>Wristband <strong>${patient.wristband}</strong>, born <strong>${patient.born}</strong></p>
${knowList(view.know)}
<p class="background">${view.background.join(' · ')}</p></header>
<div class="handover-body">
<div class="handover-day"><h3>Readings, last 24 h</h3>
${
  plot === null
    ? html`<p>None.</p>`
    : html`${coursePlot(plot)}
<div id="${plot.describedBy}">${numbers.length === 0 ? html`<p>No reading.</p>` : html`<ol class="numbers">${numbers.map(({ when, value }) => html`<li>${when} <strong>${unbroken(value)}</strong></li>`)}</ol>`}</div>`
}</div>
<div class="handover-lists"><div class="handover-open"><h3>Open</h3>${lines(view.open, 'Nothing is left open.', links)}</div>
${part('Insulin, last 24 h', lines(view.doses, 'None.', false))}
${view.lows.length === 0 ? null : part('Lows', lines(view.lows, '', links))}
${view.meals.length === 0 ? null : part('Meals', html`<ul class="run">${view.meals.map((meal) => html`<li>${unbroken(meal)}</li>`)}</ul>`)}</div>
<div class="handover-lists">${part(`Due up to ${dueUntil}`, html`${view.plan.length === 0 ? html`<p>No check plan.</p>` : view.plan.map((plan) => html`<p>${plan}</p>`)}${lines(view.due, 'Nothing planned.', false)}`)}
${part('Insulin orders, in short', lines(view.orders, 'No active insulin order.', false))}</div>
</div></section>`
}

function part(title: string, body: Child): Html {
  return html`<div class="handover-part"><h3>${title}</h3>${body}</div>`
}

function lines(all: readonly SheetLine[], none: string, links: boolean): Html {
  if (all.length === 0) return html`<p>${none}</p>`
  return html`<ul>${all.map(({ text, mark, path }) => html`<li>${mark === null ? null : html`${stateMark(mark)} `}${links && path !== null ? html`<a href="/${path}">${unbroken(text)}</a>` : unbroken(text)}</li>`)}</ul>`
}

/** Joins a number and its unit with no-break spaces, because a line break between them can be misread. */
export function unbroken(text: string): string {
  return text.replace(/(\d) (units?|mg\/dL|mmol\/L|min|h|%|g)(?![a-z])/g, '$1\u00a0$2')
}
