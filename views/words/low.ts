/** The words of lows: levels, steps, arms and amounts, causes, and each refusal as a sentence. */
import type { LowAnswer } from '../../shared/dose/dose.ts'
import type { ArmAnswer } from '../../shared/low/arm.ts'
import type { LowChartRefusal } from '../../shared/low/chart.ts'
import type { CloseRefusal } from '../../shared/low/close.ts'
import type { LowPhase, ReadingPart } from '../../shared/low/course.ts'
import type { LowStep, MissingToClose } from '../../shared/low/event.ts'
import type { InsulinAnswerRefusal } from '../../shared/low/insulin.ts'
import type { LineFact } from '../../shared/low/line.ts'
import type {
  Amount,
  BedsideAnswers,
  InsulinDecision,
  LevelThree,
  LowArm,
  LowCause,
  LowLevel,
  Swallowing,
} from '../../shared/low/low.ts'
import type { SymptomsRefusal } from '../../shared/low/symptoms.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { formatNumber } from '../format.ts'
import type { Sentences } from '../../shared/outcome.ts'

export const LOW_LEVEL: Readonly<Record<LowLevel, string>> = { 1: 'low, level 1', 2: 'low, level 2' }

export const LOW_PHASE: Readonly<Record<LowPhase, string>> = {
  open: 'not recovered',
  recovered: 'recovered, waiting for the follow-up recheck',
  'followed-up': 'recovered and followed up',
}

export const SWALLOWING: Readonly<Record<Swallowing, string>> = {
  safely: 'Yes: awake, swallows safely',
  'not-safely': 'No: drowsy or cannot swallow safely',
  unresponsive: 'Unresponsive or seizing',
}

export const LEVEL_THREE: Readonly<Record<LevelThree, string>> = {
  'unresponsive-or-seizing': 'Unresponsive or seizing',
  'confused-needs-help': 'Confused or weak, needs another person’s help',
}

export const ARM: Readonly<Record<LowArm, string>> = {
  'by-mouth': 'Fast carbohydrate by mouth',
  'by-tube': 'By feeding tube',
  'iv-dextrose': 'Dextrose into the vein',
  glucagon: 'Glucagon into the muscle',
  'by-direction': 'As the prescriber directed',
}

export const LOW_CAUSE: Readonly<Record<LowCause | 'entered-in-error', string>> = {
  'missed-or-delayed-meal': 'Meal missed or delayed',
  'dose-too-high': 'Insulin dose too high',
  stacking: 'Insulin doses too close together',
  renal: 'Kidney function',
  'nil-by-mouth': 'Nil by mouth',
  'nutrition-stopped': 'Feed or nutrition stopped',
  other: 'Another cause',
  'entered-in-error': 'No low: entered in error',
}

export const INSULIN_DECISION: Readonly<Record<InsulinDecision, string>> = {
  'as-ordered': 'Give it as ordered',
  changed: 'Something else: see each insulin below',
  hold: 'Hold it',
}

/** What the prescriber's "give as ordered" comes to now. */
export const LOW_ANSWER: Readonly<Record<LowAnswer['standing'], string>> = {
  releases:
    'The meal part and scheduled insulin can be worked out now, each with its own second check; no correction is added before the follow-up.',
  'not-recovered': 'It counts once a value shows recovery: treat the low first.',
  'came-back':
    'The low came back after it, so it does not count any more: call again, and chart a dose as a direction.',
  'direction-since': 'A direction was charted after it, so it does not count any more.',
  'follow-up-due': 'The follow-up recheck is due and comes first: a satisfactory value frees all insulin.',
}

export const MISSING: Readonly<Record<MissingToClose, string>> = {
  recovery: 'recovery shown by a value',
  'follow-up': 'the follow-up recheck',
  'prescriber-told': 'the prescriber told',
  cause: 'the likely cause chosen',
}

