/** Choosing the ward to work on and the beds to look after. */
import { attribute, html, type Html } from '../html.ts'
import { form, problem, select } from '../parts.ts'

type State = {
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export type WardChoiceView = {
  readonly wards: readonly {
    readonly wardId: string
    readonly name: string
    readonly beds: readonly { readonly bed: string; readonly field: string }[]
    readonly meter: {
      readonly field: string
      readonly options: readonly { readonly value: string; readonly label: string }[]
    } | null
  }[]
  readonly state: State
}

export function wardPage({ wards, state }: WardChoiceView): Html {
  if (wards.length === 0)
    return html`<h1>Ward and beds</h1>
<div class="card"><p>No ward has been given to you yet. Ask whoever set up your badge.</p></div>`
  const chosen = state.values['wardId'] ?? (wards.length === 1 ? (wards[0]?.wardId ?? '') : '')
  const error = state.errors['wardId'] ?? null
  return html`<h1>Ward and beds</h1>
${problem(state.problem)}
${form({
  action: 'ward',
  key: state.values['key'] ?? '',
  submit: 'Go to the round',
  body: html`<p class="hint">Tick the beds you look after this shift. Tick none to see the whole ward as yours.</p>
${error === null ? null : html`<p class="error" id="wardId-error"><span aria-hidden="true">▲</span> ${error}</p>`}
${wards.map((ward) => oneWard(ward, chosen, state))}`,
})}`
}

function oneWard(ward: WardChoiceView['wards'][number], chosen: string, { values, errors }: State): Html {
  return html`<fieldset class="card ward-choice">
<legend><label class="option"><input type="radio" name="wardId" value="${ward.wardId}"${attribute('checked', ward.wardId === chosen)}${attribute('aria-describedby', errors['wardId'] === undefined ? null : 'wardId-error')}><span>${ward.name}</span></label></legend>
<div class="beds">
${ward.beds.map(
  ({
    bed,
    field,
  }) => html`<label class="option"><input type="checkbox" name="${field}" value="yes"${attribute('checked', values[field] === 'yes')}><span>Bed ${bed}</span></label>${errors[field] === undefined ? null : html`<p class="error"><span aria-hidden="true">▲</span> ${errors[field]}</p>`}
`,
)}
</div>
${ward.meter === null ? null : select({ name: ward.meter.field, label: 'Meter you take along', options: [{ value: '', label: 'None yet' }, ...ward.meter.options], value: values[ward.meter.field] ?? '', error: errors[ward.meter.field] ?? null })}
</fieldset>`
}
