/** Why something about a stay, its plan or the trays was not charted, each as a sentence. */
import type { PlanRefusal } from '../../shared/check/change-plan.ts'
import type { TrayDelayRefusal } from '../../shared/check/tray-delay.ts'
import type { CameBackFrom } from '../../shared/care/entries.ts'
import type { CameBackRefusal } from '../../shared/care/elsewhere.ts'
import type { AdmissionRefusal } from '../../shared/stay/admit.ts'
import type { FactsRefusal } from '../../shared/stay/facts.ts'
import type { FeedRefusal } from '../../shared/stay/feed.ts'
import type { IdentityRefusal } from '../../shared/stay/identity.ts'
import type { DischargeRefusal, MoveRefusal, HandedRefusal } from '../../shared/stay/move.ts'
import type { DetailsOf, Sentences } from '../../shared/outcome.ts'

/** What every form about a stay can come to. */
export const STAY_GONE = { 'stay-gone': (): string => 'This patient is not on a ward of yours any more.' } as const
const DISCHARGED = 'This patient was discharged. Nothing more is charted here.'

export const PLAN_SENTENCES: Sentences<PlanRefusal> = {
  'plan-stay-discharged': () => DISCHARGED,
  'plan-from-past': () => 'A plan counts from now on or from a later time. What was due before stays as it is.',
  'plan-too-far': (d) => `At most ${d.days} days ahead.`,
  'plan-until-not-after-from': () => 'The end must lie after the start.',
  'plan-once-past': () => 'This time has passed. Measure now with an extra check, or choose a time to come.',
  'plan-times-missing': () => 'Type the times, as in 02:00, 14:00.',
  'plan-same': () => 'This is the plan already. Nothing was changed.',
  'plan-while-nil-missing': () =>
    'The patient is nil by mouth and another plan is laid over: choose whether this plan counts at once or afterwards.',
  'plan-not-addition': () => 'Only a single check or the overnight check is ended here. Set another plan instead.',
  'plan-already-ended': () => 'This was ended already, or its check has come.',
}

export const FACTS_SENTENCES: Sentences<FactsRefusal> = {
  'facts-stay-discharged': () => DISCHARGED,
  'facts-changed-meanwhile': () =>
    'Somebody charted these facts in the meantime. What they changed is shown above. What you entered still stands below: look at it again, then send it again.',
  'facts-unchanged': () => 'Nothing was changed.',
  'nil-until-not-after-from': () => 'The end must lie after the start.',
  'nil-over': () => 'This time has passed. If the patient may eat, choose “May eat”.',
  'weight-not-plausible': () => 'A weight lies between 0.4 and 500 kg.',
  'other-drugs-too-many': () => 'At most 10 drugs.',
}

/** Of a wristband in use: its bed where she may know it, its ward where she may not. */
function wornSentence({ bed, ward }: DetailsOf<'identity-wristband-worn'>): string {
  const where =
    bed === undefined ? 'by a patient on another ward' : `in bed ${bed}${ward === undefined ? '' : ` on ${ward}`}`
  return `This wristband is in use ${where}. Stop, and look again at whose it is.`
}

export const IDENTITY_SENTENCES: Sentences<IdentityRefusal> = {
  'identity-wristband-missing': () => 'Scan the wristband, or type its number.',
  'identity-name-missing': () => 'Type family name and given name.',
  'identity-born-not-a-date': () => 'Type the date of birth.',
  'identity-born-in-future': () => 'This date is still to come.',
  'identity-born-too-long-ago': () => 'Nobody has lived so long. Look at the year again.',
  'identity-wristband-worn': wornSentence,
  'identity-unchanged': () => 'Nothing was changed.',
  'identity-reason-missing': () => 'Say why it is changed.',
}

