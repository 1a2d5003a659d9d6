/** The fields of the bedside facts and of a check plan, shared by several forms. */
import { html, type Html } from '../html.ts'
import { choice, field, select, tick } from '../parts.ts'
import { ISOLATION, RESTRICTION } from '../words/check.ts'
import { DIABETES, FEEDING, LABORATORY_ONLY, PLAN } from '../words/stay.ts'
import type { CheckPlan } from '../../shared/check/check.ts'
import type { RestrictedHand } from '../../shared/stay/stay.ts'

export type Filled = {
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
}

const options = <T extends string>(
  words: Readonly<Record<T, string>>,
): readonly { readonly value: string; readonly label: string }[] =>
  (Object.entries(words) as [T, string][]).map(([value, label]) => ({ value, label }))
const CHOOSE = { value: '', label: 'Choose…' }

/** Value and error of a field by its name. */
export function filled({ values, errors }: Filled): {
  readonly value: (name: string) => string
  readonly error: (name: string) => string | null
} {
  return { value: (name) => values[name] ?? '', error: (name) => errors[name] ?? null }
}

/** `nilPlan` says how nil by mouth changes the check plan. */
export function factsFields(view: Filled & { readonly nilPlan: string }): Html {
  const { value, error } = filled(view)
  const ticked = (name: string, label: string): Html =>
    tick({ name, label, ticked: value(name) === 'yes', error: error(name) })
  return html`<h2>Eating</h2>
${choice({
  name: 'swallows',
  label: 'Swallows safely?',
  options: [
    { value: 'yes', label: 'Yes' },
    { value: 'no', label: 'No' },
  ],
  value: value('swallows'),
  error: error('swallows'),
})}
${choice({
  name: 'nil',
  label: 'Nil by mouth?',
  options: [
    { value: 'no', label: 'May eat' },
    { value: 'yes', label: 'Nil by mouth' },
  ],
  value: value('nil'),
  error: error('nil'),
})}
<p class="hint">${view.nilPlan}</p>
<div class="pair">${field({ name: 'nilFrom', label: 'Nil by mouth from', type: 'datetime-local', value: value('nilFrom'), error: error('nilFrom'), hint: 'Empty: from now.' })}
${field({ name: 'nilUntil', label: 'Nil by mouth until', type: 'datetime-local', value: value('nilUntil'), error: error('nilUntil'), hint: 'Empty: until it is changed.' })}</div>
${select({ name: 'feeding', label: 'Fed', options: options(FEEDING), value: value('feeding'), error: error('feeding') })}
<h2>Diabetes and drugs</h2>
${select({ name: 'diabetes', label: 'Diabetes', options: [CHOOSE, ...options(DIABETES)], value: value('diabetes'), error: error('diabetes') })}
${field({ name: 'others', label: 'Other glucose-lowering drugs', value: value('others'), error: error('others'), maxlength: 600, hint: 'By their substance, with commas between them. Empty: none.' })}
${ticked('homeInsulin', 'On insulin at home')}
${ticked('ketoacidosis', 'Has had ketoacidosis')}
${ticked('steroid', 'On a steroid')}
${ticked('renal', 'Renal impairment')}
${field({ name: 'weight', label: 'Weight', value: value('weight'), error: error('weight'), inputmode: 'decimal', unit: 'kg', maxlength: 10, hint: 'As in 78.5. Empty: not known.' })}
<h2>Hands, vein and isolation</h2>
${hands('left', view)}
${hands('right', view)}
${ticked('iv', 'IV access')}
${select({ name: 'laboratoryOnly', label: 'Glucose by the laboratory only, because of', options: [{ value: '', label: 'No such reason: a meter may be used' }, ...options(LABORATORY_ONLY)], value: value('laboratoryOnly'), error: error('laboratoryOnly') })}
${select({ name: 'isolation', label: 'Isolation', options: options(ISOLATION), value: value('isolation'), error: error('isolation') })}`
}

function hands(hand: RestrictedHand['hand'], { values, errors }: Filled): Html {
  return html`<fieldset class="choice ticks"><legend>Not the ${hand} hand, because of</legend>
${options(RESTRICTION).map(({ value, label }) => tick({ name: `hand.${hand}.${value}`, label, ticked: values[`hand.${hand}.${value}`] === 'yes', error: errors[`hand.${hand}.${value}`] ?? null }))}
</fieldset>`
}

/** `kinds` are the plans that may be chosen here. */
export function planFields(view: Filled & { readonly kinds: readonly CheckPlan['kind'][] }): Html {
  const { value, error } = filled(view)
  return html`${select({ name: 'kind', label: 'Check plan', options: [CHOOSE, ...view.kinds.map((kind) => ({ value: kind, label: PLAN[kind] }))], value: value('kind'), error: error('kind') })}
<div class="pair">${field({ name: 'times', label: 'Listed times', value: value('times'), error: error('times'), maxlength: 200, hint: 'For listed times only, as in 02:00, 14:00.' })}
${field({ name: 'onceAt', label: 'Once, at', type: 'datetime-local', value: value('onceAt'), error: error('onceAt'), hint: 'For a single check only.' })}</div>`
}
