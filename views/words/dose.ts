/** Sentences of the dose pages: why a form was not taken, and what a state means. */
import { formatUnits } from '../format.ts'
import { IDENTIFY_SENTENCES, type IdentifyRefusal } from './http.ts'
import type { DirectionRefusal } from '../../shared/dose/direction.ts'
import type { TakeBackRefusal } from '../../shared/care/taken-back.ts'
import type { DoseState, DoseVoidReason, EarlierDose, TakenBackWhy } from '../../shared/dose/dose.ts'
import type { GiveRefusal, NotGivenRefusal } from '../../shared/dose/give.ts'
import type { ProductRefusal } from '../../shared/dose/product.ts'
import type { SecondCheckRefusal, StartAgainRefusal } from '../../shared/dose/second-check.ts'
import type { DetailsOf, Sentences } from '../../shared/outcome.ts'

export { GUARD_NAME } from './guards.ts'

/** What every dose form can meet. */
const GONE = {
  'dose-void': () => 'This dose no longer counts: something changed underneath. Work it out again.',
  'dose-lapsed': () => 'This dose waited too long and has lapsed. Work it out again.',
  'dose-settled': () => 'This dose is charted already.',
} as const

function whoseWristband(d: DetailsOf<'wristband-wrong'>): string {
  if (d.bed === undefined)
    return d.ward === undefined ? 'It is no wristband of a patient here.' : `It belongs to ${d.ward}.`
  return d.ward === undefined ? `It is bed ${d.bed}'s wristband.` : `It is bed ${d.bed}'s wristband, on ${d.ward}.`
}

/** A wrong wristband is told apart by its bed only. */
export const WRONG_WRISTBAND = (d: DetailsOf<'wristband-wrong'>): string => {
  return `STOP. This is not this patient's wristband. ${whoseWristband(d)} Give nothing. Look again at who is in front of you.`
}

export type GlucoseTypedRefusal = 'glucose-typed-wrong'

declare module '../../shared/outcome.ts' {
  interface RefusalDetails {
    'glucose-typed-wrong': { unit: string }
    'signed-dose-open': { units: number; insulin: string }
  }
}

export const SECOND_CHECK_SENTENCES: Sentences<
  SecondCheckRefusal | IdentifyRefusal | GlucoseTypedRefusal | 'badge-missing'
> = {
  ...GONE,
  ...IDENTIFY_SENTENCES,
  'badge-missing': () => 'Scan or type your badge.',
  'signer-is-first-nurse': () => 'You worked this dose out yourself. The second check is by another nurse.',
  'signer-took-reading': () =>
    'You took or charted this reading. The second check is by somebody who does not know it.',
  'signer-role-may-not': () => 'Your role may not give insulin, so it may not check it.',
  'signer-role-not-by-policy': () => 'By this ward’s policy the second check is by another role than yours.',
  'signer-not-on-ward': () => 'You are not entered for this ward.',
  'dose-differed': () => 'The two answers differed. The first nurse starts again before another check.',
  'second-check-not-needed': () => 'By the ward’s policy this dose needs no second check.',
  'dose-already-checked': () => 'Somebody else has done this second check. This answer was not counted.',
  'charge-nurse-for-sum': () => 'The charge nurse does the second check of this dose.',
  'charge-nurse-needed': () => 'The answers differed too often. The charge nurse does the next check.',
  'second-value-missing': () => "Read the value off the meter's memory.",
  'glucose-typed-wrong': (d) =>
    d.unit === 'mmol/L'
      ? 'Type the value as the meter shows it, with its decimal point, or LO or HI.'
      : 'Type the value as the meter shows it, a whole number, or LO or HI.',
}

export const START_AGAIN_SENTENCES: Sentences<StartAgainRefusal | GlucoseTypedRefusal> = {
  'not-first-nurse': () => 'Only the nurse who worked the dose out starts it again.',
  'dose-not-differed': () => 'There is nothing to start again here.',
  'meter-value-differs': () =>
    "This is not the value that was charted. If the meter's memory says so, correct the reading first: the dose then follows from the right value.",
  'glucose-typed-wrong': SECOND_CHECK_SENTENCES['glucose-typed-wrong'],
}

