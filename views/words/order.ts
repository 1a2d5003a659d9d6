/** Sentences about insulin orders: why rows make no scale, and why an order is not taken. */
import type { EntryRefusal } from '../../shared/order/entry.ts'
import type { WriteRefusal } from '../../shared/order/write.ts'
import type { OrderRefusal } from '../../shared/order/validate.ts'
import type { WrittenRefusal } from '../../shared/order/written.ts'
import type { Sentences } from '../../shared/outcome.ts'

/** Each names the value it is about, so that nobody has to search the order for it. */
export const ORDER_SENTENCES: Sentences<WrittenRefusal | OrderRefusal> = {
  'rows-missing': (d) => `A scale has between 1 and ${d.most} rows.`,
  'row-bound-not-whole': (d) => `${d.value} is no value that a row can begin or end with in ${d.unit}.`,
  'row-upside-down': (d) => `The row from ${d.value} to ${d.to} ${d.unit} ends before it begins.`,
  'rows-not-ascending': (d) => `The rows do not rise: look at ${d.value} ${d.unit}.`,
  'row-overlap': (d) => `${d.value} ${d.unit} is in two rows. Ask the prescriber which one it belongs to.`,
  'row-hole': (d) =>
    `${d.value} ${d.unit} is in no row: the rows go from ${d.before} to ${d.after}. Ask the prescriber what it gets.`,
  'last-row-closed': (d) =>
    `The order says nothing from ${d.value} ${d.unit} up. Ask the prescriber what applies above the last row.`,
  'after-last-not-needed': () => 'The last row is open upward, so nothing can come after it.',
  'answer-not-needed': (d) => `${d.value} ${d.unit} is in a row already, so no other answer can be given for it.`,
  'glucose-not-as-printed': (d) =>
    `"${d.value}" is not how a glucose is printed in ${d.unit}: mg/dL has no decimal, mmol/L has one.`,
  'answer-repeated': (d) => `${d.value} ${d.unit} is answered twice.`,
  'scale-empty': () => 'The scale has no step.',
  'scale-bound-not-whole': (d) => `${d.value} is no value that a step can begin with in ${d.unit}.`,
  'scale-not-ascending': (d) => `The steps do not rise: look at ${d.value} ${d.unit}.`,
  'scale-answer-not-units': (d) => `${d.answer} at ${d.value} ${d.unit} is no dose in whole or half units.`,
  'scale-goes-down': (d) =>
    `From ${d.value} ${d.unit} the answer goes down, from ${d.before} to ${d.answer} units, while glucose rises. Ask the prescriber.`,
  'scale-doses-below-low': (d) =>
    `From ${d.value} ${d.unit} the scale gives ${d.answer} units, below the ward's low limit of ${d.low} ${d.unit}. Ask the prescriber.`,
  'scale-above-limit': (d) =>
    `From ${d.value} ${d.unit} the scale gives ${d.answer} units, above the single-dose limit of ${d.limit} units.`,
  'concentration-u500': () =>
    'U-500 is not taken: 0.15 mL of it is 75 units, and a syringe marked for U-100 would give five times the dose meant.',
  'concentration-not-u100': (d) => `Only U-100 is taken, not "${d.concentration}".`,
  'order-unit-not-wards': (d) =>
    `The order counts glucose in ${d.unit}, the ward in ${d.wards}. It has to be transcribed again from the original.`,
  'scale-unit-not-orders': (d) => `The scale counts in ${d.unit}, its order in ${d.orders}.`,
  'order-says-nothing': () => 'The order has no correction, no meal part and no scheduled dose.',
  'order-occasions-missing': () => 'The order does not say at which occasions it applies.',
  'order-occasion-repeated': (d) => `The occasion "${d.occasion}" is listed twice.`,
  'insulin-not-for-meals-or-correction': (d) =>
    `${d.insulin} acts too slowly for a correction or a meal part. Only rapid or regular insulin answers a reading.`,
  'order-limit-not-units': (d) =>
    `The order's single-dose limit, ${d.limit}, is no amount in whole or half units above 0.`,
  'order-interval-not-minutes': (d) =>
    `The interval between corrections, ${d.interval}, is no whole number of minutes from 1 to 1440.`,
  'order-dates-crossed': () => 'The order stops before it starts.',
  'order-prescriber-missing': () => 'The order names no prescriber.',
  'factor-not-positive': (d) => `The correction factor ${d.value} is no whole count above 0 in ${d.unit}.`,
  'target-below-low': (d) =>
    `The target ${d.value} is below the ward's low limit of ${d.low} ${d.unit}, or no glucose at all.`,
  'meal-occasion-not-a-meal': (d) => `There is no meal at "${d.occasion}", so no meal part either.`,
  'meal-occasion-not-ordered': (d) => `The meal part names "${d.occasion}", which is not among the order's occasions.`,
  'meal-units-not-deliverable': (d) =>
    `The meal part at "${d.occasion}", ${d.units} units, is no dose that the order's rounding can give.`,
  'meal-above-limit': (d) =>
    `The meal part at "${d.occasion}", ${d.units} units, is above the single-dose limit of ${d.limit} units.`,
  'meal-ratio-not-positive': (d) =>
    `${d.grams} g of carbohydrate for each unit is no ratio above 0 with at most two decimals.`,
  'meal-missing-for-share': () => 'The order gives a meal part after eating but names no meal part.',
  'bedtime-not-ordered': () => 'The order has a bedtime variant but does not apply at bedtime.',
  'bedtime-needs-scale': () => 'Only a correction by scale can have this bedtime variant.',
  'not-eating-needs-correction': () =>
    'Without a correction there is nothing that this rule could change: choose “the correction as ordered”.',
  'not-eating-above-bedtime': (d) =>
    `At ${d.value} ${d.unit} the scale for not eating gives ${d.answer} units and the bedtime scale ${d.bedtime}. Ask the prescriber which one applies at bedtime.`,
  'answer-finer-than-rounding': (d) =>
    `${d.answer} units at ${d.value} ${d.unit} is finer than the whole units the order rounds to.`,
  'scheduled-time-not-a-time': (d) => `"${d.time}" is no time of day.`,
  'scheduled-time-repeated': (d) => `The time ${d.time} is scheduled twice.`,
  'scheduled-units-not-deliverable': (d) =>
    `The scheduled dose at ${d.time}, ${d.units} units, is no dose that the order's rounding can give.`,
  'scheduled-above-limit': (d) =>
    `The scheduled dose at ${d.time}, ${d.units} units, is above the single-dose limit of ${d.limit} units.`,
  'scheduled-hold-not-a-glucose': (d) =>
    `The hold at ${d.time}, below ${d.value} ${d.unit}, is no glucose, or lies below the ward's low limit.`,
}

