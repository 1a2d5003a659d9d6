/** The form that says why a check is not done, or why it was missed. */
import { html, type Html } from '../html.ts'
import { choice, field, form, problem } from '../parts.ts'
import { banner, type BannerView } from '../stay/banner.ts'

export type ExcuseView = {
  readonly checkKey: string
  readonly what: string
  readonly when: string
  readonly isMissed: boolean
  readonly patient: BannerView
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
  readonly reasons: readonly { readonly value: string; readonly label: string }[]
}

export function excuseForm(view: ExcuseView): Html {
  return html`<h1>${view.what}: ${view.isMissed ? 'why was it missed?' : 'why is it not done?'}</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
<p class="muted">${view.when}</p>
${form({
  action: `checks/${view.checkKey}/excuse`,
  key: view.values['key'] ?? '',
  submit: 'Chart the reason',
  body: html`${choice({ name: 'reason', label: 'Reason', options: view.reasons, value: view.values['reason'] ?? '', error: view.errors['reason'] ?? null })}
${field({ name: 'note', label: 'Note', value: view.values['note'] ?? '', error: view.errors['note'] ?? null, hint: 'Needed for another reason.' })}`,
})}
<p><a class="quiet" href="/round">Back to the round</a></p></div>`
}
