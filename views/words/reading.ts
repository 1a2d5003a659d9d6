/** The words of readings: reasons as phrases, refusals and what must happen next as plain sentences. */
import { formatWhen } from '../format.ts'
import type { CallRefusal } from '../../shared/critical/call.ts'
import type { CorrectionRefusal, VoidRefusal } from '../../shared/reading/correct.ts'
import type { ExcuseRefusal } from '../../shared/reading/excuse.ts'
import type { FlagRefusal } from '../../shared/reading/flag.ts'
import type { ExtraReason, LateEntryReason, MeterDoubt, ReadingSource } from '../../shared/reading/reading.ts'
import type { ReadingRefusal } from '../../shared/reading/record.ts'
import type { TakenAtRefusal } from '../../shared/reading/taken-at.ts'
import { RESTRICTION } from './check.ts'
import type { DetailsOf, Sentences } from '../../shared/outcome.ts'

export const LATE_REASON: Readonly<Record<LateEntryReason, string>> = {
  'busy-with-emergency': 'Busy with an emergency',
  'system-unavailable': 'This service was not available',
  'charted-on-paper': 'Charted on paper first',
  forgotten: 'Forgotten',
  other: 'Another reason',
}

export const EXTRA_REASON: Readonly<Record<ExtraReason, string>> = {
  symptoms: 'Symptoms',
  'repeat-of-critical': 'Repeat of a critical value',
  'prescriber-asked': 'The prescriber asked for it',
  'before-procedure': 'Before a procedure',
  'after-closing': 'After the planned check had closed',
  other: 'Another reason',
}

export const METER_DOUBT: Readonly<Record<MeterDoubt, string>> = {
  'meter-control-not-done': 'the meter has no passed control of that day',
  'strip-lot-expired': 'the strip lot had expired',
  'meter-of-other-ward': 'the meter belongs to another ward',
  'meter-not-named': 'the meter is not named',
  'laboratory-only': 'a meter misleads in this patient: only a laboratory value counts',
}

export const READING_SOURCE: Readonly<Record<ReadingSource, string>> = {
  capillary: 'Finger stick',
  venous: 'Laboratory sample',
  paper: 'Charted on paper',
}

/** Whose wristband it is: by its bed only. `bed`, `ward`: where it is worn; none: nowhere here. */
function whoseWristband(details: DetailsOf<'wristband-wrong'>): string {
  const { bed, ward } = details
  if (bed === undefined) return ward === undefined ? 'No patient on this ward wears it.' : `It belongs to ${ward}.`
  return ward === undefined ? `It is bed ${bed}’s.` : `It is bed ${bed}’s on ${ward}.`
}

export function wrongWristband(details: DetailsOf<'wristband-wrong'>): string {
  return `Stop. This is not the wristband of bed ${details.expected}. ${whoseWristband(details)} Look again at who is in front of you. Nothing was charted.`
}

export const READING_SENTENCES: Sentences<ReadingRefusal | TakenAtRefusal> = {
  'wristband-wrong': wrongWristband,
  'stay-discharged': () => 'This patient was discharged. Nothing more is charted here.',
  'check-unknown': () => 'This check is not in the patient’s plan any more. Chart the value as an extra check.',
  'check-already-done': () => 'This check was charted in the meantime. What was charted is shown here.',
  'check-not-open': (d) =>
    `This check opens at ${formatWhen(d.opensMs, d.nowMs, d.zone)}. A value taken before that is charted as an extra check.`,
  'time-not-read': () => 'Type the time as hours and minutes, as in 07:05. Leave it empty for now.',
  'time-in-future': () => 'This time has not come yet. Type when the value was taken, or leave it empty for now.',
  'time-before-admission': () => 'This time lies before the patient’s admission. Check the time and the patient.',
  'late-reason-missing': (d) => `More than ${d.minutes} minutes ago: choose why it is charted late.`,
  'reading-other-unit': (d) => `This ward measures in ${d.unit}, and this value is in ${d.found}.`,
  'meter-missing': () => 'Choose the meter that was used.',
  'meter-unknown': () => 'This meter is not one of this ward’s. Choose the meter that was used.',
  'meter-other-unit': (d) =>
    `This meter shows ${d.found}, and this ward measures in ${d.unit}. Use a meter of this ward.`,
  'strip-lot-unknown': () => 'This strip lot is not one of this ward’s. Choose the lot printed on the vial.',
  'finger-missing': () => 'Choose the finger.',
  'finger-restricted': (d) => `Do not prick the ${d.hand} hand (${RESTRICTION[d.reason]}). Use the other hand.`,
  'extra-reason-missing': () => 'Choose why this extra check is done.',
}

export const CORRECTION_SENTENCES: Sentences<CorrectionRefusal> = {
  'wristband-wrong': wrongWristband,
  'stay-discharged': READING_SENTENCES['stay-discharged'],
  'reading-other-unit': READING_SENTENCES['reading-other-unit'],
  'reading-already-corrected': () =>
    'This reading was already corrected. The newer one is shown on the patient’s page.',
  'reading-already-in-error': () => 'This reading was already marked as entered in error.',
  'correction-same-value': () => 'This is the value that is charted. Nothing would change.',
}

export const VOID_SENTENCES: Sentences<VoidRefusal> = {
  'reading-already-corrected': CORRECTION_SENTENCES['reading-already-corrected'],
  'reading-already-in-error': CORRECTION_SENTENCES['reading-already-in-error'],
}

export const EXCUSE_SENTENCES: Sentences<ExcuseRefusal> = {
  'excuse-already-done': () => 'This check was charted in the meantime.',
  'excuse-already-excused': () => 'This check already has a reason.',
  'excuse-recheck': () => 'A recheck after a low stays until a value shows recovery. It cannot be excused.',
  'excuse-extra': () => 'An extra check that is not done needs no reason.',
  'excuse-reason-wrong': () =>
    'Choose one of the reasons shown: the check’s window has changed since the page was opened.',
  'excuse-note-missing': () => 'Say in a few words what the other reason is.',
}

export const CALL_SENTENCES: Sentences<CallRefusal> = {
  'call-not-open': () => 'This result waits for no call: it was told already, or it is not critical.',
  'call-reading-not-current': () => 'This reading was corrected or entered in error. Go by the one that counts.',
  'call-not-read-back': () => 'Tick that the value was read back. Until then it has not been told.',
  'call-told-missing': () => 'Type who was told.',
}

export const FLAG_SENTENCES: Sentences<FlagRefusal> = {
  'flag-note-missing': () => 'Say in a few words what was done about it.',
  'flag-low-still-low': () => 'A reading that counts is still low. The low event stays open.',
}
