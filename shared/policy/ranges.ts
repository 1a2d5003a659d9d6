/** The range of each kind of number in a ward policy, both ends in: the load file and the setup pages share them. */

export type Range = { readonly least: number; readonly most: number }

export const RANGE = {
  /** A day: no window, clock or interval of a ward is longer. */
  minutes: { least: 0, most: 1440 },
  minutesNotZero: { least: 1, most: 1440 },
  hours: { least: 1, most: 72 },
  /** Grams of carbohydrate or dextrose; no protocol gives more at once. */
  grams: { least: 1, most: 100 },
  /** Grams in 100 mL. */
  percent: { least: 5, most: 50 },
  glucagonMg: { least: 0.5, most: 2 },
  times: { least: 1, most: 10 },
  /** In the ward's count: mg/dL, or tenths of a mmol/L. */
  repeatAgrees: { least: 1, most: 100 },
  repeatAgreesPercent: { least: 1, most: 50 },
  /** Units of a single dose. Above what one pen or syringe holds, several injections are one dose. */
  singleDose: { least: 0.5, most: 200 },
  /** Units for each kilogram of body weight. */
  unitsPerKg: { least: 0.1, most: 10 },
  /** Grams of carbohydrate in one meal. */
  mealGrams: { least: 1, most: 999 },
} as const satisfies Readonly<Record<string, Range>>
