/** Who it is about: bed, name and the two identifiers, the same on every dose page. */
import { formatDate, formatName } from '../format.ts'
import { html, type Html } from '../html.ts'
import { problem } from '../parts.ts'

export type PatientView = {
  readonly stayId: string
  readonly bed: string
  readonly familyName: string
  readonly givenName: string
  readonly bornOn: string
  readonly wristband: string
}

/** `showWristband` false: where the wristband is still to be read at the bedside, so that it cannot be copied off the page. */
export function patientFacts(patient: PatientView, showWristband = true): Html {
  return html`<dl class="facts patient">
<div><dt>Bed</dt><dd>${patient.bed}</dd></div>
<div><dt>Patient</dt><dd>${formatName(patient)}</dd></div>
<div><dt>Born</dt><dd>${formatDate(patient.bornOn)}</dd></div>
${showWristband ? html`<div><dt>Wristband</dt><dd>${patient.wristband}</dd></div>` : null}
</dl>`
}

/** Above a form: what stands in the way; what must stop a hand is loud. */
export function problemOrStop(text: string | null): Html | null {
  return text?.startsWith('STOP') === true
    ? html`<div class="loud" role="alert"><p><span aria-hidden="true">■</span> ${text}</p></div>`
    : problem(text)
}
