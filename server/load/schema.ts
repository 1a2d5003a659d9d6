/**
 * The load file: what a ward needs before its first round, as JSON. Strict: a field that is not named here is a fault.
 * This file checks shapes and says what is wrong with each field; whether the whole can be true is for decide.ts.
 * Dates are YYYY-MM-DD, times HH:MM, instants YYYY-MM-DDTHH:MM on the ward's own clock. The README shows the format.
 */
import { z } from 'zod'
import { OCCASIONS } from '../../shared/check/check.ts'
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import { INSULIN_CLASS, type InsulinName } from '../../shared/order/order.ts'
import { RANGE } from '../../shared/policy/ranges.ts'
import { isCalendarDate, isZone } from '../../shared/time/zone.ts'
import { policySchema } from './policy-schema.ts'
import { text, time, yesOrNo } from './values.ts'

export const LOAD_FORMAT = 'ward-glucose-round load 1'

const instant = z
  .string('Write an instant as "YYYY-MM-DDTHH:MM".')
  .regex(/^\d{4}-\d{2}-\d{2}T([01]\d|2[0-3]):[0-5]\d$/, 'Write an instant as "YYYY-MM-DDTHH:MM", ward-local.')
  .refine((value) => isCalendarDate(value.slice(0, 10)), 'There is no such date in the calendar.')
const date = z
  .string('Write a date as "YYYY-MM-DD".')
  .refine(isCalendarDate, 'Write a date of the calendar as "YYYY-MM-DD".')
const occasion = z.enum(
  OCCASIONS as [(typeof OCCASIONS)[number], ...(typeof OCCASIONS)[number][]],
  'Write before-breakfast, before-lunch, before-supper, bedtime or overnight.',
)
const UNIT_SENTENCE = 'Write mg/dL or mmol/L.'
const unit = z.enum(['mg/dL', 'mmol/L'], UNIT_SENTENCE)
const units = z
  .number('Write units of insulin as a number.')
  .min(0, 'Units cannot be negative.')
  .max(100, 'At most 100 units.')
  .multipleOf(0.5, 'Whole or half units.')
const minutes = z
  .int('Write whole minutes.')
  .min(RANGE.minutes.least, 'Minutes cannot be negative.')
  .max(RANGE.minutes.most, `At most ${RANGE.minutes.most} minutes.`)
/** A glucose as the ward writes it: "140", or "7.8". Which of the two is checked against the ward's unit. */
const printedGlucose = z
  .string('Write a glucose as text, as printed: "140" or "7.8".')
  .regex(/^\d{1,3}(\.\d)?$/, 'Write a glucose as printed: "140" or "7.8".')

const wardIn = <U extends GlucoseUnit>(wardUnit: U) =>
  z.strictObject({
    name: text(60),
    unit: z.literal(wardUnit),
    zone: z.string("Write the ward's time zone.").refine(isZone, 'Write an IANA time zone, such as America/Chicago.'),
    beds: z.array(text(12)).min(1, 'A ward has at least one bed.').max(60, 'At most 60 beds.'),
    policy: policySchema(wardUnit).optional(),
  })
/** The unit of the ward decides which limits its policy may have. */
const ward = z.discriminatedUnion('unit', [wardIn('mg/dL'), wardIn('mmol/L')], UNIT_SENTENCE)

const staff = z.strictObject({
  badge: text(30).regex(/^[A-Za-z0-9-]+$/, 'A badge is letters, digits and hyphens.'),
  name: text(80),
  role: z.enum(
    ['floor-nurse', 'charge-nurse', 'educator', 'administrator'],
    'Write floor-nurse, charge-nurse, educator or administrator.',
  ),
  /** Names of wards in this file or already there. */
  wards: z.array(text(60)).max(100),
  /** An initial PIN; left out, one is made and printed once. */
  pin: z
    .string('Write the PIN as text.')
    .regex(/^\d{6,12}$/, 'A PIN has 6 to 12 digits.')
    .optional(),
})

