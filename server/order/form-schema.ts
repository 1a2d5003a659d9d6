/** The fields of the order form: names, lengths and choices. What the text means is decided in shared/order/entry.ts. */
import { z } from 'zod'
import { INSULIN_CLASS, type InsulinName } from '../../shared/order/order.ts'
import {
  MEAL_FIELD,
  MOST_SCHEDULED,
  OCCASION_FIELD,
  placesOfScale,
  SCALE_NAMES,
  scaleField,
  SCHEDULED_PARTS,
  scheduledField,
  type Typed,
} from '../../shared/order/entry-fields.ts'

type Shape = Record<string, z.ZodType<string | undefined>>

const line = (most: number) =>
  z
    .string()
    .trim()
    .max(most, `At most ${String(most)} characters.`)
    .optional()
const tick = z.literal('yes').optional()
const oneOf = <T extends string>(...values: [T, ...T[]]) => z.enum(values, 'Choose one.')

const LENGTH: Readonly<Record<string, number>> = {
  From: 14,
  To: 14,
  Units: 6,
  Also: 200,
  Repeat: 4,
  Time: 5,
  HoldBelow: 6,
}
const byPart = (place: string): Shape[string] =>
  place.endsWith('Call') ? tick : line(Object.entries(LENGTH).find(([part]) => place.endsWith(part))?.[1] ?? 40)

const shapeOf = (names: readonly string[], schema: (name: string) => Shape[string]): Shape =>
  Object.fromEntries(names.map((name) => [name, schema(name)]))

/** What the order itself says: the same in all three forms. */
const ORDER_SHAPE: Shape = {
  insulin: z.enum(Object.keys(INSULIN_CLASS) as [InsulinName, ...InsulinName[]], 'Choose the insulin.'),
  concentration: z
    .string('Copy the concentration from the order.')
    .trim()
    .min(1, 'Copy the concentration from the order.')
    .max(40, 'At most 40 characters.'),
  ...shapeOf(Object.values(OCCASION_FIELD), () => tick),
  correctionKind: oneOf('scale', 'factor', 'none'),
  ...shapeOf(
    SCALE_NAMES.flatMap((scale) => placesOfScale().map((place) => scaleField(scale, place))),
    byPart,
  ),
  target: line(6),
  perUnit: line(6),
  belowTarget: oneOf('nothing', 'subtracts'),
  mealKind: oneOf('none', 'fixed', 'ratio'),
  ...shapeOf(Object.values(MEAL_FIELD), () => line(6)),
  gramsPerUnit: line(7),
  mealTiming: oneOf('before', 'after-by-share'),
  bedtimeKind: oneOf('same', 'own-scale', 'half', 'none'),
  notEatingKind: oneOf('correction-as-ordered', 'own-scale', 'hold-all'),
  ...shapeOf(
    Array.from({ length: MOST_SCHEDULED }, (_, index) =>
      SCHEDULED_PARTS.map((part) => scheduledField(index, part)),
    ).flat(),
    byPart,
  ),
  roundTo: oneOf('1', '0.5'),
  ties: oneOf('down', 'up'),
  maxSingleDose: line(6),
  interval: line(20),
  stackingStops: tick,
  inAddition: tick,
  // values tried beside the form, the ward that the drawing counts in, and the button that only shows: nothing of them is stored
  tryGlucose: line(6),
  tryGrams: line(6),
  tryAt: line(20),
  tryNotEating: tick,
  show: tick,
}

const HEAD_SHAPE: Shape = {
  prescriber: z
    .string('Who signed the order?')
    .trim()
    .min(1, 'Who signed the order?')
    .max(80, 'At most 80 characters.'),
  received: oneOf('written', 'telephone'),
  readBack: tick,
  startsAt: z
    .string('From when does the order count?')
    .trim()
    .min(1, 'From when does the order count?')
    .max(25, 'At most 25 characters.'),
  stopsAt: line(25),
}

/** An order of one patient. `ward` is what the drawing counts in; the decision takes the patient's own. */
export const PATIENT_FORM: z.ZodType<Typed> = z.strictObject({
  ...ORDER_SHAPE,
  ...HEAD_SHAPE,
  ward: line(40),
  basedOn: z
    .string()
    .regex(/^\d{1,6}$/, 'No such version.')
    .optional(),
})

/** A ward's standard order. */
export const STANDARD_FORM: z.ZodType<Typed> = z.strictObject({
  ...ORDER_SHAPE,
  ward: z.string('Choose the ward.').trim().min(1, 'Choose the ward.').max(40, 'At most 40 characters.'),
  name: z
    .string('Give it the name that the ward knows it by.')
    .trim()
    .min(1, 'Give it the name that the ward knows it by.')
    .max(80, 'At most 80 characters.'),
})

/** What a fresh form begins with: nothing that changes a dose is chosen unseen, except what a paper leaves out as a rule. */
export const FRESH_ORDER: Readonly<Record<string, string>> = {
  concentration: 'U-100',
  correctionKind: 'scale',
  belowTarget: 'nothing',
  mealKind: 'none',
  mealTiming: 'before',
  bedtimeKind: 'same',
  notEatingKind: 'correction-as-ordered',
  roundTo: '1',
  ties: 'down',
}
