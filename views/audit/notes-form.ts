/** The educator's note about a low. */
import { attribute, html, type Html } from '../html.ts'
import { form, problem } from '../parts.ts'
import { notesList, type NoteView } from './low-parts.ts'

export type NotesView = {
  readonly lowId: string
  /** "Bed 4: Ilves, Aino. Low of Tue 10 Mar 2026, 03:05, lowest 52 mg/dL" */
  readonly about: string
  readonly notes: readonly NoteView[]
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export function notesForm(view: NotesView): Html {
  return html`<h1>Note about a low</h1>
${problem(view.problem)}
<section class="card" aria-label="New note"><p class="basis">${view.about}</p>
<p class="working">A note is added beside the record. Nothing that was charted is changed, and no note is taken back.</p>
${form({
  action: `audit/lows/${view.lowId}/notes`,
  key: view.values['key'] ?? '',
  submit: 'Add the note',
  body: html`${longText(view, 'finding', 'Finding', 'What led to it, and what was missed.')}${longText(view, 'followUp', 'Follow-up', 'What is done about it, with whom, by when.')}`,
})}</section>
<section class="card" aria-labelledby="notes-heading"><h2 id="notes-heading">Notes so far</h2>${notesList(view.notes)}</section>
<p><a class="quiet" href="/audit/lows/${view.lowId}">Back to the low</a></p>`
}

function longText({ values, errors }: NotesView, name: string, label: string, hint: string): Html {
  const error = errors[name] ?? null
  return html`<div class="field"><label for="${name}">${label}</label>
<textarea id="${name}" name="${name}" rows="4"${attribute('maxlength', 1000)}${attribute('aria-describedby', error === null ? `${name}-hint` : `${name}-hint ${name}-error`)}${attribute('aria-invalid', error === null ? null : 'true')}>${values[name] ?? ''}</textarea>
<p class="hint" id="${name}-hint">${hint}</p>${error === null ? null : html`<p class="error" id="${name}-error"><span aria-hidden="true">▲</span> ${error}</p>`}</div>`
}