/** What the order form says besides: about text that is no number yet, and answers that are missing. */
export const ENTRY_SENTENCES: Sentences<EntryRefusal> = {
  ...ORDER_SENTENCES,
  'repeat-not-minutes': (d) => `“${d.typed}” is no repeat in minutes: 15 to 720, as in 120 for two hours.`,
  'units-not-typed': (d) =>
    `“${d.typed}” is no amount in whole or half units without a trailing zero, such as 7 or 7.5.`,
  'answer-missing': (d) => `The row ${d.row} has no answer: type the units, or tick “no dose, call”.`,
  'two-answers': (d) => `The row ${d.row} has two answers, ${d.units} units and “no dose, call”. Only one can stand.`,
  'answered-value-missing': () => 'Type the value that the prescriber answered.',
  'kind-not-chosen': () => 'Choose one.',
  'typed-not-used': (d) =>
    d.typed === 'rows'
      ? 'Rows are typed below that this choice leaves out. Choose differently, or clear them.'
      : `“${d.typed}” is typed below, and this choice leaves it out. Choose differently, or clear it.`,
  'grams-not-typed': (d) => `“${d.typed}” is no number of grams with at most two decimals.`,
  'meal-units-missing': () => 'Type the units for at least one meal.',
  'scheduled-incomplete': () => 'A scheduled dose has a time and its units.',
  'insulin-not-chosen': () => 'Choose the insulin.',
  'limit-not-typed': (d) =>
    `“${d.typed}” is no amount in whole or half units. Leave it empty where the order prints no limit.`,
  'interval-not-read': (d) =>
    `Write the interval with its unit, such as “4 h” or “240 min”: “${d.typed}” could be either.`,
  'start-not-read': () => 'Give the date and time from which the order counts.',
  'stop-not-read': () => 'This is no date and time. Leave it empty where the order has no end.',
  'stop-in-past': () => 'This end has passed already: the order would never count.',
  'received-not-chosen': () => 'Choose how the order was received.',
  'read-back-missing': () => 'Read the order back to the prescriber, then tick this.',
}

