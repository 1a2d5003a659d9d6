/** The check on one screen: the value, and all other fields prefilled with their usual values. */
import { attribute, html, type Html } from '../html.ts'
import { choice, field, form, problem, select, warningLine } from '../parts.ts'
import { banner, type BannerView } from '../stay/banner.ts'

export type OptionView = { readonly value: string; readonly label: string }

export type CheckFormView = {
  readonly checkKey: string
  readonly what: string
  readonly when: string
  readonly patient: BannerView
  readonly unit: string
  /** Typed or prefilled values by field. `key` is the one-time key. */
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
  /** True: the patient's wristband was scanned, and a hidden field carries it. False: the form asks for it. */
  readonly isConfirmed: boolean
  readonly fingers: readonly OptionView[]
  readonly fingerReason: string
  readonly meters: readonly OptionView[]
  readonly stripLots: readonly OptionView[]
  readonly lateReasons: readonly OptionView[]
  readonly lateAfter: string
  /** Null for a planned check or a recheck, which need no reason. */
  readonly extraReasons: readonly OptionView[] | null
  readonly mayExcuse: boolean
  /** The note that this nurse's own meter training has ended. Null: no note. It stops nothing. */
  readonly training: string | null
}

const CHOOSE: OptionView = { value: '', label: 'Choose' }

export function checkForm(view: CheckFormView): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  const isLate =
    value('takenAt') !== '' || value('lateReason') !== '' || error('takenAt') !== null || error('lateReason') !== null
  return html`<h1>${view.what}</h1>
${problem(view.problem)}
<div class="card">${banner(view.patient)}
<p class="muted">${view.when}</p>
${view.training === null ? null : warningLine(view.training)}
${form({
  action: `checks/${view.checkKey}`,
  key: value('key'),
  name: 'check',
  submit: null,
  body: html`${
    view.isConfirmed
      ? html`<input type="hidden" name="wristband" value="${value('wristband')}">`
      : field({
          name: 'wristband',
          label: 'Scan the wristband, or type its number',
          value: value('wristband'),
          error: error('wristband'),
          maxlength: 40,
        })
  }
<p class="working">Hands washed or wiped and fully dry. One single-use lancet. Meter disinfected.</p>
${view.extraReasons === null ? null : select({ name: 'extraReason', label: 'Why this extra check', options: [CHOOSE, ...view.extraReasons], value: value('extraReason'), error: error('extraReason') })}
${field({ name: 'glucose', label: 'Value on the meter', value: value('glucose'), error: error('glucose'), inputmode: 'decimal', autofocus: true, big: true, unit: view.unit, maxlength: 10, hint: 'Digits, LO or HI. Enter charts it.' })}
<p class="actions"><button type="submit" class="main">Chart the value</button></p>
<div class="finger-choice">${choice({ name: 'finger', label: view.fingerReason, options: view.fingers, value: value('finger'), error: error('finger') })}</div>
<div class="check-supplies">${select({ name: 'meterId', label: 'Meter', options: [CHOOSE, ...view.meters], value: value('meterId'), error: error('meterId') })}
${select({ name: 'stripLot', label: 'Strip lot', options: [{ value: '', label: 'Not known' }, ...view.stripLots], value: value('stripLot'), error: error('stripLot') })}</div>
<details${attribute('open', isLate)}><summary>Taken earlier?</summary>
${field({ name: 'takenAt', label: 'Time taken', value: value('takenAt'), error: error('takenAt'), maxlength: 30, hint: 'As in 07:05. Empty: now.' })}
${select({ name: 'lateReason', label: `Why it is charted late (more than ${view.lateAfter})`, options: [{ value: '', label: 'Not late' }, ...view.lateReasons], value: value('lateReason'), error: error('lateReason') })}
</details>`,
})}
${view.mayExcuse ? html`<p><a class="quiet" href="/checks/${view.checkKey}/excuse">Not done? Give the reason</a></p>` : null}</div>`
}
