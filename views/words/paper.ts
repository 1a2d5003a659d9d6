/** Sentences about trays and about insulin entered afterwards. */
import type { OutsideDoseRefusal } from '../../shared/dose/outside.ts'
import type { Sentences } from '../../shared/outcome.ts'

export const OUTSIDE_DOSE_SENTENCES: Sentences<OutsideDoseRefusal | 'stay-gone' | 'time-not-a-time'> = {
  'stay-gone': () => 'This patient is not on the ward any more.',
  'time-not-a-time': () => 'Give the date and time.',
  'outside-units-not-deliverable': () => 'Whole or half units above 0, at most 100.',
  'outside-in-future': () => 'The time lies in the future.',
  'outside-too-old': (d) => `This is more than ${d.days} days ago.`,
  'outside-before-admission': () => 'This is before the patient came to the ward. Insulin from before is "elsewhere".',
  'outside-checker-missing': () => 'Who checked it? A paper dose has two signatures.',
  'outside-same-person': () => 'The same person cannot have given and checked it.',
  'outside-already-charted': () => 'The same insulin at the same time is charted already.',
}

export const TRAY_SENTENCES: Sentences<'stay-gone' | 'tray-already-charted' | 'tray-not-charted'> = {
  'stay-gone': () => 'This patient is not on the ward any more.',
  'tray-already-charted': () => 'This tray is charted already.',
  'tray-not-charted': () => 'Chart the tray first, then what was eaten of it.',
}
