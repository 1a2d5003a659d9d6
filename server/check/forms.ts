/** What a check, its wristband step and its excuse send. Every value arrives as text. */
import { z } from 'zod'
import { EXCUSE_REASONS, MISSED_REASONS } from '../../shared/reading/excuse.ts'
import type { ExtraReason, Finger, LateEntryReason } from '../../shared/reading/reading.ts'
import type { Hand } from '../../shared/stay/stay.ts'
import { EXTRA_REASON, LATE_REASON } from '../../views/words/reading.ts'
import { WRISTBAND, GLUCOSE, NOTE } from '../bedside/fields.ts'

const HANDS: readonly Hand[] = ['left', 'right']
const FINGERS: readonly Finger[] = ['index', 'middle', 'ring', 'little']

/** Every finger that can be chosen, as the form sends it: "left-middle". */
export const FINGER_VALUES: readonly string[] = FINGERS.flatMap((finger) => HANDS.map((hand) => `${hand}-${finger}`))

export const LATE_REASONS = Object.keys(LATE_REASON) as readonly LateEntryReason[]
/** after-closing is charted by the rule itself, never chosen. */
export const EXTRA_REASONS = (Object.keys(EXTRA_REASON) as readonly ExtraReason[]).filter(
  (reason) => reason !== 'after-closing',
)

export const TAKEN_AT = z
  .string()
  .trim()
  .max(30, { error: 'Type the time as hours and minutes, as in 07:05.' })
  .default('')

/** A choice that may be left out: empty means none. */
function optional<T extends string>(values: readonly T[]): z.ZodType<T | null> {
  const chosen = (text: string): T | undefined => values.find((value) => value === text)
  return z
    .string()
    .default('')
    .refine((text) => text === '' || chosen(text) !== undefined, { error: 'Choose one of these.' })
    .transform((text) => chosen(text) ?? null)
}

export const CONFIRM_FORM = z.strictObject({ wristband: WRISTBAND })

export const CHECK_FORM = z.strictObject({
  wristband: WRISTBAND,
  glucose: GLUCOSE,
  finger: z.enum(FINGER_VALUES, { error: 'Choose the finger.' }),
  meterId: z
    .string({ error: 'Choose the meter that was used.' })
    .min(1, { error: 'Choose the meter that was used.' })
    .max(40, { error: 'Choose the meter that was used.' }),
  stripLot: z.string().trim().max(40, { error: 'A strip lot has at most 40 characters.' }).default(''),
  takenAt: TAKEN_AT,
  lateReason: optional(LATE_REASONS),
  extraReason: optional(EXTRA_REASONS),
})

export const EXCUSE_FORM = z.strictObject({
  reason: z.enum([...new Set([...EXCUSE_REASONS, ...MISSED_REASONS])], { error: 'Choose a reason.' }),
  note: NOTE,
})