export const PRODUCT_SENTENCES: Sentences<ProductRefusal | IdentifyRefusal | 'badge-missing'> = {
  'dose-void': GONE['dose-void'],
  'dose-lapsed': GONE['dose-lapsed'],
  ...IDENTIFY_SENTENCES,
  'badge-missing': SECOND_CHECK_SENTENCES['badge-missing'],
  'dose-not-agreed': () => 'The first part of the second check is not done yet. Nothing is drawn up before it.',
  'product-already-read': () => 'The product was read and signed already.',
  'not-the-second-nurse': () => 'The product is read and signed by the nurse whose answer agreed.',
  'not-the-first-nurse': () =>
    'Without a second check the product is read and signed by the nurse who worked the dose out.',
  'wristband-wrong': WRONG_WRISTBAND,
  'insulin-differs': (d) =>
    `STOP. The label says ${d.read}, the order ${d.ordered}. Put it back and fetch the right one.`,
  'concentration-not-u100': (d) => `STOP. The label says ${d.concentration}. Only U-100 is given here.`,
  'product-expired': () => 'STOP. The vial or pen is past its date. Fetch another.',
  'syringe-differs': (d) =>
    `STOP. The syringe or pen shows ${formatUnits(d.read)}; checked were ${formatUnits(d.ordered)}. Draw it up again.`,
}

export const GIVE_SENTENCES: Sentences<GiveRefusal | 'time-not-a-time'> = {
  ...GONE,
  'dose-not-verified': () => 'The dose is not verified. The product is read and signed first.',
  'wristband-wrong': WRONG_WRISTBAND,
  'order-ended': () =>
    'STOP. The order ended before this time: nothing is given on it. Chart the dose as withheld and ask the prescriber.',
  'given-in-future': () => 'The time given lies in the future.',
  'given-before-signed': () => 'The time given lies before the signature for the product.',
  'time-not-a-time': () => 'Give the date and time.',
  'food-not-coming': () =>
    'This dose has a meal part, and no food is coming: it is not given. Chart it as withheld and work it out again with "not eating": the correction stays as ordered.',
  'patient-not-eating': () =>
    'This dose has a meal part, and the patient will not eat: it is not given. Chart it as withheld and work it out again with "not eating".',
  'tray-too-far': (d) => `The tray is ${d.found} min off; the ward's limit is ${d.limit} min. Wait until it is nearer.`,
  'tray-minutes-missing': (d) => `In how many minutes does the tray come? The ward's limit is ${d.limit} min.`,
  'tray-delayed': () => 'The trays are late. Wait until the tray is here, then give it.',
  'deviation-note-missing': () => 'Say why it was given although it was stopped.',
  'food-unanswered': () => 'Is food here or coming?',
  'eating-unanswered': () => 'Ask the patient, then choose.',
  'worked-out-for-eating': () =>
    'This dose was worked out for a patient who eats, and the order says something else for one who does not: it is not given. Chart it as withheld and work it out again.',
}

export const TAKE_BACK_SENTENCES: Sentences<TakeBackRefusal> = {
  'take-back-not-given': () => 'This dose is not charted as given: there is nothing to take back.',
  'take-back-already': () => 'This dose was taken back before. What was charted then stands.',
  'take-back-note-missing': () => 'Say in a few words what happened.',
  'take-back-units': () => 'Which amount was injected? Whole or half units above 0, at most 500.',
  'take-back-same-units': () => 'This is the amount that is charted. Choose what was wrong, or leave the page.',
  'take-back-other-missing': () => 'Choose the patient who got it.',
  'take-back-second-is-you': () => 'A second nurse is needed to open it again, not the same one.',
  'take-back-second-may-not': () => 'The second nurse must be one who may check insulin on this ward.',
}

/** In what a dose taken back was wrong. */
export const TAKEN_BACK_WHY: Readonly<Record<TakenBackWhy, string>> = {
  'not-injected': 'It was not injected',
  'another-patient': 'Another patient got it',
  'another-amount': 'Another amount was injected',
}

/** Where insulin that is not a dose of the service comes from. */
export const OUTSIDE_SOURCE: Readonly<Record<EarlierDose['source'], string>> = {
  here: 'given here',
  paper: 'charted on paper',
  elsewhere: 'given elsewhere',
  corrected: 'injected instead of a dose taken back',
}

export const NOT_GIVEN_SENTENCES: Sentences<NotGivenRefusal | 'not-given-masked'> = {
  'dose-settled': GONE['dose-settled'],
  'dose-void': GONE['dose-void'],
  'not-given-reason-missing': () => 'Say why it was not given.',
  'not-given-masked': () => 'This dose waits for its second check. The first nurse charts what becomes of it.',
}

