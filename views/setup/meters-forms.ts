/** The forms about a meter: new, move, retire, and the control with both levels. */
import { html, type Html } from '../html.ts'
import { caution, choice, field, form, problem, select, stateMark } from '../parts.ts'

export type FormView = {
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}
type Option = { readonly value: string; readonly label: string }
type MeterHead = {
  readonly meterId: string
  readonly serial: string
  readonly unit: string
  readonly wardName: string
  readonly mark: Parameters<typeof stateMark>[0]
}

const valueIn =
  (view: FormView) =>
  (name: string): string =>
    view.values[name] ?? ''
const errorIn =
  (view: FormView) =>
  (name: string): string | null =>
    view.errors[name] ?? null

export function meterForm(view: FormView & { readonly wards: readonly Option[] }): Html {
  const [value, error] = [valueIn(view), errorIn(view)]
  return html`<h1>Add a meter</h1>
${problem(view.problem)}
<div class="card">${form({
    action: 'setup/meters/new',
    key: value('key'),
    submit: 'Add the meter',
    body: html`${field({ name: 'serial', label: 'Scan the serial number, or type it', value: value('serial'), error: error('serial'), maxlength: 40, autofocus: true })}
${select({ name: 'wardId', label: 'Ward', options: [{ value: '', label: 'Choose' }, ...view.wards], value: value('wardId'), error: error('wardId') })}
${choice({
  name: 'unit',
  label: 'Unit on its display',
  options: [
    { value: 'mg/dL', label: 'mg/dL' },
    { value: 'mmol/L', label: 'mmol/L' },
  ],
  value: value('unit'),
  error: error('unit'),
})}`,
  })}
<p class="hint">It is usable once both levels of today’s control are passed.</p></div>
<p><a class="quiet" href="/setup/meters">All meters</a></p>`
}

function head(meter: MeterHead): Html {
  return html`<p class="meter-state">Meter <strong>${meter.serial}</strong>, ${meter.wardName}, ${meter.unit}. ${stateMark(meter.mark)}</p>`
}

export function moveForm(view: FormView & { readonly meter: MeterHead; readonly wards: readonly Option[] }): Html {
  const [value, error] = [valueIn(view), errorIn(view)]
  return html`<h1>Move a meter</h1>
${problem(view.problem)}
<div class="card">${head(view.meter)}
<p class="working">Its controls go with it as they are.</p>
${
  view.wards.length === 0
    ? html`<p>You set up no other ward. Ask an administrator.</p>`
    : form({
        action: `setup/meters/${view.meter.meterId}/move`,
        key: value('key'),
        submit: 'Move the meter',
        body: select({
          name: 'toWardId',
          label: 'To which ward',
          options: [{ value: '', label: 'Choose' }, ...view.wards],
          value: value('toWardId'),
          error: error('toWardId'),
        }),
      })
}</div>
<p><a class="quiet" href="/setup/meters/${view.meter.meterId}">Back to the meter</a></p>`
}

export function retireForm(view: FormView & { readonly meter: MeterHead }): Html {
  const [value, error] = [valueIn(view), errorIn(view)]
  return html`<h1>Retire a meter</h1>
${problem(view.problem)}
<div class="card">${head(view.meter)}
<p class="working">For good: it cannot be chosen for a reading any more. Its readings and its log stay.</p>
${form({
  action: `setup/meters/${view.meter.meterId}/retire`,
  key: value('key'),
  submit: 'Retire the meter',
  body: field({
    name: 'reason',
    label: 'Why',
    value: value('reason'),
    error: error('reason'),
    maxlength: 200,
    autofocus: true,
    hint: 'As in: display broken, sent back after a failed comparison.',
  }),
})}</div>
<p><a class="quiet" href="/setup/meters/${view.meter.meterId}">Back to the meter</a></p>`
}

export type ControlLotView = { readonly value: string; readonly label: string; readonly ranges: string }

export function controlForm(
  view: FormView & { readonly meter: MeterHead; readonly lots: readonly ControlLotView[]; readonly stripsPath: string },
): Html {
  const [value, error] = [valueIn(view), errorIn(view)]
  const levelField = (level: 1 | 2): Html =>
    field({
      name: `level${String(level)}`,
      label: `Level ${String(level)}: what the meter shows`,
      value: value(`level${String(level)}`),
      error: error(`level${String(level)}`),
      inputmode: 'decimal',
      big: true,
      unit: view.meter.unit,
      maxlength: 10,
      autofocus: level === 1,
    })
  return html`<h1>Control</h1>
${problem(view.problem)}
<div class="card">${head(view.meter)}
<p class="working">Measure both levels of control solution, one after the other. Passed only when both lie in the ranges of the strip lot. It counts from now on, for today.</p>
${form({
  action: `setup/meters/${view.meter.meterId}/controls`,
  key: value('key'),
  submit: 'Chart the control',
  body: html`${select({ name: 'lot', label: 'Strip lot', options: [{ value: '', label: 'Choose' }, ...view.lots], value: value('lot'), error: error('lot') })}
<div class="check-supplies">${levelField(1)}${levelField(2)}</div>`,
})}
${
  view.lots.length === 0
    ? null
    : html`<h2>Ranges from the labels</h2>
<dl class="facts">${view.lots.map((lot) => html`<dt>${lot.value}</dt><dd>${lot.ranges}</dd>`)}</dl>`
}
${caution()}</div>
<p><a class="quiet" href="/${view.stripsPath}">Strips: lots and ranges</a> <a class="quiet" href="/setup/meters/${view.meter.meterId}">Back to the meter</a></p>`
}
