/** Choosing an audit: a ward, one of its recent shifts, or any period. */
import { html, type Html } from '../html.ts'
import { field, problem, stateMark } from '../parts.ts'
import type { MarkView } from './low-parts.ts'

export type ShiftRowView = {
  readonly name: string
  readonly span: string
  /** "2 lows, worst level 2", with the sign of the worst. No mark: no lows. */
  readonly lows: { readonly text: string; readonly mark: MarkView | null }
  readonly misses: string | null
  /** "reviewed by J. Farrow" */
  readonly reviewed: string | null
  readonly query: string
}

export type ShiftChoiceView = {
  readonly wards: readonly {
    readonly wardId: string
    readonly name: string
    readonly current: boolean
    /** "3 lows" in these days */
    readonly lows: string
  }[]
  readonly wardName: string
  readonly wardId: string
  /** How many days back shifts are listed. */
  readonly days: number
  readonly shifts: readonly ShiftRowView[]
  /** Number of shifts in these days without a low or a near miss. They are not listed. */
  readonly quiet: number
  /** Other audit pages that this person may open. */
  readonly others: readonly { readonly path: string; readonly label: string; readonly about: string }[]
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export function shiftChoice(view: ShiftChoiceView): Html {
  return html`<h1>Audit: ${view.wardName}</h1>
${problem(view.problem)}
${view.wards.length < 2 ? null : html`<nav class="beds-shown audit-wards" aria-label="Wards"><ul>${view.wards.map(({ wardId, name, current, lows }) => html`<li>${current ? html`<a href="/audit?ward=${wardId}" aria-current="page">${name}: ${lows}</a>` : html`<a href="/audit?ward=${wardId}">${name}: ${lows}</a>`}</li>`)}</ul></nav>`}
<section class="card" aria-labelledby="shifts-heading"><h2 id="shifts-heading">The last ${view.days} days</h2>
${
  view.shifts.length === 0
    ? html`<p>This ward has no shifts in its policy. Choose a period.</p>`
    : html`<ul class="rows">${view.shifts.map((shift) => html`<li class="row"><a class="quiet" href="/audit/shift?${shift.query}"><span><strong>${shift.name}</strong>, ${shift.span}</span></a> ${shift.lows.mark === null ? html`<span>${shift.lows.text}</span>` : stateMark(shift.lows.mark)}${shift.misses === null ? null : html` <span>${shift.misses}</span>`}${shift.reviewed === null ? null : html` ${stateMark({ shape: '✓', word: shift.reviewed, tone: 'done' })}`}</li>`)}</ul>
${view.quiet === 0 ? null : html`<p class="muted">${view.quiet === 1 ? '1 other shift' : `${String(view.quiet)} other shifts`} of these days had no low and no near miss.</p>`}`
}</section>
<section class="card" aria-labelledby="period-heading"><h2 id="period-heading">Any period</h2>${periodForm(view)}</section>
${view.others.length === 0 ? null : html`<section class="card" aria-labelledby="others-heading"><h2 id="others-heading">Rates and exports</h2><ul class="plain">${view.others.map(({ path, label, about }) => html`<li><a class="quiet" href="/${path}">${label}</a> <span class="muted">${about}</span></li>`)}</ul></section>`}`
}

/** A period of the ward; the form sends it as a query string. */
function periodForm({ wardId, values, errors }: ShiftChoiceView): Html {
  return html`<form method="get" action="/audit/shift" novalidate><input type="hidden" name="ward" value="${wardId}">
<div class="pair">${field({ name: 'from', label: 'From', type: 'datetime-local', value: values['from'] ?? '', error: errors['from'] ?? null })}
${field({ name: 'to', label: 'Up to', type: 'datetime-local', value: values['to'] ?? '', error: errors['to'] ?? null, hint: 'At most 31 days.' })}</div>
<p class="actions"><button type="submit" class="main">Audit this period</button></p></form>`
}
