/** A meter compared with the laboratory: entering a pair, the verdicts, the plot of the pairs and their table. */
import { html, type Html } from '../html.ts'
import { caution, field, form, problem, select, stateMark } from '../parts.ts'
import { comparisonPlot, type PlotView } from './comparison-plot.ts'
import type { FormView } from './meters-forms.ts'

type Mark = Parameters<typeof stateMark>[0]

export type SetRowView = {
  readonly name: string
  readonly says: string
  readonly source: string
  readonly inner: string
  readonly outer: string | null
  readonly mark: Mark
}
export type PairRowView = {
  readonly when: string
  readonly by: string
  readonly meter: string
  readonly laboratory: string
  /** "+8 mg/dL, +6.7 %" */
  readonly difference: string
  readonly apart: string
  readonly lot: string
  readonly note: string
  /** One for each standard, in the order of the set's rows. */
  readonly marks: readonly Mark[]
}

export type ComparisonPageView = FormView & {
  readonly meter: {
    readonly meterId: string
    readonly serial: string
    readonly wardName: string
    readonly unit: string
  }
  readonly lots: readonly { readonly value: string; readonly label: string }[]
  readonly sets: readonly SetRowView[]
  readonly pairs: readonly PairRowView[]
  /**
   * The note on pairs that are left out for now, because they could reveal a reading before its second check. Null:
   * none.
   */
  readonly held: string | null
  readonly plot: PlotView | null
}

export function comparisonPage(view: ComparisonPageView): Html {
  return html`<h1>Meter ${view.meter.serial} and the laboratory</h1>
${problem(view.problem)}
<section class="card no-print"><h2>Chart a pair</h2>
<p>${view.meter.wardName}. Finger stick and laboratory sample within 15 min of each other (common practice).</p>
${pairForm(view)}</section>
<section class="card"><h2>What the pairs say</h2>
${view.held === null ? null : html`<p class="warning">${view.held}</p>`}
${view.sets.length === 0 ? html`<p>No pair yet.</p>` : setTable(view.sets)}
<p class="hint">Fewer than 100 pairs give counts and no verdict: ISO 15197:2013 works with 100 subjects. A pair exactly on a limit is inside it.</p>
${caution()}</section>
${view.plot === null ? null : html`<section class="card"><h2>Plot</h2>${comparisonPlot(view.plot)}</section>`}
${view.pairs.length === 0 ? null : html`<section class="card"><h2>Pairs</h2>${pairTable(view)}</section>`}
<p><a class="quiet" href="/setup/meters/${view.meter.meterId}">Back to the meter</a></p>`
}

function pairForm(view: ComparisonPageView): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  return form({
    action: `setup/meters/${view.meter.meterId}/comparisons`,
    key: value('key'),
    submit: 'Chart the pair',
    body: html`<div class="check-supplies">${field({ name: 'meterValue', label: 'Value on the meter', value: value('meterValue'), error: error('meterValue'), inputmode: 'decimal', unit: view.meter.unit, maxlength: 10, big: true })}
${field({ name: 'meterAt', label: 'Finger stick at', value: value('meterAt'), error: error('meterAt'), maxlength: 30, hint: 'As in 07:05; on another day 2026-03-10 07:05.' })}</div>
<div class="check-supplies">${field({ name: 'laboratoryValue', label: 'Value from the laboratory', value: value('laboratoryValue'), error: error('laboratoryValue'), inputmode: 'decimal', unit: view.meter.unit, maxlength: 10, big: true })}
${field({ name: 'laboratoryAt', label: 'Sample drawn at', value: value('laboratoryAt'), error: error('laboratoryAt'), maxlength: 30, hint: 'As in 07:05; on another day 2026-03-10 07:05.' })}</div>
<div class="check-supplies">${select({ name: 'lot', label: 'Strip lot', options: [{ value: '', label: 'Not known' }, ...view.lots], value: value('lot'), error: error('lot') })}
${field({ name: 'note', label: 'Note', value: value('note'), error: error('note'), maxlength: 200, hint: 'Nothing that names a patient.' })}</div>`,
  })
}

function setTable(sets: readonly SetRowView[]): Html {
  return html`<table class="table stacked"><caption class="visually-hidden">The meter’s pairs against each published limit</caption>
<thead><tr><th scope="col">Limit</th><th scope="col">Pairs inside</th><th scope="col">Verdict</th></tr></thead>
<tbody>${sets.map((set) => html`<tr><th scope="row">${set.name}<br><span class="muted">${set.says}. ${set.source}</span></th><td>${set.inner}${set.outer === null ? null : html`<br>${set.outer}`}</td><td>${stateMark(set.mark)}</td></tr>`)}</tbody></table>`
}

function pairTable({ pairs, sets }: ComparisonPageView): Html {
  return html`<table class="table stacked pairs"><caption class="visually-hidden">Pairs, newest first</caption>
<thead><tr><th scope="col">When, by whom</th><th scope="col">Meter</th><th scope="col">Laboratory</th><th scope="col">Difference</th>${sets.map(({ name }) => html`<th scope="col">${name}</th>`)}</tr></thead>
<tbody>${pairs.map(
    (
      pair,
    ) => html`<tr><th scope="row">${pair.when}<br><span class="muted">${pair.by}, ${pair.apart}${pair.lot === '' ? null : html`, lot ${pair.lot}`}${pair.note === '' ? null : html`. ${pair.note}`}</span></th>
<td><span class="stacked-only">Meter: </span>${pair.meter}</td><td><span class="stacked-only">Laboratory: </span>${pair.laboratory}</td><td><span class="stacked-only">Difference: </span>${pair.difference}</td>
${pair.marks.map((mark, index) => html`<td><span class="stacked-only">${sets[index]?.name ?? ''}: </span>${stateMark(mark)}</td>`)}</tr>`,
  )}</tbody></table>`
}
