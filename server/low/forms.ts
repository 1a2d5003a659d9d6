/** What the low pages send. Every value arrives as text. */
import { z } from 'zod'
import { LOW_CAUSES } from '../../shared/low/close.ts'
import type { InsulinDecision, LevelThree, LowArm, Swallowing } from '../../shared/low/low.ts'

const NAME_MOST = { error: 'A name has at most 100 characters.' }
const TEXT_MOST = { error: 'At most 200 characters.' }
const LONG_MOST = { error: 'At most 500 characters.' }

const TICK = z
  .literal('yes', { error: 'Tick it or leave it.' })
  .optional()
  .transform((value) => value === 'yes')
const TIME = z.string().trim().max(30, { error: 'Type the time as hours and minutes, as in 03:05.' }).default('')
const TOLD = z
  .string({ error: 'Type who was told.' })
  .trim()
  .min(1, { error: 'Type who was told.' })
  .max(100, NAME_MOST)
const ORDERED = z.string().trim().max(500, LONG_MOST).default('')

const SWALLOWING: readonly Swallowing[] = ['safely', 'not-safely', 'unresponsive']
const ARMS: readonly LowArm[] = ['by-mouth', 'by-tube', 'iv-dextrose', 'glucagon', 'by-direction']
const FINDINGS: readonly LevelThree[] = ['unresponsive-or-seizing', 'confused-needs-help']
const DECISIONS: readonly InsulinDecision[] = ['as-ordered', 'changed', 'hold']

export const ANSWERS_FORM = z.strictObject({
  swallowing: z.enum(SWALLOWING, { error: 'Look, then choose: awake and swallowing now?' }),
  iv: z.enum(['working', 'none'], { error: 'Look, then choose: IV working now?' }),
  tube: z.enum(['usable', 'not-usable'], { error: 'Look, then choose: can the tube be used now?' }).optional(),
})

export const TREATMENT_FORM = z.strictObject({
  /** The arm and amount that the page showed; left out when something else was given. */
  shown: z.string().max(60, TEXT_MOST).optional(),
  arm: z.enum(ARMS, { error: 'Choose how it was given.' }),
  what: z.string().trim().max(200, TEXT_MOST).default(''),
  directedBy: z.string().trim().max(100, NAME_MOST).default(''),
  readBack: TICK,
  at: TIME,
})

export const FINDING_FORM = z.strictObject({ finding: z.enum(FINDINGS, { error: 'Choose what was found.' }) })

/** The button itself is the whole message; the field keeps a stray post from counting as a call. */
export const EMERGENCY_FORM = z.strictObject({
  called: z.literal('yes', { error: 'Press the button when the call was made.' }),
})

export const TOLD_FORM = z.strictObject({ told: TOLD, readBack: TICK, ordered: ORDERED, at: TIME })

const GRAMS_WRONG = { error: 'Type the grams of carbohydrate, from 1 to 100.' }
export const FOOD_FORM = z.strictObject({
  grams: z
    .string(GRAMS_WRONG)
    .trim()
    .regex(/^\d{1,3}$/, GRAMS_WRONG)
    .transform(Number),
  what: z.string().trim().max(200, TEXT_MOST).default(''),
  at: TIME,
})

export const INSULIN_FORM = z.strictObject({
  decision: z.enum(DECISIONS, { error: 'Choose what the prescriber said.' }),
  told: TOLD,
  readBack: TICK,
  ordered: ORDERED,
})

export const CLOSE_FORM = z.strictObject({
  cause: z.enum(LOW_CAUSES, { error: 'Choose the likely cause.' }),
  note: z.string().trim().max(500, LONG_MOST).default(''),
})