export const READING_PART: Readonly<Record<ReadingPart, string>> = {
  first: 'first value',
  repeat: 'repeat before treatment',
  early: 'too soon after treatment to say much',
  doubtful: 'meter or strips in doubt: shows no recovery, measure with a fit meter or send a sample now',
  'not-recovered': 'not recovered',
  'no-number': 'no number: wash the finger and measure again',
  recovery: 'recovered',
  between: 'between recovery and follow-up',
  'follow-up': 'follow-up',
  later: 'after the follow-up',
}

/** A step as a short instruction. */
export function stepText(step: LowStep): string {
  switch (step.kind) {
    case 'call-emergency':
      return 'Emergency call'
    case 'look-again':
      return 'The first value does not count any more: decide what becomes of this event'
    case 'treat':
      return step.number === 1 ? 'Treat' : `Treat again (treatment ${String(step.number)})`
    case 'escalate':
      return 'Escalate: call the prescriber now'
    case 'recheck':
      return 'Recheck'
    case 'lasting-food':
      return `Longer-acting carbohydrate, ${String(step.grams)} g`
    case 'follow-up':
      return 'Follow-up recheck'
    case 'tell-prescriber':
      return 'Tell the prescriber'
    case 'close':
      return 'Close the event'
  }
}

/** The number in very large type, its unit, and the volume where it goes into a vein. */
export function amountParts(amount: Amount): {
  readonly digits: string
  readonly unit: string
  readonly also: string | null
} {
  switch (amount.kind) {
    case 'grams':
      return { digits: formatNumber(amount.grams), unit: 'g', also: null }
    case 'glucagon':
      return { digits: formatNumber(amount.milligrams), unit: 'mg', also: null }
    case 'intravenous': {
      const over = amount.overMin === null ? '' : ` over ${String(amount.overMin)} min`
      return {
        digits: formatNumber(amount.millilitres),
        unit: 'mL',
        also: `of dextrose ${formatNumber(amount.percent)} % (${formatNumber(amount.grams)} g)${over}`,
      }
    }
  }
}

/** "15 g", "50 mL of dextrose 50 % (25 g)", "1 mg" */
export function amountText(amount: Amount): string {
  const { digits, unit, also } = amountParts(amount)
  return `${digits} ${unit}${also === null ? '' : ` ${also}`}`
}

/** What is given, under the amount. */
export const ARM_HOW: Readonly<Record<Exclude<LowArm, 'by-direction'>, string>> = {
  'by-mouth': 'fast carbohydrate by mouth: juice, glucose tablets or gel',
  'by-tube': 'by feeding tube',
  'iv-dextrose': 'into the working IV, by the ward’s standing order',
  glucagon: 'glucagon into the muscle, by the ward’s standing order',
}

export const CALL_FOR: Readonly<Record<Extract<ArmAnswer, { kind: 'call' }>['wouldBe'], string>> = {
  'iv-dextrose':
    'Call the prescriber now: dextrose into the vein needs an order. No standing order is signed for this ward.',
  glucagon:
    'Call the prescriber now: glucagon needs an order. No standing order is signed for this ward, or it was given once.',
}

export function answersText(answers: BedsideAnswers): string {
  const tube =
    answers.tubeUsable === null ? '' : answers.tubeUsable ? '; feeding tube usable' : '; feeding tube not usable'
  return `Swallowing: ${SWALLOWING[answers.swallowing].toLowerCase()}; ${answers.ivWorking ? 'IV working' : 'no working IV'}${tube}`
}

