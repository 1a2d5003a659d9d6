/** Insulin given elsewhere or charted on paper, entered later. */
import { html, type Html } from '../html.ts'
import { caution, choice, field, form, problem, select } from '../parts.ts'
import { patientFacts, type PatientView } from '../dose/patient.ts'

export type OutsideDoseView = {
  readonly patient: PatientView
  readonly insulins: readonly string[]
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export function outsideDosePage(view: OutsideDoseView): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  return html`<h1>Insulin from paper or elsewhere</h1>
${patientFacts(view.patient)}
<p>Chart what was given, as it was given. It counts as earlier insulin for the next doses and is marked as entered late.</p>
${problem(view.problem)}
${form({
  action: `stays/${view.patient.stayId}/outside-dose`,
  key: value('key'),
  submit: 'Chart it',
  body: [
    choice({
      name: 'source',
      label: 'Where does it come from?',
      options: [
        { value: 'paper', label: 'This ward’s downtime sheet' },
        { value: 'elsewhere', label: 'Given elsewhere' },
      ],
      value: value('source'),
      error: error('source'),
    }),
    select({
      name: 'insulin',
      label: 'Insulin',
      options: [
        { value: '', label: 'Choose' },
        ...view.insulins.map((insulin) => ({ value: insulin, label: insulin })),
      ],
      value: value('insulin'),
      error: error('insulin'),
    }),
    field({
      name: 'units',
      label: 'Dose',
      unit: 'units',
      inputmode: 'decimal',
      maxlength: 5,
      value: value('units'),
      error: error('units'),
    }),
    field({
      name: 'givenAt',
      label: 'Given at',
      type: 'datetime-local',
      maxlength: 25,
      value: value('givenAt'),
      error: error('givenAt'),
    }),
    field({ name: 'givenBy', label: 'Given by', maxlength: 80, value: value('givenBy'), error: error('givenBy') }),
    field({
      name: 'checkedBy',
      label: 'Checked by (second signature on paper)',
      maxlength: 80,
      value: value('checkedBy'),
      error: error('checkedBy'),
    }),
  ],
})}
<p><a class="quiet" href="/stays/${view.patient.stayId}">Patient</a></p>
${caution()}`
}
