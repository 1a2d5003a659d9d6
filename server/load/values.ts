/** The plain values of a load file, each with the sentence that says how it is written. */
import { z } from 'zod'

export const text = (most: number) =>
  z.string('Write this as text.').trim().min(1, 'This must not be empty.').max(most, `At most ${most} characters.`)

export const time = z
  .string('Write a time as "HH:MM".')
  .regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'Write a time as "HH:MM", 00:00 to 23:59.')

export const yesOrNo = z.boolean('Write true or false.')
