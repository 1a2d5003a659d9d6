/** The bedside facts as a form. */
import { html, type Html } from '../html.ts'
import { caution, form, problem } from '../parts.ts'
import { banner, type BannerView } from './banner.ts'
import { factsFields, type Filled } from './fields.ts'

export type FactsFormView = Filled & {
  readonly stayId: string
  readonly patient: BannerView
  readonly problem: string | null
  /** The version of the facts on which this form is based. */
  readonly basedOn: string
  /** What somebody else changed since the form was opened. Null: nothing. */
  readonly meanwhile: readonly string[] | null
  readonly nilPlan: string
}

export function factsForm(view: FactsFormView): Html {
  const stale = view.errors['basedOn'] ?? null
  return html`<h1>Facts at the bedside</h1>
${problem(stale ?? view.problem)}
<div class="card">${banner(view.patient)}
${
  view.meanwhile === null || view.meanwhile.length === 0
    ? null
    : html`<div class="warning"><p><strong>Changed since you opened this form:</strong></p>
<ul>${view.meanwhile.map((one) => html`<li>${one}</li>`)}</ul></div>`
}
${form({
  action: `stays/${view.stayId}/facts`,
  key: view.values['key'] ?? '',
  submit: 'Chart the facts',
  body: html`<input type="hidden" name="basedOn" value="${view.basedOn}">
${factsFields(view)}`,
})}
${caution()}</div>
<p><a class="quiet" href="/stays/${view.stayId}/history">How they came to be</a> <a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}
