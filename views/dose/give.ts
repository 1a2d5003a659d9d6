/** Giving the dose: the wristband again, food, body site, time. */
import type { InsulinName } from '../../shared/order/order.ts'
import { formatNumber, formatUnits } from '../format.ts'
import { html, type Html } from '../html.ts'
import { caution, choice, field, form, select, tick } from '../parts.ts'
import type { StepFormView } from './dose.ts'
import { patientFacts, problemOrStop } from './patient.ts'

export type GiveView = StepFormView & {
  readonly insulin: InsulinName
  readonly units: number
  readonly sites: readonly { readonly value: string; readonly label: string }[]
  readonly siteReason: string
  readonly asksFood: boolean
  readonly hasMealPart: boolean
  readonly trayLimitMin: number
  readonly validUntil: string | null
  readonly closed: string | null
  /** Why it may not be given now, although it can be charted as given before. Null: it may be given. */
  readonly stop: string | null
}

export function givePage(view: GiveView): Html {
  return html`<h1>Give</h1>
${patientFacts(view.patient, false)}
${view.closed === null ? html`${problemOrStop(view.stop)}${problemOrStop(view.problem)}` : problemOrStop(view.problem ?? view.closed)}
${view.closed === null ? giveForm(view) : html`<p class="actions"><a class="button main" href="/doses/${view.doseId}">Go to the dose</a></p>`}
${caution()}`
}

function giveForm(view: GiveView): Html {
  const value = (name: string): string => view.values[name] ?? ''
  const error = (name: string): string | null => view.errors[name] ?? null
  // asked only where something stops it: an injection on time is no deviation
  const offersDeviation = view.stop !== null || view.problem !== null || Object.keys(view.errors).length > 0
  return html`<p class="big-number"><span class="number">${formatNumber(view.units)}</span> <span class="unit">${view.units === 1 ? 'unit' : 'units'}</span></p>
<p>${formatUnits(view.units)} of ${view.insulin}, U-100, subcutaneous.${view.validUntil === null ? null : html` To be given by ${view.validUntil}.`}</p>
${form({
  action: `doses/${view.doseId}/give`,
  key: value('key'),
  submit: 'Given',
  body: [
    field({
      name: 'wristband',
      label: 'Patient’s wristband',
      maxlength: 40,
      autofocus: true,
      value: value('wristband'),
      error: error('wristband'),
    }),
    view.asksFood
      ? choice({
          name: 'food',
          label: 'Food',
          options: [
            { value: 'tray-here', label: 'The tray is here' },
            { value: 'tray-coming', label: 'The tray is coming' },
            { value: 'not-with-a-meal', label: view.hasMealPart ? 'No food is coming' : 'Not with a meal' },
          ],
          value: value('food'),
          error: error('food'),
        })
      : null,
    view.asksFood
      ? field({
          name: 'trayInMin',
          label: 'If it is coming: in how many minutes?',
          unit: 'min',
          inputmode: 'numeric',
          maxlength: 3,
          hint: view.hasMealPart
            ? `A meal dose is given at most ${String(view.trayLimitMin)} min before the tray.`
            : 'Leave empty when no food is coming.',
          value: value('trayInMin'),
          error: error('trayInMin'),
        })
      : null,
    view.asksFood
      ? choice({
          name: 'willEat',
          label: 'Will the patient eat?',
          options: [
            { value: 'yes', label: 'Yes' },
            { value: 'no', label: 'No' },
          ],
          value: value('willEat'),
          error: error('willEat'),
        })
      : null,
    select({
      name: 'site',
      label: `Body site (${view.siteReason})`,
      options: view.sites,
      value: value('site'),
      error: error('site'),
    }),
    ...(offersDeviation ? deviationFields(value, error) : []),
    field({
      name: 'at',
      label: 'Given at',
      type: 'datetime-local',
      maxlength: 25,
      value: value('at'),
      error: error('at'),
    }),
  ],
})}
<p><a class="quiet" href="/doses/${view.doseId}/not-given">Not given</a></p>`
}

/** For an injection that a stop came too late for. */
function deviationFields(value: (name: string) => string, error: (name: string) => string | null): readonly Html[] {
  return [
    tick({
      name: 'alreadyGiven',
      label: 'It was injected although it was stopped',
      ticked: value('alreadyGiven') === 'yes',
      error: error('alreadyGiven'),
    }),
    field({
      name: 'deviationNote',
      label: 'If it was: what happened?',
      maxlength: 200,
      value: value('deviationNote'),
      error: error('deviationNote'),
    }),
  ]
}