export const ADMISSION_SENTENCES: Sentences<AdmissionRefusal> = {
  ...IDENTITY_SENTENCES,
  ...FACTS_SENTENCES,
  'plan-once-past': PLAN_SENTENCES['plan-once-past'],
  'plan-too-far': PLAN_SENTENCES['plan-too-far'],
  'plan-times-missing': PLAN_SENTENCES['plan-times-missing'],
  'bed-not-on-ward': (d) => `There is no bed ${d.bed} on this ward any more. Choose another one.`,
  'bed-taken': (d) => `Bed ${d.bed} was taken in the meantime. Choose another bed.`,
  'bed-taken-then': (d) => `Somebody else lay in bed ${d.bed} at that time.`,
  'admitted-in-future': () => 'This time has not come yet. Type when the patient came.',
  'admitted-too-long-ago': (d) => `More than ${d.hours} h ago. Look at the date again.`,
  'born-after-admission': () => 'The date of birth lies after the admission.',
  'already-here': (d) =>
    `A patient of this name and date of birth lies in bed ${d.bed} already. Move that patient, or put the name or date of birth right.`,
  'previous-still-here': () => 'This patient is on the ward: there is nothing to readmit.',
  'previous-later': () => 'The earlier stay ended after this time.',
}

export const MOVE_SENTENCES: Sentences<MoveRefusal> = {
  'move-stay-discharged': () => DISCHARGED,
  'move-same-bed': (d) => `The patient is in bed ${d.bed} already.`,
  'move-no-such-bed': () => 'Choose one of these beds.',
  'move-bed-taken': (d) => `Bed ${d.bed} on ${d.ward} was taken in the meantime. Choose another bed.`,
  'move-dose-uncharted': () =>
    'An insulin dose is signed, and nobody has charted whether it was given. Chart that first.',
}

/** Where a patient comes back from. */
export const CAME_BACK_FROM: Readonly<Record<CameBackFrom, string>> = {
  theatre: 'Theatre',
  dialysis: 'Dialysis',
  examination: 'An examination or procedure',
  leave: 'Leave',
  other: 'Somewhere else',
}

export const CAME_BACK_SENTENCES: Sentences<CameBackRefusal> = {
  'back-stay-discharged': () => 'This patient is discharged. A return after that is a readmission.',
  'back-in-future': () => 'That time has not come yet.',
  'back-before-admission': () => 'That was before the admission.',
}

export const HANDED_SENTENCES: Sentences<HandedRefusal> = {
  'handed-nothing-left': () => 'Nothing of this patient waits to be handed over any more.',
  'handed-to-nobody': () => 'Type the name of who sees to it.',
}

export const DISCHARGE_SENTENCES: Sentences<DischargeRefusal> = {
  'discharge-already': () => 'This patient was discharged in the meantime.',
  'discharge-in-future': () => 'This time has not come yet. Type when the patient left.',
  'discharge-before-charted': () => 'Something was charted about this patient after that time.',
  'discharge-dose-uncharted': () =>
    'An insulin dose is signed, and nobody has charted whether it was given. Chart that first.',
  'discharge-not-handed': () => 'Something is still open. Choose who has it now.',
  'discharge-handed-to-nobody': () => 'Type the name of who sees to it.',
}

export const FEED_SENTENCES: Sentences<FeedRefusal> = {
  'feed-stay-discharged': () => DISCHARGED,
  'feed-by-mouth': () => 'This patient is charted as fed by mouth. Change the facts at the bedside first.',
  'feed-already-interrupted': () => 'The feed is charted as stopped already.',
  'feed-not-interrupted': () => 'The feed is charted as running already.',
  'feed-in-future': () => 'This time has not come yet. Type when it happened.',
  'feed-before-admission': () => 'This was before the admission.',
  'feed-before-last': () => 'This was before the last change that is charted about the feed.',
  'feed-reason-missing': () => 'Say why it was stopped.',
}

export const TRAY_DELAY_SENTENCES: Sentences<TrayDelayRefusal> = {
  'delay-meal-over': () => 'The round of this meal is over. Choose another one.',
  'delay-minutes': (d) => `Type whole minutes from ${d.least} to ${d.most}, or 0 to take a delay back.`,
  'delay-none-to-take-back': () => 'No delay is charted for this meal: there is nothing to take back.',
  'delay-same': (d) => `These trays are charted as ${d.minutes} min late already.`,
}
