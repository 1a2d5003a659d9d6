/** The form that corrects a patient's name and identifiers. */
import { html, type Html } from '../html.ts'
import { field, form, problem } from '../parts.ts'
import { identityFields } from './admit.ts'
import { banner, type BannerView } from './banner.ts'
import type { Filled } from './fields.ts'

export function identityForm(
  view: Filled & { readonly stayId: string; readonly patient: BannerView; readonly problem: string | null },
): Html {
  return html`<h1>Name and identifiers</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
<p class="working">Only what was wrong, or a wristband that was replaced. A reading taken on another patient is put right at the reading, not here.</p>
${form({
  action: `stays/${view.stayId}/identity`,
  key: view.values['key'] ?? '',
  submit: 'Chart the change',
  body: html`${identityFields(view)}
${field({ name: 'reason', label: 'Why', value: view.values['reason'] ?? '', error: view.errors['reason'] ?? null, maxlength: 200, hint: 'As in: wristband torn and replaced.' })}`,
})}</div>
<p><a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}
