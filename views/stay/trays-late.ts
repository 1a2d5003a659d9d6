/** The form for late trays of a meal: which windows move, from when to when. */
import { html, type Html } from '../html.ts'
import { caution, choice, field, form, problem } from '../parts.ts'
import { filled, type Filled } from './fields.ts'

/** The four instants of a check before the meal, ward-local: opens, due, late (the tray itself), closes. */
export type WindowsView = {
  readonly opens: string
  readonly due: string
  readonly late: string
  readonly closes: string
}
export type MovedView = { readonly meal: string; readonly before: WindowsView; readonly after: WindowsView }

export type TraysLateView = Filled & {
  readonly problem: string | null
  readonly meals: readonly { readonly value: string; readonly label: string }[]
  /** The current windows with the charted delay (0: none). */
  readonly now: readonly { readonly meal: string; readonly late: number; readonly windows: WindowsView }[]
  /** What the form would change with its current values. Null: not filled in. */
  readonly moved: MovedView | null
}

export function traysLateForm(view: TraysLateView): Html {
  const { value, error } = filled(view)
  return html`<h1>Trays late</h1>
${problem(view.problem)}
<div class="card">
<p class="working">For the whole ward: every check before this meal opens, is due, is late and closes so many minutes later. It takes the place of a delay charted before; 0 takes it back. Bedtime and checks by the clock stay.</p>
${form({
  action: 'round/trays-late',
  key: value('key'),
  submit: 'Move the windows',
  body: html`<div id="tray-fields">
${choice({ name: 'meal', label: 'Meal', options: view.meals, value: value('meal'), error: error('meal') })}
${field({ name: 'minutes', label: 'Trays come late by', value: value('minutes'), error: error('minutes'), inputmode: 'numeric', unit: 'min', maxlength: 3, hint: 'In all, from 5 to 180. 0: on time again.' })}</div>
<div id="windows-moved" aria-live="polite" hx-get="/round/trays-late/moves" hx-include="#tray-fields" hx-trigger="input delay:300ms from:#tray-fields, change from:#tray-fields" hx-target="this" hx-swap="innerHTML" hx-sync="this:replace">${windowsMoved(view.moved)}</div>`,
})}
${caution()}</div>
<section class="card"><h2>As charted now</h2>
<table class="table stacked"><caption class="visually-hidden">Windows of the checks before each meal to come</caption>
<thead><tr><th scope="col">Meal</th><th scope="col">Delay</th><th scope="col">Opens</th><th scope="col">Due</th><th scope="col">Late from</th><th scope="col">Closes</th></tr></thead>
<tbody>${view.now.map(({ meal, late, windows }) => html`<tr><td>${meal}</td><td>${label('Delay')}${late === 0 ? 'none' : `${String(late)} min late`}</td><td>${label('Opens')}${windows.opens}</td><td>${label('Due')}${windows.due}</td><td>${label('Late from')}${windows.late}</td><td>${label('Closes')}${windows.closes}</td></tr>`)}</tbody></table></section>
<p><a class="quiet" href="/round">Round</a></p>`
}

/** Repeated for screens on which the table's head is hidden. */
function label(text: string): Html {
  return html`<span class="narrow-only">${text} </span>`
}

/**
 * What would move, rendered again while the form is filled in. It is only the contents, so that typed values are not
 * lost.
 */
export function windowsMoved(moved: MovedView | null): Html | null {
  return moved === null
    ? null
    : html`<table class="table"><caption>${moved.meal}: checks before it</caption>
<thead><tr><th scope="col"><span class="visually-hidden">Which time</span></th><th scope="col">Now</th><th scope="col">Then</th></tr></thead>
<tbody>${ROWS.map(([name, text]) => html`<tr><th scope="row">${text}</th><td>${moved.before[name]}</td><td><strong>${moved.after[name]}</strong></td></tr>`)}</tbody></table>`
}

const ROWS: readonly (readonly [keyof WindowsView, string])[] = [
  ['opens', 'Opens'],
  ['due', 'Due'],
  ['late', 'Late from (tray)'],
  ['closes', 'Closes'],
]
