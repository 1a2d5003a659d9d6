/** What each guard of a dose is called, what it found, and what would release it. */
import { formatMinutes, formatNumber, formatTime, formatUnits, OCCASION_NAME } from '../format.ts'
import type { GuardDetails, GuardFinding, GuardName, LowAnswer } from '../../shared/dose/dose.ts'

/** `zone` is the ward's, for the instants in the details. */
type Words<D> = (details: D, zone: string) => string
type GuardWords = { readonly [G in GuardName]: Words<GuardDetails[G]> }
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
  'large-dose': 'Large dose',
  'day-total': 'All insulin in 24 hours',
  'large-meal': 'Carbohydrate of the meal',
  'directed-sum': 'Insulin by direction',
  'insulin-elsewhere-asked': 'Insulin given elsewhere',
  'scale-says-call': 'Step of the scale',
  'scheduled-hold': "The order's own hold",
  'carbohydrate-needed': 'Carbohydrate',
  'occasion-not-ordered': 'Occasion',
  'already-dosed': 'Insulin since the reading',
  'scheduled-time': 'Scheduled time',
  'basal-gap': 'Basal insulin given before',
  'other-insulin': 'Insulin by another way',
  'insulin-held': 'Held by the prescriber',
  'insulin-question-open': 'Insulin after a low',
  'units-instead': 'Other units, once',
  'mealtime-food': 'Food with mealtime insulin',
  'mealtime-stacking': 'Earlier mealtime insulin',
}

function mealFound(d: GuardDetails['meal-timing'], zone: string): string {
  switch (d.found) {
    case 'after-the-meal':
      return 'The order gives the meal part after eating, by the share eaten.'
    case 'not-served':
      return 'No tray is charted as served.'
    case 'reading-after-tray':
      return `The reading was taken after the tray came at ${formatTime(d.servedMs, zone)}: it may show the meal.`
    case 'served':
      return `The tray was served at ${formatTime(d.servedMs, zone)}; the limit is ${formatMinutes(d.limit)}.`
    case 'expected':
      return `The tray is expected at ${formatTime(d.expectedMs, zone)}; a meal dose is given at most ${formatMinutes(d.limit)} before it, from ${formatTime(d.fromMs, zone)}.`
    case 'unknown':
      return 'When the tray comes is not known.'
  }
}

function notEatingFound(d: GuardDetails['not-eating']): string {
  switch (d.found) {
    case 'nil-by-mouth':
      return 'Nil by mouth: the meal part is held.'
    case 'not-asked':
      return 'Whether the patient will eat was not asked.'
    case 'no':
      return 'Will not eat: the meal part is held.'
    case 'unsure':
      return d.timing === 'before'
        ? 'Not sure to eat. Waiting until the meal has begun is safer; ask the prescriber whether the meal part may be given after it.'
        : 'Not sure to eat: the meal part waits for the share eaten.'
    case 'yes':
      return 'Will eat.'
  }
}

const SOURCE_SAYS: Readonly<Record<GuardDetails['basal-gap']['source'], string>> = {
  here: 'was given',
  elsewhere: 'was given elsewhere',
  corrected: 'charted in place of one taken back',
  paper: 'was given, charted on paper,',
}

function foodFound(d: GuardDetails['mealtime-food'], zone: string): string {
  switch (d.found) {
    case 'nil-by-mouth':
      return 'Nil by mouth: mealtime insulin waits.'
    case 'no-meal-near':
      return 'No meal is near this time.'
    case 'fed':
      return 'The feed runs.'
    case 'feed-stopped':
      return `The feed is stopped since ${formatTime(d.sinceMs, zone)}.`
    case 'served':
      return `The tray was served at ${formatTime(d.servedMs, zone)}; the limit is ${formatMinutes(d.limit)}.`
    case 'expected':
      return `The tray is expected at ${formatTime(d.expectedMs, zone)}; this insulin is given at most ${formatMinutes(d.limit)} before it, from ${formatTime(d.fromMs, zone)}.`
  }
}

function scheduledFound(d: GuardDetails['scheduled-time'], zone: string): string {
  switch (d.found) {
    case 'not-ordered':
      return 'No dose is ordered for this time.'
    case 'early':
      return `Due at ${formatTime(d.dueMs, zone)}; too early before ${formatTime(d.opensMs, zone)}.`
    case 'closed':
      return `Due at ${formatTime(d.dueMs, zone)}, more than ${formatMinutes(d.limit)} ago.`
    case 'open':
      return `Due at ${formatTime(d.dueMs, zone)}.`
  }
}

