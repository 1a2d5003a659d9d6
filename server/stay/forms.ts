/** The form for a reading from paper. Every value arrives as text. */
import { z } from 'zod'
import { GLUCOSE, WRISTBAND } from '../bedside/fields.ts'

const TIME_MISSING = 'Type when it was taken, as in 07:05.'

export const PAPER_FORM = z.strictObject({
  wristband: WRISTBAND,
  glucose: GLUCOSE,
  takenAt: z.string({ error: TIME_MISSING }).trim().min(1, { error: TIME_MISSING }).max(30, { error: TIME_MISSING }),
  takenBy: z.string().trim().max(40, { error: 'A badge has at most 40 characters.' }).default(''),
  meterId: z.string().max(40, { error: 'Choose one of these.' }).default(''),
})
