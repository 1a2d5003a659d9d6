/** The tray and the share eaten, one tap each. */
import type { Meal } from '../../shared/check/check.ts'
import { attribute, html, type Html } from '../html.ts'
import { form, problem } from '../parts.ts'
import { patientFacts, type PatientView } from '../dose/patient.ts'

export type TrayView = {
  readonly patient: PatientView
  readonly meal: Meal
  readonly meals: readonly { readonly meal: Meal; readonly label: string }[]
  /** When the tray of the chosen meal came, ward-local. Null: not charted. */
  readonly servedAt: string | null
  readonly expectedAt: string
  readonly shareEaten: number | null
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

const SHARES = [
  { value: '0', label: 'Nothing, or under a quarter' },
  { value: '25', label: 'A quarter, under half' },
  { value: '50', label: 'Half' },
  { value: '75', label: 'Three quarters' },
  { value: '100', label: 'All' },
] as const

export function trayPage(view: TrayView): Html {
  return html`<h1>Tray: ${view.meal}</h1>
${patientFacts(view.patient)}
<nav aria-label="Meal"><ul class="row">${view.meals.map(({ meal, label }) => html`<li><a class="quiet" href="/stays/${view.patient.stayId}/tray?meal=${meal}"${attribute('aria-current', meal === view.meal ? 'page' : null)}>${label}</a></li>`)}</ul></nav>
${problem(view.problem ?? Object.values(view.errors)[0] ?? null)}
<p>${view.servedAt === null ? `Not charted yet; expected at ${view.expectedAt}.` : `Served at ${view.servedAt}.`}${view.shareEaten === null ? '' : ` Eaten: ${String(view.shareEaten)} %.`}</p>
${form({
  action: `stays/${view.patient.stayId}/tray`,
  key: view.values['key'] ?? '',
  submit: null,
  body: html`<input type="hidden" name="meal" value="${view.meal}">
${
  view.servedAt === null
    ? html`<p class="actions"><button type="submit" class="main" name="what" value="served">The tray is here now</button> <button type="submit" name="what" value="cancelled">No tray comes for this meal</button></p>`
    : html`<p>Eaten of it:</p><p class="actions">${SHARES.map(({ value, label }) => html`<button type="submit" class="main" name="what" value="${value}">${label}</button>`)}</p>`
}`,
})}
<p><a class="quiet" href="/stays/${view.patient.stayId}">Patient</a> <a class="quiet" href="/round">Round</a></p>`
}
