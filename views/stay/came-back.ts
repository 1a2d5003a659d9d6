/** The form for a patient who is back on the ward. */
import { html, type Html } from '../html.ts'
import { choice, field, form, problem } from '../parts.ts'
import { CAME_BACK_FROM } from '../words/stay-refusals.ts'
import { banner, type BannerView } from './banner.ts'
import { filled, type Filled } from './fields.ts'

export type CameBackView = Filled & {
  readonly stayId: string
  readonly patient: BannerView
  readonly problem: string | null
}

export function cameBackForm(view: CameBackView): Html {
  const { value, error } = filled(view)
  return html`<h1>Back on the ward</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
<p class="working">At the next dose the nurse is asked again whether insulin was given elsewhere.</p>
${form({
  action: `stays/${view.stayId}/came-back`,
  key: value('key'),
  submit: 'The patient is back',
  body: html`${choice({
    name: 'from',
    label: 'Back from',
    options: Object.entries(CAME_BACK_FROM).map(([from, label]) => ({ value: from, label })),
    value: value('from'),
    error: error('from'),
  })}
${field({ name: 'at', label: 'Back at', value: value('at'), error: error('at'), maxlength: 30, hint: 'Empty: now. Earlier: as in 14:05.' })}`,
})}</div>
<p><a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}
