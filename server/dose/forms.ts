/** The fields of the dose forms: shapes and lengths, with the sentence beside each field. What they mean is decided in shared/. */
import { z } from 'zod'
import { INJECTION_SITES } from '../../shared/dose/injection-site.ts'
import { isCalendarDate } from '../../shared/time/zone.ts'
import { insulinField, INSULINS, lineField, unitsField, whenField } from '../bedside/fields.ts'

export const badgeField = z.string().trim().max(40, 'At most 40 characters.').optional()
export const pinField = z.string('Type your PIN.').min(1, 'Type your PIN.').max(20, 'At most 20 digits.')
export const wristbandField = lineField(40, 'Scan the wristband, or type its number.')
const glucoseField = z.string().trim().max(12, 'At most 12 characters.').optional()

const grams = z
  .string()
  .trim()
  .regex(/^(?:\d{1,3}(?:\.\d)?)?$/, 'Grams as a number, at most 999.')
  .transform((text) => (text === '' ? null : Number(text)))
  .optional()

export const ProposeForm = z.strictObject({
  willEat: z.enum(['yes', 'no', 'unsure'], 'Ask the patient, then choose.').optional(),
  grams,
  share: z.enum(['not-yet', '0', '25', '50', '75', '100'], 'Choose the share eaten.').optional(),
  tray: z.enum(['here', 'expected'], 'Is the tray here?').optional(),
  elsewhere: z.enum(['none', 'given'], 'Ask, then choose.').optional(),
})
export type ProposeFields = z.output<typeof ProposeForm>

export const ScheduledForm = z.strictObject({ elsewhere: z.enum(['none', 'given'], 'Ask, then choose.').optional() })
export type ScheduledFields = z.output<typeof ScheduledForm>

export const DirectionForm = z.strictObject({
  prescriber: lineField(80, 'Who gave the direction?'),
  insulin: z.enum(INSULINS, 'Choose the insulin that was directed.'),
  units: unitsField,
  why: lineField(200, 'Why is it given?'),
  readBack: z.literal('yes', 'Read the direction back to the prescriber, then tick this.').optional(),
  slot: z
    .string()
    .regex(/^(?:\d{4}-\d{2}-\d{2}\.\d{4})?$/, 'No such scheduled time.')
    .optional(),
})
export type DirectionFields = z.output<typeof DirectionForm>

export const SecondCheckForm = z.strictObject({
  badge: badgeField,
  pin: pinField,
  glucose: glucoseField,
  units: unitsField,
})
export type SecondCheckFields = z.output<typeof SecondCheckForm>

export const StartAgainForm = z.strictObject({ glucose: glucoseField })
export type StartAgainFields = z.output<typeof StartAgainForm>

export const ProductForm = z.strictObject({
  insulin: insulinField,
  concentration: z.enum(['U-100', 'U-200', 'U-300', 'U-500'], 'Choose the concentration on the label.'),
  expiresOn: z
    .string('Read the date off the label.')
    .trim()
    .refine(isCalendarDate, 'A date of the calendar, year-month-day.'),
  units: unitsField,
  wristband: wristbandField,
  badge: badgeField,
  pin: pinField,
})
export type ProductFields = z.output<typeof ProductForm>

export const SITE_VALUES = INJECTION_SITES.map((site) => `${site.side}.${site.area}`) as [string, ...string[]]

export const GiveForm = z.strictObject({
  wristband: wristbandField,
  food: z.enum(['tray-here', 'tray-coming', 'not-with-a-meal'], 'Is food here or coming?').optional(),
  trayInMin: z
    .string()
    .trim()
    .regex(/^\d{0,3}$/, 'Whole minutes.')
    .transform((text) => (text === '' ? null : Number(text)))
    .optional(),
  willEat: z.enum(['yes', 'no'], 'Ask the patient, then choose.').optional(),
  site: z.enum(SITE_VALUES, 'Choose the body site.'),
  at: whenField,
})
export type GiveFields = z.output<typeof GiveForm>

export const NotGivenForm = z.strictObject({
  kind: z.enum(['withheld', 'refused'], 'Withheld, or refused by the patient?'),
  reason: lineField(200, 'Say why it was not given.'),
})
export type NotGivenFields = z.output<typeof NotGivenForm>
