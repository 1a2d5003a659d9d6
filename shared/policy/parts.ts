/**
 * Every setting of a ward policy, in named parts. What is not here cannot be read or changed in a page, and a test that
 * walks the policy fails for it. Sources as in reference-values; a figure without one says so.
 */
import { INSULIN_CLASS } from '../order/order.ts'
import type { FingerSite } from '../reading/reading.ts'
import { sameSetting, settingOf, type Option, type PolicyField } from './field.ts'
import { LOW_PART } from './parts-low.ts'
import { limit, minutes, OWN, PRACTICE, time, yesNo, type Part } from './parts-kit.ts'
import { RANGE } from './ranges.ts'
import type { WardPolicy } from './ward-policy.ts'

export type { Part, PartId } from './parts-kit.ts'

const ADA = 'American Diabetes Association since 2019 (read in a restatement)'
const CAP = 'CAP Q-Probes, Archives of Pathology & Laboratory Medicine 2016;140:119 (read)'
const VARIES = 'varies by hospital (US survey means 46 and 484 mg/dL: read); the ward’s own setting'
const ENDOCRINE = 'Endocrine Society 2022 (read in a restatement)'
const ORDER_FORMS = 'printed order forms and American Diabetes Association 2004 (read)'
const SAFETY =
  'Institute for Safe Medication Practices on independent checks (read); how far it goes is the ward’s own setting'

const WINDOWS = [
  ['beforeMeal', 'Before a meal', 'the tray'],
  ['bedtime', 'Bedtime', 'bedtime'],
  ['timed', 'Listed times', 'the time'],
  ['every4h', 'Every 4 h', 'the time'],
  ['every6h', 'Every 6 h', 'the time'],
] as const

/** Windows only decide when a check may be done and which check a value answers: no dose follows from them. */
const windowFields: readonly PolicyField[] = WINDOWS.flatMap(([name, label, anchor]) => [
  minutes(`windows.${name}.opensBefore`, `${label}: opens before ${anchor}`, PRACTICE, false),
  minutes(`windows.${name}.dueBefore`, `${label}: due before ${anchor}`, PRACTICE, false),
  minutes(`windows.${name}.lateAfter`, `${label}: late after ${anchor}`, PRACTICE, false),
  minutes(`windows.${name}.closesAfter`, `${label}: closes after ${anchor}`, PRACTICE, false),
])

const ROUNDS = [
  ['overnight', 'Overnight'],
  ['before-breakfast', 'Before breakfast'],
  ['before-lunch', 'Before lunch'],
  ['before-supper', 'Before supper'],
  ['bedtime', 'Bedtime'],
] as const

/** In the order in which the rotation tries fingers that were never used. */
const FINGERS: readonly Option[] = (['middle', 'ring', 'index', 'little'] as const).flatMap((finger) =>
  (['left', 'right'] as const).map((hand) => ({
    value: `${hand}-${finger}`,
    label: `${hand} ${finger} finger`,
    stored: { hand, finger } satisfies FingerSite,
  })),
)

const INSULINS: readonly Option[] = Object.keys(INSULIN_CLASS).map((insulin) => ({
  value: insulin.replaceAll(' ', '-'),
  label: insulin,
  stored: insulin,
}))

const interval = (kind: string, label: string, source: string): PolicyField =>
  minutes(`dose.correctionIntervalMin.${kind}`, `Between two corrections, ${label}`, source, true, {
    range: RANGE.minutesNotZero,
    none: 'not asked',
  })

