/** The handover sheet for the next shift, on the screen and on paper. */
import { attribute, html, type Html } from '../html.ts'
import { caution, stateMark } from '../parts.ts'
import type { MarkView } from '../round/row.ts'
import { handoverBed, unbroken, type HandoverBedView } from './bed.ts'

/** One line at the top of the sheet: "Bed 11, Castellanos", the problem, and the rest. */
export type SummaryLine = {
  readonly where: string
  readonly mark: MarkView | null
  readonly text: string
  readonly path: string | null
}

export type HandoverView = {
  readonly wardName: string
  /** "Day to Night, Tue 24 Nov 2026" */
  readonly heading: string
  /** "Tue 24 Nov 2026, 06:50" */
  readonly asOf: string
  readonly by: string
  readonly beds: 'mine' | 'all'
  /** True when this person has taken beds, so that there is a choice. */
  readonly hasBeds: boolean
  /** The needs, the most harmful first. */
  readonly needs: readonly SummaryLine[]
  /** Lows that began in the last `lowHours` hours or are still open. */
  readonly lows: readonly SummaryLine[]
  readonly lowHours: number
  /** The end of the next shift. Each bed lists what is due until then. */
  readonly dueUntil: string
  readonly patients: readonly HandoverBedView[]
  /** Empty beds among those shown. */
  readonly emptyBeds: readonly string[]
  /** Open items of patients who have left the ward. */
  readonly leftBehind: readonly { readonly text: string; readonly path: string }[]
}

export function handoverPage(view: HandoverView): Html {
  return html`<h1>Handover: ${view.wardName}</h1>
<p>${view.heading}. As of ${view.asOf}.</p>
${
  view.hasBeds
    ? html`<nav class="beds-shown" aria-label="Beds shown"><ul>
<li><a href="/handover?beds=mine"${attribute('aria-current', view.beds === 'mine' ? 'true' : null)}>My beds</a></li>
<li><a href="/handover?beds=all"${attribute('aria-current', view.beds === 'all' ? 'true' : null)}>Whole ward</a></li>
</ul></nav>`
    : null
}
<p class="actions"><a class="button" href="/print/handover?beds=${view.beds}">Print the sheet</a> <a class="button quiet" href="/round">Round</a></p>
${caution()}
${bedsOf(view, true)}`
}

export function printHandover(view: HandoverView): Html {
  return html`<div class="sheet handover">
<header><h1>Handover: ${view.wardName}</h1>
<p>${view.heading}. ${view.beds === 'mine' ? `The beds of ${view.by}` : 'All beds'}, as of ${view.asOf}, printed by ${view.by}. <strong>What was charted later is not on it.</strong></p>
${caution()}</header>
${bedsOf(view, false)}
</div>`
}

function summary({ needs, lows, lowHours }: HandoverView, links: boolean): Html {
  return html`<div class="handover-head"><section aria-labelledby="open-heading"><h2 id="open-heading">Needs a person</h2>
${summaryList(needs, 'Nothing needs a person now.', links)}</section>
<section aria-labelledby="lows-heading"><h2 id="lows-heading">Lows of the last ${lowHours} h</h2>
${summaryList(lows, 'None.', links)}</section></div>`
}

function summaryList(all: readonly SummaryLine[], none: string, links: boolean): Html {
  if (all.length === 0) return html`<p>${none}</p>`
  return html`<ul class="summary">${all.map(({ where, mark, text, path }) => html`<li>${links && path !== null ? html`<a href="/${path}">${where}</a>` : html`<strong>${where}</strong>`} ${mark === null ? null : html`${stateMark(mark)} `}<span>${unbroken(text)}</span></li>`)}</ul>`
}

function bedsOf(view: HandoverView, links: boolean): Html {
  const { patients, emptyBeds, leftBehind, dueUntil } = view
  return html`${summary(view, links)}
<h2>Beds</h2>
<p><strong>Orders stand here in short: no dose is worked out from this sheet.</strong> In the plots: ● reading, ○ meter or strips in doubt, ◆ laboratory value, dashed line low limit, upright stroke insulin, level stroke low.</p>
${patients.length === 0 ? html`<p>No patient lies in these beds.</p>` : patients.map((patient) => handoverBed(patient, { links, dueUntil }))}
${emptyBeds.length === 0 ? null : html`<p>Empty beds: ${emptyBeds.join(', ')}</p>`}
${
  leftBehind.length === 0
    ? null
    : html`<h2>Patients who have left the ward</h2>
<ul>${leftBehind.map(({ text, path }) => html`<li>${links ? html`<a href="/${path}">${text}</a>` : text}</li>`)}</ul>`
}`
}
