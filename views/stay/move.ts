/** Forms for moving a patient to another bed, and for a discharge. */
import { html, type Html } from '../html.ts'
import { caution, choice, field, form, problem } from '../parts.ts'
import { banner, type BannerView } from './banner.ts'
import { filled, type Filled } from './fields.ts'

type OfStay = Filled & {
  readonly stayId: string
  readonly patient: BannerView
  readonly problem: string | null
  /** A signed dose without a charted outcome. Null: none. */
  readonly uncharted: string | null
}

export type MoveFormView = OfStay & {
  readonly wards: readonly {
    readonly name: string
    readonly unit: string
    readonly own: boolean
    readonly beds: readonly { readonly value: string; readonly label: string }[]
  }[]
  readonly unit: string
  readonly hasOrder: boolean
}

export function moveForm(view: MoveFormView): Html {
  const { value, error } = filled(view)
  const first = view.wards.find(({ beds }) => beds.length > 0)
  return html`<h1>Move to another bed</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
${dose(view.uncharted)}
<p class="working">Checks, orders and open lows go along. A dose that is being worked out does not: it starts again in the new bed.</p>
${form({
  action: `stays/${view.stayId}/move`,
  key: value('key'),
  submit: 'Move the patient now',
  body: html`${view.wards.map(
    (ward) => html`<h2>${ward.name}${ward.own ? null : `, measures in ${ward.unit}`}</h2>
${view.unit === ward.unit || !view.hasOrder ? null : html`<p class="warning"><span aria-hidden="true">▲</span> ${ward.name} measures in ${ward.unit}. There no insulin order of the patient’s counts until it is transcribed again in ${ward.unit}: until then no dose is worked out.</p>`}
${bedsOf(ward.name, ward.beds, value('to'), ward === first ? error('to') : null)}`,
  )}`,
})}
${caution()}</div>
<p><a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}

function bedsOf(
  ward: string,
  beds: readonly { readonly value: string; readonly label: string }[],
  value: string,
  error: string | null,
): Html {
  if (beds.length === 0) return html`<p>No bed of ${ward} is empty.</p>`
  return choice({ name: 'to', label: `Empty beds on ${ward}`, options: beds, value, error })
}

function dose(uncharted: string | null): Html | null {
  return uncharted === null
    ? null
    : html`<div class="loud" role="alert"><p><span aria-hidden="true">■</span> An insulin dose is signed, and nobody has charted whether it was given. <a href="/doses/${uncharted}">Chart that first</a></p></div>`
}

export type DischargeFormView = OfStay & {
  readonly discharged: boolean
  readonly open: readonly { readonly text: string; readonly path: string }[]
}

export function dischargeForm(view: DischargeFormView): Html {
  const { value, error } = filled(view)
  return html`<h1>Discharge</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
${view.discharged ? html`<p class="warning"><span aria-hidden="true">▲</span> This patient is discharged already.</p>` : null}
${dose(view.uncharted)}
<p class="working">No check is due after it, and a dose that is being worked out ends. What is charted stays and can be read.</p>
${form({
  action: `stays/${view.stayId}/discharge`,
  key: value('key'),
  submit: 'Discharge the patient',
  body: html`${
    view.open.length === 0
      ? null
      : html`<div class="warning"><p><strong>Still open:</strong></p>
<ul>${view.open.map(({ text, path }) => html`<li><a href="/${path}">${text}</a></li>`)}</ul></div>
${choice({
  name: 'handover',
  label: 'Who sees to it now',
  options: [
    { value: 'named', label: 'Handed over to the person named here' },
    { value: 'not-yet', label: 'Not handed over yet: the charge nurse has it' },
    { value: 'died', label: 'The patient died' },
  ],
  value: value('handover'),
  error: error('handover'),
})}
${field({ name: 'to', label: 'Handed over to', value: value('to'), error: error('to'), maxlength: 100, hint: 'Name and place, as in: nurse Vale, dialysis unit.' })}`
  }
${field({ name: 'at', label: 'Left the ward at', value: value('at'), error: error('at'), maxlength: 30, hint: 'Empty: now. Earlier: as in 14:05.' })}`,
})}</div>
<p><a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}

export type HandedFormView = Filled & {
  readonly stayId: string
  readonly patient: BannerView
  readonly problem: string | null
  readonly waits: boolean
}

export function handedForm(view: HandedFormView): Html {
  const { value, error } = filled(view)
  return html`<h1>Hand over what was left open</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
${
  view.waits
    ? html`<p class="working">This patient left with something open. Tell a person who sees to it, then chart the name.</p>
${form({
  action: `stays/${view.stayId}/handed-over`,
  key: value('key'),
  submit: 'It is handed over',
  body: field({
    name: 'to',
    label: 'Handed over to',
    value: value('to'),
    error: error('to'),
    maxlength: 100,
    autofocus: true,
    hint: 'Name and place, as in: nurse Vale, dialysis unit.',
  }),
})}`
    : html`<p>Nothing of this patient waits to be handed over.</p>`
}</div>
<p><a class="quiet" href="/stays/${view.stayId}">Patient page</a></p>`
}
