/** The form that asks who viewed a patient: by patient, by person or by ward. */
import { html, type Html } from '../html.ts'
import { choice, field, form, problem, select } from '../parts.ts'

export type AccessPageView = {
  readonly wards: readonly { readonly value: string; readonly label: string }[]
  readonly mostDays: number
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

const BY = [
  { value: 'patient', label: 'One patient: who looked' },
  { value: 'person', label: 'One person: at whom' },
  { value: 'ward', label: 'One ward: who looked at its patients' },
] as const

export function accessPage({ wards, mostDays, values, errors, problem: said }: AccessPageView): Html {
  const value = (name: string): string => values[name] ?? ''
  const error = (name: string): string | null => errors[name] ?? null
  return html`<h1>Access report</h1>
${problem(said)}
<p>Who was shown which patient, when and on which page. It names people by name and badge, and patients by wristband number only. Each report is recorded with your name.</p>
${form({
  action: 'setup/access',
  key: value('key'),
  submit: 'Make the report',
  body: html`
${choice({ name: 'by', label: 'About', options: BY, value: value('by'), error: error('by') })}
<div class="asking-fields">${field({ name: 'patient', label: 'Wristband number, or id of a stay', value: value('patient'), error: error('patient'), maxlength: 60, hint: 'For one patient.' })}
${field({ name: 'badge', label: 'Badge', value: value('badge'), error: error('badge'), maxlength: 40, hint: 'For one person, also one who left.' })}
${select({ name: 'ward', label: 'Ward', options: [{ value: '', label: 'Choose for one ward' }, ...wards], value: value('ward'), error: error('ward') })}</div>
<div class="pair">${field({ name: 'from', label: 'First day', type: 'date', value: value('from'), error: error('from') })}
${field({ name: 'to', label: 'Last day', type: 'date', value: value('to'), error: error('to'), hint: `Days on the ward’s clock, at most ${String(mostDays)}.` })}</div>`,
})}
<p><a class="quiet" href="/setup">Setup</a></p>`
}
