/** What the pages of the audit show of one low alike: its clocks, steps, line, and what happened before it. */
import { html, type Child, type Html } from '../html.ts'
import { stateMark } from '../parts.ts'
import { lowPlot, type LowPlotView } from './plot-low.ts'

export type MarkView = { readonly shape: string; readonly word: string; readonly tone: 'calm' | 'due' | 'urgent' | 'done' }

/** One of the low's clocks: how long it took, and what became of its step; `mark` null where no step was judged. */
export type ClockView = { readonly took: string; readonly mark: MarkView | null; /** which of several steps it was: "1 of 2" */ readonly which: string | null }

export type AuditedStepView = { readonly name: string; readonly due: string; readonly done: string; readonly mark: MarkView }
export type AuditLineView = { readonly when: string; readonly after: string; readonly what: string; readonly detail: string; readonly late: string | null; readonly by: string; readonly path: string | null }
export type HappenedRowView = { readonly when: string; /** "5 h 20 min before" */ readonly before: string; readonly what: string; readonly value: string; readonly detail: readonly string[]; readonly late: string | null; readonly by: string; readonly flagged: boolean; readonly path: string | null }
export type NoteView = { readonly when: string; readonly by: string; readonly finding: string; readonly followUp: string }

export type AuditedLowView = {
  readonly lowId: string
  readonly stayId: string
  /** "Bed 4" as it was then, with the ward where the patient has left it. */
  readonly bed: string
  readonly patient: string
  readonly identifiers: string
  readonly when: string
  /** The same without the year. */
  readonly whenShort: string
  readonly level: MarkView
  readonly lowest: string
  /** "open since …", "closed …: cause"; and what became of the patient. */
  readonly state: string
  readonly treated: ClockView
  readonly rechecked: ClockView
  readonly recovered: ClockView
  readonly told: ClockView
  readonly recurrence: readonly string[]
  /** "first", "within 24 h", "3rd of the stay" */
  readonly again: string
  readonly standing: readonly string[]
  /** What is most likely to have led to it, oldest first. */
  readonly telling: readonly HappenedRowView[]
  readonly steps: readonly AuditedStepView[]
  readonly line: readonly AuditLineView[]
  readonly before: readonly HappenedRowView[]
  readonly notes: readonly NoteView[]
  readonly plot: LowPlotView
}

/** A time with what became of it: "4 min ✓ kept". */
export function clockCell({ took, mark }: ClockView): Html {
  return html`${took}${mark === null ? null : html` ${stateMark(mark)}`}`
}

function clockInFull({ which, ...clock }: ClockView): Html {
  return html`${clockCell({ ...clock, which })}${which === null ? null : html` <span class="muted">(${which})</span>`}`
}

/** The clocks and what came of the low, as pairs. */
export function lowFigures(low: AuditedLowView): Html {
  return html`<dl class="facts">
<div><dt>Treated after</dt><dd>${clockInFull(low.treated)}</dd></div>
<div><dt>Rechecked after</dt><dd>${clockInFull(low.rechecked)}</dd></div>
<div><dt>Recovered after</dt><dd>${clockCell(low.recovered)}</dd></div>
<div><dt>Prescriber told after</dt><dd>${clockInFull(low.told)}</dd></div>
<div><dt>Came again</dt><dd>${low.recurrence.join('; ')}</dd></div>
<div><dt>State</dt><dd>${low.state}</dd></div>
</dl>`
}

/** What led to it, short. */
export function ledTo(low: AuditedLowView): Html {
  return html`${low.standing.length === 0 ? null : html`<p>Just then: <strong>${low.standing.join(', ')}</strong>.</p>`}
${low.telling.length === 0 ? html`<p>Nothing of insulin, meals, orders or facts is charted in the 24 h before.</p>` : html`<ul class="telling">${low.telling.map((row) => html`<li>${row.flagged ? html`<span aria-hidden="true">▲</span> ` : null}<strong>${row.when}</strong>${row.before === '' ? null : html` (${row.before})`}: ${row.what}${row.value === '' ? null : html` <strong>${row.value}</strong>`}${row.detail.length === 0 ? null : html`, ${row.detail.join(', ')}`}</li>`)}</ul>`}`
}

export function stepsTable(low: AuditedLowView): Html {
  if (low.steps.length === 0) return html`<p>No value of this event counts as low any more: nothing was asked for.</p>`
  return html`<table class="table stacked"><caption>Protocol steps</caption>
<thead><tr><th scope="col">Step</th><th scope="col">Due</th><th scope="col">Done</th><th scope="col">Kept or missed</th></tr></thead>
<tbody>${low.steps.map((step) => html`<tr><th scope="row">${step.name}</th><td><span class="cell-name">Due</span> ${step.due}</td><td><span class="cell-name">Done</span> ${step.done}</td><td>${stateMark(step.mark)}</td></tr>`)}</tbody></table>`
}

export function lineTable(rows: readonly AuditLineView[]): Html {
  return html`<table class="table stacked audit-times"><caption>Minute by minute</caption>
<thead><tr><th scope="col">When</th><th scope="col">What</th><th scope="col">Detail</th><th scope="col">By</th></tr></thead>
<tbody>${rows.map((row) => html`<tr><td>${row.when} <span class="muted">${row.after}</span></td><td>${linked(row.what, row.path)}</td><td>${row.detail}${lateMark(row.late)}</td><td>${row.by}</td></tr>`)}</tbody></table>`
}

/** `caption` says which stretch of time it is. */
export function happenedTable(caption: string, rows: readonly HappenedRowView[]): Html {
  if (rows.length === 0) return html`<p>${caption}: nothing is charted.</p>`
  return html`<table class="table stacked audit-times"><caption>${caption}</caption>
<thead><tr><th scope="col">When</th><th scope="col">What</th><th scope="col">Detail</th><th scope="col">By</th></tr></thead>
<tbody>${rows.map((row) => html`<tr><td>${row.when}${row.before === '' ? null : html` <span class="muted">${row.before}</span>`}</td><td>${row.flagged ? html`<span aria-hidden="true">▲</span> ` : null}${linked(row.what, row.path)}${row.value === '' ? null : html` <strong>${row.value}</strong>`}</td><td>${row.detail.join(', ')}${lateMark(row.late)}</td><td>${row.by}</td></tr>`)}</tbody></table>`
}

export function notesList(notes: readonly NoteView[]): Html {
  if (notes.length === 0) return html`<p>No note yet.</p>`
  return html`<ul class="notes">${notes.map((note) => html`<li><p class="muted">${note.when}, ${note.by}</p>${note.finding === '' ? null : html`<p>Finding: <strong>${note.finding}</strong></p>`}${note.followUp === '' ? null : html`<p>Follow-up: <strong>${note.followUp}</strong></p>`}</li>`)}</ul>`
}

export function plotOf(low: AuditedLowView): Html {
  return lowPlot(low.plot)
}

function linked(text: string, path: string | null): Child {
  return path === null ? text : html`<a href="/${path}">${text}</a>`
}

function lateMark(late: string | null): Child {
  return late === null ? null : html` ${stateMark({ shape: '◷', word: late, tone: 'due' })}`
}
