/** One dose in progress: the number, its working, and the next step. */
import type { DoseState, Working } from '../../shared/dose/dose.ts'
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import type { InsulinName } from '../../shared/order/order.ts'
import { formatInsulin, formatNumber } from '../format.ts'
import { html, type Html } from '../html.ts'
import { caution, choice, field, form, problem, stateMark } from '../parts.ts'
import { STATE_MARK } from '../words/dose.ts'
import { patientFacts, type PatientView } from './patient.ts'
import { workingList } from './working.ts'

export type DoseView = {
  readonly doseId: string
  readonly patient: PatientView
  readonly state: DoseState
  readonly insulin: InsulinName
  readonly units: number
  readonly working: Working
  readonly unit: GlucoseUnit
  readonly zone: string
  readonly orderName: string
  /** The reading with its time, or the scheduled time. */
  readonly basis: string
  /** What was done so far: who proposed, checked, read the product, gave; one sentence each. */
  readonly history: readonly string[]
  /** Until when the next step is allowed, ward-local. Null: no limit. */
  readonly validUntil: string | null
  /** The reading's dose page or the scheduled slot, without leading slash: to calculate the dose again. */
  readonly againPath: string
  readonly directionPath: string | null
  readonly voidedBecause: string | null
  /** The number of answers that differed. It decides whether the charge nurse is called for the next one. */
  readonly differed: number
  readonly chargeCalled: boolean
  /**
   * True when the viewer calculated the dose. This nurse starts again after a difference, and reads the product where
   * no second check is needed.
   */
  readonly isFirstNurse: boolean
  /**
   * True when the dose was drawn up and signed. Whether it was given must then be charted, even if the dose no longer
   * counts.
   */
  readonly signed: boolean
}

export function dosePage(view: DoseView): Html {
  // after a difference neither number is shown as correct
  const hidden = view.state === 'differed'
  return html`<h1>${hidden ? 'The answers differ' : 'Dose'}</h1>
${patientFacts(view.patient)}
<p>${stateMark(STATE_MARK[view.state])}${view.validUntil === null ? null : html` <span class="muted">until ${view.validUntil}</span>`}</p>
${
  hidden
    ? null
    : html`<p class="big-number"><span class="number">${formatNumber(view.units)}</span> <span class="unit">${view.units === 1 ? 'unit' : 'units'}</span></p>
<p>${view.insulin}, U-100, subcutaneous. ${view.basis}</p>`
}
${nextStep(view)}
${hidden ? null : workingList({ working: view.working, unit: view.unit, zone: view.zone, orderName: view.orderName })}
<section class="history"><h2>So far</h2><ul>${view.history.map((line) => html`<li>${line}</li>`)}</ul></section>
${caution()}`
}

