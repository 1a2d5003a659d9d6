/**
 * Parts of a low that several audit pages share: its story, its step times and steps, what was charted, and its heading
 * on paper.
 */
import { html, type Child, type Html } from '../html.ts'
import { stateMark } from '../parts.ts'
import { lowPlot, type LowPlotView } from './plot-low.ts'

export type MarkView = {
  readonly shape: string
  readonly word: string
  readonly tone: 'calm' | 'due' | 'urgent' | 'done'
}

/**
 * One of the low's step times with its starting point, "16 min after treatment (limit 15 min)". `mark` null: no step
 * was judged.
 */
export type ClockView = {
  readonly says: string
  readonly mark: MarkView | null
  /** which of several steps: "2nd of 3" */
  readonly which: string | null
}

export type AuditedStepView = {
  readonly name: string
  readonly due: string
  readonly done: string
  /** null: not done */
  readonly clock: string | null
  readonly mark: MarkView
}
export type HappenedRowView = {
  readonly when: string
  /** "5 h 20 min before", "+4 min" */
  readonly before: string
  readonly what: string
  readonly value: string
  readonly detail: readonly string[]
  readonly late: string | null
  readonly by: string
  readonly path: string | null
}
export type NoteView = {
  readonly when: string
  readonly by: string
  readonly finding: string
  readonly followUp: string
}

export type AuditedLowView = {
  readonly lowId: string
  readonly stayId: string
  /** "Bed 4" at that time, with the ward if the patient has left it since. */
  readonly bed: string
  readonly patient: string
  readonly identifiers: string
  readonly when: string
  /** The same without the year. */
  readonly whenShort: string
  readonly level: MarkView
  /** "57 mg/dL at 03:10, extra check; symptoms: not charted" */
  readonly first: string
  readonly lowest: string
  readonly story: readonly { readonly when: string; readonly says: string }[]
  /** "1 of 6 steps late." */
  readonly summary: string
  /** "open, recovered", "closed … by …", and whether the patient has left. */
  readonly state: string
  readonly cause: string
  readonly lastMeal: string
  readonly lastInsulin: string
  readonly treated: ClockView
  readonly rechecked: ClockView
  readonly recovered: ClockView
  readonly prescriberTold: ClockView
  /** "3rd low of this stay", "repeat low in 24 h: …" */
  readonly recurrence: readonly string[]
  /** "Bed 13: 5 lows in 5 days". Null: it is the only one. */
  readonly run: string | null
  readonly standing: readonly string[]
  /** The 24 h before in short, latest first. */
  readonly told: readonly HappenedRowView[]
  /** What the short list leaves out. Null: nothing. */
  readonly left: string | null
  /** The whole 24 h before, oldest first. */
  readonly before: readonly HappenedRowView[]
  /** The period of the 24 h before, as a query string. */
  readonly wholeQuery: string
  readonly steps: readonly AuditedStepView[]
  /** Everything charted from an hour before the first value to the closing, or in the requested period. */
  readonly list: { readonly caption: string; readonly rows: readonly HappenedRowView[] }
  readonly notes: readonly NoteView[]
  /** Who has added a note. */
  readonly reviewedBy: readonly string[]
  readonly plot: LowPlotView
}

/** A step time with the step's verdict: "16 min after treatment (limit 15 min) ◷ late by 1 min (2nd of 3)". */
export function clockCell({ says, mark, which }: ClockView): Html {
  return html`${says}${mark === null ? null : html` ${stateMark(mark)}`}${which === null ? null : html` <span class="muted">(${which})</span>`}`
}

/** Bed, patient, identifiers and time: the heading of every sheet of a low. */
export function lowHead(low: AuditedLowView, wardName: string): string {
  return `${low.bed}: ${low.patient}, ${low.identifiers}. ${wardName}. Low of ${low.when}`
}

/** On paper `head` is at the top of every sheet of the body. The screen shows the body only. */
export function sheetFrame(head: string, body: Html): Html {
  return html`<div class="sheet-frame"><div class="sheet-running"><p>${head}</p></div><div class="sheet-body">${body}</div></div>`
}

/** The plot with its story beside it. `heading` fits the page's heading levels. */
export function plotAndStory(low: AuditedLowView, heading: Html): Html {
  return html`<div class="low-look">${lowPlot(low.plot)}
<div class="low-story">${heading}<ol>${low.story.map(({ when, says }) => html`<li><strong>${when}</strong> <span>${says}</span></li>`)}</ol>
<p><strong>${low.summary}</strong></p></div></div>`
}

