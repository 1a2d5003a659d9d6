/** The forms of the pages about people. Every value arrives as text. */
import { z } from 'zod'
import { ROLES } from '../../shared/staff/person.ts'
import { isCalendarDate } from '../../shared/time/zone.ts'

const NAME = z
  .string({ error: 'Type the name as it stands on the badge.' })
  .trim()
  .min(1, { error: 'Type the name as it stands on the badge.' })
  .max(80, { error: 'A name has at most 80 characters.' })
/** As printed in its barcode. */
const BADGE = z
  .string({ error: 'Scan or type the badge.' })
  .trim()
  .min(1, { error: 'Scan or type the badge.' })
  .max(40, { error: 'A badge has at most 40 characters.' })
const ROLE = z.enum(ROLES, { error: 'Choose a role.' })
/** An empty date means none. */
const UNTIL = z
  .string()
  .trim()
  .max(10, { error: 'Give a date of the calendar, or none.' })
  .default('')
  .refine((text) => text === '' || isCalendarDate(text), { error: 'Give a date of the calendar, or none.' })
  .transform((text) => (text === '' ? null : text))

/** A ticked ward arrives as "ward.<wardId>" = "yes". */
export function wardField(wardId: string): string {
  return `ward.${wardId}`
}

const WARD_FIELD = /^ward\.([a-z0-9]{1,40})$/

function checkTicks(form: Readonly<Record<string, unknown>>, context: z.RefinementCtx, named: readonly string[]): void {
  for (const [name, value] of Object.entries(form)) {
    if (named.includes(name)) continue
    if (!WARD_FIELD.test(name) || value !== 'yes')
      context.addIssue({ code: 'custom', path: [name], message: 'Tick the ward or leave it.' })
  }
}

function tickedWards(form: Readonly<Record<string, unknown>>): readonly string[] {
  return Object.keys(form).flatMap((name) => WARD_FIELD.exec(name)?.[1] ?? [])
}

const TICKS = z.string().max(10, { error: 'Tick the ward or leave it.' })

export const ROLE_FORM = z
  .object({ name: NAME, role: ROLE })
  .catchall(TICKS)
  .superRefine((form, context) => {
    checkTicks(form, context, ['name', 'role'])
  })
  .transform((form) => ({ name: form.name, role: form.role, wardIds: tickedWards(form) }))

export const NEW_PERSON_FORM = z
  .object({ name: NAME, role: ROLE, trainingUntil: UNTIL, badge: BADGE })
  .catchall(TICKS)
  .superRefine((form, context) => {
    checkTicks(form, context, ['name', 'role', 'trainingUntil', 'badge'])
  })
  .transform((form) => ({
    name: form.name,
    role: form.role,
    badge: form.badge,
    trainingUntil: form.trainingUntil,
    wardIds: tickedWards(form),
  }))

export const BADGE_FORM = z.strictObject({ badge: BADGE })
export const LOCK_FORM = z.strictObject({
  reason: z
    .string({ error: 'Type the reason.' })
    .trim()
    .min(1, { error: 'Type the reason.' })
    .max(200, { error: 'At most 200 characters.' }),
})
export const TRAINING_FORM = z.strictObject({ until: UNTIL })
export const LEAVE_FORM = z.strictObject({
  gone: z.literal('yes', { error: 'Tick that the person no longer works here.' }),
})
/** A form with only a button. */
export const BUTTON_FORM = z.strictObject({})
