/**
 * What one ward setting is made of, and a maker for each kind of setting. The settings themselves are in settings.ts,
 * which says how to add one.
 */
import type { GlucoseUnit } from '../glucose/value.ts'
import { RANGE, type Range } from './ranges.ts'

/** A value as it stands in the policy: plain JSON. */
export type Setting = string | number | boolean | null | readonly Setting[] | { readonly [name: string]: Setting }

/** One choice. `value` is what a form sends, `stored` what the policy holds. */
export type Option<T extends Setting = Setting> = {
  readonly value: string
  readonly label: string
  readonly stored: T
}

export type FieldKind =
  /** Set when the ward is opened, and never again. */
  | { readonly kind: 'fixed' }
  /** HH:MM, ward-local. */
  | { readonly kind: 'time' }
  /** A number in a range (both ends in), in steps of `step`; `none` says in words what an empty field means, where it may be empty. */
  | {
      readonly kind: 'number'
      readonly unit: string
      readonly range: Range
      readonly step: Step
      readonly none: string | null
    }
  /** A limit in the ward's unit, which a meter can show. */
  | { readonly kind: 'limit' }
  /** A difference of two values, in the ward's unit. */
  | { readonly kind: 'difference'; readonly range: Range }
  | { readonly kind: 'yes-no' }
  | { readonly kind: 'text'; readonly most: number }
  | { readonly kind: 'one-of'; readonly options: readonly Option[] }
  /** Any of the options, in the options' order. */
  | { readonly kind: 'any-of'; readonly options: readonly Option[] }
  /** One shift a line: "07:00 Day". */
  | { readonly kind: 'shifts' }

type Step = 1 | 0.5 | 0.1

/** The page on which a setting is shown and changed, together with the settings that it is checked against. */
export type PartId =
  'unit' | 'limits' | 'meals' | 'windows' | 'low' | 'critical' | 'dose' | 'second-check' | 'fingers' | 'ward-day'

/** What every entry says, whatever its kind. */
type Words = {
  readonly part: PartId
  readonly label: string
  /** Where the default comes from, in words. A default without a published source says `OWN` or `PRACTICE`. */
  readonly source: string
  /** A change of it takes two administrators. */
  readonly touchesDose: boolean
  /** It exists only while another setting has this value. */
  readonly only?: { readonly name: string; readonly is: string }
}

/** One setting, with the type of its value. */
export type Entry<T extends Setting = Setting> = Words & {
  readonly kind: FieldKind
  /** Its value in a new ward of this unit; undefined: it has none (the ward's unit, or what another rule would need). */
  readonly byDefault: (unit: GlucoseUnit) => T | undefined
}

/** Settings that belong together, by name. */
export type Entries = { readonly [name: string]: Entry | Entries }

/** Entries whose values make one of several shapes: which of them exist depends on another of them (`only`). */
export type Variants<T> = Entries & { readonly [SHAPE]?: T }
declare const SHAPE: unique symbol

/** The policy that the entries describe: their values, by the same names. */
export type PolicyOf<E> =
  E extends Entry<infer T>
    ? T
    : E extends { readonly [SHAPE]?: infer T }
      ? T
      : { readonly [K in keyof E]: PolicyOf<E[K]> }

/** An entry with its path in the policy, "limits.low". */
export type PolicyField = Entry & { readonly name: string }

/** Every entry with its path, in the order in which they are written. */
export function fieldsOf(entries: Entries, path = ''): readonly PolicyField[] {
  return Object.entries(entries).flatMap(([step, inner]) => {
    const name = path === '' ? step : `${path}.${step}`
    return isEntry(inner) ? [{ ...inner, name }] : fieldsOf(inner, name)
  })
}

/** A label is a text in an entry; a group could only hold an entry of that name. */
export function isEntry(of: Entry | Entries): of is Entry {
  return typeof of.label === 'string'
}

/** For the source of a default that each ward decides. */
export const OWN = 'the ward’s own setting: no figure is published'
/** For the source of a default that is usual and not published. */
export const PRACTICE = 'common practice'

/** A default for each unit of glucose, counted as the policy counts it: mg/dL, or tenths of a mmol/L. */
type ByUnit = Readonly<Record<GlucoseUnit, number>>

/** Set when the ward is opened. */
export function fixed<T extends string>(words: Words): Entry<T> {
  return { ...words, kind: { kind: 'fixed' }, byDefault: () => undefined }
}

