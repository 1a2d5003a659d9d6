/** The handover sheet for the next shift, on the screen and on paper. */
import { attribute, html, type Html } from '../html.ts'
import { caution } from '../parts.ts'
import { handoverBed, type HandoverBedView } from './bed.ts'

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
  readonly patients: readonly HandoverBedView[]
  /** Beds shown in which nobody lies. */
  readonly emptyBeds: readonly string[]
  /** Of patients who have left the ward, what a person must still see to. */
  readonly leftBehind: readonly { readonly text: string; readonly path: string }[]
}

export function handoverPage(view: HandoverView): Html {
  return html`<h1>Handover: ${view.wardName}</h1>
<p>${view.heading}. As of ${view.asOf}.</p>
${view.hasBeds ? html`<nav class="beds-shown" aria-label="Beds shown"><ul>
<li><a href="/handover?beds=mine"${attribute('aria-current', view.beds === 'mine' ? 'true' : null)}>My beds</a></li>
<li><a href="/handover?beds=all"${attribute('aria-current', view.beds === 'all' ? 'true' : null)}>Whole ward</a></li>
</ul></nav>` : null}
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

function bedsOf({ patients, emptyBeds, leftBehind }: HandoverView, links: boolean): Html {
  return html`<p><strong>Orders stand here in short: no dose is worked out from this sheet.</strong> In the plots: ● reading, ○ meter or strips in doubt, ◆ laboratory value, dashed line low limit, upright stroke insulin, level stroke low.</p>
${patients.length === 0 ? html`<p>No patient lies in these beds.</p>` : patients.map((patient) => handoverBed(patient, links))}
${emptyBeds.length === 0 ? null : html`<p>Empty beds: ${emptyBeds.join(', ')}</p>`}
${leftBehind.length === 0 ? null : html`<h2>Patients who have left the ward</h2>
<ul>${leftBehind.map(({ text, path }) => html`<li>${links ? html`<a href="/${path}">${text}</a>` : text}</li>`)}</ul>`}`
}