/** One line of the protocol: what, and what is to know about it. A value that may not be seen yet comes as null. */
export function lineText(fact: LineFact, value: string | null): { readonly what: string; readonly detail: string } {
  switch (fact.kind) {
    case 'reading':
      return { what: value ?? 'awaiting second check', detail: value === null ? '' : READING_PART[fact.part] }
    case 'answers':
      return { what: 'Looked at the patient', detail: answersText(fact.answers) }
    case 'finding':
      return { what: 'Level 3 found', detail: LEVEL_THREE[fact.finding] }
    case 'emergency-call':
      return { what: 'Emergency call made', detail: '' }
    case 'treatment': {
      const by = fact.directedBy === null ? '' : `directed by ${fact.directedBy}`
      return {
        what: `Treated: ${fact.amount === null ? fact.what : amountText(fact.amount)}`,
        detail: [ARM[fact.arm], fact.amount === null ? '' : fact.what, by].filter((part) => part !== '').join(', '),
      }
    }
    case 'food':
      return { what: `Longer-acting carbohydrate, ${String(fact.grams)} g`, detail: fact.what }
    case 'told':
      return {
        what: `Told: ${fact.told}`,
        detail: fact.ordered === '' ? 'read back' : `read back; ordered: ${fact.ordered}`,
      }
    case 'insulin-answer':
      return {
        what: `Insulin: ${INSULIN_DECISION[fact.decision].toLowerCase()}`,
        detail: `${fact.told}, read back${fact.ordered === '' ? '' : `: ${fact.ordered}`}`,
      }
    case 'closed':
      return { what: 'Closed', detail: `${LOW_CAUSE[fact.cause]}${fact.note === '' ? '' : `: ${fact.note}`}` }
  }
}

/** The value of a reading in the line. */
export function lineValue(fact: LineFact): string | null {
  return fact.kind === 'reading' ? formatGlucose(fact.glucose) : null
}

export const LOW_CHART_SENTENCES: Sentences<LowChartRefusal> = {
  'low-closed': () => 'This low event was closed in the meantime. A new low opens a new one.',
  'low-time-in-future': () => 'This time is still to come. Type when it was done.',
  'low-time-before-low': () =>
    'This was before the first low value. What was given for symptoms before it is charted as symptoms.',
  'low-tube-not-asked': () => 'Look at the feeding tube: can it be used now?',
  'low-answers-missing': () =>
    'Look at the patient again: awake and swallowing, IV working? What was seen before does not hold any more.',
  'low-arm-changed': () => 'What is to be given has changed since the page was opened. Look again before giving.',
  'low-what-missing': () => 'Say what was given.',
  'low-direction-missing': () => 'Type who directed it: no standing order is signed for this.',
  'low-direction-not-read-back': () => 'Tick that it was read back to the prescriber.',
  'low-told-missing': () => 'Type who was told.',
  'low-not-read-back': () => 'Tick that the value was read back. Until then it has not been told.',
  'low-food-before-recovery': () => 'The low has not recovered yet: fast carbohydrate first.',
  'low-food-grams': () => 'Type the grams of carbohydrate, from 1 to 100.',
}

export const CLOSE_SENTENCES: Sentences<CloseRefusal> = {
  'close-already': () => 'This low event is closed already.',
  'close-not-recovered': () => 'Not yet: no value shows recovery.',
  'close-follow-up-missing': () => 'Not yet: the follow-up recheck is still to come.',
  'close-not-told': () => 'Not yet: the prescriber has not been told.',
  'close-cause-missing': () => 'Choose the likely cause.',
  'close-note-missing': () => 'Say in a few words what the cause was.',
}

export const INSULIN_ANSWER_SENTENCES: Sentences<InsulinAnswerRefusal> = {
  'insulin-question-not-open': () => 'This question is answered already, or nothing was asked.',
  'insulin-told-missing': () => 'Type who was asked.',
  'insulin-not-read-back': () => 'Tick that the answer was read back.',
  'insulin-decision-missing': () => 'Choose what the prescriber said.',
  'insulin-ordered-missing': () => 'Say what is to be given instead, and when.',
}

export const SYMPTOMS_SENTENCES: Sentences<SymptomsRefusal> = {
  'symptoms-stay-discharged': () => 'This patient was discharged. Nothing more is charted here.',
  'symptoms-not-measured': (d) => `Measure first: there is no value of the last ${d.minutes} min.`,
  'symptoms-value-low': () => 'The newest value is low: go by the low protocol.',
  'symptoms-missing': () => 'Say which symptoms.',
  'symptoms-what-missing': () => 'Say what was given.',
}