function nextStep(view: DoseView): Html {
  const at = (step: string): Html =>
    html`<a class="quiet" href="/doses/${view.doseId}/${step}">${step === 'not-given' ? 'Not given' : step}</a>`
  switch (view.state) {
    case 'awaiting-second-check':
      return html`<section class="card"><h2>Next: second check</h2>
<p>Call a second nurse. Draw up nothing yet, and do not say the value or the dose.</p>
${view.chargeCalled ? html`<p class="warning"><span aria-hidden="true">▲</span> The answers differed ${String(view.differed)} times: the charge nurse does this check.</p>` : null}
<p class="actions"><a class="button main" href="/doses/${view.doseId}/second-check">Hand over for the second check</a>
${at('not-given')}${direction(view)}</p></section>`
    case 'differed':
      return html`<section class="card"><h2>Both start again</h2>
<p>Neither answer is shown. Read the value off the meter’s memory again and work it out from the order again; so does the second nurse.</p>
<p class="actions">${view.isFirstNurse ? html`<a class="button main" href="/doses/${view.doseId}/start-again">Start again</a>` : null}${at('not-given')}</p></section>`
    case 'agreed':
      return html`<section class="card"><h2>Next: draw up now</h2>
<p>Both answers agree. Draw up or dial ${formatInsulin(view.units, view.insulin)}; then the second nurse reads the label and the syringe.</p>
<p class="actions"><a class="button main" href="/doses/${view.doseId}/product">Second nurse reads the product</a>${at('not-given')}</p></section>`
    case 'to-draw-up':
      return html`<section class="card"><h2>Next: draw up now</h2>
<p>By the ward’s policy this dose needs no second check. Draw up or dial ${formatInsulin(view.units, view.insulin)}; then the nurse who worked it out reads the label and the syringe.</p>
<p class="actions">${view.isFirstNurse ? html`<a class="button main" href="/doses/${view.doseId}/product">Read the product</a>` : null}${at('not-given')}${direction(view)}</p></section>`
    case 'verified':
      return html`<section class="card"><h2>Next: give</h2>
<p class="actions"><a class="button main" href="/doses/${view.doseId}/give">Give</a>${at('not-given')}</p></section>`
    case 'lapsed':
      return html`<section class="card"><h2>Lapsed</h2>
<p>It waited too long. Work it out again from a reading that is fresh enough; the second check is done again.</p>
<p class="actions"><a class="button main" href="/${view.againPath}">Work it out again</a>${at('not-given')}<a class="quiet" href="/doses/${view.doseId}/give">It was given in its time: chart it</a></p></section>`
    case 'void':
      return html`<section class="card"><h2>No longer counts</h2>
<p>${view.voidedBecause ?? '–'} Do not give it.</p>
<p class="actions"><a class="button main" href="/${view.againPath}">Work it out again</a><a class="quiet" href="/doses/${view.doseId}/give">It was given before that: chart it</a>${view.signed ? at('not-given') : null}</p></section>`
    case 'zero':
      return html`<section class="card"><h2>Nothing to give</h2><p>The 0 and its working are charted.</p><p class="actions"><a class="button main" href="/round">Next bed</a>${direction(view)}</p></section>`
    case 'taken-back':
      return html`<section class="card"><h2>Charted in error</h2><p>This dose was taken back: it counts as no insulin. What was charted instead stands on the patient’s page.</p><p class="actions"><a class="button main" href="/stays/${view.patient.stayId}">Patient page</a></p></section>`
    case 'given':
    case 'withheld':
    case 'refused':
      return html`<section class="card"><h2>Charted</h2><p class="actions"><a class="button main" href="/round">Next bed</a><a class="quiet" href="/stays/${view.patient.stayId}/tray">Chart the tray</a>${view.state === 'given' ? html`<a class="quiet" href="/doses/${view.doseId}/take-back">Charted in error</a>` : null}</p></section>`
  }
}

function direction(view: DoseView): Html | null {
  return view.directionPath === null
    ? null
    : html`<a class="quiet" href="/${view.directionPath}">Prescriber’s direction</a>`
}

export type StepFormView = {
  readonly doseId: string
  readonly patient: PatientView
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

/** The first nurse reads the meter again after a difference. The page shows neither number. */
export function startAgainPage(
  view: StepFormView & {
    readonly unit: GlucoseUnit
    readonly asksGlucose: boolean
    readonly glucoseLabel: string
    readonly open: boolean
    readonly correctPath: string | null
  },
): Html {
  return html`<h1>Start again</h1>
${patientFacts(view.patient)}
<p>The two answers differ. Read the value off the meter’s memory, not off a screen or a note, and work the dose out from the order again.</p>
${view.open ? problem(view.problem) : problem(view.problem ?? 'There is nothing to start again here.')}
${
  view.open
    ? form({
        action: `doses/${view.doseId}/start-again`,
        key: view.values['key'] ?? '',
        submit: 'I have started again',
        body: view.asksGlucose
          ? field({
              name: 'glucose',
              label: view.glucoseLabel,
              unit: view.unit,
              inputmode: view.unit === 'mg/dL' ? 'numeric' : 'decimal',
              maxlength: 12,
              big: true,
              value: view.values['glucose'] ?? '',
              error: view.errors['glucose'] ?? null,
            })
          : null,
      })
    : null
}
${view.correctPath === null ? null : html`<p><a class="quiet" href="/${view.correctPath}">The charted value is wrong: correct the reading</a></p>`}
${caution()}`
}

/** The form for a withheld or refused dose, with the reason. */
export function notGivenPage(view: StepFormView): Html {
  return html`<h1>Not given</h1>
${patientFacts(view.patient)}
${problem(view.problem)}
${form({
  action: `doses/${view.doseId}/not-given`,
  key: view.values['key'] ?? '',
  submit: 'Chart as not given',
  body: [
    choice({
      name: 'kind',
      label: 'What happened?',
      options: [
        { value: 'withheld', label: 'Withheld by the nurse' },
        { value: 'refused', label: 'Refused by the patient' },
      ],
      value: view.values['kind'] ?? '',
      error: view.errors['kind'] ?? null,
    }),
    field({
      name: 'reason',
      label: 'Why',
      maxlength: 200,
      value: view.values['reason'] ?? '',
      error: view.errors['reason'] ?? null,
    }),
  ],
})}
${caution()}`
}
