/** Sentences about insulin orders: why rows make no scale, and why an order is not taken. */
import type { OrderRefusal } from '../../shared/order/validate.ts'
import type { RowsRefusal } from '../../shared/order/rows.ts'

type Details = Readonly<Record<string, string | number>>
const say = (details: Details, name: string): string => String(details[name] ?? '–')

/** Each names the value it is about, so that nobody has to search the order for it. */
export const ORDER_SENTENCES: Readonly<Record<RowsRefusal | OrderRefusal, (details: Details) => string>> = {
  'rows-missing': (d) => `A scale has between 1 and ${say(d, 'most')} rows.`,
  'row-bound-not-whole': (d) => `${say(d, 'value')} is no value that a row can begin or end with in ${say(d, 'unit')}.`,
  'row-upside-down': (d) => `The row from ${say(d, 'value')} to ${say(d, 'to')} ${say(d, 'unit')} ends before it begins.`,
  'rows-not-ascending': (d) => `The rows do not rise: look at ${say(d, 'value')} ${say(d, 'unit')}.`,
  'row-overlap': (d) => `${say(d, 'value')} ${say(d, 'unit')} is in two rows. Ask the prescriber which one it belongs to.`,
  'row-hole': (d) => `${say(d, 'value')} ${say(d, 'unit')} is in no row: the rows go from ${say(d, 'before')} to ${say(d, 'after')}. Ask the prescriber what it gets.`,
  'last-row-closed': (d) => `The order says nothing from ${say(d, 'value')} ${say(d, 'unit')} up. Ask the prescriber what applies above the last row.`,
  'after-last-not-needed': () => 'The last row is open upward, so nothing can come after it.',
  'answer-not-needed': (d) => `${say(d, 'value')} ${say(d, 'unit')} is in a row already, so no other answer can be given for it.`,
  'scale-empty': () => 'The scale has no step.',
  'scale-bound-not-whole': (d) => `${say(d, 'value')} is no value that a step can begin with in ${say(d, 'unit')}.`,
  'scale-not-ascending': (d) => `The steps do not rise: look at ${say(d, 'value')} ${say(d, 'unit')}.`,
  'scale-answer-not-units': (d) => `${say(d, 'answer')} at ${say(d, 'value')} ${say(d, 'unit')} is no dose in whole or half units.`,
  'scale-goes-down': (d) => `From ${say(d, 'value')} ${say(d, 'unit')} the answer goes down, from ${say(d, 'before')} to ${say(d, 'answer')} units, while glucose rises. Ask the prescriber.`,
  'scale-doses-below-low': (d) => `From ${say(d, 'value')} ${say(d, 'unit')} the scale gives ${say(d, 'answer')} units, below the ward's low limit of ${say(d, 'low')} ${say(d, 'unit')}. Ask the prescriber.`,
  'scale-above-limit': (d) => `From ${say(d, 'value')} ${say(d, 'unit')} the scale gives ${say(d, 'answer')} units, above the single-dose limit of ${say(d, 'limit')} units.`,
  'concentration-u500': () => 'U-500 is not taken: 0.15 mL of it is 75 units, and a syringe marked for U-100 would give five times the dose meant.',
  'concentration-not-u100': (d) => `Only U-100 is taken, not "${say(d, 'concentration')}".`,
  'order-unit-not-wards': (d) => `The order counts glucose in ${say(d, 'unit')}, the ward in ${say(d, 'wards')}. It has to be transcribed again from the original.`,
  'scale-unit-not-orders': (d) => `The scale counts in ${say(d, 'unit')}, its order in ${say(d, 'orders')}.`,
  'order-says-nothing': () => 'The order has no correction, no meal part and no scheduled dose.',
  'order-occasions-missing': () => 'The order does not say at which occasions it applies.',
  'order-occasion-repeated': (d) => `The occasion "${say(d, 'occasion')}" is listed twice.`,
  'insulin-not-for-meals-or-correction': (d) => `${say(d, 'insulin')} acts too slowly for a correction or a meal part. Only rapid or regular insulin answers a reading.`,
  'order-limit-not-units': (d) => `The order's single-dose limit, ${say(d, 'limit')}, is no amount in whole or half units above 0.`,
  'order-interval-not-minutes': (d) => `The interval between corrections, ${say(d, 'interval')}, is no whole number of minutes from 1 to 1440.`,
  'order-dates-crossed': () => 'The order stops before it starts.',
  'order-prescriber-missing': () => 'The order names no prescriber.',
  'factor-not-positive': (d) => `The correction factor ${say(d, 'value')} is no whole count above 0 in ${say(d, 'unit')}.`,
  'target-below-low': (d) => `The target ${say(d, 'value')} is below the ward's low limit of ${say(d, 'low')} ${say(d, 'unit')}, or no glucose at all.`,
  'meal-occasion-not-a-meal': (d) => `There is no meal at "${say(d, 'occasion')}", so no meal part either.`,
  'meal-occasion-not-ordered': (d) => `The meal part names "${say(d, 'occasion')}", which is not among the order's occasions.`,
  'meal-units-not-deliverable': (d) => `The meal part at "${say(d, 'occasion')}", ${say(d, 'units')} units, is no dose that the order's rounding can give.`,
  'meal-above-limit': (d) => `The meal part at "${say(d, 'occasion')}", ${say(d, 'units')} units, is above the single-dose limit of ${say(d, 'limit')} units.`,
  'meal-ratio-not-positive': (d) => `${say(d, 'grams')} g of carbohydrate for each unit is no ratio above 0 with at most two decimals.`,
  'meal-missing-for-share': () => 'The order gives a meal part after eating but names no meal part.',
  'bedtime-not-ordered': () => 'The order has a bedtime variant but does not apply at bedtime.',
  'bedtime-needs-scale': () => 'Only a correction by scale can have this bedtime variant.',
  'answer-finer-than-rounding': (d) => `${say(d, 'answer')} units at ${say(d, 'value')} ${say(d, 'unit')} is finer than the whole units the order rounds to.`,
  'scheduled-time-not-a-time': (d) => `"${say(d, 'time')}" is no time of day.`,
  'scheduled-time-repeated': (d) => `The time ${say(d, 'time')} is scheduled twice.`,
  'scheduled-units-not-deliverable': (d) => `The scheduled dose at ${say(d, 'time')}, ${say(d, 'units')} units, is no dose that the order's rounding can give.`,
  'scheduled-above-limit': (d) => `The scheduled dose at ${say(d, 'time')}, ${say(d, 'units')} units, is above the single-dose limit of ${say(d, 'limit')} units.`,
  'scheduled-hold-not-a-glucose': (d) => `The hold at ${say(d, 'time')}, below ${say(d, 'value')} ${say(d, 'unit')}, is no glucose, or lies below the ward's low limit.`,
}
