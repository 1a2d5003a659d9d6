/** Paper: the round sheet for downtime and the kit list. A4 and Letter; no buttons, no navigation. */
import { html, type Html } from '../html.ts'
import { caution } from '../parts.ts'
import { knowList, type PatientHead } from './row.ts'
import { kitTables, type KitView } from './page.ts'

export type PrintOrderView = {
  readonly title: string
  readonly state: string
  readonly verified: boolean
  readonly table: Html
}

export type PrintPatientView = {
  readonly patient: PatientHead
  readonly know: readonly string[]
  /** Newest first, each with its unit and time. Masked ones are words. */
  readonly lastValues: readonly string[]
  readonly orders: readonly PrintOrderView[]
  /** Checks and scheduled doses to come: "Before breakfast, due 07:30". Blank lines follow. */
  readonly due: readonly string[]
}

export type PrintRoundView = {
  readonly wardName: string
  readonly heading: string
  readonly printed: string
  readonly printedBy: string
  readonly unit: string
  readonly patients: readonly PrintPatientView[]
}

/** Blank lines for each patient, for unplanned entries. */
const BLANK_LINES = 2

/** The sheet for charting a round by hand while the service is down. */
export function printRound(view: PrintRoundView): Html {
  return html`<div class="sheet">
<header><h1>Round sheet for downtime: ${view.wardName}</h1>
<p>${view.heading}. Printed ${view.printed} by ${view.printedBy}. Values and orders are as of then.</p>
<p><strong>Before using an order from this sheet, look in the chart for a newer one.</strong> Enter what is charted here afterwards, with both signers.</p>
${caution()}</header>
${view.patients.map((patient) => printPatient(patient, view.unit))}
<footer>${caution()}<p>No dose for a value below the low limit, LO, HI, or a meter whose control is not done. Two nurses work out every insulin dose separately and both sign.</p></footer>
</div>`
}

function printPatient(view: PrintPatientView, unit: string): Html {
  const { patient } = view
  return html`<section class="sheet-patient">
<h2>Bed ${patient.bed}: ${patient.name}</h2>
<p>Wristband <strong>${patient.wristband}</strong>, born <strong>${patient.born}</strong></p>
${knowList(view.know)}
<p>Last values: ${view.lastValues.length === 0 ? 'none in the last 72 h' : view.lastValues.join('; ')}</p>
${
  view.orders.length === 0
    ? html`<p><strong>No active insulin order.</strong></p>`
    : view.orders.map(
        (order) => html`<div class="sheet-order"><h3>${order.title}</h3>
<p>${order.verified ? order.state : html`<strong>${order.state}</strong>`}</p>
${order.table}</div>`,
      )
}
<div class="scroll" role="region" tabindex="0" aria-label="Lines to chart by hand, bed ${patient.bed}">
<table class="table sheet-lines"><caption>Charted by hand, bed ${patient.bed}</caption>
<thead><tr><th scope="col">Due</th><th scope="col">Time taken</th><th scope="col">Glucose (${unit})</th><th scope="col">Insulin</th><th scope="col">Dose (units)</th><th scope="col">Time given</th><th scope="col">Site</th><th scope="col">First nurse signs</th><th scope="col">Second nurse signs</th></tr></thead>
<tbody>${[...view.due, ...Array.from({ length: BLANK_LINES }, () => 'Other')].map((due) => html`<tr><th scope="row">${due}</th>${Array.from({ length: 8 }, () => html`<td></td>`)}</tr>`)}</tbody>
</table>
</div>
</section>`
}

/** The kit list on paper. */
export function printKit(view: {
  readonly wardName: string
  readonly heading: string
  readonly printed: string
  readonly left: string
  readonly kit: KitView
}): Html {
  return html`<div class="sheet">
<header><h1>Kit list: ${view.wardName}</h1>
<p>${view.heading}. ${view.left}. Printed ${view.printed}.</p></header>
${kitTables(view.kit)}
</div>`
}
