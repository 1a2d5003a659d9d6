/** First step of a check: scanning the wristband. */
import { html, type Html } from '../html.ts'
import { field } from '../parts.ts'
import { banner, type BannerView } from '../stay/banner.ts'

export type ConfirmView = {
  readonly checkKey: string
  /** "Before breakfast", "Recheck after a low", "Extra check" */
  readonly what: string
  readonly patient: BannerView
  readonly typed: string
  /** The message that the wrong wristband was scanned, shown prominently. */
  readonly wrong: string | null
  readonly error: string | null
  readonly mayExcuse: boolean
}

export function confirmPatient(view: ConfirmView): Html {
  return html`<h1>${view.what}: who is it?</h1>
${view.wrong === null ? null : html`<div class="loud" role="alert"><p><span aria-hidden="true">■</span> ${view.wrong}</p></div>`}
<div class="card">${banner(view.patient)}
<form method="post" action="/checks/${view.checkKey}/patient" novalidate>
${field({ name: 'wristband', label: 'Scan the wristband, or type its number', value: view.typed, error: view.error, autofocus: true, maxlength: 40, hint: 'Ask for name and date of birth as well.' })}
<p class="actions"><button type="submit" class="main">Confirm the patient</button>${view.mayExcuse ? html` <a class="quiet" href="/checks/${view.checkKey}/excuse">Not done? Give the reason</a>` : null}</p>
</form></div>`
}
