/** Choosing what to audit: a ward, one of its last shifts, or any period. */
import { html, type Html } from '../html.ts'
import { field, problem, stateMark } from '../parts.ts'

export type ShiftChoiceView = {
  readonly wards: readonly { readonly wardId: string; readonly name: string; readonly current: boolean }[]
  readonly wardName: string
  readonly wardId: string
  readonly shifts: readonly { readonly name: string; readonly span: string; readonly running: boolean; readonly lows: number; readonly query: string }[]
  /** Other pages of the audit that this person may open. */
  readonly others: readonly { readonly path: string; readonly label: string; readonly about: string }[]
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export function shiftChoice(view: ShiftChoiceView): Html {
  return html`<h1>Audit: ${view.wardName}</h1>
${problem(view.problem)}
${view.wards.length < 2 ? null : html`<nav class="beds-shown audit-wards" aria-label="Wards"><ul>${view.wards.map(({ wardId, name, current }) => html`<li>${current ? html`<a href="/audit?ward=${wardId}" aria-current="page">${name}</a>` : html`<a href="/audit?ward=${wardId}">${name}</a>`}</li>`)}</ul></nav>`}
<section class="card" aria-labelledby="shifts-heading"><h2 id="shifts-heading">The last shifts</h2>
${view.shifts.length === 0 ? html`<p>This ward has no shifts in its policy. Choose a period.</p>` : html`<ul class="rows">${view.shifts.map((shift) => html`<li class="row"><a class="quiet" href="/audit/shift?${shift.query}"><span><strong>${shift.name}</strong>, ${shift.span}</span></a> ${lowsMark(shift.lows, shift.running)}</li>`)}</ul>`}</section>
<section class="card" aria-labelledby="period-heading"><h2 id="period-heading">Any period</h2>${periodForm(view)}</section>
${view.others.length === 0 ? null : html`<section class="card" aria-labelledby="others-heading"><h2 id="others-heading">Rates and exports</h2><ul class="plain">${view.others.map(({ path, label, about }) => html`<li><a class="quiet" href="/${path}">${label}</a> <span class="muted">${about}</span></li>`)}</ul></section>`}`
}

/** A period of the ward, as the address of its audit has it. */
function periodForm({ wardId, values, errors }: ShiftChoiceView): Html {
  return html`<form method="get" action="/audit/shift" novalidate><input type="hidden" name="ward" value="${wardId}">
<div class="pair">${field({ name: 'from', label: 'From', type: 'datetime-local', value: values['from'] ?? '', error: errors['from'] ?? null })}
${field({ name: 'to', label: 'Until before', type: 'datetime-local', value: values['to'] ?? '', error: errors['to'] ?? null, hint: 'At most 31 days.' })}</div>
<p class="actions"><button type="submit" class="main">Audit this period</button></p></form>`
}

function lowsMark(count: number, running: boolean): Html {
  const word = `${lowsText(count)}${running ? ' so far' : ''}`
  return count === 0 ? html`<span>${word}</span>` : stateMark({ shape: '◆', word, tone: 'due' })
}

/** "no low", "1 low", "3 lows" */
export function lowsText(count: number): string {
  return count === 0 ? 'no low' : count === 1 ? '1 low' : `${String(count)} lows`
}
