/** The form for the prescriber's word about insulin that is held, or that nobody has asked about after a low. */
import { html, type Html } from '../html.ts'
import { caution, field, form, problem, tick } from '../parts.ts'
import { banner, type BannerView } from './banner.ts'
import { filled, type Filled } from './fields.ts'
import { wordFields, type WordRow } from './insulin-words.ts'

export type InsulinWordView = Filled & {
  readonly stayId: string
  readonly patient: BannerView
  readonly problem: string | null
  readonly rows: readonly WordRow[]
  readonly holds: readonly string[]
}

export function insulinWordForm(view: InsulinWordView): Html {
  const { value, error } = filled(view)
  return html`<h1>The prescriber’s word about insulin</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
${view.holds.length === 0 ? null : html`<ul>${view.holds.map((hold) => html`<li>${hold}</li>`)}</ul>`}
${
  view.rows.length === 0
    ? html`<p>No insulin is held, and nothing waits to be asked.</p>`
    : form({
        action: `stays/${view.stayId}/insulin-word`,
        key: value('key'),
        submit: 'Chart the answer',
        body: html`${wordFields(view.rows, view)}
${field({ name: 'told', label: 'Prescriber asked', value: value('told'), error: error('told'), maxlength: 100 })}
${tick({ name: 'readBack', label: 'The answer was read back', ticked: value('readBack') === 'yes', error: error('readBack') })}
${field({ name: 'ordered', label: 'In their words', value: value('ordered'), error: error('ordered'), maxlength: 500, hint: 'Empty: nothing more.' })}`,
      })
}
${caution()}</div>
<p><a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}
