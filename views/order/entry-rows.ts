/** The rows of a printed scale as typed, with the answers that the paper leaves out. */
import { MOST_ANSWERED, scaleField, SHOWN_ROWS, MOST_ROWS, type ScaleName } from '../../shared/order/entry-fields.ts'
import { attribute, html, type Html } from '../html.ts'

type Filled = { readonly values: Readonly<Record<string, string>>; readonly errors: Readonly<Record<string, string>> }

/**
 * One scale: rows from–to, units or "no dose, call", and the printed instruction. Then values in no row, then the
 * answer above the last row.
 */
export function scaleRows(scale: ScaleName, unit: string, filled: Filled): Html {
  const name = (place: string): string => scaleField(scale, place)
  const rows = Array.from({ length: rowsShown(scale, filled) }, (_, index) => `row${String(index + 1)}`)
  return html`<div class="scale-rows">
<p class="hint">Copy each row as the order prints it, in ${unit}. “Over 350” may be typed as it stands. An end that the paper leaves open stays empty.</p>
<p class="scale-head" aria-hidden="true"><span></span><span>From</span><span>To</span><span>Units</span><span>No dose</span><span>Repeat, min</span><span>Printed instruction</span></p>
${rows.map(
  (
    row,
    index,
  ) => html`<div class="scale-row" role="group" aria-label="Row ${index + 1}"><span class="row-number" aria-hidden="true">${index + 1}</span>
${cell(name(`${row}From`), `Row ${String(index + 1)}, from`, filled, 14)}${cell(name(`${row}To`), `Row ${String(index + 1)}, to`, filled, 14)}${cell(name(`${row}Units`), `Row ${String(index + 1)}, units`, filled, 6)}${callTick(name(`${row}Call`), `Row ${String(index + 1)}: no dose, call`, filled)}<span class="narrow-only also-name" aria-hidden="true">Repeat, min</span>${cell(name(`${row}Repeat`), `Row ${String(index + 1)}, repeat the reading after, minutes`, filled, 4, 'repeat')}<span class="narrow-only also-name" aria-hidden="true">Instruction</span>${cell(name(`${row}Also`), `Row ${String(index + 1)}, printed instruction`, filled, 200, 'also')}
${['From', 'To', 'Units', 'Call', 'Also', 'Repeat'].map((part) => cellError(name(`${row}${part}`), filled))}</div>`,
)}
<div class="scale-row above" role="group" aria-label="Above a closed last row"><span class="row-text">Above a closed last row</span>${cell(name('aboveUnits'), 'Above the last row, units', filled, 6)}${callTick(name('aboveCall'), 'Above the last row: no dose, call', filled)}${cellError(name('aboveUnits'), filled)}${cellError(name('aboveCall'), filled)}</div>
<details${attribute('open', answeredTyped(scale, filled))}><summary>Values in no row, as the prescriber answered</summary>
<p class="hint">Ask the prescriber; write only what was said. One value, or from–to, with its units.</p>
${Array.from({ length: MOST_ANSWERED }, (_, index) => answeredRow(name, `answered${String(index + 1)}`, index + 1, filled))}</details>
</div>`
}

function answeredRow(name: (place: string) => string, place: string, count: number, filled: Filled): Html {
  return html`<div class="scale-row answered" role="group" aria-label="Answer ${count}"><span class="row-number" aria-hidden="true">${count}</span>
${cell(name(`${place}From`), `Answer ${String(count)}, value`, filled, 14)}${cell(name(`${place}To`), `Answer ${String(count)}, up to`, filled, 14)}${cell(name(`${place}Units`), `Answer ${String(count)}, units`, filled, 6)}${callTick(name(`${place}Call`), `Answer ${String(count)}: no dose, call`, filled)}
${['From', 'To', 'Units', 'Call'].map((part) => cellError(name(`${place}${part}`), filled))}</div>`
}

/** As many as paper orders print, or as were typed. */
function rowsShown(scale: ScaleName, { values }: Filled): number {
  const last = Array.from({ length: MOST_ROWS }, (_, index) => index + 1).findLast((row) =>
    ['From', 'To', 'Units', 'Call', 'Also', 'Repeat'].some(
      (part) => (values[scaleField(scale, `row${String(row)}${part}`)] ?? '') !== '',
    ),
  )
  return Math.max(SHOWN_ROWS, last ?? 0)
}

function answeredTyped(scale: ScaleName, { values, errors }: Filled): boolean {
  const start = scaleField(scale, 'answered')
  return [...Object.entries(values), ...Object.entries(errors)].some(
    ([name, text]) => name.startsWith(start) && text !== '',
  )
}

function cell(
  name: string,
  label: string,
  { values, errors }: Filled,
  maxlength: number,
  kind: 'also' | 'repeat' | null = null,
): Html {
  const error = errors[name] !== undefined
  return html`<input id="${name}" name="${name}" type="text"${attribute('class', kind)}${attribute('value', values[name] ?? '')} aria-label="${label}"${attribute('maxlength', maxlength)}${attribute('aria-invalid', error ? 'true' : null)}${attribute('aria-describedby', error ? `${name}-error` : null)} autocomplete="off" spellcheck="false">`
}

function callTick(name: string, label: string, { values, errors }: Filled): Html {
  return html`<label class="option call"><input id="${name}" type="checkbox" name="${name}" value="yes" aria-label="${label}"${attribute('checked', values[name] === 'yes')}${attribute('aria-describedby', errors[name] === undefined ? null : `${name}-error`)}><span aria-hidden="true">call</span></label>`
}

function cellError(name: string, { errors }: Filled): Html | null {
  const error = errors[name]
  return error === undefined
    ? null
    : html`<p class="error" id="${name}-error"><span aria-hidden="true">▲</span> ${error}</p>`
}