/** Refusals of the forms themselves, about no single value. */
export type FormRefusal = 'stay-gone' | 'standard-ward-unknown' | 'only-shown' | 'order-too-long'

export const WRITE_SENTENCES: Sentences<WriteRefusal | FormRefusal> = {
  'stay-discharged': () => 'The patient has been discharged: no order is written any more.',
  'order-changed': () =>
    'Another version of this order has been written in the meantime. Open the order again and begin from that one.',
  'order-ended': () => 'This order was stopped. Write a new order instead.',
  'basal-order-beside': (d) =>
    `An order for ${d.insulin} by ${d.prescriber} (version ${String(d.version)}) runs at the same time. Ask the prescriber: does this one replace it, or is it in addition? Stop the other order first, or tick “in addition”.`,
  'order-overlaps': (d) =>
    `An order for ${d.insulin} by ${d.prescriber}, version ${d.version}, answers readings at the same time. With two at once no dose is worked out. Write a new version of that order, or stop it first.`,
  'stay-gone': () => 'This patient is not on a ward of yours any more.',
  'standard-ward-unknown': () => 'Choose a ward that you set up.',
  'only-shown': () => 'Shown beside the form. Nothing is stored yet.',
  'order-too-long': () =>
    'This order has more rows than the form can hold, so they are not filled in here. Copy them from the original.',
}

const PART_NAME: Readonly<Record<string, string>> = {
  From: 'from',
  To: 'to',
  Units: 'units',
  Call: 'no dose, call',
  Also: 'printed instruction',
  Time: 'time',
  HoldBelow: 'held below',
}
const FIELD_NAME: Readonly<Record<string, string>> = {
  insulin: 'Insulin',
  concentration: 'Concentration',
  correctionKind: 'Correction',
  target: 'Target',
  perUnit: 'Factor',
  mealKind: 'Meal part',
  mealBreakfast: 'Meal part before breakfast',
  mealLunch: 'Meal part before lunch',
  mealSupper: 'Meal part before supper',
  gramsPerUnit: 'Carbohydrate for each unit',
  bedtimeKind: 'At bedtime',
  notEatingKind: 'When not eating',
  maxSingleDose: 'Single-dose limit',
  interval: 'Interval between corrections',
  atBreakfast: 'Occasions',
  prescriber: 'Prescriber',
  received: 'Received',
  readBack: 'Read back',
  startsAt: 'Counts from',
  stopsAt: 'Until',
}

/** A field of the order form as its label names it: "Row 5, from", "Bedtime row 2, units". */
export function fieldName(field: string): string {
  const [, scale = '', kind = '', count = '', part = ''] =
    /^(bedtime|notEating)?(row|Row|answered|Answered|above|Above|scheduled)(\d*)([A-Z][A-Za-z]*)$/.exec(field) ?? []
  if (kind === '') return FIELD_NAME[field] ?? 'The form'
  const of = scale === 'bedtime' ? 'Bedtime: ' : scale === 'notEating' ? 'Not eating: ' : ''
  const which =
    {
      row: `row ${count}`,
      answered: `answer ${count}`,
      above: 'above the last row',
      scheduled: `scheduled dose ${count}`,
    }[kind.toLowerCase()] ?? kind
  const name = `${of}${which}, ${PART_NAME[part] ?? part}`
  return `${name.charAt(0).toUpperCase()}${name.slice(1)}`
}
