/** What each guard of a dose is called, what it found, and what would release it. */
import { formatMinutes, formatTime, formatUnits, OCCASION_NAME } from '../format.ts'
import type { GuardName } from '../../shared/dose/dose.ts'
import type { Occasion } from '../../shared/check/check.ts'

type Details = Readonly<Record<string, string | number>>
/** `zone` is the ward's, for the times in the details. */
type Words = (details: Details, zone: string) => string

const text = (details: Details, name: string): string => String(details[name] ?? '–')
const at = (details: Details, name: string, zone: string): string =>
  typeof details[name] === 'number' ? formatTime(details[name], zone) : '–'
const long = (details: Details, name: string): string =>
  typeof details[name] === 'number' ? formatMinutes(details[name]) : '–'
const units = (details: Details, name: string): string =>
  typeof details[name] === 'number' ? formatUnits(details[name]) : '–'

export const GUARD_NAME: Readonly<Record<GuardName, string>> = {
  'reading-age': 'Age of the reading',
  'reading-in-doubt': 'Meter and strips',
  'reading-not-effective': 'Correction of the reading',
  'reading-superseded-by-newer': 'Newer reading',
  'critical-high-unconfirmed': 'Critical high',
  'out-of-range-value': 'Outside the meter’s range',
  'low-glucose': 'Low glucose',
  'low-event-open': 'Low event',
  'order-in-force': 'Time of the order',
  'order-verified': 'Verification of the order',
  'ward-unit': 'Unit of glucose',
  'meal-timing': 'Time of the meal',
  'not-eating': 'Eating',
  'not-eating-rule': 'The order for a patient who does not eat',
  stacking: 'Earlier insulin',
  'single-dose-limit': 'Single-dose limit',
  'insulin-elsewhere-asked': 'Insulin given elsewhere',
  'scale-says-call': 'Step of the scale',
  'scheduled-hold': "The order's own hold",
  'carbohydrate-needed': 'Carbohydrate',
  'occasion-not-ordered': 'Occasion',
  'already-dosed': 'Insulin since the reading',
  'scheduled-time': 'Scheduled time',
}

const MEAL_FOUND: Readonly<Record<string, Words>> = {
  'after-the-meal': () => 'The order gives the meal part after eating, by the share eaten.',
  'not-served': () => 'No tray is charted as served.',
  'reading-after-tray': (d, zone) =>
    `The reading was taken after the tray came at ${at(d, 'servedMs', zone)}: it may show the meal.`,
  served: (d, zone) => `The tray was served at ${at(d, 'servedMs', zone)}; the limit is ${long(d, 'limit')}.`,
  expected: (d, zone) =>
    `The tray is expected at ${at(d, 'expectedMs', zone)}; a meal dose is given at most ${long(d, 'limit')} before it, from ${at(d, 'fromMs', zone)}.`,
  unknown: () => 'When the tray comes is not known.',
}

const NOT_EATING_FOUND: Readonly<Record<string, Words>> = {
  'nil-by-mouth': () => 'Nil by mouth: the meal part is held.',
  'not-asked': () => 'Whether the patient will eat was not asked.',
  no: () => 'Will not eat: the meal part is held.',
  unsure: (d) =>
    text(d, 'timing') === 'before'
      ? 'Not sure to eat. Waiting until the meal has begun is safer; ask the prescriber whether the meal part may be given after it.'
      : 'Not sure to eat: the meal part waits for the share eaten.',
  yes: () => 'Will eat.',
}

const SCHEDULED_FOUND: Readonly<Record<string, Words>> = {
  'not-ordered': () => 'No dose is ordered for this time.',
  early: (d, zone) => `Due at ${at(d, 'dueMs', zone)}; too early before ${at(d, 'opensMs', zone)}.`,
  closed: (d, zone) => `Due at ${at(d, 'dueMs', zone)}, more than ${long(d, 'limit')} ago.`,
  open: (d, zone) => `Due at ${at(d, 'dueMs', zone)}.`,
}

/** After the low: what the prescriber's "give as ordered" comes to. */
const said: Words = (d, zone) => ` “Give as ordered”: ${text(d, 'told')}, ${at(d, 'toldMs', zone)}, read back`
const LOW_ANSWER_FOUND: Readonly<Record<string, Words>> = {
  releases: (d, zone) => `${said(d, zone)}. No correction is added before the follow-up.`,
  'not-recovered': (d, zone) => `${said(d, zone)}; it counts once a value shows recovery.`,
  'came-back': (d, zone) => `${said(d, zone)}; the low came back after it, so it does not count any more.`,
  'direction-since': (d, zone) => `${said(d, zone)}; a direction was given after it, so it does not count any more.`,
  'follow-up-due': (d, zone) => `${said(d, zone)}; the follow-up recheck is due and comes first.`,
}
const LOW_ANSWER_RELEASE: Readonly<Record<string, string>> = {
  releases: 'The correction: a satisfactory follow-up reading.',
  'not-recovered': 'Treat the low until a value shows recovery, then work it out again.',
  'follow-up-due': 'The follow-up recheck now: a satisfactory value frees all insulin.',
}

