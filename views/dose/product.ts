/** Label and syringe, read by the second nurse, or by the first where the ward’s policy needs no second check. */
import type { InsulinName } from '../../shared/order/order.ts'
import { formatUnits } from '../format.ts'
import { html, type Html } from '../html.ts'
import { caution, choice, field, form, select } from '../parts.ts'
import type { StepFormView } from './dose.ts'
import { patientFacts, problemOrStop } from './patient.ts'

export type ProductView = StepFormView & {
  readonly insulin: InsulinName
  readonly units: number
  readonly insulins: readonly string[]
  readonly signerName: string
  /** True: a second nurse has agreed. */
  readonly checked: boolean
  readonly asksBadge: boolean
  readonly closed: string | null
}

export function productPage(view: ProductView): Html {
  return html`<h1>Read the product</h1>
${patientFacts(view.patient, false)}
${view.closed === null ? problemOrStop(view.problem) : problemOrStop(view.problem ?? view.closed)}
${view.closed === null ? productForm(view) : html`<p class="actions"><a class="button main" href="/doses/${view.doseId}">Go to the dose</a></p>`}
${caution()}`
}

function productForm(view: ProductView): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  return html`<p>For ${view.signerName}. ${view.checked ? 'Agreed' : 'Worked out, with no second check by the ward’s policy'}: ${formatUnits(view.units)} of ${view.insulin}. Read everything off the vial or pen and the syringe in front of you, and scan the wristband on the patient.</p>
${form({
  action: `doses/${view.doseId}/product`,
  key: value('key'),
  submit: 'Sign',
  body: [
    select({
      name: 'insulin',
      label: 'Insulin on the label',
      options: [
        { value: '', label: 'Choose' },
        ...view.insulins.map((insulin) => ({ value: insulin, label: insulin })),
      ],
      value: value('insulin'),
      error: error('insulin'),
    }),
    choice({
      name: 'concentration',
      label: 'Concentration on the label',
      options: ['U-100', 'U-200', 'U-300', 'U-500'].map((concentration) => ({
        value: concentration,
        label: concentration,
      })),
      value: value('concentration'),
      error: error('concentration'),
    }),
    field({
      name: 'expiresOn',
      label: 'Use until',
      type: 'date',
      maxlength: 10,
      value: value('expiresOn'),
      error: error('expiresOn'),
    }),
    field({
      name: 'units',
      label: 'On the syringe or pen',
      unit: 'units',
      inputmode: 'decimal',
      maxlength: 5,
      big: true,
      value: value('units'),
      error: error('units'),
    }),
    field({
      name: 'wristband',
      label: 'Patient’s wristband',
      maxlength: 40,
      value: value('wristband'),
      error: error('wristband'),
    }),
    view.asksBadge
      ? field({
          name: 'badge',
          label: 'Your badge (second nurse)',
          maxlength: 40,
          value: value('badge'),
          error: error('badge'),
        })
      : null,
    field({
      name: 'pin',
      label: 'Your PIN',
      type: 'password',
      inputmode: 'numeric',
      maxlength: 20,
      value: '',
      error: error('pin'),
    }),
  ],
})}`
}
