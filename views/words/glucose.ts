/** Why a typed glucose was not taken: one plain sentence each. */
import type { GlucoseRefusal } from '../../shared/glucose/value.ts'
import type { Sentences } from '../../shared/outcome.ts'

export const GLUCOSE_SENTENCES: Sentences<GlucoseRefusal> = {
  'glucose-missing': () => 'Type the value that the meter shows, or LO or HI.',
  'glucose-not-a-number': (d) => `Type digits as the meter shows them in ${d.unit}, or LO or HI.`,
  'glucose-needs-whole-number': (d) =>
    `The meter shows whole ${d.unit}. “${d.typed}” is not one: look at the meter again.`,
  'glucose-needs-decimal-point': (d) => `Type the decimal point too: “${d.typed}” could be ${pointGuesses(d.typed)}.`,
  'glucose-too-many-decimals': (d) =>
    `The meter shows one decimal in ${d.unit}. “${d.typed}” has more: look at the meter again.`,
  'glucose-looks-like-other-unit': (d) =>
    `This ward measures in ${d.unit}. “${d.typed}” looks like ${d.other}: use a meter of this ward. Nothing was stored.`,
  'glucose-not-plausible': (d) =>
    `A meter shows ${d.least} to ${d.most} ${d.unit}; beyond that it shows LO or HI. “${d.typed}” is not possible.`,
}

/** What a laboratory's report adds to them. */
export const REPORT_SENTENCES: Sentences<
  | 'laboratory-unusual'
  | 'glucose-needs-whole-number'
  | 'glucose-too-many-decimals'
  | 'glucose-not-a-number'
  | 'glucose-not-plausible'
  | 'glucose-missing'
> = {
  'glucose-missing': () => 'Type the value on the report, or LO or HI.',
  'glucose-not-a-number': (d) => `Type digits as the report prints them in ${d.unit}, or LO or HI.`,
  'glucose-needs-whole-number': (d) =>
    `A report in ${d.unit} is a whole number. “${d.typed}” is not one: check value and unit.`,
  'glucose-too-many-decimals': (d) => `Type one decimal in ${d.unit}. “${d.typed}” has more.`,
  'glucose-not-plausible': (d) => `Type ${d.least} to ${d.most} ${d.unit}. “${d.typed}” is not possible.`,
  'laboratory-unusual': (d) => `Read the report again: ${d.value}, not ${d.other}? If it is right, tick this.`,
}

/** "28" on a mmol/L ward: 2.8 or 28.0. */
function pointGuesses(typed: string): string {
  return typed.length < 2 ? `${typed}.0, or something else` : `${typed.slice(0, -1)}.${typed.slice(-1)} or ${typed}.0`
}
