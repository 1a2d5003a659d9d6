/** Form fields that several forms of a low share. Every value arrives as text. */
import { z } from 'zod'

export const NAME_MOST = { error: 'A name has at most 100 characters.' }
export const TEXT_MOST = { error: 'At most 200 characters.' }
export const LONG_MOST = { error: 'At most 500 characters.' }

export const TICK = z
  .literal('yes', { error: 'Tick it or leave it.' })
  .optional()
  .transform((value) => value === 'yes')
export const TIME = z.string().trim().max(30, { error: 'Type the time as hours and minutes, as in 03:05.' }).default('')
export const TOLD = z
  .string({ error: 'Type who was told.' })
  .trim()
  .min(1, { error: 'Type who was told.' })
  .max(100, NAME_MOST)
export const ORDERED = z.string().trim().max(500, LONG_MOST).default('')
