/** The form for ketones. */
import { html, type Html } from '../html.ts'
import { caution, choice, field, form, problem, select } from '../parts.ts'
import { KETONES_ACT } from '../words/ketones.ts'
import { banner, type BannerView } from './banner.ts'
import { filled, type Filled } from './fields.ts'

export type KetonesView = Filled & {
  readonly stayId: string
  readonly patient: BannerView
  readonly problem: string | null
  /** True: the patient depends on insulin. */
  readonly dependent: boolean
}

export function ketonesForm(view: KetonesView): Html {
  const { value, error } = filled(view)
  return html`<h1>Ketones</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
${view.dependent ? null : html`<p class="working">This patient is not charted as dependent on insulin.</p>`}
${form({
  action: `stays/${view.stayId}/ketones`,
  key: value('key'),
  submit: 'Chart the ketones',
  body: html`${choice({
    name: 'by',
    label: 'Measured',
    options: [
      { value: 'blood', label: 'In blood' },
      { value: 'urine', label: 'In urine' },
      { value: 'no-strip', label: 'Not measured: no strip' },
    ],
    value: value('by'),
    error: error('by'),
  })}
${field({ name: 'blood', label: 'Blood ketones', unit: 'mmol/L', inputmode: 'decimal', value: value('blood'), error: error('blood'), maxlength: 6, hint: 'With its decimal point, as in 0.4.' })}
${select({
  name: 'band',
  label: 'Urine ketones',
  options: [
    { value: '', label: 'Choose…' },
    { value: 'negative', label: 'Negative' },
    { value: 'small', label: 'Trace or small' },
    { value: 'moderate', label: 'Moderate' },
    { value: 'large', label: 'Large' },
  ],
  value: value('band'),
  error: error('band'),
})}
${choice({
  name: 'well',
  label: 'Does the patient look well?',
  options: [
    { value: 'yes', label: 'Yes' },
    { value: 'no', label: 'No' },
  ],
  value: value('well'),
  error: error('well'),
})}
${field({ name: 'at', label: 'Measured at', value: value('at'), error: error('at'), maxlength: 30, hint: 'Empty: now. Earlier: as in 14:05.' })}`,
})}
<table class="table"><caption>What a result asks for</caption><thead><tr><th scope="col">Blood, mmol/L</th><th scope="col">Urine</th><th scope="col">Then</th></tr></thead>
<tbody>${KETONES_ACT.map(({ blood, urine, act }) => html`<tr><th scope="row">${blood}</th><td>${urine}</td><td>${act}</td></tr>`)}</tbody></table>
${caution()}</div>
<p><a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}
