/** The order sheet for the binder: one version on paper, with its patient and its validity. */
import { html, type Html } from '../html.ts'
import { caution } from '../parts.ts'
import type { PatientHead } from '../round/row.ts'

export type OrderSheetView = {
  readonly wardName: string
  readonly patient: PatientHead
  readonly title: string
  /** "In force", "Not yet verified: gives no dose" */
  readonly state: string
  /** False: the sheet says prominently that nothing may be given from it. */
  readonly usable: boolean
  readonly transcribed: string
  readonly verified: string
  readonly stopped: string | null
  readonly table: Html
  readonly limits: readonly { readonly name: string; readonly value: string }[]
  readonly printed: string
  readonly printedBy: string
}

export function orderSheet(view: OrderSheetView): Html {
  const { patient } = view
  return html`<div class="sheet">
<header><h1>Insulin order sheet: ${view.wardName}, bed ${patient.bed}</h1>
<p><strong>${patient.name}</strong>, wristband <strong>${patient.wristband}</strong>, born <strong>${patient.born}</strong></p>
<p>Printed ${view.printed} by ${view.printedBy}. <strong>Before using this sheet, look in the chart for a newer version.</strong></p>
${caution()}</header>
<section class="sheet-order"><h2>${view.title}</h2>
<p>${view.usable ? view.state : html`<strong>${view.state}. GIVE NOTHING FROM THIS SHEET.</strong>`}</p>
<p>Transcribed ${view.transcribed}. Verified from the original: ${view.verified}.${view.stopped === null ? null : html` <strong>${view.stopped}</strong>`}</p>
${view.table}
<h3>Limits when a dose is worked out</h3>
<dl class="facts">${view.limits.map(({ name, value }) => html`<div><dt>${name}</dt><dd>${value}</dd></div>`)}</dl></section>
<footer>${caution()}<p>No dose for a value below the low limit, LO, HI, or a meter whose control is not done. Two nurses work out every insulin dose separately and both sign.</p></footer>
</div>`
}