const pick = (words: Readonly<Record<string, Words>>, details: Details, zone: string): string =>
  words[text(details, 'found')]?.(details, zone) ?? ''

/** What was found, for a guard that did not simply pass. */
export const FOUND_OF: Readonly<Record<GuardName, Words>> = {
  'reading-age': (d) =>
    d['found'] === 'no-reading'
      ? 'There is no reading.'
      : d['found'] === 'not-yet-taken'
        ? 'By the clock the reading has not been taken yet, so its age cannot be told.'
        : `The reading is ${long(d, 'found')} old; the limit is ${long(d, 'limit')}.`,
  'reading-in-doubt': (d, zone) =>
    text(d, 'found') === 'meter-failed'
      ? `The meter failed a control at ${at(d, 'foundMs', zone)}, after this reading was taken: no insulin follows from it.`
      : 'The meter had no passed control, is another ward’s or is not named, or the strip lot is expired: this reading can never lead to insulin.',
  'reading-not-effective': () => 'The reading was corrected or entered in error.',
  'reading-superseded-by-newer': (d, zone) => `A newer reading was taken at ${at(d, 'foundMs', zone)}.`,
  'critical-high-unconfirmed': (d) =>
    `${text(d, 'found')} is critical (above ${text(d, 'limit')}) or follows a critical value, and is not confirmed.`,
  'out-of-range-value': (d) => `The meter shows ${text(d, 'found')}: no dose is worked out from it.`,
  'low-glucose': (d) => `${text(d, 'found')} is below the low limit of ${text(d, 'limit')}.`,
  'low-event-open': (d, zone) =>
    `${text(d, 'found') === 'open' ? 'A low has not recovered yet.' : 'A low has recovered; its follow-up is still to come.'}${LOW_ANSWER_FOUND[text(d, 'answer')]?.(d, zone) ?? ''}`,
  'order-in-force': (d, zone) =>
    text(d, 'found') === 'expired'
      ? `The order expired at ${at(d, 'foundMs', zone)}.`
      : 'The order is not in force: not started, stopped or replaced.',
  'order-verified': () => 'Nobody has verified the transcription of the order yet.',
  'ward-unit': (d) => `The order or the reading counts in ${text(d, 'found')}, the ward in ${text(d, 'limit')}.`,
  'meal-timing': (d, zone) => pick(MEAL_FOUND, d, zone),
  'not-eating': (d, zone) => pick(NOT_EATING_FOUND, d, zone),
  'not-eating-rule': (d) =>
    text(d, 'found') === 'eats'
      ? `Not sure to eat. For a patient who does not eat the order ${text(d, 'rule') === 'hold-all' ? 'holds the correction' : 'has another scale'}.`
      : `${text(d, 'found') === 'no' ? 'Will not eat' : 'Nil by mouth'}: the order ${text(d, 'rule') === 'hold-all' ? 'holds the correction too' : 'has another scale for this'}.`,
  stacking: (d, zone) =>
    `${units(d, 'units')} of ${text(d, 'insulin')} ${d['source'] === 'here' ? 'was given' : 'was given on paper or elsewhere'} ${long(d, 'found')} ago; the interval is ${long(d, 'limit')}, free from ${at(d, 'freeMs', zone)}.`,
  'single-dose-limit': (d) => `${units(d, 'found')} is above the limit of ${units(d, 'limit')}.`,
  'insulin-elsewhere-asked': () => 'Whether insulin was given elsewhere was not asked.',
  'scale-says-call': (d) =>
    `The scale gives no dose here: call the prescriber.${d['also'] === undefined ? '' : ` The order adds: ${text(d, 'also')}.`}`,
  'scheduled-hold': (d) =>
    d['inDoubt'] !== undefined
      ? `The order holds the dose below ${text(d, 'limit')}, and the last reading is in doubt: ${d['inDoubt'] === 'charted' ? 'its meter or strips were not fit' : 'its meter failed a control since'}.`
      : text(d, 'found') === 'masked'
        ? `The order holds the dose below ${text(d, 'limit')}; the last reading awaits its second check.`
        : text(d, 'found') === 'no-reading'
          ? `The order holds the dose below ${text(d, 'limit')}, and there is no reading.`
          : `The last reading, ${long(d, 'ageMin')} old, is ${text(d, 'found')}; the order holds the dose below ${text(d, 'limit')}.`,
  'carbohydrate-needed': () => 'The grams of carbohydrate are not known.',
  'occasion-not-ordered': (d) =>
    `The order has nothing for this time (${OCCASION_NAME[text(d, 'found') as Occasion] ?? 'no round'}).`,
  'already-dosed': (d, zone) =>
    text(d, 'found') === 'meal'
      ? 'The meal part of this meal was given already.'
      : text(d, 'found') === 'scheduled'
        ? `${units(d, 'units')} of ${text(d, 'insulin')} was given at ${at(d, 'givenMs', zone)}, at or near this time: the scheduled dose is not given again.`
        : `${units(d, 'units')} of ${text(d, 'insulin')} was given at ${at(d, 'givenMs', zone)}, after this reading.`,
  'scheduled-time': (d, zone) => pick(SCHEDULED_FOUND, d, zone),
}