/** After the low: what the prescriber's "give as ordered" comes to. */
const LOW_ANSWER_FOUND: Readonly<Record<LowAnswer['standing'], string>> = {
  releases: '. No correction is added before the follow-up.',
  'not-recovered': '; it counts once a value shows recovery.',
  'came-back': '; the low came back after it, so it does not count any more.',
  'direction-since': '; a direction was given after it, so it does not count any more.',
  'follow-up-due': '; the follow-up recheck is due and comes first.',
}
const LOW_ANSWER_RELEASE: Partial<Readonly<Record<LowAnswer['standing'], string>>> = {
  releases: 'The correction: a satisfactory follow-up reading.',
  'not-recovered': 'Treat the low until a value shows recovery, then work it out again.',
  'follow-up-due': 'The follow-up recheck now: a satisfactory value frees all insulin.',
}

function lowFound(d: GuardDetails['low-event-open'], zone: string): string {
  const low =
    d.found === 'open' ? 'A low has not recovered yet.' : 'A low has recovered; its follow-up is still to come.'
  return d.answer === undefined
    ? low
    : `${low} “Give as ordered”: ${d.told}, ${formatTime(d.toldMs, zone)}, read back${LOW_ANSWER_FOUND[d.answer]}`
}

function holdFound(d: GuardDetails['scheduled-hold']): string {
  if (d.inDoubt !== undefined)
    return `The order holds the dose below ${d.limit}, and the last reading is in doubt: ${d.inDoubt === 'charted' ? 'its meter or strips were not fit' : 'its meter failed a control since'}.`
  if (d.found === 'masked')
    return `The order holds the dose below ${d.limit}; the last reading awaits its second check.`
  return d.ageMin === undefined
    ? `The order holds the dose below ${d.limit}, and there is no reading.`
    : `The last reading, ${formatMinutes(d.ageMin)} old, is ${d.found}; the order holds the dose below ${d.limit}.`
}

