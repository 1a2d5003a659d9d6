/** What is typed at the door: badge and PIN, a new PIN, the ward and beds, the first administrator. */
import { z } from 'zod'
import { pinFault, readPinCode } from '../../shared/staff/pin.ts'
import { PIN_SENTENCES, PINS_DIFFER, SET_PIN_SENTENCES } from '../../views/words/people.ts'

/** A badge as printed on its barcode. */
export const BADGE = z
  .string()
  .trim()
  .min(1, { error: 'Scan or type your badge.' })
  .max(40, { error: 'A badge has at most 40 characters.' })
const PIN = z.string().min(1, { error: 'Type your PIN.' }).max(64, { error: 'A PIN has at most 64 characters.' })

export const SIGN_IN_FORM = z.strictObject({
  badge: BADGE,
  pin: PIN,
  next: z.string().max(500, { error: 'The address to go to is too long.' }).default('/'),
  draft: z.string().max(16, { error: 'The address to go to is too long.' }).default(''),
})

/** A new PIN typed twice; what is wrong with it stands beside the first, a difference beside the second. */
const NEW_PIN = z.string().max(64, { error: PIN_SENTENCES['pin-not-digits'] }).default('')

function checkNewPin(
  form: { readonly badge: string; readonly pin: string; readonly pinAgain: string },
  context: z.RefinementCtx,
): void {
  const fault = pinFault(form.pin, form.badge)
  if (fault !== null) context.addIssue({ code: 'custom', path: ['pin'], message: PIN_SENTENCES[fault] })
  if (form.pin !== form.pinAgain) context.addIssue({ code: 'custom', path: ['pinAgain'], message: PINS_DIFFER })
}

export const FIRST_ADMINISTRATOR_FORM = z
  .strictObject({
    code: z
      .string()
      .trim()
      .min(1, { error: 'Type the code that the console shows.' })
      .max(60, { error: 'The code is shorter than this.' }),
    name: z
      .string()
      .trim()
      .min(1, { error: 'Type your name as it stands on your badge.' })
      .max(80, { error: 'A name has at most 80 characters.' }),
    badge: BADGE,
    pin: NEW_PIN,
    pinAgain: NEW_PIN,
  })
  .superRefine(checkNewPin)

export const SET_PIN_FORM = z
  .strictObject({
    badge: BADGE,
    code: z
      .string()
      .max(64, { error: SET_PIN_SENTENCES['code-not-read'] })
      .transform((typed, context) => {
        const code = readPinCode(typed)
        if (code === null) context.addIssue({ code: 'custom', message: SET_PIN_SENTENCES['code-not-read'] })
        return code ?? ''
      }),
    pin: NEW_PIN,
    pinAgain: NEW_PIN,
  })
  .superRefine(checkNewPin)

/** Which digits a new PIN may have is for the decision, which knows the badge. */
export const OWN_PIN_FORM = z
  .strictObject({ oldPin: PIN, pin: NEW_PIN, pinAgain: NEW_PIN })
  .refine((form) => form.pin === form.pinAgain, { error: PINS_DIFFER, path: ['pinAgain'] })

/**
 * Ticked beds arrive as "bed.<ward>.<bed>" = "yes", the meter taken along as "meter-<ward>" (empty: none yet). Which
 * beds and meters there are is the ward's to say.
 */
export const WARD_FORM = z
  .object({
    wardId: z
      .string({ error: 'Choose a ward.' })
      .min(1, { error: 'Choose a ward.' })
      .max(40, { error: 'Choose a ward.' }),
  })
  .catchall(z.string().max(40, { error: 'This is longer than it can be.' }))
  .superRefine((form, context) => {
    for (const [name, value] of Object.entries(form)) {
      if (name !== 'wardId' && !name.startsWith('meter-') && value !== 'yes')
        context.addIssue({ code: 'custom', path: [name], message: 'Tick the bed or leave it.' })
    }
  })
