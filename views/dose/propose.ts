/** The page for calculating a dose: only the questions that the order needs, or what stops it. */
import type { GuardFinding } from '../../shared/dose/dose.ts'
import { html, type Html } from '../html.ts'
import { caution, choice, field, form, problem } from '../parts.ts'
import { insulinGiven, type InsulinGivenView } from './insulin-given.ts'
import { patientFacts, type PatientView } from './patient.ts'
import { guardList } from './working.ts'

export type Questions = {
  readonly willEat: boolean
  readonly grams: boolean
  readonly share: boolean
  readonly tray: boolean
  readonly elsewhere: boolean
}

export type ProposeView = {
  readonly patient: PatientView
  /** The form's target path, without its leading slash. */
  readonly action: string
  readonly heading: string
  /** The basis of the dose: the reading with its time, or the scheduled time. */
  readonly basis: string
  readonly orderName: string | null
  /** Insulin given before. */
  readonly given: InsulinGivenView
  readonly questions: Questions
  readonly trayText: string | null
  /** Guards that stop whatever the answers. Empty: the form is shown. */
  readonly stopped: readonly GuardFinding[]
  readonly zone: string
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
  /** Paths of the links, without their leading slash. */
  readonly directionPath: string | null
  readonly freshReadingPath: string
  readonly trayPath: string
  readonly outsidePath: string
  /** What the nurse types again, above an asking limit of the ward. */
  readonly again: { readonly units: boolean; readonly grams: boolean }
  /** False when the form is left out: no order, or stopped whatever the answers. */
  readonly canAsk: boolean
}

export function proposePage(view: ProposeView): Html {
  return html`<h1>${view.heading}</h1>
${patientFacts(view.patient)}
<p class="basis">${view.basis}</p>
${view.orderName === null ? null : html`<p>${view.orderName}</p>`}
${insulinGiven(view.given)}
${problem(view.problem)}
${view.stopped.length === 0 ? null : html`<section class="card"><h2>No dose</h2>${guardList(view.stopped, view.zone)}</section>`}
${view.canAsk ? questionsForm(view) : null}
${view.canAsk && view.stopped.length === 0 ? null : waysOn(view)}
${caution()}`
}

function questionsForm(view: ProposeView): Html {
  const { questions, values, errors } = view
  const value = (name: string): string => values[name] ?? ''
  const error = (name: string): string | null => errors[name] ?? null
  return form({
    action: view.action,
    key: value('key'),
    submit: 'Work out the dose',
    body: [
      questions.willEat
        ? choice({
            name: 'willEat',
            label: 'Will the patient eat?',
            options: [
              { value: 'yes', label: 'Yes' },
              { value: 'no', label: 'No' },
              { value: 'unsure', label: 'Not sure' },
            ],
            value: value('willEat'),
            error: error('willEat'),
          })
        : null,
      questions.share
        ? choice({
            name: 'share',
            label: 'How much of the meal was eaten?',
            options: [
              { value: 'not-yet', label: 'Not yet eaten: correction only' },
              { value: '0', label: 'Nothing' },
              { value: '25', label: 'A quarter' },
              { value: '50', label: 'Half' },
              { value: '75', label: 'Three quarters' },
              { value: '100', label: 'All' },
            ],
            value: value('share'),
            error: error('share'),
          })
        : null,
      questions.grams
        ? field({
            name: 'grams',
            label: 'Carbohydrate in the meal',
            unit: 'g',
            inputmode: 'decimal',
            maxlength: 6,
            value: value('grams'),
            error: error('grams'),
          })
        : null,
      view.again.grams
        ? field({
            name: 'gramsAgain',
            label: 'Type the grams again',
            unit: 'g',
            inputmode: 'decimal',
            maxlength: 6,
            value: value('gramsAgain'),
            error: error('gramsAgain'),
          })
        : null,
      view.again.units ? unitsAgainField(value('unitsAgain'), error('unitsAgain')) : null,
      questions.tray
        ? choice({
            name: 'tray',
            label: 'The tray',
            options: [
              { value: 'here', label: 'Is here now' },
              { value: 'expected', label: view.trayText ?? 'Is still to come' },
            ],
            value: value('tray'),
            error: error('tray'),
          })
        : null,
      questions.elsewhere
        ? choice({
            name: 'elsewhere',
            label:
              'Any insulin given elsewhere in the last 24 hours (other ward, theatre, emergency department, at home)?',
            options: [
              { value: 'none', label: 'None' },
              { value: 'given', label: 'Yes' },
              { value: 'unknown', label: 'Cannot find out' },
            ],
            value: value('elsewhere'),
            error: error('elsewhere'),
          })
        : null,
      questions.elsewhere
        ? html`<p><a class="quiet" href="/${view.outsidePath}">Chart insulin given elsewhere</a></p>`
        : null,
    ],
  })
}

/** The units of a large dose, typed a second time. */
export function unitsAgainField(value: string, error: string | null): Html {
  return field({
    name: 'unitsAgain',
    label: 'Large dose: type the units again',
    unit: 'units',
    inputmode: 'decimal',
    maxlength: 5,
    value,
    error,
  })
}

function waysOn(view: ProposeView): Html {
  return html`<nav class="actions" aria-label="What would release it">
${view.directionPath === null ? null : html`<a class="quiet" href="/${view.directionPath}">Chart a prescriber’s direction</a>`}
<a class="quiet" href="/${view.freshReadingPath}">Take a fresh reading</a>
<a class="quiet" href="/${view.trayPath}">Chart the tray</a>
<a class="quiet" href="/${view.outsidePath}">Chart insulin given elsewhere</a>
<a class="quiet" href="/stays/${view.patient.stayId}">Patient</a>
</nav>`
}

/** The page for a possible second checker: no value, no dose, no form. */
export function maskedPage(view: {
  readonly patient: PatientView
  readonly secondCheckPath: string | null
  readonly note?: string
}): Html {
  return html`<h1>Awaiting second check</h1>
${patientFacts(view.patient)}
<p>This reading and its dose are not shown to you until the second check is answered, so that your answer is your own.</p>
${view.note === undefined ? null : html`<p>${view.note}</p>`}
<p class="actions">${view.secondCheckPath === null ? null : html`<a class="button main" href="/${view.secondCheckPath}">Do the second check</a>`}
<a class="quiet" href="/round">Round</a></p>
${caution()}`
}

export type DirectionView = {
  readonly patient: PatientView
  readonly action: string
  readonly basis: string
  readonly given: InsulinGivenView
  readonly insulins: readonly string[]
  readonly stopped: readonly GuardFinding[]
  /** Rapid and regular insulin within the interval, and a low that is followed: what the prescriber must be told. */
  readonly toTell: readonly string[]
  readonly asksUnitsAgain: boolean
  readonly zone: string
  readonly values: Readonly<Record<string, string>>
  readonly errors: Readonly<Record<string, string>>
  readonly problem: string | null
}
