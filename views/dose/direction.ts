/** A prescriber's direction for one dose, charted by the nurse who took it. */
import { html, type Html } from '../html.ts'
import { caution, field, form, problem, select, tick } from '../parts.ts'
import { insulinGiven } from './insulin-given.ts'
import { patientFacts } from './patient.ts'
import { unitsAgainField, type DirectionView } from './propose.ts'
import { guardList } from './working.ts'

export function directionPage(view: DirectionView): Html {
  const { values, errors } = view
  const value = (name: string): string => values[name] ?? ''
  const error = (name: string): string | null => errors[name] ?? null
  return html`<h1>Prescriber’s direction</h1>
${patientFacts(view.patient)}
<p class="basis">${view.basis}</p>
${insulinGiven(view.given)}
<p>One dose only. It replaces what the order would give, and a second nurse checks it all the same.</p>
${problem(view.problem)}
${view.stopped.length === 0 ? null : guardList(view.stopped, view.zone)}
${form({
  action: view.action,
  key: value('key'),
  submit: 'Chart the direction',
  body: [
    value('slot') === '' ? null : html`<input type="hidden" name="slot" value="${value('slot')}">`,
    field({
      name: 'prescriber',
      label: 'Prescriber',
      maxlength: 80,
      value: value('prescriber'),
      error: error('prescriber'),
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
      big: true,
      hint: '0 when none is to be given.',
      value: value('units'),
      error: error('units'),
    }),
    view.asksUnitsAgain ? unitsAgainField(value('unitsAgain'), error('unitsAgain')) : null,
    field({ name: 'why', label: 'Why', maxlength: 200, value: value('why'), error: error('why') }),
    view.toTell.length === 0
      ? null
      : html`<p>Tell the prescriber:</p><ul>${view.toTell.map((line) => html`<li>${line}</li>`)}</ul>`,
    view.toTell.length === 0
      ? null
      : tick({
          name: 'toldOfEarlier',
          label: 'The prescriber was told of this',
          ticked: value('toldOfEarlier') === 'yes',
          error: error('toldOfEarlier'),
        }),
    tick({
      name: 'readBack',
      label: 'Read back to the prescriber and confirmed',
      ticked: value('readBack') === 'yes',
      error: error('readBack'),
    }),
  ],
})}
${caution()}`
}