/** All parts, in the order in which they are shown. */
export const PARTS: readonly Part[] = [
  {
    id: 'unit',
    title: 'Unit and time zone',
    about:
      'Set when the ward was opened. Neither changes afterwards: every order, limit and check of the ward is in them.',
    fields: [
      {
        name: 'unit',
        label: 'Unit of glucose',
        kind: { kind: 'fixed' },
        source: 'chosen when the ward was opened',
        touchesDose: true,
      },
      {
        name: 'zone',
        label: 'Time zone',
        kind: { kind: 'fixed' },
        source: 'chosen when the ward was opened',
        touchesDose: true,
      },
    ],
  },
  {
    id: 'limits',
    title: 'Limits',
    about:
      'Below the low limit the low protocol starts and no insulin is given. A value below the critical low or above the critical high is repeated, and told.',
    fields: [
      limit('limits.low', 'Low below', ADA),
      limit('limits.level2', 'Level 2 below', ADA),
      limit('limits.recovered', 'Recovered from', 'the low limit itself; a ward may set a higher value'),
      limit('limits.criticalLow', 'Critical low below', VARIES),
      limit('limits.criticalHigh', 'Critical high above', VARIES),
    ],
  },
  {
    id: 'meals',
    title: 'Meal times and rounds',
    about: 'When trays come, and from when each round runs. A round runs until the next one starts.',
    fields: [
      time('mealTimes.breakfast', 'Breakfast tray', OWN, true),
      time('mealTimes.lunch', 'Lunch tray', OWN, true),
      time('mealTimes.supper', 'Supper tray', OWN, true),
      time('bedtime', 'Bedtime check', OWN, false),
      time('overnight', 'Overnight check', OWN, false),
      ...ROUNDS.map(([name, label]) => time(`roundStarts.${name}`, `${label} round starts`, OWN, true)),
    ],
  },
  {
    id: 'windows',
    title: 'Check windows and reasons',
    about: 'When a check opens, is due, is late and closes, and when a reason is asked for.',
    fields: [
      ...windowFields,
      minutes('lateEntryReasonAfterMin', 'A value charted later than this needs a reason', OWN, false),
      {
        name: 'missedLookBackHours',
        label: 'A missed check waits for its reason for',
        kind: { kind: 'number', unit: 'h', range: RANGE.hours, step: 1, none: null },
        source: OWN,
        touchesDose: false,
      },
    ],
  },
  LOW_PART,
  {
    id: 'critical',
    title: 'Critical values',
    about: 'When a repeat confirms, and within what time the prescriber is told.',
    fields: [
      minutes('critical.repeatWithinMin', 'Repeat within', CAP, true),
      {
        name: 'critical.lowRepeatAgreesWithin',
        label: 'A low is confirmed by a repeat within',
        kind: { kind: 'difference', range: RANGE.repeatAgrees },
        source: `${CAP}: 15 mg/dL`,
        touchesDose: true,
      },
      {
        name: 'critical.highRepeatAgreesWithinPercent',
        label: 'A high is confirmed by a repeat within',
        kind: { kind: 'number', unit: '%', range: RANGE.repeatAgreesPercent, step: 1, none: null },
        source: CAP,
        touchesDose: true,
      },
      minutes('critical.callWithinMin', 'Tell the prescriber within', OWN, false),
      minutes('critical.laboratoryWithinMin', 'Laboratory value within', OWN, false),
    ],
  },
  {
    id: 'dose',
    title: 'Insulin doses',
    about: 'What holds or stops a dose. The order’s own single-dose limit counts besides the ward’s.',
    fields: [
      {
        name: 'dose.singleDoseLimit',
        label: 'Single-dose limit',
        kind: { kind: 'number', unit: 'units', range: RANGE.singleDose, step: 0.5, none: null },
        source: OWN,
        touchesDose: true,
      },
      minutes('dose.readingAgeMaxMin', 'A reading is fresh for', ENDOCRINE, true, { range: RANGE.minutesNotZero }),
      minutes('dose.trayWithinMin', 'Insulin before a meal: tray at most away', ENDOCRINE, true),
      minutes('dose.trayServedAgoMaxMin', 'Insulin before a meal: tray served at most ago', OWN, true),
      minutes('dose.noTrayAfterMin', 'Insulin given and no tray: alarm after', OWN, true),
      interval('rapid', 'rapid insulin', ORDER_FORMS),
      interval('regular', 'regular insulin', ORDER_FORMS),
      interval('intermediate', 'intermediate insulin', 'no correction is given with it'),
      interval('long-acting', 'long-acting insulin', 'no correction is given with it'),
      yesNo(
        'dose.stackingStopsAtOccasions',
        'The interval also stops a dose at the order’s own occasions',
        'there it warns unless order or ward says so',
      ),
    ],
  },
  {
    id: 'second-check',
    title: 'Second check',
    about: 'Never by the same person. After as many differing answers as said here, the charge nurse does it.',
    fields: [
      {
        name: 'secondCheck.insulins',
        label: 'Insulins that need a second check',
        kind: { kind: 'any-of', options: INSULINS },
        source: SAFETY,
        touchesDose: true,
      },
      {
        name: 'secondCheck.roles',
        label: 'Who may give one',
        kind: {
          kind: 'any-of',
          options: [
            { value: 'floor-nurse', label: 'floor nurse', stored: 'floor-nurse' },
            { value: 'charge-nurse', label: 'charge nurse', stored: 'charge-nurse' },
          ],
        },
        source: SAFETY,
        touchesDose: true,
      },
      minutes('dose.verifiedValidMin', 'It holds for', OWN, true, { range: RANGE.minutesNotZero }),
      yesNo('dose.zeroNeedsSecondCheck', 'A dose of 0 units needs one too', OWN),
      {
        name: 'dose.mismatchesBeforeCharge',
        label: 'Differing answers before the charge nurse is called',
        kind: { kind: 'number', unit: 'times', range: RANGE.times, step: 1, none: null },
        source: OWN,
        touchesDose: true,
      },
    ],
  },
  {
    id: 'fingers',
    title: 'Fingers',
    about: 'The fingers that the rotation uses, on their sides; never the one used last, never a restricted hand.',
    fields: [
      {
        name: 'fingers',
        label: 'Fingers in rotation',
        kind: { kind: 'any-of', options: FINGERS },
        source: PRACTICE,
        touchesDose: false,
      },
    ],
  },
  {
    id: 'ward-day',
    title: 'Nil by mouth, shifts, lock',
    about: 'The plan while a patient is nil by mouth, the ward’s shifts, and when an idle device locks.',
    fields: [
      {
        name: 'nilByMouthPlan',
        label: 'Checks while nil by mouth',
        kind: {
          kind: 'one-of',
          options: [
            { value: 'every-4-h', label: 'every 4 h', stored: 'every-4-h' },
            { value: 'every-6-h', label: 'every 6 h', stored: 'every-6-h' },
            { value: 'own', label: 'the patient’s own plan stays', stored: null },
          ],
        },
        source: 'every 4 to 6 h: American Diabetes Association, Standards of Care (read)',
        touchesDose: false,
      },
      { name: 'shifts', label: 'Shifts', kind: { kind: 'shifts' }, source: PRACTICE, touchesDose: false },
      minutes('idleLockMin', 'An idle device locks after', OWN, false, { range: RANGE.minutesNotZero }),
    ],
  },
]

export function partById(id: string): Part | undefined {
  return PARTS.find((part) => part.id === id)
}

/** True when somebody may change something in the part. */
export function isChangeable(part: Part): boolean {
  return part.fields.some(({ kind }) => kind.kind !== 'fixed')
}

/** True when the setting exists in this policy: a dextrose rule has the parts of its own kind only. */
export function exists(field: PolicyField, policy: WardPolicy): boolean {
  return field.only === undefined || settingOf(policy, field.only.name) === field.only.is
}

export type SettingChange = { readonly part: Part; readonly field: PolicyField }

/** What differs between two policies, setting by setting, in the order of the parts. */
export function changedSettings(before: WardPolicy, after: WardPolicy): readonly SettingChange[] {
  return PARTS.flatMap((part) =>
    part.fields
      .filter(({ name }) => !sameSetting(settingOf(before, name), settingOf(after, name)))
      .map((field) => ({ part, field })),
  )
}

/** True when the change takes two administrators. */
export function touchesDose(changes: readonly SettingChange[]): boolean {
  return changes.some(({ field }) => field.touchesDose)
}
