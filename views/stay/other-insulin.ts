/** The form for insulin by another way than under the skin by this ward. */
import { html, type Html } from '../html.ts'
import { caution, choice, field, form, problem, tick } from '../parts.ts'
import { INSULIN_WAY } from '../words/other-insulin.ts'
import { banner, type BannerView } from './banner.ts'
import { filled, type Filled } from './fields.ts'

export type OtherInsulinView = Filled & {
  readonly stayId: string
  readonly patient: BannerView
  readonly problem: string | null
  readonly running: readonly string[]
  /** True: an end without basal insulin is to be confirmed. */
  readonly asksNoBasal: boolean
}

export function otherInsulinForm(view: OtherInsulinView): Html {
  const { value, error } = filled(view)
  return html`<h1>Insulin by another way</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
${view.running.length === 0 ? html`<p>None runs.</p>` : html`<p><strong>Running:</strong></p><ul>${view.running.map((one) => html`<li>${one}</li>`)}</ul>`}
<p class="working">While an infusion runs no rapid or regular insulin is worked out here; ordered basal insulin goes on. Checks follow by themselves.</p>
${form({
  action: `stays/${view.stayId}/other-insulin`,
  key: value('key'),
  submit: 'Chart it',
  body: html`${choice({
    name: 'way',
    label: 'Way',
    options: Object.entries(INSULIN_WAY).map(([way, label]) => ({ value: way, label })),
    value: value('way'),
    error: error('way'),
  })}
${choice({
  name: 'what',
  label: 'What happened',
  options: [
    { value: 'started', label: 'It began, or was given' },
    { value: 'ended', label: 'It ended, failed or was taken off' },
  ],
  value: value('what'),
  error: error('what'),
})}
${field({ name: 'at', label: 'When', value: value('at'), error: error('at'), maxlength: 30, hint: 'Empty: now. Earlier: as in 14:05.' })}
${view.asksNoBasal ? tick({ name: 'noBasal', label: 'It has ended, and no basal insulin was given two hours before', ticked: value('noBasal') === 'yes', error: error('noBasal') }) : null}`,
})}
${caution()}</div>
<p><a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}
