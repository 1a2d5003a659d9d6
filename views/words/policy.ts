/** The words of wards and policy: each refusal as a sentence. */
import type { CrossRefusal } from '../../shared/policy/check.ts'
import type { FieldRefusal } from '../../shared/policy/field.ts'
import type { ApproveRefusal, RefuseChangeRefusal, SetRefusal } from '../../shared/policy/set.ts'
import type { BedsRefusal, OpenWardRefusal, SetBedsRefusal } from '../../shared/policy/ward.ts'
import type { DetailsOf, Sentences } from '../../shared/outcome.ts'

const span = (details: DetailsOf<'setting-out-of-range'>): string =>
  `${details.least} to ${details.most} ${details.unit}`
/** How the step of a number is written. */
const STEP: Readonly<Record<string, string>> = {
  1: 'a whole number',
  0.5: 'a whole or half number, such as 7 or 7.5',
  0.1: 'a number with at most one decimal',
}

export const FIELD_SENTENCES: Sentences<FieldRefusal> = {
  'setting-missing': () => 'This must not be empty.',
  'setting-not-a-time': () => 'Write a time as HH:MM, 00:00 to 23:59.',
  'setting-not-a-number': (d) => `Write ${STEP[d.step] ?? 'a number'} without a trailing zero, ${span(d)}.`,
  'setting-out-of-range': (d) => `It lies between ${d.least} and ${d.most} ${d.unit}.`,
  'setting-not-a-limit': (d) =>
    `Write a value that a meter shows, ${span(d)}${d.unit === 'mmol/L' ? ', with its decimal point' : ', a whole number'}.`,
  'setting-not-a-choice': () => 'Choose one.',
  'setting-too-long': (d) => `At most ${d.most} characters.`,
  'setting-shift-line': (d) => `Write one shift a line as “07:00 Day”, at most six. This cannot be read: ${d.line}.`,
}

const CROSS_SENTENCES: Sentences<CrossRefusal> = {
  'level2-not-below-low': () => 'Level 2 lies below the low limit.',
  'recovered-below-low': () => 'Nobody has recovered below the low limit.',
  'recovered-not-below-critical-high': () => 'Recovery lies below the critical high.',
  'critical-low-not-below-low': () => 'The critical low lies below the low limit.',
  'critical-high-not-above-low': () => 'The critical high lies above the low limit.',
  'window-opens-after-due': () => 'It opens before it is due: more minutes here than in “due before”.',
  'window-closes-before-due': () => 'It closes after it is due: this would be the same minute.',
  'window-late-after-closing': () => 'It is late before it closes.',
  'rounds-out-of-order': () =>
    'The rounds start one after the other: overnight, breakfast, lunch, supper, bedtime. This one starts too early.',
  'time-outside-its-round': (d) => `This time lies outside its own round, which runs from ${d.from} to ${d.to}.`,
  'recheck-before-it-counts': () =>
    'A recheck would be due before it says anything: no more minutes than until the recheck.',
  'level2-grams-below-level1': () => 'Level 2 gets no less carbohydrate than level 1.',
  'no-finger': () => 'Choose at least one finger.',
  'no-second-checker': () => 'Choose at least one role.',
  'charge-nurse-cannot-check': () =>
    'The charge nurse is called in when answers differ, so the charge nurse must be one of the roles.',
  'shifts-alike': () => 'Each shift has a name and a start of its own.',
  'shifts-out-of-order': () => 'Write the shifts in the order of the day.',
  'ask-above-stop': () => 'The asking limit is at most the limit above which nothing is given.',
  'spare-not-below-age': () => 'Fewer minutes than a reading is fresh for.',
}

const MOVED_ON = (d: DetailsOf<'policy-moved-on'>): string =>
  `Somebody has set version ${d.version} in the meantime. Nothing was saved. Open the policy again and look at what counts now.`

export const SET_SENTENCES: Sentences<SetRefusal | 'ward-gone' | 'from-not-a-time'> = {
  ...FIELD_SENTENCES,
  ...CROSS_SENTENCES,
  'ward-gone': () => 'There is no such ward, or no such part of its policy.',
  'policy-moved-on': MOVED_ON,
  'nothing-changed': () => 'Nothing differs from the newest version.',
  'from-not-a-time': () => 'Give the date and time, or leave it empty for now.',
  'from-in-past': () => 'A policy cannot count from a time gone by: what was done then was done by the one before.',
  'from-too-far': () => 'More than a year ahead: look at the year.',
  'from-before-newest': (d) =>
    `Version ${d.version} is written and does not count yet. A change starts from it, and cannot count before it does.`,
  'same-change-waits': () => 'The same change waits for a second administrator already.',
}

export const CHANGE_SENTENCES: Sentences<ApproveRefusal | RefuseChangeRefusal | 'change-gone'> = {
  'change-gone': () => 'There is no such change.',
  'change-settled': () => 'This change was answered already.',
  'change-is-own': () => 'You wrote this change. Another administrator approves it; you can only take it back.',
  'policy-moved-on': (d) =>
    `${MOVED_ON(d)} This change was written over an older version: refuse it, and write it anew.`,
  'reason-missing': () => 'Say why it is refused.',
}

const BED_SENTENCES: Sentences<BedsRefusal> = {
  'beds-missing': () => 'A ward has at least one bed. Write one a line.',
  'beds-too-many': (d) => `At most ${d.most} beds.`,
  'bed-too-long': (d) => `A bed’s name has at most 12 characters. This one has more: ${d.bed}.`,
  'bed-twice': (d) => `Bed ${d.bed} stands there twice.`,
}

export const OPEN_WARD_SENTENCES: Sentences<OpenWardRefusal> = {
  ...BED_SENTENCES,
  'ward-name-taken': () => 'There is a ward of this name.',
}

export const BEDS_SENTENCES: Sentences<SetBedsRefusal | 'ward-gone'> = {
  ...BED_SENTENCES,
  'ward-gone': () => 'There is no such ward.',
  'beds-moved-on': () =>
    'Somebody has changed the beds in the meantime. Nothing was saved. Open the page again and look at the beds as they are now.',
  'beds-unchanged': () => 'These are the ward’s beds already.',
  'bed-occupied': (d) =>
    `Bed ${d.bed} is occupied and cannot be taken away. The ward’s nurses move or discharge first.`,
}

/** Who set the first version where nobody was signed in. */
export const NOBODY_SIGNED_IN: Readonly<Record<string, string>> = {
  loader: 'the load command',
  'set-up': 'the first set-up',
}