const DIRECTION = "the prescriber's direction for this dose"

/** What would release a guard that stops or holds. */
export const RELEASE_OF: Readonly<Record<GuardName, Words>> = {
  'reading-age': () => 'Take a fresh reading.',
  'reading-in-doubt': () => 'Take a fresh reading with a meter whose controls are done and strips in date.',
  'reading-not-effective': () => 'Work from the reading that stands now, or take a fresh one.',
  'reading-superseded-by-newer': () => 'Work from the newest reading.',
  'critical-high-unconfirmed': () =>
    `Repeat on another, cleaned finger; if the two disagree, a third stick or a laboratory sample; or ${DIRECTION}.`,
  'out-of-range-value': () => `A laboratory value inside the order, or ${DIRECTION}.`,
  'low-glucose': () => `Treat the low and recheck. Scheduled or meal insulin now needs ${DIRECTION}.`,
  'low-event-open': (d) =>
    LOW_ANSWER_RELEASE[text(d, 'answer')] ??
    (d['asks'] === 'prescriber'
      ? `Recovery and a satisfactory follow-up reading, or ${DIRECTION}. Ask now: this insulin is not dropped.`
      : `Recovery and a satisfactory follow-up reading, or ${DIRECTION}.`),
  'order-in-force': () => 'A new order from the prescriber, transcribed and verified.',
  'order-verified': () => 'A second person verifies the transcription against the original order.',
  'ward-unit': () => "The order transcribed again in the ward's unit, and a reading in that unit.",
  'meal-timing': (d, zone) => {
    switch (text(d, 'found')) {
      case 'expected':
        return d['proposeFromMs'] === undefined
          ? 'The tray coming closer.'
          : `Work it out again from ${at(d, 'proposeFromMs', zone)}, or when the tray is here.`
      case 'served':
        return `Ask the prescriber: ${DIRECTION}, or an order that gives the meal part after eating.`
      case 'after-the-meal':
        return 'Come back when the patient has eaten and chart the share.'
      default:
        return 'Chart the tray when it is served.'
    }
  },
  'not-eating': (d) =>
    text(d, 'found') === 'not-asked'
      ? 'Ask the patient and answer.'
      : 'The patient will eat after all: work it out again.',
  'not-eating-rule': () => 'The patient eats after all: work it out again.',
  stacking: (d, zone) => `Wait until ${at(d, 'freeMs', zone)}, or ${DIRECTION}.`,
  'single-dose-limit': () =>
    `Check grams and reading. A larger dose needs ${DIRECTION}, at most up to the ward's own limit.`,
  'insulin-elsewhere-asked': () => 'Ask the patient and the last ward, and chart what was given.',
  'scale-says-call': () => `Call the prescriber: ${DIRECTION}.`,
  'scheduled-hold': (d) =>
    d['inDoubt'] !== undefined
      ? RELEASE_OF['reading-in-doubt'](d, '')
      : text(d, 'found') === 'no-reading'
        ? 'Take a reading.'
        : `Call the prescriber: ${DIRECTION}.`,
  'carbohydrate-needed': () => 'Read the grams off the menu or the tray card.',
  'occasion-not-ordered': () => `The next occasion that the order lists, or ${DIRECTION}.`,
  'already-dosed': (d) =>
    text(d, 'found') === 'meal'
      ? `Nothing more for this meal, unless by ${DIRECTION}.`
      : text(d, 'found') === 'scheduled'
        ? `Nothing more for this time, unless by ${DIRECTION}.`
        : 'Take a fresh reading.',
  'scheduled-time': (d, zone) =>
    text(d, 'found') === 'early'
      ? `Wait until ${at(d, 'opensMs', zone)}.`
      : `Call the prescriber: ${DIRECTION}. A late dose is not dropped.`,
}
