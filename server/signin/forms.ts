/** What is typed at the door: badge and PIN, the ward and beds, the first administrator. */
import { z } from 'zod'
import { PIN_DIGITS } from '../http/pins.ts'

/** A badge as printed on its barcode. */
export const BADGE = z.string().trim().min(1, { error: 'Scan or type your badge.' }).max(40, { error: 'A badge has at most 40 characters.' })
const PIN = z.string().min(1, { error: 'Type your PIN.' }).max(64, { error: 'A PIN has at most 64 characters.' })

export const SIGN_IN_FORM = z.strictObject({
  badge: BADGE,
  pin: PIN,
  next: z.string().max(500, { error: 'The address to go to is too long.' }).default('/'),
  draft: z.string().max(16, { error: 'The address to go to is too long.' }).default(''),
})

const digits = `A PIN has ${String(PIN_DIGITS.least)} to ${String(PIN_DIGITS.most)} digits.`

export const FIRST_ADMINISTRATOR_FORM = z
  .strictObject({
    code: z.string().trim().min(1, { error: 'Type the code that the console shows.' }).max(60, { error: 'The code is shorter than this.' }),
    name: z.string().trim().min(1, { error: 'Type your name as it stands on your badge.' }).max(80, { error: 'A name has at most 80 characters.' }),
    badge: BADGE,
    pin: z.string().regex(new RegExp(`^\\d{${String(PIN_DIGITS.least)},${String(PIN_DIGITS.most)}}$`), { error: digits }).refine((pin) => !isEasy(pin), { error: 'This PIN is too easy to guess: not one digit again and again, and not digits in a row.' }),
    pinAgain: z.string().max(64, { error: digits }),
  })
  .refine((form) => form.pin === form.pinAgain, { error: 'The two PINs differ. Type the same PIN twice.', path: ['pinAgain'] })

/** One digit again and again, or digits that count up or down by one. */
function isEasy(pin: string): boolean {
  const steps = [...pin].slice(1).map((digit, at) => Number(digit) - Number(pin[at]))
  return steps.length > 0 && [0, 1, -1].some((step) => steps.every((one) => one === step))
}

/**
 * Ticked beds arrive as "bed.<ward>.<bed>" = "yes", the meter taken along as "meter-<ward>" (empty: none yet). Which
 * beds and meters there are is the ward's to say.
 */
export const WARD_FORM = z
  .object({ wardId: z.string({ error: 'Choose a ward.' }).min(1, { error: 'Choose a ward.' }).max(40, { error: 'Choose a ward.' }) })
  .catchall(z.string().max(40, { error: 'This is longer than it can be.' }))
  .superRefine((form, context) => {
    for (const [name, value] of Object.entries(form)) {
      if (name !== 'wardId' && !name.startsWith('meter-') && value !== 'yes') context.addIssue({ code: 'custom', path: [name], message: 'Tick the bed or leave it.' })
    }
  })