/** A ward-local time, HH:MM. */
export function time({ default: value, ...words }: Words & { readonly default: string }): Entry<string> {
  return { ...words, kind: { kind: 'time' }, byDefault: () => value }
}

type NumberWords = Words & {
  readonly unit: string
  readonly range: Range
  readonly step: Step
}

/** A number in a range, both ends in. */
export function number({
  default: value,
  unit,
  range,
  step,
  ...words
}: NumberWords & { readonly default: number | undefined }): Entry<number> {
  return { ...words, kind: { kind: 'number', unit, range, step, none: null }, byDefault: () => value }
}

/** A number in a range, or nothing: `none` says in words what nothing means. */
export function numberOrNone({
  default: value,
  unit,
  range,
  step,
  none,
  ...words
}: NumberWords & { readonly default: number | null; readonly none: string }): Entry<number | null> {
  return { ...words, kind: { kind: 'number', unit, range, step, none }, byDefault: () => value }
}

/** Whole minutes, 0 to 1440 unless said otherwise. */
export function minutes(words: Words & { readonly default: number; readonly range?: Range }): Entry<number> {
  return number({ range: RANGE.minutes, unit: 'min', step: 1, ...words })
}

/** Whole minutes from 1 on, or nothing. */
export function minutesOrNone(
  words: Words & { readonly default: number | null; readonly none: string },
): Entry<number | null> {
  return numberOrNone({ range: RANGE.minutesNotZero, unit: 'min', step: 1, ...words })
}

/** Grams of carbohydrate or dextrose, in tenths: an amount somebody is given. */
export function grams(words: Omit<Words, 'touchesDose'> & { readonly default: number | undefined }): Entry<number> {
  return number({ range: RANGE.grams, unit: 'g', step: 0.1, touchesDose: true, ...words })
}

/** A strength: grams in 100 mL, in tenths. */
export function percent(words: Omit<Words, 'touchesDose'> & { readonly default: number }): Entry<number> {
  return number({ range: RANGE.percent, unit: '%', step: 0.1, touchesDose: true, ...words })
}

/** How many times, 1 to 10. */
export function times(words: Words & { readonly default: number }): Entry<number> {
  return number({ range: RANGE.times, unit: 'times', step: 1, ...words })
}

/** A glucose limit in the ward's unit, which a meter can show. */
export function limit({ default: value, ...words }: Words & { readonly default: ByUnit }): Entry<number> {
  return { ...words, kind: { kind: 'limit' }, byDefault: (unit) => value[unit] }
}

/** A difference of two glucose values in the ward's unit. `range` is in the ward's count. */
export function difference({
  default: value,
  range,
  ...words
}: Words & { readonly default: ByUnit; readonly range: Range }): Entry<number> {
  return { ...words, kind: { kind: 'difference', range }, byDefault: (unit) => value[unit] }
}

export function yesNo({ default: value, ...words }: Words & { readonly default: boolean }): Entry<boolean> {
  return { ...words, kind: { kind: 'yes-no' }, byDefault: () => value }
}

/** A text of at most `most` characters, never empty. */
export function text({
  default: value,
  most,
  ...words
}: Words & { readonly default: string; readonly most: number }): Entry<string> {
  return { ...words, kind: { kind: 'text', most }, byDefault: () => value }
}

/** One of the options. */
export function oneOf<T extends Setting>({
  default: value,
  options,
  ...words
}: Words & { readonly default: T; readonly options: readonly Option<T>[] }): Entry<T> {
  return { ...words, kind: { kind: 'one-of', options }, byDefault: () => value }
}

/** Any of the options. */
export function anyOf<T extends Setting>({
  default: value,
  options,
  ...words
}: Words & { readonly default: readonly T[]; readonly options: readonly Option<T>[] }): Entry<readonly T[]> {
  return { ...words, kind: { kind: 'any-of', options }, byDefault: () => value }
}

/** One of a ward's shifts: from its start (HH:MM, ward-local) to the next one's. */
export type Shift = { readonly name: string; readonly starts: string }
export const SHIFTS_MOST = 6
export const SHIFT_NAME_MOST = 30

/** The ward's shifts in the order of the day. */
export function shifts({
  default: value,
  ...words
}: Words & { readonly default: readonly Shift[] }): Entry<readonly Shift[]> {
  return { ...words, kind: { kind: 'shifts' }, byDefault: () => value }
}
