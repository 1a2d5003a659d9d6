/** The form for a dose that was charted as given in error. */
import type { InsulinName } from '../../shared/order/order.ts'
import { formatInsulin, formatName } from '../format.ts'
import { html, type Html } from '../html.ts'
import { caution, choice, field, form, problem } from '../parts.ts'
import { TAKEN_BACK_WHY } from '../words/dose.ts'
import type { StepFormView } from './dose.ts'
import { patientFacts, type PatientView } from './patient.ts'

export type TakeBackView = StepFormView & {
  /** Null: the dose is not charted as given, and there is nothing to take back. */
  readonly what: { readonly units: number; readonly insulin: InsulinName } | null
  readonly others: readonly Omit<PatientView, 'wristband'>[]
}

export function takeBackPage(view: TakeBackView): Html {
  const { what } = view
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  return html`<h1>Charted in error</h1>
${patientFacts(view.patient)}
${problem(view.problem)}
${
  what === null
    ? null
    : html`<p>Charted as given: ${formatInsulin(what.units, what.insulin)}. What was charted stays in the record; from now on it counts as you say here.</p>
${form({
  action: `doses/${view.doseId}/take-back`,
  key: value('key'),
  submit: 'Take it back',
  body: [
    choice({
      name: 'why',
      label: 'What was wrong?',
      options: Object.entries(TAKEN_BACK_WHY).map(([why, label]) => ({ value: why, label })),
      value: value('why'),
      error: error('why'),
    }),
    field({
      name: 'units',
      label: 'Another amount: how much was injected?',
      unit: 'units',
      inputmode: 'decimal',
      maxlength: 5,
      value: value('units'),
      error: error('units'),
    }),
    choice({
      name: 'otherStayId',
      label: 'Another patient: who got it?',
      options: view.others.map((other) => ({
        value: other.stayId,
        label: `Bed ${other.bed}, ${formatName(other)}`,
      })),
      value: value('otherStayId'),
      error: error('otherStayId'),
    }),
    field({ name: 'note', label: 'What happened', maxlength: 200, value: value('note'), error: error('note') }),
    html`<h2>Not injected, and to be given after all</h2>
<p>A second nurse signs here; only then can a dose be worked out again. Without her the prescriber is asked.</p>`,
    field({
      name: 'badge',
      label: 'Second nurse’s badge',
      maxlength: 40,
      value: value('badge'),
      error: error('badge'),
    }),
    field({
      name: 'pin',
      label: 'Second nurse’s PIN',
      type: 'password',
      inputmode: 'numeric',
      maxlength: 20,
      value: '',
      error: error('pin'),
    }),
  ],
})}`
}
${caution()}`
}
