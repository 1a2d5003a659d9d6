/** The short forms of a reading: correcting it, charting a call, settling an item. */
import { html, type Child, type Html } from '../html.ts'
import { caution, field, form, problem, tick } from '../parts.ts'
import { stepRow, type StepView } from '../low/page.ts'
import { banner, type BannerView } from '../stay/banner.ts'

export type ShortFormView = {
  readonly patient: BannerView
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
  /** The reading in words, with its value only for people who may see it. */
  readonly about: string
}

function frame(
  view: ShortFormView,
  parts: {
    readonly title: string
    readonly action: string
    readonly submit: string
    readonly body: Child
    readonly back: { readonly path: string; readonly label: string }
  },
): Html {
  return html`<h1>${parts.title}</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
<p>${view.about}</p>
${form({ action: parts.action, key: view.values['key'] ?? '', submit: parts.submit, body: parts.body })}
<p><a class="quiet" href="/${parts.back.path}">${parts.back.label}</a></p></div>`
}

export function correctForm(view: ShortFormView & { readonly readingId: string; readonly unit: string }): Html {
  const { values, errors } = view
  return frame(view, {
    title: 'Correct a reading',
    action: `readings/${view.readingId}/correct`,
    submit: 'Chart the correction',
    back: { path: `readings/${view.readingId}`, label: 'Back to the reading' },
    body: html`${field({ name: 'wristband', label: 'Scan the wristband, or type its number', value: values['wristband'] ?? '', error: errors['wristband'] ?? null, maxlength: 40, autofocus: true })}
${field({ name: 'glucose', label: 'Value in the meter’s memory', value: values['glucose'] ?? '', error: errors['glucose'] ?? null, inputmode: 'decimal', big: true, unit: view.unit, maxlength: 10, hint: 'Digits, LO or HI.' })}
${field({ name: 'reason', label: 'What was wrong', value: values['reason'] ?? '', error: errors['reason'] ?? null, maxlength: 500, hint: 'The first value stays readable, struck through.' })}`,
  })
}

export function voidForm(view: ShortFormView & { readonly readingId: string }): Html {
  const { values, errors } = view
  return frame(view, {
    title: 'Mark a reading entered in error',
    action: `readings/${view.readingId}/void`,
    submit: 'Mark it entered in error',
    back: { path: `readings/${view.readingId}`, label: 'Back to the reading' },
    body: html`<p>For a reading of the wrong patient. Nothing is deleted; a dose or a low that followed from it is put before a person. For a wrong value, correct it instead.</p>
${field({ name: 'reason', label: 'What happened', value: values['reason'] ?? '', error: errors['reason'] ?? null, maxlength: 500, autofocus: true })}`,
  })
}

export function callForm(
  view: ShortFormView & {
    readonly readingId: string
    readonly deadline: string
    readonly nowMs: number
    readonly clocks: readonly StepView[]
  },
): Html {
  const { values, errors } = view
  return frame(view, {
    title: 'Critical result: tell the prescriber',
    action: `readings/${view.readingId}/critical-call`,
    submit: 'Chart the call',
    back: { path: `readings/${view.readingId}`, label: 'Back to the reading' },
    body: html`<p class="warning"><strong>${view.deadline}</strong></p>
${view.clocks.length === 0 ? null : html`<ul class="rows" data-now="${view.nowMs}">${view.clocks.map(stepRow)}</ul>`}
${field({ name: 'told', label: 'Who was told', value: values['told'] ?? '', error: errors['told'] ?? null, maxlength: 100, autofocus: true })}
${tick({ name: 'readBack', label: 'Patient and value were read back', ticked: values['readBack'] === 'yes', error: errors['readBack'] ?? null })}
${field({ name: 'ordered', label: 'What was ordered', value: values['ordered'] ?? '', error: errors['ordered'] ?? null, maxlength: 500, hint: 'Empty: nothing new. A dose by direction is charted on the reading.' })}
${caution()}`,
  })
}

export function flagForm(
  view: ShortFormView & {
    readonly itemId: string
    readonly stayId: string
    readonly mayCloseLow: boolean
    readonly way: { readonly path: string; readonly label: string } | null
  },
): Html {
  const { values, errors } = view
  return frame(view, {
    title: 'Look again: a reading changed',
    action: `flags/${view.itemId}`,
    submit: 'Resolved',
    back: { path: `stays/${view.stayId}`, label: 'Patient page' },
    body: html`${view.way === null ? null : html`<p><a href="/${view.way.path}">${view.way.label}</a></p>`}
${view.mayCloseLow || values['closeLow'] === 'yes' ? tick({ name: 'closeLow', label: 'There was no low: close the low event as entered in error', ticked: values['closeLow'] === 'yes', error: errors['closeLow'] ?? null }) : null}
${field({ name: 'note', label: 'What was done about it', value: values['note'] ?? '', error: errors['note'] ?? null, maxlength: 500, autofocus: true })}`,
  })
}
