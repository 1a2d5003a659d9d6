/** What correcting, voiding, calling and resolving send. Every value arrives as text. */
import { z } from 'zod'
import { GLUCOSE, NOTE, WRISTBAND } from '../bedside/fields.ts'

const REASON_MISSING = 'Say in a few words what was wrong.'
const REASON = z
  .string({ error: REASON_MISSING })
  .trim()
  .min(1, { error: REASON_MISSING })
  .max(500, { error: 'A reason has at most 500 characters.' })
/** A tick box: "yes" or not sent. */
const TICK = z
  .literal('yes', { error: 'Tick it or leave it.' })
  .optional()
  .transform((value) => value === 'yes')

export const CORRECT_FORM = z.strictObject({ wristband: WRISTBAND, glucose: GLUCOSE, reason: REASON })
export const VOID_FORM = z.strictObject({ reason: REASON })
export const CALL_FORM = z.strictObject({
  told: z
    .string({ error: 'Type who was told.' })
    .trim()
    .min(1, { error: 'Type who was told.' })
    .max(100, { error: 'A name has at most 100 characters.' }),
  readBack: TICK,
  ordered: z.string().trim().max(500, { error: 'At most 500 characters.' }).default(''),
})
export const FLAG_FORM = z.strictObject({ note: NOTE, closeLow: TICK })
