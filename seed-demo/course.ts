/** How a patient's glucose changes over the week. The walk is plausible; it models no real patient. */
import type { Occasion } from '../shared/check/check.ts'
import type { Glucose, GlucoseUnit } from '../shared/glucose/value.ts'
import type { GlucosePattern } from './patients.ts'
import type { RandomSource } from './random.ts'

/** mg/dL per mmol/L, from glucose's molar mass of 180.156 g/mol. */
const MG_PER_MMOL = 18.0156
const BY_OCCASION: Readonly<Record<Occasion, number>> = {
  'before-breakfast': -10,
  'before-lunch': 6,
  'before-supper': 4,
  bedtime: 12,
  overnight: -14,
}
/** Checks a week of a patient on meal and bedtime checks. */
const CHECKS_A_WEEK = 28

export type Course = {
  /** The next value. With `mayBeLow` false it stays above the low limit. */
  readonly next: (occasion: Occasion, mayBeLow: boolean) => Glucose
  /** A value above `before`, as after fast carbohydrate: usually 25 to 50 mg/dL higher. */
  readonly after: (before: Glucose) => Glucose
  /** A value between the two, in mg/dL. */
  readonly between: (least: number, most: number) => Glucose
}

export function courseOf(glucosePattern: GlucosePattern, unit: GlucoseUnit, random: RandomSource): Course {
  let drift = random.noise()
  const shown = (mgPerDl: number): Glucose => ({
    unit,
    value: Math.round(unit === 'mg/dL' ? mgPerDl : (mgPerDl / MG_PER_MMOL) * 10),
  })
  const between = (least: number, most: number): Glucose => shown(random.integer(least, most))
  return {
    next: (occasion, mayBeLow) => {
      drift = 0.6 * drift + 0.5 * random.noise()
      if (mayBeLow && random.withProbability(glucosePattern.lowsAWeek / CHECKS_A_WEEK)) return between(46, 68)
      const value = glucosePattern.mean + BY_OCCASION[occasion] + glucosePattern.swing * (drift + 0.45 * random.noise())
      return shown(Math.min(390, Math.max(78, value)))
    },
    after: ({ value }) => {
      const mgPerDl = typeof value !== 'number' ? 50 : unit === 'mg/dL' ? value : (value / 10) * MG_PER_MMOL
      return shown(mgPerDl + random.integer(22, 48))
    },
    between,
  }
}
