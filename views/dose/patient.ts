/** The patient of a dose page: bed, name and the two identifiers. */
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

/**
 * `showWristband` false: on pages where the nurse must still scan the wristband, so that it cannot be copied off the
 * page.
 */
export function patientFacts(patient: PatientView, showWristband = true): Html {
  return html`<dl class="facts patient">
<div><dt>Bed</dt><dd>${patient.bed}</dd></div>
<div><dt>Patient</dt><dd>${formatName(patient)}</dd></div>
<div><dt>Born</dt><dd>${formatDate(patient.bornOn)}</dd></div>
${showWristband ? html`<div><dt>Wristband</dt><dd>${patient.wristband}</dd></div>` : null}
</dl>`
}

/** The message above a form that prevents the next step. One that must stop the nurse is prominent. */
export function problemOrStop(text: string | null): Html | null {
  return text?.startsWith('STOP') === true
    ? html`<div class="loud" role="alert"><p><span aria-hidden="true">■</span> ${text}</p></div>`
    : problem(text)
}
