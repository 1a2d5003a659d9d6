/** The second person's form: answers from the original document. It shows nothing of the transcription. */
import { html, type Html } from '../html.ts'
import { caution, field, form, problem, select, tick } from '../parts.ts'
import { banner, type BannerView } from '../stay/banner.ts'

export type QuestionView = {
  /** "1", "2", "3": the field's number */
  readonly number: string
  readonly text: string
  /** "units", "mg/dL" */
  readonly unit: string
  readonly hint: string
  readonly tick: string
}

export type VerifyFormView = {
  readonly orderId: string
  readonly version: number
  readonly patient: BannerView
  readonly facts: readonly { readonly name: string; readonly value: string }[]
  readonly questions: readonly QuestionView[]
  readonly insulins: readonly { readonly value: string; readonly label: string }[]
  /** Why this person cannot verify it now. The form is then left out. */
  readonly blocked: string | null
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export function verifyForm(view: VerifyFormView): Html {
  const path = `orders/${view.orderId}/${String(view.version)}`
  return html`<h1>Verify an order from the original</h1>
${problem(view.problem ?? view.blocked)}
<div class="card">${banner(view.patient)}
<dl class="facts">${view.facts.map(({ name, value }) => html`<dt>${name}</dt><dd>${value}</dd>`)}</dl></div>
${view.blocked === null ? questions(view, path) : null}
<p><a class="quiet" href="/${path}">The order as transcribed</a></p>`
}

function questions(view: VerifyFormView, path: string): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  return html`<div class="card"><p class="warning"><strong>Have the prescriber’s original document in your hand.</strong> Every answer is read off it, none from this screen or from memory. One difference ends this version for good.</p>
<p>If the document is another patient’s, is not signed, or cannot be read: do not verify. <a href="/orders/${view.orderId}/stop">Stop the order</a> and ask the prescriber.</p>
${form({
  action: `${path}/verify`,
  key: value('key'),
  submit: 'Compare with the transcription',
  body: html`${tick({ name: 'identifiers', label: 'Two identifiers on the paper are this patient’s: name and date of birth, or wristband number', ticked: value('identifiers') === 'yes', error: error('identifiers') })}
${tick({ name: 'signature', label: 'The prescriber’s signature is on the paper', ticked: value('signature') === 'yes', error: error('signature') })}
${select({ name: 'insulin', label: 'Insulin on the paper', options: [{ value: '', label: 'Choose' }, ...view.insulins], value: value('insulin'), error: error('insulin') })}
${view.questions.map((question) => ask(question, value, error))}
${tick({ name: 'rest', label: 'Every other line of the transcription was compared with the paper: dates, meal doses, limits, instructions', ticked: value('rest') === 'yes', error: error('rest') })}`,
})}
${caution()}</div>`
}

function ask(
  { number, text, unit, hint, tick: ticked }: QuestionView,
  value: (name: string) => string,
  error: (name: string) => string | null,
): Html {
  return html`<fieldset class="choice"><legend>${number}. ${text}</legend>
${field({ name: `answer${number}`, label: `Answer ${number}`, value: value(`answer${number}`), error: error(`answer${number}`), inputmode: 'decimal', unit, hint, maxlength: 5 })}
${tick({ name: `tick${number}`, label: ticked, ticked: value(`tick${number}`) === 'yes', error: error(`tick${number}`) })}
</fieldset>`
}