/** Refusals of working a dose out that are no guards: there is nothing to work with. */
export type ProposeRefusal =
  | 'reading-gone'
  | 'no-order'
  | 'several-orders'
  | 'dose-in-progress'
  | 'stopped'
  | 'insulin-given-elsewhere'
  | 'insulin-elsewhere-unknown'
  | 'not-the-taker'
  | 'slot-settled'
  | 'question-unanswered'
  | 'signed-dose-open'
  | 'taken-back-closed'

export const PROPOSE_SENTENCES: Sentences<ProposeRefusal> = {
  'reading-gone': () => 'This reading was corrected or entered in error. Work from the one that stands.',
  'no-order': () => 'No active insulin order. Nothing is worked out without one.',
  'several-orders': () => 'Two insulin orders are in force at once. Ask the prescriber which one counts.',
  'dose-in-progress': () => 'A dose is already under way for this patient. Finish it, or chart it as not given, first.',
  stopped: () => 'No dose. What stops it, and what would release it, is shown here.',
  'insulin-elsewhere-unknown': () =>
    'The dose waits: tell the prescriber that nobody can find out. The call now stands as a task of this patient.',
  'insulin-given-elsewhere': () => 'Chart the insulin given elsewhere first: it counts here.',
  'not-the-taker': () => 'This reading waits for its second check. The nurse who took it works the dose out.',
  'taken-back-closed': () =>
    'A dose of this reading was taken back without a second nurse: no other is worked out from it. Ask the prescriber, or take a new reading.',
  'slot-settled': () => 'This scheduled dose is charted already.',
  'question-unanswered': () => 'Answer this: the dose depends on it.',
  'signed-dose-open': (d) =>
    `A dose of ${formatUnits(d.units)} of ${d.insulin} was signed before, and nobody has charted whether it was given. Find out and chart that first, on the patient’s page: it must not be given twice.`,
}

export const DIRECTION_SENTENCES: Sentences<DirectionRefusal | ProposeRefusal> = {
  ...PROPOSE_SENTENCES,
  'direction-not-read-back': () => 'Read the direction back to the prescriber, then tick this.',
  'direction-prescriber-missing': () => 'Who gave the direction?',
  'direction-why-missing': () => 'Why is it given?',
  'direction-units-not-deliverable': () => 'Whole or half units, such as 7 or 7.5.',
  'direction-not-told-of-earlier': () => 'Tell the prescriber what is listed here, then tick this.',
  'direction-above-ward-limit': (d) =>
    `${formatUnits(d.units)} is above the ward's limit of ${formatUnits(d.limit)} for this insulin. Only a change of the ward's policy lifts it.`,
}

export const STATE_MARK: Readonly<
  Record<
    DoseState,
    { readonly shape: string; readonly word: string; readonly tone: 'calm' | 'due' | 'urgent' | 'done' }
  >
> = {
  zero: { shape: '●', word: '0 units, charted', tone: 'done' },
  'awaiting-second-check': { shape: '◐', word: 'Awaiting second check', tone: 'due' },
  differed: { shape: '≠', word: 'Answers differed', tone: 'urgent' },
  agreed: { shape: '◕', word: 'Agreed: draw up', tone: 'due' },
  'to-draw-up': { shape: '◕', word: 'No second check: draw up', tone: 'due' },
  verified: { shape: '✓', word: 'Verified: give', tone: 'due' },
  lapsed: { shape: '○', word: 'Lapsed', tone: 'urgent' },
  given: { shape: '●', word: 'Given', tone: 'done' },
  withheld: { shape: '–', word: 'Withheld', tone: 'done' },
  refused: { shape: '–', word: 'Refused by the patient', tone: 'done' },
  'taken-back': { shape: '✕', word: 'Charted in error, taken back', tone: 'calm' },
  void: { shape: '✕', word: 'No longer counts', tone: 'calm' },
}

export const VOID_WORDS: Readonly<Record<DoseVoidReason, string>> = {
  'newer-reading': 'A newer reading was taken.',
  'reading-corrected': 'The reading was corrected.',
  'reading-in-error': 'The reading was entered in error.',
  'order-changed': 'The order changed.',
  'stay-moved': 'The patient moved.',
  'stay-discharged': 'The patient was discharged.',
  'replaced-by-direction': "A prescriber's direction replaced it.",
  'started-again': 'It was worked out again.',
  'facts-changed': 'Something that it was worked out from changed: other insulin was charted, or a critical value.',
  'policy-changed': 'The ward policy changed.',
  'meter-failed': 'The meter of its reading failed a control.',
}
