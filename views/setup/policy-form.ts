/** The form of one part of a policy: one field for each setting, from when it applies, and why. */
import type { PolicyField } from '../../shared/policy/entry.ts'
import { inputName, tickName } from '../../shared/policy/field.ts'
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import { attribute, html, type Html } from '../html.ts'
import { caution, choice, field, form, problem, select } from '../parts.ts'

export type SettingFieldView = {
  readonly field: PolicyField
  /** in words */
  readonly now: string
  readonly default: string
}

export type PartFormView = {
  readonly wardId: string
  readonly wardName: string
  readonly partId: string
  readonly title: string
  readonly about: string
  readonly unit: GlucoseUnit
  readonly settings: readonly SettingFieldView[]
  /** The newest version, on which the change is based. If it applies only later, also from when. */
  readonly version: number
  readonly laterFrom: string | null
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export function partForm(view: PartFormView): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  const asksTwo = view.settings.some((setting) => setting.field.touchesDose)
  const asksOne = view.settings.some((setting) => !setting.field.touchesDose)
  return html`<h1>Change ${view.title.toLowerCase()}</h1>
${problem(view.problem)}
<p>Policy of ${view.wardName}, written over version ${view.version}. ${view.about}</p>
${view.laterFrom === null ? null : html`<p class="warning"><span aria-hidden="true">▲</span> Version ${view.version} counts only from ${view.laterFrom}. A change starts from it, and cannot count before it does.</p>`}
${asksTwo ? html`<p class="warning"><span aria-hidden="true">◆</span> ${asksOne ? 'A change of a setting marked ◆ touches a dose: it' : 'These settings touch a dose: a change'} counts only when a second administrator approves it.</p>` : html`<p>No dose is touched: one administrator suffices.</p>`}
${form({
  action: `setup/wards/${view.wardId}/policy/${view.partId}`,
  key: value('key'),
  submit: 'Save the change',
  body: [
    html`<input type="hidden" name="shown" value="${value('shown')}">`,
    view.settings.map((setting) => settingField(setting, view, asksOne)),
    field({
      name: 'from',
      label: 'Counts from',
      type: 'datetime-local',
      value: value('from'),
      error: error('from'),
      hint: 'Ward time. Empty: from now on, or from its approval.',
    }),
    field({
      name: 'note',
      label: 'Why',
      value: value('note'),
      error: error('note'),
      maxlength: 200,
      hint: 'As in: pharmacy committee of 3 March.',
    }),
  ],
})}
${caution()}
<p><a class="quiet" href="/setup/wards/${view.wardId}/policy">Back to the policy</a></p>`
}

function settingField(setting: SettingFieldView, view: PartFormView, marks: boolean): Html {
  const { kind, touchesDose, only } = setting.field
  const name = inputName(setting.field.name)
  const error = view.errors[name] ?? null
  const value = view.values[name] ?? ''
  const label = `${marks && touchesDose ? '◆ ' : ''}${setting.field.label}`
  const hint = `${setting.now === setting.default ? `Now, and by default: ${setting.now}.` : `Now: ${setting.now}. By default: ${setting.default}.`}${kind.kind === 'number' && kind.none !== null ? ` Empty: ${kind.none}.` : ''}${only === undefined ? '' : ' Only for its own kind of rule.'}`
  switch (kind.kind) {
    case 'fixed':
      return html`<p>${label}: <strong>${setting.now}</strong></p>`
    case 'time':
      return field({ name, label, type: 'time', value, error, hint })
    case 'number':
      return field({
        name,
        label,
        value,
        error,
        hint,
        unit: kind.unit,
        inputmode: kind.step === 1 ? 'numeric' : 'decimal',
        maxlength: 8,
      })
    case 'limit':
    case 'difference':
      return field({
        name,
        label,
        value,
        error,
        hint,
        unit: view.unit,
        inputmode: view.unit === 'mg/dL' ? 'numeric' : 'decimal',
        maxlength: 6,
      })
    case 'text':
      return field({ name, label, value, error, hint, maxlength: kind.most })
    case 'yes-no':
      return html`${choice({
        name,
        label,
        options: [
          { value: 'yes', label: 'Yes' },
          { value: 'no', label: 'No' },
        ],
        value,
        error,
      })}<p class="hint after">${hint}</p>`
    case 'one-of':
      return html`${select({ name, label, options: kind.options, value, error })}<p class="hint after">${hint}</p>`
    case 'any-of':
      return html`<fieldset class="choice"${attribute('aria-describedby', error === null ? null : `${name}-error`)}><legend>${label}</legend>
${kind.options.map((option) => html`<label class="option"><input type="checkbox" name="${tickName(setting.field, option)}" value="yes"${attribute('checked', view.values[tickName(setting.field, option)] === 'yes')}><span>${option.label}</span></label>`)}
<p class="hint">${hint}</p>
${error === null ? null : html`<p class="error" id="${name}-error"><span aria-hidden="true">▲</span> ${error}</p>`}</fieldset>`
    case 'shifts':
      return textArea({ name, label, value, error, hint: `One shift a line, as “07:00 Day”. ${hint}`, rows: 3 })
  }
}

/** A text area with the same hint and error as a field. */
export function textArea(view: {
  readonly name: string
  readonly label: string
  readonly value: string
  readonly error: string | null
  readonly hint: string
  readonly rows: number
}): Html {
  return html`<div class="field"><label for="${view.name}">${view.label}</label>
<textarea id="${view.name}" name="${view.name}" rows="${view.rows}" aria-describedby="${view.name}-hint${view.error === null ? '' : ` ${view.name}-error`}"${attribute('aria-invalid', view.error === null ? null : 'true')} spellcheck="false">${view.value}</textarea>
<p class="hint" id="${view.name}-hint">${view.hint}</p>
${view.error === null ? null : html`<p class="error" id="${view.name}-error"><span aria-hidden="true">▲</span> ${view.error}</p>`}</div>`
}
