/** The form that exports a file, and a description of each column. */
import { html, type Html } from '../html.ts'
import { caution, choice, field, problem, tick } from '../parts.ts'
import { periodFields, type Options } from './rates.ts'

export type ExportPageView = {
  readonly wards: Options
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
  readonly lastDay: string
  readonly files: readonly {
    readonly what: string
    readonly columns: readonly {
      readonly name: string
      readonly says: string
      /** only in a file with patient names */
      readonly names: boolean
    }[]
  }[]
}

const WHAT = [
  { value: 'readings', label: 'Readings' },
  { value: 'lows', label: 'Low events' },
  { value: 'rates', label: 'Rates' },
  { value: 'measures', label: 'Harm measures, by stay' },
] as const

export function exportPage({ wards, values, errors, problem: said, lastDay, files }: ExportPageView): Html {
  const value = (name: string): string => values[name] ?? ''
  const error = (name: string): string | null => errors[name] ?? null
  // the browser saves the file itself: htmx would insert it into the page
  return html`<h1>Export</h1>
${problem(said)}
<p>Each file that is made is recorded with your name. One form makes one file: open this page again for the next.</p>
<form method="post" action="/audit/export" hx-boost="false" novalidate>
<input type="hidden" name="key" value="${value('key')}">
${choice({ name: 'what', label: 'What', options: WHAT, value: value('what'), error: error('what') })}
${choice({
  name: 'format',
  label: 'As',
  options: [
    { value: 'csv', label: 'CSV' },
    { value: 'json', label: 'JSON' },
  ],
  value: value('format'),
  error: error('format'),
})}
<div class="asking-fields">${periodFields({ wards, values: { ward: value('ward'), from: value('from'), to: value('to') }, errors, lastDay })}</div>
<p class="hint">Harm measures: stays that were discharged on these days. Everything else: what happened on them.</p>
${tick({ name: 'identified', label: 'Name the patients', ticked: value('identified') === 'yes', error: error('identified') })}
<p class="hint">Left out unless ticked: names, wristbands, dates of birth and every date. A number stands for the stay, in each file another one; days are counted from admission, and 90 years stands for 90 and above. The file and its name say the year alone, so note for yourself which days you asked for. Values and times can still be matched with a file that names patients: never pass both to the same person.</p>
${field({ name: 'reason', label: 'Reason, when patients are named', value: value('reason'), error: error('reason') })}
<p class="actions"><button type="submit" class="main">Make the file</button></p>
</form>
<h2>Columns</h2>
<p><a class="button quiet" href="/audit/export/columns" hx-boost="false">Columns of all files as CSV</a></p>
<p>CSV: UTF-8, lines ended by CRLF, quotes where they are needed (RFC 4180). Text that a spreadsheet would run as a formula has an apostrophe in front.</p>
${files.map(
  ({ what, columns }) => html`<details><summary>${WHAT.find((one) => one.value === what)?.label ?? what}</summary>
<table class="table"><thead><tr><th scope="col">Column</th><th scope="col">What it holds</th></tr></thead><tbody>
${columns.map(({ name, says, names }) => html`<tr><th scope="row"><code>${name}</code></th><td>${says}${names ? ' (only where patients are named)' : null}</td></tr>`)}
</tbody></table></details>`,
)}
${caution()}`
}
