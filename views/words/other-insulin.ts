/** The words of insulin by another way. */
import type { InsulinWay } from '../../shared/care/entries.ts'
import type { OtherInsulinRefusal } from '../../shared/care/other-insulin.ts'
import type { Sentences } from '../../shared/outcome.ts'

export const INSULIN_WAY: Readonly<Record<InsulinWay, string>> = {
  infusion: 'Intravenous insulin infusion',
  pump: 'The patient’s own insulin pump',
  potassium: 'Insulin for a high potassium, once',
}

export const OTHER_INSULIN_SENTENCES: Sentences<OtherInsulinRefusal> = {
  'other-insulin-stay-discharged': () => 'This patient is discharged.',
  'other-insulin-in-future': () => 'That time has not come yet.',
  'other-insulin-before-admission': () => 'That was before the admission.',
  'other-insulin-runs': () => 'This runs already. Chart its end first.',
  'other-insulin-runs-not': () => 'None of this way runs then. Open the page again.',
  'other-insulin-no-basal': () =>
    'No basal insulin was given at least two hours before and still acts: wait with a planned end and tell the prescriber. If it has ended already, tick this.',
}
