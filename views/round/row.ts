/** One line of the Round: the bed, the patient, what is due, and what to know before going in. */
import { attribute, html, type Html } from '../html.ts'
import { stateMark } from '../parts.ts'

export type MarkView = {
  readonly shape: string
  readonly word: string
  readonly tone: 'calm' | 'due' | 'urgent' | 'done'
}

export type PatientHead = {
  readonly stayId: string
  readonly bed: string
  readonly name: string
  readonly wristband: string
  /** "4 Feb 1951" */
  readonly born: string
}

/** masked: it may lead to a dose that this person may have to check. So only its time is shown, and why (`text`). */
export type LastReadingView =
  | { readonly kind: 'none' }
  | { readonly kind: 'masked'; readonly when: string; readonly text: string }
  | { readonly kind: 'shown'; readonly value: string; readonly when: string }

/** `dueMs`: the time to which the script counts. Null: no timer. */
export type AlertView = { readonly text: string; readonly path: string; readonly dueMs: number | null }

export type RoundRowView = {
  readonly patient: PatientHead
  readonly what: string
  readonly mark: MarkView
  /** "due 07:30, tray 08:00", "late since 08:00 (12 min)" */
  readonly when: string
  /** The time to which the script counts on the screen, in minutes and seconds. Null: no timer. */
  readonly dueMs: number | null
  readonly reading: LastReadingView
  readonly know: readonly string[]
  readonly alerts: readonly AlertView[]
  /** `path` is a path of this service without its leading slash. */
  readonly action: { readonly path: string; readonly label: string; readonly main: boolean } | null
}

/** The row as a list item. */
export function roundRow(view: RoundRowView): Html {
  const { patient, mark, action } = view
  return html`<li class="row ${mark.tone}">
<div class="round-patient">${patientHead(patient)}</div>
<div class="round-what"><p><strong>${view.what}</strong> ${stateMark(mark)}</p>
<p>${view.when}${view.dueMs === null ? null : html` <span class="counting" role="timer" data-due="${view.dueMs}"></span>`}</p></div>
<div class="round-last"><p>${lastReading(view.reading)}</p>
${knowList(view.know)}${alertList(view.alerts)}</div>
${action === null ? null : html`<p class="round-action"><a href="/${action.path}"${attribute('class', action.main ? 'button main' : 'button quiet')}${attribute('aria-label', `${action.label}: bed ${patient.bed}, ${view.what}`)}>${action.label}</a></p>`}
</li>
`
}

/** Bed, name with a link to the patient's page, and the two other identifiers. */
export function patientHead(patient: PatientHead): Html {
  return html`<p class="bed">Bed <strong>${patient.bed}</strong></p>
<p><a href="/stays/${patient.stayId}">${patient.name}</a></p>
<p class="muted">${patient.wristband} · born ${patient.born}</p>`
}

function lastReading(reading: LastReadingView): Html {
  if (reading.kind === 'none') return html`<span class="muted">No reading in the last days</span>`
  if (reading.kind === 'masked') return html`<span class="muted">Last reading ${reading.when}: ${reading.text}</span>`
  return html`Last <strong>${reading.value}</strong> <span class="muted">${reading.when}</span>`
}

export function knowList(know: readonly string[]): Html | null {
  return know.length === 0 ? null : html`<ul class="know">${know.map((one) => html`<li>${one}</li>`)}</ul>`
}

export function alertList(alerts: readonly AlertView[]): Html | null {
  return alerts.length === 0
    ? null
    : html`<ul class="alerts">${alerts.map((alert) => html`<li><span aria-hidden="true">▲</span> <a href="/${alert.path}">${alert.text}</a>${alert.dueMs === null ? null : html` <span class="counting" role="timer" data-due="${alert.dueMs}"></span>`}</li>`)}</ul>`
}
