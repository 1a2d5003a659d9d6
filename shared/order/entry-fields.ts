/** Names of the order form's fields: flat, so that a refusal can name the one it stands beside. */
import type { Occasion } from '../check/check.ts'

/** What was typed, by field. A field that is not there is empty. */
export type Typed = Readonly<Partial<Record<string, string>>>

/** As many as the form takes: a printed scale, with the prescriber's answers as rows of their own when it is revised. Rows may stay empty. */
export const MOST_ROWS = 18
/** Drawn at first: as many as a paper order prints. */
export const SHOWN_ROWS = 12
export const MOST_ANSWERED = 4
export const MOST_SCHEDULED = 6

/** The three scales that an order may print. */
export type ScaleName = 'correction' | 'bedtime' | 'notEating'
export const SCALE_NAMES: readonly ScaleName[] = ['correction', 'bedtime', 'notEating']

/** The field of a scale at a place: "row2From", "bedtimeRow2From", "notEatingAboveUnits". */
export function scaleField(scale: ScaleName, place: string): string {
  return scale === 'correction' ? place : `${scale}${place.charAt(0).toUpperCase()}${place.slice(1)}`
}

export const ROW_PARTS = ['From', 'To', 'Units', 'Call', 'Also'] as const
export const ANSWERED_PARTS = ['From', 'To', 'Units', 'Call'] as const
export const SCHEDULED_PARTS = ['Time', 'Units', 'HoldBelow'] as const

export const OCCASION_FIELD: Readonly<Record<Occasion, string>> = {
  'before-breakfast': 'atBreakfast',
  'before-lunch': 'atLunch',
  'before-supper': 'atSupper',
  bedtime: 'atBedtime',
  overnight: 'atOvernight',
}
/** Units of the meal part; there is no meal at bedtime and overnight. */
export const MEAL_FIELD: Readonly<Partial<Record<Occasion, string>>> = {
  'before-breakfast': 'mealBreakfast',
  'before-lunch': 'mealLunch',
  'before-supper': 'mealSupper',
}

/** Every place of one scale, "row1From" to "aboveCall". */
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