/** What was found, for a guard that did not simply pass. */
const FOUND_OF: GuardWords = {
  'reading-age': (d) =>
    d.found === 'no-reading'
      ? 'There is no reading.'
      : d.found === 'not-yet-taken'
        ? 'By the clock the reading has not been taken yet, so its age cannot be told.'
        : d.spare === undefined
          ? `The reading is ${formatMinutes(d.found)} old; the limit is ${formatMinutes(d.limit)}.`
          : `The reading is ${formatMinutes(d.found)} old. Insulin is given at most ${formatMinutes(d.limit)} after it, and checking and drawing up need ${formatMinutes(d.spare)}.`,
  'reading-in-doubt': (d, zone) =>
    d.foundMs !== undefined
      ? `The meter failed a control at ${formatTime(d.foundMs, zone)}, after this reading was taken: no insulin follows from it.`
      : 'The meter had no passed control, is another ward’s or is not named, or the strip lot is expired: this reading can never lead to insulin.',
  'reading-not-effective': () => 'The reading was corrected or entered in error.',
  'reading-superseded-by-newer': (d, zone) => `A newer reading was taken at ${formatTime(d.foundMs, zone)}.`,
  'critical-high-unconfirmed': (d) =>
    `${d.found} is critical (above ${d.limit}) or follows a critical value, and is not confirmed.`,
  'out-of-range-value': (d) => `The meter shows ${d.found}: no dose is worked out from it.`,
  'low-glucose': (d) => `${d.found} is below the low limit of ${d.limit}.`,
  'low-event-open': lowFound,
  'order-in-force': (d, zone) =>
    d.found === 'expired'
      ? `The order expired at ${formatTime(d.foundMs, zone)}.`
      : 'The order is not in force: not started, stopped or replaced.',
  'order-verified': () => 'Nobody has verified the transcription of the order yet.',
  'ward-unit': (d) => `The order or the reading counts in ${d.found}, the ward in ${d.limit}.`,
  'meal-timing': mealFound,
  'not-eating': notEatingFound,
  'not-eating-rule': (d) =>
    d.found === 'eats'
      ? `Not sure to eat. For a patient who does not eat the order ${d.rule === 'hold-all' ? 'holds the correction' : 'has another scale'}.`
      : `${d.found === 'no' ? 'Will not eat' : 'Nil by mouth'}: the order ${d.rule === 'hold-all' ? 'holds the correction too' : 'has another scale for this'}.`,
  stacking: (d, zone) =>
    `${formatUnits(d.units)} of ${d.insulin} ${d.source === 'here' ? 'was given' : 'was given on paper or elsewhere'} ${formatMinutes(d.found)} ago; the interval is ${formatMinutes(d.limit)}, free from ${formatTime(d.freeMs, zone)}.`,
  'single-dose-limit': (d) => `${formatUnits(d.found)} is above the limit of ${formatUnits(d.limit)}.`,
  'large-dose': (d) =>
    d.per === 'weight'
      ? `${formatUnits(d.found)} is a large dose for ${formatNumber(d.weightKg)} kg: above ${formatUnits(d.limit)}.`
      : `${formatUnits(d.found)} is a large dose: above ${formatUnits(d.limit)} the ward asks for it again.`,
  'day-total': (d) =>
    `With this dose the patient gets ${formatUnits(d.found)} of insulin in 24 hours, above ${formatUnits(d.limit)} for ${formatNumber(d.weightKg)} kg.`,
  'large-meal': (d) =>
    d.kind === 'stop'
      ? `${formatNumber(d.found)} g is above the ward’s limit of ${formatNumber(d.limit)} g for one meal.`
      : `${formatNumber(d.found)} g is a large meal: above ${formatNumber(d.limit)} g the ward asks for it again.`,
  'directed-sum': (d) =>
    `With this dose the patient gets ${formatUnits(d.found)} of rapid or regular insulin within the interval, above ${formatUnits(d.limit)}: the charge nurse does the second check.`,
  'insulin-elsewhere-asked': () => 'Whether insulin was given elsewhere was not asked.',
  'scale-says-call': (d) =>
    `${d.held === undefined ? 'The scale gives no dose here: call the prescriber.' : 'Call the prescriber now: the scale says “no dose, call”. The hold gives 0 units and does not replace the call.'}${d.also === undefined ? '' : ` The order adds: ${d.also}.`}`,
  'scheduled-hold': holdFound,
  'carbohydrate-needed': () => 'The grams of carbohydrate are not known.',
  'occasion-not-ordered': (d) =>
    `The order has nothing for this time (${d.found === 'none' ? 'no round' : OCCASION_NAME[d.found]}).`,
  'already-dosed': (d, zone) =>
    d.found === 'meal'
      ? 'The meal part of this meal was given already.'
      : d.found === 'scheduled'
        ? `${formatUnits(d.units)} of ${d.insulin} was given at ${formatTime(d.givenMs, zone)}, at or near this time: the scheduled dose is not given again.`
        : `${formatUnits(d.units)} of ${d.insulin} was given at ${formatTime(d.givenMs, zone)}, after this reading.`,
  'scheduled-time': scheduledFound,
  'basal-gap': (d, zone) =>
    `${formatUnits(d.units)} of ${d.insulin} ${SOURCE_SAYS[d.source]} ${formatMinutes(d.found)} ago: basal insulin is given once in its interval, the next from ${formatTime(d.freeMs, zone)}.`,
  'mealtime-food': foodFound,
  'other-insulin': (d, zone) =>
    `${d.way === 'infusion' ? 'An insulin infusion' : 'The patient’s own insulin pump'} runs since ${formatTime(d.sinceMs, zone)}.`,
  'insulin-held': (d, zone) =>
    `${d.told} holds this insulin since ${formatTime(d.saidMs, zone)}, ${d.untilMs === null ? 'until asked again' : `until ${formatTime(d.untilMs, zone)}`}.`,
  'insulin-question-open': () => 'After a low nobody has asked the prescriber about this insulin.',
  'units-instead': (d, zone) =>
    `${d.told} said at ${formatTime(d.saidMs, zone)}: ${formatUnits(d.units)} in place of ${formatUnits(d.ordered)}, for this dose alone.`,
  'mealtime-stacking': (d) =>
    `${formatUnits(d.units)} of ${d.insulin} ${SOURCE_SAYS[d.source]} ${formatMinutes(d.found)} ago${d.sameMeal ? ', for this meal' : ''}.`,
}

const FIT_METER = 'Take a fresh reading with a meter whose controls are done and strips in date.'
const DIRECTION = "the prescriber's direction for this dose"

