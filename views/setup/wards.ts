/** The wards: the list, a new one, and a ward's beds. */
import { html, type Html } from '../html.ts'
import { choice, field, form, problem } from '../parts.ts'
import { waitingChanges, type WaitingChangeView } from './policy-change.ts'
import { textArea } from './policy-form.ts'

export type WardView = {
  readonly wardId: string
  readonly name: string
  readonly unit: string
  readonly zone: string
  readonly beds: number
  readonly policy: string
}

export function wardsPage(view: {
  readonly wards: readonly WardView[]
  readonly waiting: readonly WaitingChangeView[]
}): Html {
  return html`<h1>Wards</h1>
${waitingChanges(view.waiting, true)}
<p class="actions"><a class="button main" href="/setup/wards/new">Open a ward</a></p>
${
  view.wards.length === 0
    ? html`<p class="card">There is no ward yet.</p>`
    : html`<table class="table stacked"><caption>Wards: ${view.wards.length}</caption>
<thead><tr><th scope="col">Ward</th><th scope="col">Unit and zone</th><th scope="col">Beds</th><th scope="col">Policy</th></tr></thead>
<tbody>${view.wards.map(
        (ward) => html`<tr><th scope="row">${ward.name}</th>
<td>${ward.unit}, ${ward.zone}</td>
<td>${ward.beds} ${ward.beds === 1 ? 'bed' : 'beds'} <a class="quiet" href="/setup/wards/${ward.wardId}/beds">Change beds<span class="visually-hidden"> of ${ward.name}</span></a></td>
<td>${ward.policy} <a class="quiet" href="/setup/wards/${ward.wardId}/policy">Policy<span class="visually-hidden"> of ${ward.name}</span></a></td></tr>`,
      )}</tbody></table>`
}
<p><a class="quiet" href="/setup">Setup</a></p>`
}

export type WardFormView = {
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

const BEDS_HINT = 'One a line, in walking order: the Round follows it.'

export function wardForm({ values, errors, problem: said }: WardFormView): Html {
  const value = (name: string): string => values[name] ?? ''
  const error = (name: string): string | null => errors[name] ?? null
  return html`<h1>Open a ward</h1>
${problem(said)}
<p>The ward starts with the default policy, to be read and changed afterwards. Its unit and time zone never change once it is open.</p>
${form({
  action: 'setup/wards/new',
  key: value('key'),
  submit: 'Open the ward',
  body: [
    field({
      name: 'name',
      label: 'Name of the ward',
      value: value('name'),
      error: error('name'),
      maxlength: 60,
      autofocus: true,
    }),
    choice({
      name: 'unit',
      label: 'Unit of its meters and orders',
      options: [
        { value: 'mg/dL', label: 'mg/dL' },
        { value: 'mmol/L', label: 'mmol/L' },
      ],
      value: value('unit'),
      error: error('unit'),
    }),
    field({
      name: 'zone',
      label: 'Time zone',
      value: value('zone'),
      error: error('zone'),
      maxlength: 60,
      hint: 'As the IANA database names it: America/Chicago, Europe/London.',
    }),
    textArea({ name: 'beds', label: 'Beds', value: value('beds'), error: error('beds'), hint: BEDS_HINT, rows: 8 }),
  ],
})}
<p><a class="quiet" href="/setup/wards">Wards</a></p>`
}

export function bedsForm(
  view: WardFormView & { readonly wardId: string; readonly name: string; readonly unit: string },
): Html {
  const value = (name: string): string => view.values[name] ?? ''
  return html`<h1>Beds of ${view.name}</h1>
${problem(view.problem)}
<p>A bed that is occupied cannot be taken away. The unit stays ${view.unit}: it never changes once the ward is open.</p>
${form({
  action: `setup/wards/${view.wardId}/beds`,
  key: value('key'),
  submit: 'Save the beds',
  body: html`<input type="hidden" name="shown" value="${value('shown')}">${textArea({ name: 'beds', label: 'Beds', value: value('beds'), error: view.errors['beds'] ?? null, hint: BEDS_HINT, rows: 12 })}`,
})}
<p><a class="quiet" href="/setup/wards">Wards</a></p>`
}
