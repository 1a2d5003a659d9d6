/** The small parts of every form and list, so that they are the same on every page. */
import { attribute, html, type Child, type Html } from './html.ts'

export type FieldView = {
  readonly name: string
  readonly label: string
  readonly value: string
  readonly error: string | null
  readonly type?: 'text' | 'password' | 'date' | 'datetime-local' | 'time'
  readonly inputmode?: 'numeric' | 'decimal' | 'text'
  readonly autofocus?: boolean
  readonly hint?: string
  readonly unit?: string
  readonly maxlength?: number
  readonly big?: boolean
}

/** A date or a time is picked, so it has no length. */
function isTyped({ type }: FieldView): boolean {
  return type === undefined || type === 'text' || type === 'password'
}

/** One labelled input with its unit, its hint and its error. */
export function field(view: FieldView): Html {
  const notes = [view.hint === undefined ? '' : `${view.name}-hint`, view.error === null ? '' : `${view.name}-error`]
    .filter((id) => id !== '')
    .join(' ')
  return html`<div class="field">
<label for="${view.name}">${view.label}</label>
<span class="entry"><input id="${view.name}" name="${view.name}" type="${view.type ?? 'text'}"${attribute('class', view.big === true ? 'big' : null)}${attribute('value', view.type === 'password' ? null : view.value)}${attribute('inputmode', view.inputmode ?? null)}${attribute('maxlength', isTyped(view) ? (view.maxlength ?? 200) : null)}${attribute('autofocus', view.autofocus ?? false)}${attribute('aria-describedby', notes === '' ? null : notes)}${attribute('aria-invalid', view.error === null ? null : 'true')} autocomplete="off" spellcheck="false">${view.unit === undefined ? null : html`<span class="unit">${view.unit}</span>`}</span>
${view.hint === undefined ? null : html`<p class="hint" id="${view.name}-hint">${view.hint}</p>`}
${fieldError(view.name, view.error)}
</div>`
}

export type ChoiceView = {
  readonly name: string
  readonly label: string
  readonly options: readonly { readonly value: string; readonly label: string }[]
  readonly value: string
  readonly error: string | null
}

/** A choice of few options, as large radio buttons. */
export function choice(view: ChoiceView): Html {
  return html`<fieldset class="choice"${attribute('aria-describedby', view.error === null ? null : `${view.name}-error`)}>
<legend>${view.label}</legend>
${view.options.map((option) => html`<label class="option"><input type="radio" name="${view.name}" value="${option.value}"${attribute('checked', option.value === view.value)}><span>${option.label}</span></label>`)}
${fieldError(view.name, view.error)}
</fieldset>`
}

/** A choice of few options, one submit button each, so that one tap is enough. */
export function pressChoice(view: Omit<ChoiceView, 'value'>): Html {
  return html`<fieldset class="choice press"${attribute('aria-describedby', view.error === null ? null : `${view.name}-error`)}>
<legend>${view.label}</legend>
${view.options.map((option) => html`<button type="submit" name="${view.name}" value="${option.value}">${option.label}</button> `)}
${fieldError(view.name, view.error)}
</fieldset>`
}

/** A choice of many options, as a list. */
export function select(view: ChoiceView): Html {
  return html`<div class="field">
<label for="${view.name}">${view.label}</label>
<select id="${view.name}" name="${view.name}"${attribute('aria-invalid', view.error === null ? null : 'true')}${attribute('aria-describedby', view.error === null ? null : `${view.name}-error`)}>
${view.options.map((option) => html`<option value="${option.value}"${attribute('selected', option.value === view.value)}>${option.label}</option>`)}
</select>
${fieldError(view.name, view.error)}
</div>`
}

/** A checkbox that sends "yes" when checked and nothing otherwise. */
export function tick(view: {
  readonly name: string
  readonly label: string
  readonly ticked: boolean
  readonly error: string | null
}): Html {
  return html`<div class="field"><label class="option"><input type="checkbox" name="${view.name}" value="yes"${attribute('checked', view.ticked)}${attribute('aria-describedby', view.error === null ? null : `${view.name}-error`)}><span>${view.label}</span></label>
${fieldError(view.name, view.error)}</div>`
}

function fieldError(name: string, error: string | null): Html | null {
  return error === null
    ? null
    : html`<p class="error" id="${name}-error"><span aria-hidden="true">▲</span> ${error}</p>`
}

/** The error above a form that belongs to no single field. */
export function problem(text: string | null): Html | null {
  return text === null
    ? null
    : html`<div class="problem" role="alert"><p><span aria-hidden="true">■</span> ${text}</p></div>`
}

/** A state as a word and a shape, never as colour only. `tone` only selects the emphasis. */
export function stateMark(view: {
  readonly shape: string
  readonly word: string
  readonly tone: 'calm' | 'due' | 'urgent' | 'done'
}): Html {
  return html`<span class="state ${view.tone}"><span class="shape" aria-hidden="true">${view.shape}</span> ${view.word}</span>`
}

/** A visible warning that stops nothing. */
export function warningLine(text: string): Html {
  return html`<p class="warning"><span aria-hidden="true">▲</span> ${text}</p>`
}

/** The standard caution below every dose, treatment and limit. */
export function caution(): Html {
  return html`<p class="caution">A calculation and charting aid. Follow the signed order, facility policy and local rules, and licensed judgement.</p>`
}

/** A form with its one-time key. `action` is a path of this service without its leading slash. */
export function form(view: {
  readonly action: string
  readonly key: string
  readonly body: Child
  readonly submit: string | null
  readonly name?: string
}): Html {
  return html`<form method="post" action="/${view.action}" novalidate${attribute('id', view.name ?? null)}>
<input type="hidden" name="key" value="${view.key}">
${view.body}
${view.submit === null ? null : html`<p class="actions"><button type="submit" class="main">${view.submit}</button></p>`}
</form>`
}
