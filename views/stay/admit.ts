/** The admission form: who, the bedside facts, and the check plan. */
import type { CheckPlan } from '../../shared/check/check.ts'
import { html, type Html } from '../html.ts'
import { caution, field, form, problem, select } from '../parts.ts'
import { factsFields, filled, planFields, type Filled } from './fields.ts'

export type AdmissionFormView = Filled & {
  readonly action: string
  readonly wardName: string
  /** The bed in the path. Null: one of `beds` is chosen. */
  readonly bed: { readonly name: string; readonly taken: boolean } | null
  /** Empty beds of the ward. */
  readonly beds: readonly string[]
  /** The patient whose earlier stay this one follows. Null for a first admission. */
  readonly previous: string | null
  readonly nilPlan: string
  readonly problem: string | null
}

const KINDS: readonly CheckPlan['kind'][] = [
  'ac-and-hs',
  'before-meals',
  'every-4-h',
  'every-6-h',
  'listed-times',
  'once',
]

export function admissionForm(view: AdmissionFormView): Html {
  const { bed, previous, beds } = view
  const title = previous === null ? `Admit to bed ${bed?.name ?? ''}` : 'Readmit a patient'
  return html`<h1>${title}</h1>
${problem(view.problem)}
<div class="card">
${previous === null ? null : html`<p><strong>${previous}</strong> was on ${view.wardName} before. This starts a new stay, which keeps the way back to the earlier one. What was charted then is filled in: look at each fact again. The wristband is new.</p>`}
${bed?.taken === true ? html`<p class="warning"><span aria-hidden="true">▲</span> Bed ${bed.name} is taken. <a href="/setup/beds">Choose another bed</a></p>` : null}
${previous !== null && beds.length === 0 ? html`<p class="warning"><span aria-hidden="true">▲</span> No bed of ${view.wardName} is empty.</p>` : null}
${form({
  action: view.action,
  key: view.values['key'] ?? '',
  submit: previous === null ? 'Admit the patient' : 'Readmit the patient',
  body: html`<h2>Who</h2>
${identityFields(view)}
${bed === null ? bedField(view) : null}
${field({ name: 'admittedAt', label: 'Admitted at', value: view.values['admittedAt'] ?? '', error: view.errors['admittedAt'] ?? null, maxlength: 30, hint: 'Empty: now. Earlier today: as in 07:05.' })}
${factsFields(view)}
<h2>Check plan</h2>
${planFields({ ...view, kinds: KINDS })}`,
})}
${caution()}</div>
<p><a class="quiet" href="/setup/beds">Beds</a></p>`
}

/** Name and the two other identifiers. */
export function identityFields(view: Filled): Html {
  const { value, error } = filled(view)
  return html`${field({ name: 'wristband', label: 'Scan the wristband, or type its number', value: value('wristband'), error: error('wristband'), maxlength: 40, autofocus: true })}
<div class="pair">${field({ name: 'familyName', label: 'Family name', value: value('familyName'), error: error('familyName'), maxlength: 80 })}
${field({ name: 'givenName', label: 'Given name', value: value('givenName'), error: error('givenName'), maxlength: 80 })}</div>
${field({ name: 'bornOn', label: 'Date of birth', type: 'date', value: value('bornOn'), error: error('bornOn') })}`
}

function bedField(view: AdmissionFormView): Html {
  const { value, error } = filled(view)
  return select({
    name: 'bed',
    label: 'Bed',
    options: [{ value: '', label: 'Choose…' }, ...view.beds.map((bed) => ({ value: bed, label: `Bed ${bed}` }))],
    value: value('bed'),
    error: error('bed'),
  })
}
