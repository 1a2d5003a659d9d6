/** Field names of the order form. They are flat, so that a refusal can name its field. */
import type { Occasion } from '../check/check.ts'

/** Typed values by field. A missing field is empty. */
export type Typed = Readonly<Partial<Record<string, string>>>

/**
 * Most rows that the form takes: a printed scale, and on revision the prescriber's answers as rows of their own. Rows
 * may stay empty.
 */
export const MOST_ROWS = 18
/** Rows shown at first: as many as a paper order prints. */
export const SHOWN_ROWS = 12
export const MOST_ANSWERED = 4
export const MOST_SCHEDULED = 6

/** The three scales that an order may print. */
export type ScaleName = 'correction' | 'bedtime' | 'notEating'
export const SCALE_NAMES: readonly ScaleName[] = ['correction', 'bedtime', 'notEating']

/** The field name of a place in a scale: "row2From", "bedtimeRow2From", "notEatingAboveUnits". */
export function scaleField(scale: ScaleName, place: string): string {
  return scale === 'correction' ? place : `${scale}${place.charAt(0).toUpperCase()}${place.slice(1)}`
}

export const ROW_PARTS = ['From', 'To', 'Units', 'Call', 'Also', 'Repeat'] as const
export const ANSWERED_PARTS = ['From', 'To', 'Units', 'Call'] as const
export const SCHEDULED_PARTS = ['Time', 'Units', 'HoldBelow'] as const

export const OCCASION_FIELD: Readonly<Record<Occasion, string>> = {
  'before-breakfast': 'atBreakfast',
  'before-lunch': 'atLunch',
  'before-supper': 'atSupper',
  bedtime: 'atBedtime',
  overnight: 'atOvernight',
}
/** Fields for the meal part's units. Bedtime and overnight have no meal. */
export const MEAL_FIELD: Readonly<Partial<Record<Occasion, string>>> = {
  'before-breakfast': 'mealBreakfast',
  'before-lunch': 'mealLunch',
  'before-supper': 'mealSupper',
}

/** Every place of one scale, from "row1From" to "aboveCall". */
export function placesOfScale(): readonly string[] {
  const counted = (name: string, most: number, parts: readonly string[]): readonly string[] =>
    Array.from({ length: most }, (_, index) => parts.map((part) => `${name}${String(index + 1)}${part}`)).flat()
  return [
    ...counted('row', MOST_ROWS, ROW_PARTS),
    ...counted('answered', MOST_ANSWERED, ANSWERED_PARTS),
    'aboveUnits',
    'aboveCall',
  ]
}

/** "scheduled1Time" and so on. */
export function scheduledField(index: number, part: (typeof SCHEDULED_PARTS)[number]): string {
  return `scheduled${String(index + 1)}${part}`
}
