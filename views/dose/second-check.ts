/**
 * The second check: everything needed to calculate the dose independently, without the reading and the dose. This view
 * never receives them, so it cannot show them.
 */
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import type { InsulinName, InsulinOrder } from '../../shared/order/order.ts'
import { formatUnits } from '../format.ts'
import { html, type Html } from '../html.ts'
import { caution, field, form, problem } from '../parts.ts'
import { orderTable } from './order-table.ts'
import { insulinGiven, type InsulinGivenView } from './insulin-given.ts'
import { patientFacts, type PatientView } from './patient.ts'

export type SecondCheckView = {
  readonly doseId: string
  readonly patient: PatientView
  readonly insulin: InsulinName
  /** When and for what: "Before lunch", "Scheduled for 21:00". */
  readonly purpose: string
  readonly order: InsulinOrder | null
  readonly orderName: string
  /** Insulin given before this dose. */
  readonly given: InsulinGivenView
  /** Facts that affect the dose besides the reading: eating, grams, share, earlier insulin, held parts. */
  readonly facts: readonly string[]
  /** The prescriber's direction replaces the order for this dose. */
  readonly direction: {
    readonly prescriber: string
    readonly why: string
    readonly units: number
    readonly insulin: InsulinName
  } | null
  readonly asksGlucose: boolean
  readonly glucoseLabel: string
  readonly unit: GlucoseUnit
  readonly zone: string
  /** The second nurse's badge is needed on the first nurse's device only. */
  readonly asksBadge: boolean
  readonly signerName: string | null
  readonly chargeCalled: boolean
  /** Why there is nothing to answer here. Null: the form is shown. */
  readonly closed: string | null
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}

export function secondCheckPage(view: SecondCheckView): Html {
  return html`<h1>Second check</h1>
${patientFacts(view.patient)}
${view.closed === null ? problem(view.problem) : problem(view.problem ?? view.closed)}
${view.closed === null ? answerForm(view) : html`<p class="actions"><a class="button main" href="/doses/${view.doseId}">Go to the dose</a></p>`}
${caution()}`
}

function answerForm(view: SecondCheckView): Html {
  const { values, errors } = view
  const value = (name: string): string => values[name] ?? ''
  const error = (name: string): string | null => errors[name] ?? null
  return html`<p>For the second nurse. Nothing is drawn up yet. Take the value from the meter’s memory and the dose from the order below, by yourself.</p>
${view.chargeCalled ? html`<p class="warning"><span aria-hidden="true">▲</span> The answers differed before: the charge nurse does this check.</p>` : null}
${insulinGiven(view.given)}
<dl class="facts">
<div><dt>For</dt><dd>${view.purpose}</dd></div>
<div><dt>Insulin</dt><dd>${view.insulin}, U-100, subcutaneous</dd></div>
${view.facts.map((fact) => html`<div><dt>Counts</dt><dd>${fact}</dd></div>`)}
</dl>
${view.direction === null ? null : html`<section class="card"><h2>Prescriber’s direction for this dose</h2><p>${view.direction.prescriber}: ${formatUnits(view.direction.units)} of ${view.direction.insulin}. Why: ${view.direction.why}</p></section>`}
${view.order === null || view.direction !== null ? null : html`<section class="card"><h2>${view.orderName}</h2>${orderTable(view.order, view.zone)}</section>`}
${form({
  action: `doses/${view.doseId}/second-check`,
  key: value('key'),
  submit: 'Answer',
  body: [
    view.asksGlucose
      ? field({
          name: 'glucose',
          label: view.glucoseLabel,
          unit: view.unit,
          inputmode: view.unit === 'mg/dL' ? 'numeric' : 'decimal',
          maxlength: 12,
          big: true,
          value: value('glucose'),
          error: error('glucose'),
        })
      : null,
    field({
      name: 'units',
      label: 'Dose worked out from the order',
      unit: 'units',
      inputmode: 'decimal',
      maxlength: 5,
      big: true,
      value: value('units'),
      error: error('units'),
    }),
    view.asksBadge
      ? field({
          name: 'badge',
          label: 'Your badge (second nurse)',
          maxlength: 40,
          value: value('badge'),
          error: error('badge'),
        })
      : html`<p>Answering as ${view.signerName ?? '–'}.</p>`,
    field({
      name: 'pin',
      label: 'Your PIN',
      type: 'password',
      inputmode: 'numeric',
      maxlength: 20,
      value: '',
      error: error('pin'),
    }),
  ],
})}`
}

export type WaitingView = {
  readonly doseId: string
  readonly bed: string
  readonly name: string
  readonly purpose: string
  readonly insulin: string
  readonly since: string
  readonly step: string
  readonly href: 'second-check' | 'product' | 'dose'
}

/** Waiting second checks on the person's wards, oldest first, without any dose or reading. */
export function waitingPage(waiting: readonly WaitingView[]): Html {
  return html`<h1>Second checks waiting</h1>
${
  waiting.length === 0
    ? html`<p>None is waiting.</p>`
    : html`<ol class="rows">
${waiting.map(
  (dose) => html`<li class="row card"><p><strong>Bed ${dose.bed}</strong> ${dose.name}</p>
<p>${dose.purpose}, ${dose.insulin}. ${dose.step}, ${dose.since}.</p>
<p class="actions">${dose.href === 'dose' ? html`<a class="quiet" href="/doses/${dose.doseId}">Open</a>` : html`<a class="button main" href="/doses/${dose.doseId}/${dose.href}">${dose.href === 'product' ? 'Read the product' : 'Do the second check'}</a>`}</p></li>`,
)}
</ol>`
}
${caution()}`
}
