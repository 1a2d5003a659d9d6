/** The patient banner of every page about one patient: the bed first, then name and identifiers. */
import { html, type Html } from '../html.ts'

export type BannerView = {
  readonly bed: string
  /** "Ilves, Aino" */
  readonly name: string
  /** "4 Feb 1951" */
  readonly born: string
  /** Left out where the nurse must still scan the wristband, so that it cannot be copied from the screen. */
  readonly wristband: string | null
  /** What to know before touching the patient: isolation, restricted hands, nil by mouth. */
  readonly know: readonly string[]
}

export function banner(view: BannerView): Html {
  return html`<div class="patient-banner"><p class="bed">Bed <strong>${view.bed}</strong></p>
<p><strong>${view.name}</strong>, born ${view.born}${view.wristband === null ? null : html`, wristband ${view.wristband}`}</p>
${view.know.length === 0 ? null : html`<ul class="know">${view.know.map((one) => html`<li><span aria-hidden="true">▲</span> ${one}</li>`)}</ul>`}</div>`
}
