/** What the descriptors of policy settings are built from: the part, the common kinds, the words for common sources. */
import type { PolicyField } from './field.ts'
import { RANGE, type Range } from './ranges.ts'

export type PartId =
  'unit' | 'limits' | 'meals' | 'windows' | 'low' | 'critical' | 'dose' | 'second-check' | 'fingers' | 'ward-day'

/** Settings that are shown, changed and checked together. */
export type Part = {
  readonly id: PartId
  readonly title: string
  readonly about: string
  readonly fields: readonly PolicyField[]
}

export const OWN = 'the ward’s own setting: no figure is published'
export const PRACTICE = 'common practice'

/** Whole minutes, 0 to 1440 unless said otherwise. */
export function minutes(
  name: string,
  label: string,
  source: string,
  touchesDose: boolean,
  { range = RANGE.minutes, none = null }: { readonly range?: Range; readonly none?: string | null } = {},
): PolicyField {
  return { name, label, kind: { kind: 'number', unit: 'min', range, step: 1, none }, source, touchesDose }
}

/** Grams of carbohydrate or dextrose: an amount somebody is given. */
export function grams(name: string, label: string, source: string): PolicyField {
  return {
    name,
    label,
    kind: { kind: 'number', unit: 'g', range: RANGE.grams, step: 0.1, none: null },
    source,
    touchesDose: true,
  }
}

/** Yes or no, where the answer touches a dose. */
export function yesNo(name: string, label: string, source: string): PolicyField {
  return { name, label, kind: { kind: 'yes-no' }, source, touchesDose: true }
}

/** A ward-local time, HH:MM. */
export function time(name: string, label: string, source: string, touchesDose: boolean): PolicyField {
  return { name, label, kind: { kind: 'time' }, source, touchesDose }
}

/** A glucose limit in the ward's unit. */
export function limit(name: string, label: string, source: string): PolicyField {
  return { name, label, kind: { kind: 'limit' }, source, touchesDose: true }
}