const meter = z.strictObject({
  ward: text(60),
  serial: text(40),
  unit: unit.optional(),
  controlsPassedAt: instant.optional(),
})
const stripLot = z.strictObject({ ward: text(60), lot: text(40), expiresOn: date })

const facts = z.strictObject({
  diabetes: z.enum(
    ['type-1', 'type-2', 'pancreatic', 'steroid-induced', 'gestational', 'other', 'none-known'],
    'Write type-1, type-2, pancreatic, steroid-induced, gestational, other or none-known.',
  ),
  swallowsSafely: yesOrNo,
  nilByMouth: z.strictObject({ from: instant, until: instant.nullable() }).nullable(),
  feeding: z.enum(['oral', 'tube', 'parenteral'], 'Write oral, tube or parenteral.'),
  ivAccess: yesOrNo,
  restrictedHands: z
    .array(
      z.strictObject({
        hand: z.enum(['left', 'right']),
        reason: z.enum(['drip', 'fistula', 'swelling', 'injury', 'lymph-node-surgery', 'weakness']),
      }),
    )
    .max(4),
  isolation: z.enum(['none', 'contact', 'droplet', 'airborne'], 'Write none, contact, droplet or airborne.'),
  renalImpairment: yesOrNo,
  onSteroid: yesOrNo,
  otherGlucoseLowering: z.array(text(60)).max(10),
  weightKg: z.number().min(0.5).max(500).nullable(),
  pastKetoacidosis: yesOrNo.optional(),
  insulinAtHome: yesOrNo.optional(),
  laboratoryOnly: z.enum(['shock', 'haematocrit', 'other-sugar']).optional(),
})

const plan = z.discriminatedUnion(
  'kind',
  [
    z.strictObject({ kind: z.literal('ac-and-hs') }),
    z.strictObject({ kind: z.literal('before-meals') }),
    z.strictObject({ kind: z.literal('every-4-h') }),
    z.strictObject({ kind: z.literal('every-6-h') }),
    z.strictObject({ kind: z.literal('listed-times'), times: z.array(time).min(1).max(24) }),
    z.strictObject({ kind: z.literal('once'), at: instant }),
  ],
  'Write a plan: ac-and-hs, before-meals, every-4-h, every-6-h, listed-times or once.',
)

const answer = z.union(
  [units, z.literal('call')],
  'Write units as a number, or "call" for no dose, call the prescriber.',
)

/** One row as the paper order prints it; an empty "from" or "to" is open. */
const row = z.strictObject({
  from: z.union([z.literal(''), printedGlucose]),
  to: z.union([z.literal(''), printedGlucose]),
  answer,
  instruction: text(200).optional(),
})
const scale = {
  rows: z.array(row).min(1, 'A scale has at least one row.').max(40, 'At most 40 rows.'),
  /** What the order says of everything above a closed last row. */
  afterLast: answer.optional(),
  /** The prescriber's own answers for values that no printed row holds, by value. */
  answered: z
    .record(z.string().regex(/^\d{1,3}(\.\d)?$/, 'Write a glucose as printed: "350" or "7.9".'), answer)
    .optional(),
}

const correction = z.discriminatedUnion(
  'kind',
  [
    z.strictObject({ kind: z.literal('scale'), ...scale }),
    z.strictObject({
      kind: z.literal('factor'),
      target: printedGlucose,
      perUnit: printedGlucose,
      belowTargetSubtracts: yesOrNo,
    }),
  ],
  'Write a correction by scale or by factor.',
)

const meal = z.discriminatedUnion(
  'kind',
  [
    z.strictObject({ kind: z.literal('fixed'), units: z.partialRecord(occasion, units) }),
    z.strictObject({ kind: z.literal('ratio'), gramsPerUnit: z.number().min(1).max(200) }),
  ],
  'Write a meal dose, fixed or by ratio.',
)

const bedtime = z.discriminatedUnion(
  'kind',
  [
    z.strictObject({ kind: z.literal('same') }),
    z.strictObject({ kind: z.literal('half') }),
    z.strictObject({ kind: z.literal('none') }),
    z.strictObject({ kind: z.literal('own-scale'), ...scale }),
  ],
  'Write the bedtime variant: same, half, none or own-scale.',
)

