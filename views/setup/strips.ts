/** Strip lots of the wards, and the form for a lot with the two ranges of its label. */
import { html, type Html } from '../html.ts'
import { caution, field, form, problem, stateMark, tick } from '../parts.ts'
import type { FormView } from './meters-forms.ts'

export type LotRowView = {
  readonly lot: string
  readonly expires: string
  readonly mark: Parameters<typeof stateMark>[0]
  readonly ranges: readonly [string, string] | null
  /** Where its ranges can be entered. Null: they exist, or this person may not. */
  readonly rangesPath: string | null
}
export type StripsPageView = {
  readonly wards: readonly { readonly wardId: string; readonly name: string; readonly lots: readonly LotRowView[] }[]
  readonly mayEnter: boolean
}

export function stripsPage(view: StripsPageView): Html {
  return html`<h1>Strips</h1>
<p class="working">A reading with an expired lot can be charted and a low is acted on; it never leads to insulin. A control needs the ranges of the lot that is used.</p>
${
  view.wards.length === 0
    ? html`<p>No ward is set up.</p>`
    : view.wards.map(
        (ward) => html`<section class="card"><h2>${ward.name}</h2>
${view.mayEnter ? html`<p class="actions"><a class="button main" href="/setup/strips/new?ward=${ward.wardId}">Enter a strip lot</a></p>` : null}
${ward.lots.length === 0 ? html`<p>No strip lot.</p>` : lotTable(ward.name, ward.lots)}</section>`,
      )
}
<p><a class="quiet" href="/setup/meters">Meters</a></p>
${caution()}`
}

function lotTable(ward: string, lots: readonly LotRowView[]): Html {
  return html`<table class="table stacked"><caption class="visually-hidden">Strip lots of ${ward}</caption>
<thead><tr><th scope="col">Lot</th><th scope="col">State</th><th scope="col">Last day</th><th scope="col">Level 1</th><th scope="col">Level 2</th></tr></thead>
<tbody>${lots.map(
    (
      lot,
    ) => html`<tr><th scope="row">${lot.lot}</th><td>${stateMark(lot.mark)}</td><td><span class="stacked-only">Last day: </span>${lot.expires}</td>
${
  lot.ranges === null
    ? html`<td colspan="2">${lot.rangesPath === null ? '–' : html`<a class="quiet" href="/${lot.rangesPath}">Enter the ranges</a>`}</td>`
    : html`<td><span class="stacked-only">Level 1: </span>${lot.ranges[0]}</td><td><span class="stacked-only">Level 2: </span>${lot.ranges[1]}</td>`
}</tr>`,
  )}</tbody></table>`
}

export function stripLotForm(
  view: FormView & {
    readonly ward: { readonly wardId: string; readonly name: string; readonly unit: string }
    readonly asksExpired: boolean
  },
): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  const end = (name: string, label: string): Html =>
    field({
      name,
      label,
      value: value(name),
      error: error(name),
      inputmode: 'decimal',
      unit: view.ward.unit,
      maxlength: 10,
    })
  return html`<h1>Strip lot</h1>
${problem(view.problem)}
<div class="card"><p>For <strong>${view.ward.name}</strong>. Everything as the label prints it, in ${view.ward.unit}.</p>
${form({
  action: 'setup/strips/new',
  key: value('key'),
  submit: 'Enter the lot',
  body: html`<input type="hidden" name="wardId" value="${view.ward.wardId}">
${field({ name: 'lot', label: 'Scan the lot, or type it', value: value('lot'), error: error('lot'), maxlength: 40, autofocus: value('lot') === '' })}
${field({ name: 'expiresOn', label: 'Last day', type: 'date', value: value('expiresOn'), error: error('expiresOn') })}
${view.asksExpired ? tick({ name: 'knownExpired', label: 'It has expired, and readings were made with it', ticked: value('knownExpired') === 'yes', error: error('knownExpired') }) : null}
<fieldset><legend>Control range, level 1 (both ends in)</legend><div class="check-supplies">${end('level1From', 'From')}${end('level1To', 'To')}</div></fieldset>
<fieldset><legend>Control range, level 2 (both ends in)</legend><div class="check-supplies">${end('level2From', 'From')}${end('level2To', 'To')}</div></fieldset>`,
})}</div>
<p><a class="quiet" href="/setup/strips">All strips</a></p>`
}
