/** Assigning the beds of a shift, and assigning one need to a nurse. */
import { html, type Html } from '../html.ts'
import { form, pressChoice, problem, select } from '../parts.ts'
import { boardLinks } from './parts.ts'

type State = {
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}
type Option = { readonly value: string; readonly label: string }

export type AssignView = {
  readonly wardName: string
  /** "Day, since 07:00" */
  readonly shift: string
  /** `note`: the patient's name, and who had the bed before this shift. */
  readonly beds: readonly { readonly bed: string; readonly field: string; readonly note: string }[]
  readonly nurses: readonly Option[]
  readonly state: State
}

export function assignPage({ wardName, shift, beds, nurses, state }: AssignView): Html {
  return html`<div class="board"><div class="board-top"><h1>Give out the beds of ${wardName}</h1>${boardLinks([{ path: 'board', label: 'Ward board', current: false }])}</div>
${problem(state.problem)}
<p>${shift}. Each bed goes to one nurse. What was given out before this shift does not count any more and is not filled in; beds given out in its last hour count for the next.</p>
${form({
  action: 'board/assign',
  key: state.values['key'] ?? '',
  submit: 'Give out the beds',
  body: html`<input type="hidden" name="seen" value="${state.values['seen'] ?? ''}">
<div class="assign">${beds.map(
    ({
      bed,
      field,
      note,
    }) => html`<div class="assign-bed">${select({ name: field, label: `Bed ${bed}`, options: [{ value: '', label: 'Nobody' }, ...nurses], value: state.values[field] ?? '', error: state.errors[field] ?? null })}<p class="hint">${note}</p></div>
`,
  )}</div>`,
})}</div>`
}

export type HandView = {
  /** The need as on the board. Null: it is closed. */
  readonly need: { readonly where: string; readonly what: string; readonly whose: string } | null
  readonly nurses: readonly Option[]
  readonly state: State
}

export function handPage({ need, nurses, state }: HandView): Html {
  const ways = html`<p class="actions"><a class="quiet" href="/board">Back to the board</a></p>`
  if (need === null)
    return html`<h1>Hand over</h1>
${problem(state.problem)}
<div class="card"><p>This does not wait any more.</p></div>
${ways}`
  return html`<h1>Hand over</h1>
${problem(state.problem)}
<div class="card narrow"><p><strong>${need.where}</strong>: ${need.what}</p>
<p class="muted">${need.whose}</p>
${form({
  action: 'board/hand',
  key: state.values['key'] ?? '',
  submit: null,
  body: html`<input type="hidden" name="need" value="${state.values['need'] ?? ''}">
${pressChoice({ name: 'to', label: 'Hand it over to', options: nurses, error: state.errors['to'] ?? null })}`,
})}</div>
${ways}`
}
