/** One row of fields for each insulin that the prescriber was asked about. */
import { html, type Html } from '../html.ts'
import { choice, field } from '../parts.ts'

/** `slot`: when the next scheduled dose is due, in words; null: none is ahead. */
export type WordRow = { readonly number: string; readonly insulin: string; readonly slot: string | null }

type Filled = {
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
}

export function wordFields(rows: readonly WordRow[], { values, errors }: Filled): Html {
  const value = (name: string): string => values[name] ?? ''
  const error = (name: string): string | null => errors[name] ?? null
  return html`${rows.map(
    ({ number, insulin, slot }) => html`<fieldset class="group"><legend>${insulin}</legend>
<input type="hidden" name="insulin${number}" value="${insulin}">
${choice({
  name: `word${number}`,
  label: 'The prescriber said',
  options: [
    { value: 'as-ordered', label: 'As ordered' },
    { value: 'hold', label: 'Hold it' },
    ...(slot === null ? [] : [{ value: 'units', label: `Other units at ${slot}` }]),
  ],
  value: value(`word${number}`),
  error: error(`word${number}`),
})}
<div class="pair">${field({ name: `until${number}`, label: 'Held until', value: value(`until${number}`), error: error(`until${number}`), maxlength: 30, hint: 'As in 07:30. Empty: until asked again.' })}
${slot === null ? null : field({ name: `units${number}`, label: 'Other units', unit: 'units', inputmode: 'decimal', value: value(`units${number}`), error: error(`units${number}`), maxlength: 6 })}</div></fieldset>`,
  )}`
}
