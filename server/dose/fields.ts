/** Form fields that several dose forms share. Every value arrives as text. */
import { z } from 'zod'
import { lineField } from '../bedside/fields.ts'

export const badgeField = z.string().trim().max(40, 'At most 40 characters.').optional()
export const pinField = z.string('Type your PIN.').min(1, 'Type your PIN.').max(20, 'At most 20 digits.')
export const wristbandField = lineField(40, 'Scan the wristband, or type its number.')

/** Units typed again above an asking limit; empty: not typed. */
export const unitsAgainField = z
  .string()
  .trim()
  .regex(/^(?:\d{1,3}|\d{1,3}\.5)?$/, 'Whole or half units without a trailing zero, such as 7 or 7.5.')
  .transform((text) => (text === '' ? undefined : Number(text)))
  .optional()
