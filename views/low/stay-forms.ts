/** Forms for a stay without a low event: a laboratory value, and symptoms with a value that is not low. */
import { html, type Html } from '../html.ts'
import { caution, choice, field, form, problem, tick } from '../parts.ts'
import { banner, type BannerView } from '../stay/banner.ts'

export type StayFormView = {
  readonly stayId: string
  readonly patient: BannerView
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export function laboratoryForm(view: StayFormView): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  return html`<h1>Laboratory value</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
<p class="working">A venous sample from the laboratory. It settles a value that was LO, HI or in doubt, and counts like a reading from when it was drawn.</p>
${form({
  action: `stays/${view.stayId}/lab-value`,
  key: value('key'),
  submit: 'Chart the laboratory value',
  body: html`${field({ name: 'wristband', label: 'Scan the wristband, or type its number', value: value('wristband'), error: error('wristband'), maxlength: 40, autofocus: true })}
${field({ name: 'glucose', label: 'Value from the laboratory', value: value('glucose'), error: error('glucose'), inputmode: 'decimal', big: true, maxlength: 10, hint: 'As printed on the report.' })}
${choice({
  name: 'unit',
  label: 'Unit on the report',
  options: [
    { value: 'mg/dL', label: 'mg/dL' },
    { value: 'mmol/L', label: 'mmol/L' },
  ],
  value: value('unit'),
  error: error('unit'),
})}
${error('confirmed') === null ? null : tick({ name: 'confirmed', label: 'I read value and unit again: they are right', ticked: false, error: error('confirmed') })}
${field({ name: 'takenAt', label: 'When the sample was drawn', value: value('takenAt'), error: error('takenAt'), maxlength: 30, hint: 'As in 07:05.' })}`,
})}</div>
<p><a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}

export function symptomsForm(view: StayFormView): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  return html`<h1>Symptoms, and no low value</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
<p class="working">Measure first. With a low value the low protocol applies; without one a snack is charted here, and no low event is opened.</p>
${form({
  action: `stays/${view.stayId}/symptoms`,
  key: value('key'),
  submit: 'Chart the symptoms and the snack',
  body: html`${field({ name: 'symptoms', label: 'Symptoms', value: value('symptoms'), error: error('symptoms'), maxlength: 200, autofocus: true, hint: 'As in: shaky, sweating.' })}
${field({ name: 'what', label: 'What was given', value: value('what'), error: error('what'), maxlength: 200, hint: 'As in: two biscuits, glass of milk.' })}`,
})}
${caution()}</div>
<p><a class="quiet" href="/stays/${view.stayId}/extra">Measure now</a> <a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}
