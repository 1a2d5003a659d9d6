/**
 * Form fields that several areas share: wristband, glucose, insulin, units, time and note. Every value arrives as text.
 */
import { z } from 'zod'
import type { GlucoseRefusal } from '../../shared/glucose/value.ts'
import { INSULIN_CLASS, type InsulinName } from '../../shared/order/order.ts'

const WRISTBAND_MISSING = 'Scan the wristband, or type its number.'
export const WRISTBAND = z
  .string({ error: WRISTBAND_MISSING })
  .trim()
  .min(1, { error: WRISTBAND_MISSING })
  .max(40, { error: 'A wristband number has at most 40 characters.' })

const GLUCOSE_MISSING = 'Type the value that the meter shows, or LO or HI.'
export const GLUCOSE = z
  .string({ error: GLUCOSE_MISSING })
  .trim()
  .min(1, { error: GLUCOSE_MISSING })
  .max(10, { error: 'A meter shows at most five characters.' })

/** Every glucose error is shown beside the glucose field. */
export const GLUCOSE_FIELD: Readonly<Record<GlucoseRefusal, 'glucose'>> = {
  'glucose-missing': 'glucose',
  'glucose-not-a-number': 'glucose',
  'glucose-needs-whole-number': 'glucose',
  'glucose-needs-decimal-point': 'glucose',
  'glucose-too-many-decimals': 'glucose',
  'glucose-looks-like-other-unit': 'glucose',
  'glucose-not-plausible': 'glucose',
}

export const NOTE = z.string().trim().max(500, { error: 'A note has at most 500 characters.' }).default('')

export const INSULINS = Object.keys(INSULIN_CLASS) as [InsulinName, ...InsulinName[]]
/** The share of a meal that was eaten, in percent. */
export type Share = 0 | 25 | 50 | 75 | 100

/** A required line of text, at most `most` characters long. */
export const lineField = (most: number, missing: string) =>
  z
    .string(missing)
    .trim()
    .min(1, missing)
    .max(most, `At most ${String(most)} characters.`)

/** Whole or half units. A trailing zero is refused, because "1.0" has been read as 10. */
export const unitsField = z
  .string('How many units?')
  .trim()
  .regex(/^(?:\d{1,3}|\d{1,3}\.5)$/, 'Whole or half units without a trailing zero, such as 7 or 7.5.')
  .transform(Number)

export const insulinField = z.enum(INSULINS, 'Choose the insulin on the label.')
export const whenField = lineField(25, 'Give the date and time.')
