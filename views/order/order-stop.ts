/** Stopping an order before its end. */
import { html, type Html } from '../html.ts'
import { caution, choice, field, form, problem, tick } from '../parts.ts'
import { banner, type BannerView } from '../stay/banner.ts'

export type StopFormView = {
  readonly orderId: string
  readonly patient: BannerView
  readonly about: string
  readonly backPath: string
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export function stopForm(view: StopFormView): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  return html`<h1>Stop an insulin order</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
<p><strong>${view.about}</strong></p>
<p class="warning">Every version of it stops now. A dose that is being worked out from it no longer counts.</p>
${form({
  action: `orders/${view.orderId}/stop`,
  key: value('key'),
  submit: 'Stop the order',
  body: html`${field({ name: 'reason', label: 'Why', value: value('reason'), error: error('reason'), maxlength: 200, autofocus: true })}
${field({ name: 'orderedBy', label: 'Ordered by', value: value('orderedBy'), error: error('orderedBy'), maxlength: 100, hint: 'The prescriber who ordered the stop.' })}
${choice({
  name: 'received',
  label: 'How it came',
  options: [
    { value: 'written', label: 'Written and signed' },
    { value: 'telephone', label: 'By telephone' },
  ],
  value: value('received'),
  error: error('received'),
})}
${tick({ name: 'readBack', label: 'By telephone: read back to the prescriber', ticked: value('readBack') === 'yes', error: error('readBack') })}`,
})}
${caution()}</div>
<p><a class="quiet" href="/${view.backPath}">Back to the order</a></p>`
}