/** What would release a guard that stops or holds. */
const RELEASE_OF: GuardWords = {
  'reading-age': () => 'Take a fresh reading.',
  'reading-in-doubt': () => FIT_METER,
  'reading-not-effective': () => 'Work from the reading that stands now, or take a fresh one.',
  'reading-superseded-by-newer': () => 'Work from the newest reading.',
  'critical-high-unconfirmed': () =>
    `Repeat on another, cleaned finger; if the two disagree, a third stick or a laboratory sample; or ${DIRECTION}.`,
  'out-of-range-value': () => `A laboratory value inside the order, or ${DIRECTION}.`,
  'low-glucose': () => `Treat the low and recheck. Scheduled or meal insulin now needs ${DIRECTION}.`,
  'low-event-open': (d) =>
    (d.answer === undefined ? undefined : LOW_ANSWER_RELEASE[d.answer]) ??
    (d.asks === 'prescriber'
      ? `Recovery and a satisfactory follow-up reading, or ${DIRECTION}. Ask now: this insulin is not dropped.`
      : `Recovery and a satisfactory follow-up reading, or ${DIRECTION}.`),
  'order-in-force': () => 'A new order from the prescriber, transcribed and verified.',
  'order-verified': () => 'A second person verifies the transcription against the original order.',
  'ward-unit': () => "The order transcribed again in the ward's unit, and a reading in that unit.",
  'meal-timing': (d, zone) => {
    switch (d.found) {
      case 'expected':
        return `Work it out again from ${formatTime(d.proposeFromMs, zone)}, or when the tray is here.`
      case 'served':
        return `Ask the prescriber: ${DIRECTION}, or an order that gives the meal part after eating.`
      case 'after-the-meal':
        return 'Come back when the patient has eaten and chart the share.'
      default:
        return 'Chart the tray when it is served.'
    }
  },
  'not-eating': (d) =>
    d.found === 'not-asked' ? 'Ask the patient and answer.' : 'The patient will eat after all: work it out again.',
  'not-eating-rule': () => 'The patient eats after all: work it out again.',
  stacking: (d, zone) => `Wait until ${formatTime(d.freeMs, zone)}, or ${DIRECTION}.`,
  'single-dose-limit': () =>
    `Check grams and reading. A larger dose needs ${DIRECTION}, at most up to the ward's own limit.`,
  'large-dose': () => 'Read the order and the amounts again. If they are right, type the units again.',
  'day-total': () => 'Read the orders again, and ask the prescriber if in doubt.',
  'large-meal': (d) =>
    d.kind === 'stop'
      ? 'Read the grams off the menu or the tray card again, and correct them.'
      : 'Read the grams off the menu or the tray card again. If they are right, type them again.',
  'directed-sum': () => 'The charge nurse does the second check.',
  'insulin-elsewhere-asked': () => 'Ask the patient and the last ward, and chart what was given.',
  'scale-says-call': () => `Call the prescriber: ${DIRECTION}.`,
  'scheduled-hold': (d) =>
    d.inDoubt !== undefined
      ? FIT_METER
      : d.found === 'no-reading'
        ? 'Take a reading.'
        : `Call the prescriber: ${DIRECTION}.`,
  'carbohydrate-needed': () => 'Read the grams off the menu or the tray card.',
  'occasion-not-ordered': () => `The next occasion that the order lists, or ${DIRECTION}.`,
  'already-dosed': (d) =>
    d.found === 'meal'
      ? `Nothing more for this meal, unless by ${DIRECTION}.`
      : d.found === 'scheduled'
        ? `Nothing more for this time, unless by ${DIRECTION}.`
        : 'Take a fresh reading.',
  'scheduled-time': (d, zone) =>
    d.found === 'early'
      ? `Wait until ${formatTime(d.opensMs, zone)}.`
      : `Call the prescriber: ${DIRECTION}. A late dose is not dropped.`,
  'basal-gap': (d, zone) =>
    `Wait until ${formatTime(d.freeMs, zone)}, or ${DIRECTION}, saying what becomes of the next one.`,
  'mealtime-food': (d, zone) =>
    d.found === 'expected'
      ? `Wait until ${formatTime(d.fromMs, zone)}, when the tray is near, or ${DIRECTION}.`
      : d.found === 'feed-stopped'
        ? `The feed runs again, or ${DIRECTION}.`
        : `Food is here or near, or ${DIRECTION}. This insulin is not given without food.`,
  'other-insulin': (d) =>
    d.way === 'infusion' ? `Chart its end, or ${DIRECTION}.` : 'Ask the patient what the pump has given.',
  'insulin-held': () => `Ask the prescriber again and chart her word, or ${DIRECTION}.`,
  'insulin-question-open': () => 'Ask the prescriber and chart the answer.',
  'units-instead': () => DIRECTION,
  'mealtime-stacking': () => `Nothing more for this meal, unless by ${DIRECTION}.`,
}

/** What the guard found. `zone`: the ward's. */
export function foundText(finding: GuardFinding, zone: string): string {
  return said(FOUND_OF, finding, zone)
}

/** What would release it. */
export function releaseText(finding: GuardFinding, zone: string): string {
  return said(RELEASE_OF, finding, zone)
}

function said<G extends GuardName>(
  words: { readonly [K in G]: Words<GuardDetails[K]> },
  { guard, details }: { readonly [K in G]: { readonly guard: K; readonly details: GuardDetails[K] } }[G],
  zone: string,
): string {
  return words[guard](details, zone)
}
