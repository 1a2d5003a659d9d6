/** The words of reading, verifying and stopping orders, and of a ward's standard orders. */
import { glucoseDigits, type GlucoseUnit } from '../../shared/glucose/value.ts'
import type { ScaleAnswer } from '../../shared/order/order.ts'
import type { StandardState, ApproveRefusal, CopyRefusal, WithdrawRefusal } from '../../shared/order/standard.ts'
import type { StopRefusal } from '../../shared/order/stop.ts'
import type { OrderRefusal } from '../../shared/order/validate.ts'
import type { VerificationAnswer, VerificationQuestion } from '../../shared/order/verification.ts'
import type { VersionState, VerifyRefusal } from '../../shared/order/verify.ts'
import type { WriteRefusal } from '../../shared/order/write.ts'
import { formatNumber, formatUnits, OCCASION_NAME } from '../format.ts'
import type { DetailsOf, Sentences } from '../../shared/outcome.ts'

type Mark = { readonly shape: string; readonly word: string; readonly tone: 'calm' | 'due' | 'urgent' | 'done' }

export const VERSION_MARK: Readonly<Record<VersionState, Mark>> = {
  'not-verified': { shape: '◐', word: 'Not yet verified', tone: 'due' },
  'in-force': { shape: '✓', word: 'In force', tone: 'done' },
  'starts-later': { shape: '◔', word: 'Verified, starts later', tone: 'calm' },
  expired: { shape: '□', word: 'Over: its own end has come', tone: 'calm' },
  stopped: { shape: '■', word: 'Stopped', tone: 'calm' },
  replaced: { shape: '↷', word: 'Replaced by a newer version', tone: 'calm' },
  differed: { shape: '▲', word: 'Verification differed', tone: 'urgent' },
}

export const STANDARD_MARK: Readonly<Record<StandardState, Mark>> = {
  'waits-for-approval': { shape: '◐', word: 'Waits for approval', tone: 'due' },
  approved: { shape: '✓', word: 'Approved', tone: 'done' },
  replaced: { shape: '↷', word: 'Replaced by a newer version', tone: 'calm' },
  withdrawn: { shape: '■', word: 'Withdrawn', tone: 'calm' },
}

export const RECEIVED: Readonly<Record<'written' | 'telephone-read-back', string>> = {
  written: 'written',
  'telephone-read-back': 'by telephone, read back',
}

/** What is asked, as it can be found on the paper. Never names an answer. */
export function questionText(question: VerificationAnswer['question'], unit: GlucoseUnit): string {
  const glucose = (value: number): string => `glucose ${glucoseDigits({ unit, value })} ${unit}`
  switch (question.kind) {
    case 'insulin':
      return 'Insulin'
    case 'correction':
      return `${OCCASION_NAME[question.occasion]}, ${glucose(question.glucose)}: the correction alone`
    case 'correction-not-eating':
      return `${OCCASION_NAME[question.occasion]}, the patient does not eat, ${glucose(question.glucose)}: the correction`
    case 'meal-fixed':
      return `${OCCASION_NAME[question.occasion]}, the whole meal eaten: the meal dose alone`
    case 'meal-ratio':
      return `A meal of ${formatNumber(question.grams)} g carbohydrate, all of it eaten: the meal dose alone`
    case 'scheduled':
      return `Every day at ${question.time}: the scheduled dose`
    case 'scheduled-hold':
      return `The dose at ${question.time}: held below which glucose?`
  }
}

/** An answer with its unit, as it was entered or stands in the transcription. */
export function answerText(
  { question, entered, transcribed }: VerificationAnswer,
  which: 'entered' | 'transcribed',
  unit: GlucoseUnit,
): string {
  const answer = which === 'entered' ? entered : transcribed
  return question.kind === 'insulin' || (typeof answer === 'string' && answer !== 'call')
    ? String(answer)
    : doseText(question, answer, unit)
}

function doseText(question: VerificationQuestion, answer: ScaleAnswer, unit: GlucoseUnit): string {
  if (answer === 'call') return 'no dose, call the prescriber'
  if (question.kind !== 'scheduled-hold') return formatUnits(answer)
  return answer === 0 ? 'never held' : `held below ${glucoseDigits({ unit, value: answer })} ${unit}`
}

/** What is wrong with a typed answer. */
const typed = (d: DetailsOf<'answer-1'>): string => {
  switch (d.found) {
    case 'missing':
      return 'Enter the answer off the paper, or tick the box beside it.'
    case 'both':
      return 'Either an amount or the tick, not both.'
    case 'no-glucose':
      return `Type the glucose as the paper prints it, in ${d.unit}, as in ${d.example}.`
    case 'no-units':
      return 'Type units in whole or half units, as in 4 or 2.5.'
  }
}

export const VERIFY_SENTENCES: Sentences<VerifyRefusal> = {
  'order-gone': () => 'This order is not on a ward of yours any more.',
  'stay-discharged': () => 'This patient is discharged. Nothing more is charted about the order.',
  'verified-already': () => 'Somebody has verified this version already. Nothing more is asked of it.',
  'verification-differed': () =>
    'The verification of this version differed. It can never be verified: compare both with the original and write a new version.',
  'order-ended': () => 'This version has ended: there is nothing to verify any more.',
  'verifier-transcribed': () => 'You transcribed this version. Another nurse verifies it, under her own login.',
  'answer-1': typed,
  'answer-2': typed,
  'answer-3': typed,
}

export const STOP_SENTENCES: Sentences<StopRefusal> = {
  'order-gone': VERIFY_SENTENCES['order-gone'],
  'stay-discharged': VERIFY_SENTENCES['stay-discharged'],
  'order-ended-already': () => 'This order has ended already.',
  'stop-not-read-back': () => 'By telephone, read the stop back to the prescriber before it is charted.',
}

type StandardRefusal = Exclude<ApproveRefusal | WithdrawRefusal, OrderRefusal>
export const STANDARD_SENTENCES: Sentences<StandardRefusal> = {
  'standard-gone': () => 'This standard order is not there any more.',
  'standard-not-newest': () => 'A newer version was written in the meantime. Look at that one.',
  'standard-approved-already': () => 'This version is approved already.',
  'standard-withdrawn': () => 'This version is withdrawn or replaced.',
  'approver-wrote-it': () => 'You wrote this version. Another administrator approves it.',
}

export const COPY_SENTENCES: Sentences<Exclude<CopyRefusal, OrderRefusal | WriteRefusal> | 'order-gone'> = {
  'order-gone': VERIFY_SENTENCES['order-gone'],
  'standard-not-approved': () => 'This standard order is withdrawn, replaced or not approved. Choose another.',
}