/** The first value with its symptoms, the lowest and the level. */
export function valuesLine(low: AuditedLowView): Html {
  return html`<p>First value <strong>${low.first}</strong>. Lowest <strong>${low.lowest}</strong> ${stateMark(low.level)}</p>`
}

/**
 * The chosen cause beside the record, and whether it was a repeat. `clocks`: also how long each step took, and from
 * what.
 */
export function lowFacts(low: AuditedLowView, clocks: boolean): Html {
  const pair = (name: string, says: Child): Html => html`<div><dt>${name}</dt><dd>${says}</dd></div>
`
  return html`<dl class="facts">
${pair('Cause chosen by the nurse', low.cause)}${pair('Last meal', low.lastMeal)}${pair('Last insulin', low.lastInsulin)}
${clocks ? html`${pair('Treated', clockCell(low.treated))}${pair('Rechecked', clockCell(low.rechecked))}${pair('Recovered', clockCell(low.recovered))}${pair('Prescriber told', clockCell(low.prescriberTold))}` : null}
${pair('Repeat low', [...low.recurrence, ...(low.run === null ? [] : [low.run])].join('; '))}${pair('State', low.state)}
</dl>`
}

/** The 24 h before in short, latest first, one line each, and what was left out. `whole`: a link to the full list. */
export function beforeInShort(low: AuditedLowView, whole: boolean): Html {
  return html`${low.standing.length === 0 ? null : html`<p>Just then: <strong>${low.standing.join(', ')}</strong>.</p>`}
${low.told.length === 0 ? html`<p>Nothing of insulin, meals, orders or facts is charted in the 24 h before.</p>` : html`<ul class="telling">${low.told.map((row) => html`<li><strong>${row.when}</strong> (${row.before}): ${linked(row.what, row.path)}${row.value === '' ? null : html` <strong>${row.value}</strong>`}${row.detail.length === 0 ? null : html`, ${row.detail.join(', ')}`}${lateMark(row.late)}</li>`)}</ul>`}
<p class="muted">Closest first. ${low.left ?? 'Nothing is left out.'}${whole && low.left !== null ? html` <a class="no-print" href="/audit/lows/${low.lowId}?${low.wholeQuery}#charted">Everything of these 24 h</a>` : null}</p>`
}

export function stepsTable(low: AuditedLowView): Html {
  if (low.steps.length === 0) return html`<p>No value of this event counts as low any more: nothing was asked for.</p>`
  return html`<table class="table stacked"><caption>Protocol steps</caption>
<thead><tr><th scope="col">Step</th><th scope="col">Due</th><th scope="col">Done</th><th scope="col">Kept or missed</th></tr></thead>
<tbody>${low.steps.map((step) => html`<tr><th scope="row">${step.name}</th><td><span class="cell-name">Due</span> ${step.due}</td><td><span class="cell-name">Done</span> ${step.done}${step.clock === null ? null : html`, <span class="muted">${step.clock}</span>`}</td><td>${stateMark(step.mark)}</td></tr>`)}</tbody></table>`
}

/** `caption` names the period. Times in grey are relative to the first value. */
export function happenedTable(caption: string, rows: readonly HappenedRowView[]): Html {
  if (rows.length === 0) return html`<p>${caption}: nothing is charted.</p>`
  return html`<table class="table stacked audit-times"><caption>${caption}</caption>
<thead><tr><th scope="col">When, from first value</th><th scope="col">What</th><th scope="col">Detail</th><th scope="col">By</th></tr></thead>
<tbody>${rows.map((row) => html`<tr><td>${row.when} <span class="muted">${row.before}</span></td><td>${linked(row.what, row.path)}${row.value === '' ? null : html` <strong>${row.value}</strong>`}</td><td>${row.detail.join(', ')}${lateMark(row.late)}</td><td>${row.by}</td></tr>`)}</tbody></table>`
}

export function notesList(notes: readonly NoteView[]): Html {
  if (notes.length === 0) return html`<p>No note yet.</p>`
  return html`<ul class="notes">${notes.map((note) => html`<li><p class="muted">${note.when}, ${note.by}</p>${note.finding === '' ? null : html`<p>Finding: <strong>${note.finding}</strong></p>`}${note.followUp === '' ? null : html`<p>Follow-up: <strong>${note.followUp}</strong></p>`}</li>`)}</ul>`
}

function linked(text: string, path: string | null): Child {
  return path === null ? text : html`<a href="/${path}">${text}</a>`
}

function lateMark(late: string | null): Child {
  return late === null ? null : html` ${stateMark({ shape: '◷', word: late, tone: 'due' })}`
}
