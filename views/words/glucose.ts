/** Why a typed glucose was not taken: one plain sentence each. */
import type { GlucoseRefusal } from '../../shared/glucose/value.ts'

type Details = Readonly<Record<string, string | number>>

const text = (details: Details, name: string): string => String(details[name] ?? '–')

export const GLUCOSE_SENTENCES: Readonly<Record<GlucoseRefusal, (details: Details) => string>> = {
  'glucose-missing': () => 'Type the value that the meter shows, or LO or HI.',
  'glucose-not-a-number': (d) => `Type digits as the meter shows them in ${text(d, 'unit')}, or LO or HI.`,
  'glucose-needs-whole-number': (d) =>
    `The meter shows whole ${text(d, 'unit')}. “${text(d, 'typed')}” is not one: look at the meter again.`,
  'glucose-needs-decimal-point': (d) =>
    `Type the decimal point too: “${text(d, 'typed')}” could be ${pointGuesses(text(d, 'typed'))}.`,
  'glucose-too-many-decimals': (d) =>
    `The meter shows one decimal in ${text(d, 'unit')}. “${text(d, 'typed')}” has more: look at the meter again.`,
  'glucose-looks-like-other-unit': (d) =>
    `This ward measures in ${text(d, 'unit')}. “${text(d, 'typed')}” looks like ${text(d, 'other')}: use a meter of this ward. Nothing was stored.`,
  'glucose-not-plausible': (d) =>
    `A meter shows ${text(d, 'least')} to ${text(d, 'most')} ${text(d, 'unit')}; beyond that it shows LO or HI. “${text(d, 'typed')}” is not possible.`,
}

/** "28" on a mmol/L ward: 2.8 or 28.0. */
function pointGuesses(typed: string): string {
  return typed.length < 2 ? `${typed}.0, or something else` : `${typed.slice(0, -1)}.${typed.slice(-1)} or ${typed}.0`
}