const order = z.strictObject({
  insulin: z.enum(
    Object.keys(INSULIN_CLASS) as [InsulinName, ...InsulinName[]],
    'Write the generic name of an insulin that the service knows.',
  ),
  concentration: text(40),
  route: z.literal('subcutaneous', 'Only subcutaneous.'),
  occasions: z.array(occasion).max(5),
  correction: correction.nullable(),
  meal: meal.nullable(),
  mealTiming: z.enum(['before', 'after-by-share'], 'Write before or after-by-share.'),
  bedtime,
  scheduled: z.array(z.strictObject({ time, units, holdBelow: printedGlucose.nullable() })).max(6),
  rounding: z.strictObject({
    to: z.union([z.literal(1), z.literal(0.5)], 'Round to 1 or 0.5 units.'),
    ties: z.enum(['down', 'up']),
  }),
  maxSingleDose: units.min(0.5, 'The single-dose limit is above 0.'),
  correctionIntervalMin: minutes.nullable(),
  stackingStopsAtOccasions: yesOrNo,
  prescriber: text(80),
  received: z.enum(['written', 'telephone-read-back'], 'Write written or telephone-read-back.'),
  writtenAt: instant,
  startsAt: instant,
  stopsAt: instant.nullable(),
  /** Badges. Who copied the order from paper, and the second person who compared the copy with the paper. */
  transcribedBy: text(30),
  verified: z.strictObject({ by: text(30), at: instant }).nullable(),
})

const stay = z.strictObject({
  ward: text(60),
  bed: text(12),
  wristband: text(40).regex(/^[A-Za-z0-9-]+$/, 'A wristband number is letters, digits and hyphens.'),
  familyName: text(60),
  givenName: text(60),
  bornOn: date,
  admittedAt: instant,
  facts,
  plan: plan.nullable(),
  orders: z.array(order).max(4),
})

/** The whole file. Every list may be left out, so that a later file adds staff or stays to a ward already there. */
export const LoadFile = z.strictObject({
  format: z.literal(LOAD_FORMAT, `Write "${LOAD_FORMAT}".`),
  wards: z.array(ward).max(50).default([]),
  staff: z.array(staff).max(2000).default([]),
  meters: z.array(meter).max(500).default([]),
  stripLots: z.array(stripLot).max(500).default([]),
  stays: z.array(stay).max(3000).default([]),
})

export type LoadFile = z.infer<typeof LoadFile>
/** As it is written, with the lists that may be left out. */
export type LoadFileInput = z.input<typeof LoadFile>
export type LoadOrder = LoadFile['stays'][number]['orders'][number]

/** One fault of a file: where, and what is wrong there. */
export type LoadFault = { readonly path: string; readonly sentence: string }

/** "stays[2].orders[0].insulin" */
export function pathText(path: readonly PropertyKey[]): string {
  return (
    path
      .map((part, index) => (typeof part === 'number' ? `[${part}]` : `${index === 0 ? '' : '.'}${String(part)}`))
      .join('') || '(the file)'
  )
}

/** Checks shapes only. All faults at once, each with its path. */
export function parseLoadFile(
  json: unknown,
): { readonly ok: true; readonly file: LoadFile } | { readonly ok: false; readonly faults: readonly LoadFault[] } {
  const parsed = LoadFile.safeParse(json)
  if (parsed.success) return { ok: true, file: parsed.data }
  return {
    ok: false,
    faults: parsed.error.issues.map((issue) => ({ path: pathText(issue.path), sentence: sentenceOf(issue) })),
  }
}

function sentenceOf(issue: z.core.$ZodIssue): string {
  if (issue.code === 'unrecognized_keys')
    return `There is no field ${issue.keys.map((key) => `"${key}"`).join(', ')} here.`
  if (issue.code === 'invalid_type' && /received undefined/.test(issue.message)) return 'This is missing.'
  return issue.message
}
