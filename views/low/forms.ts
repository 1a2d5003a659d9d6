/** The short forms of a low event: treatment, findings, call, food, answers and closing. */
import { attribute, html, type Child, type Html } from '../html.ts'
import { caution, choice, field, form, problem, select, tick } from '../parts.ts'
import { banner, type BannerView } from '../stay/banner.ts'
import { wordFields, type WordRow } from '../stay/insulin-words.ts'

export type LowFormView = {
  readonly lowId: string
  readonly patient: BannerView
  /** "Low of 03:00, lowest 52 mg/dL" */
  readonly about: string
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export type Option = { readonly value: string; readonly label: string }

const CHOOSE: Option = { value: '', label: 'Choose' }

function frame(
  view: LowFormView,
  parts: { readonly title: string; readonly path: string; readonly submit: string; readonly body: Child },
): Html {
  return html`<h1>${parts.title}</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
<p class="muted">${view.about}</p>
${form({ action: `lows/${view.lowId}/${parts.path}`, key: view.values['key'] ?? '', submit: parts.submit, body: parts.body })}
${caution()}</div>
<p><a class="quiet" href="/lows/${view.lowId}">Back to the low</a></p>`
}

const of = (view: LowFormView) => ({
  value: (name: string): string => view.values[name] ?? '',
  error: (name: string): string | null => view.errors[name] ?? null,
})

function timeField(view: LowFormView, label: string): Html {
  const { value, error } = of(view)
  return field({
    name: 'at',
    label,
    value: value('at'),
    error: error('at'),
    maxlength: 30,
    hint: 'As in 03:05. Empty: now.',
  })
}

export function treatmentForm(view: LowFormView & { readonly arms: readonly Option[]; readonly signed: string }): Html {
  const { value, error } = of(view)
  return frame(view, {
    title: 'What was given',
    path: 'treatments',
    submit: 'Chart the treatment',
    body: html`${select({ name: 'arm', label: 'How it was given', options: [CHOOSE, ...view.arms], value: value('arm'), error: error('arm') })}
${field({ name: 'what', label: 'What and how much', value: value('what'), error: error('what'), maxlength: 200, hint: 'As in: 150 mL orange juice, 15 g.' })}
${timeField(view, 'When it was given')}
<p class="working">${view.signed}</p>
${field({ name: 'directedBy', label: 'Directed by', value: value('directedBy'), error: error('directedBy'), maxlength: 100, hint: 'The prescriber; empty when a standing order covers it, or it was given by mouth or tube.' })}
${tick({ name: 'readBack', label: 'Read back to the prescriber', ticked: value('readBack') === 'yes', error: error('readBack') })}`,
  })
}

export function findingForm(view: LowFormView & { readonly findings: readonly Option[] }): Html {
  const { value, error } = of(view)
  return frame(view, {
    title: 'Level 3: what was found',
    path: 'findings',
    submit: 'Chart the finding',
    body: html`<p>Level 3 is a finding and not a number. The emergency call comes first, at once.</p>${choice({ name: 'finding', label: 'Found now', options: view.findings, value: value('finding'), error: error('finding') })}`,
  })
}

export function emergencyForm(view: LowFormView): Html {
  return frame(view, {
    title: 'Emergency call',
    path: 'emergency-calls',
    submit: 'The emergency call is made',
    body: html`<input type="hidden" name="called" value="yes">`,
  })
}

export function toldForm(
  view: LowFormView & { readonly deadline: string; readonly alsoCritical: string | null },
): Html {
  const { value, error } = of(view)
  return frame(view, {
    title: 'Tell the prescriber of the low',
    path: 'prescriber-calls',
    submit: 'Chart the call',
    body: html`<p class="warning"><strong>${view.deadline}</strong>${view.alsoCritical === null ? null : html` ${view.alsoCritical}`}</p>
${field({ name: 'told', label: 'Who was told', value: value('told'), error: error('told'), maxlength: 100, autofocus: true })}
${tick({ name: 'readBack', label: 'Patient and value were read back', ticked: value('readBack') === 'yes', error: error('readBack') })}
${field({ name: 'ordered', label: 'What was ordered', value: value('ordered'), error: error('ordered'), maxlength: 500, hint: 'Empty: nothing new.' })}
${timeField(view, 'When')}`,
  })
}

export function foodForm(view: LowFormView): Html {
  const { value, error } = of(view)
  return frame(view, {
    title: 'Longer-acting carbohydrate',
    path: 'food',
    submit: 'Chart the food',
    body: html`${field({ name: 'grams', label: 'Carbohydrate', value: value('grams'), error: error('grams'), inputmode: 'numeric', unit: 'g', big: true, maxlength: 3 })}
${field({ name: 'what', label: 'What', value: value('what'), error: error('what'), maxlength: 200 })}
${timeField(view, 'When it was given')}`,
  })
}

export function insulinForm(
  view: LowFormView & {
    readonly deadline: string
    readonly insulins: string
    readonly rows: readonly WordRow[]
    readonly decisions: readonly Option[]
    readonly directionPath: string | null
  },
): Html {
  const { value, error } = of(view)
  return frame(view, {
    title: 'Insulin after the low: ask the prescriber',
    path: 'insulin-question',
    submit: 'Chart the answer',
    body: html`<p class="warning"><strong>${view.deadline}</strong> About ${view.insulins}.</p>
${choice({ name: 'decision', label: 'What the prescriber said', options: view.decisions, value: value('decision'), error: error('decision') })}
${field({ name: 'until', label: 'Held until', value: value('until'), error: error('until'), maxlength: 30, hint: 'Of a hold. As in 07:30. Empty: until asked again.' })}
<details${attribute('open', value('decision') === 'changed')}><summary>Not the same for every insulin, or other units</summary>${wordFields(view.rows, view)}</details>
${field({ name: 'told', label: 'Who was asked', value: value('told'), error: error('told'), maxlength: 100 })}
${tick({ name: 'readBack', label: 'The answer was read back', ticked: value('readBack') === 'yes', error: error('readBack') })}
${field({ name: 'ordered', label: 'In their words', value: value('ordered'), error: error('ordered'), maxlength: 500, hint: 'Needed when another dose or time was directed.' })}
<p class="working">“As ordered” counts for this low only: once a value shows recovery, and until the follow-up recheck is due, the meal part and scheduled doses can be worked out, each with its own second check. No correction is added before the follow-up.</p>
${view.directionPath === null ? null : html`<p class="working">A dose that is to be given now is charted as a direction, with its own second check: <a href="/${view.directionPath}">chart the direction</a>. That answers this question too.</p>`}`,
  })
}

export function closeForm(
  view: LowFormView & { readonly causes: readonly Option[]; readonly missing: readonly string[] },
): Html {
  const { value, error } = of(view)
  return frame(view, {
    title: 'Close the low event',
    path: 'close',
    submit: 'Close the event',
    body: html`${view.missing.length === 0 ? null : html`<p class="warning"><strong>Not yet.</strong> Closing still needs: ${view.missing.join(', ')}.</p>`}
${choice({ name: 'cause', label: 'Likely cause', options: view.causes, value: value('cause'), error: error('cause') })}
${field({ name: 'note', label: 'Note', value: value('note'), error: error('note'), maxlength: 500, hint: 'Needed for another cause.' })}`,
  })
}
