/**
 * Every setting of a ward policy, with its default.
 *
 * To add a setting, write one entry here, at its place in the policy:
 *
 *     dose: {
 *       …
 *       newSettingMin: minutes({
 *         part: 'dose',             // the policy page that shows it; it stands there in the order of this file
 *         label: 'The words on that page',
 *         default: 30,              // a limit or difference has one for each unit: { 'mg/dL': 70, 'mmol/L': 39 }
 *         range: RANGE.minutes,     // both ends are allowed
 *         source: 'the publication that the default comes from (read)', // or OWN, or PRACTICE
 *         touchesDose: true,        // a change takes two administrators; if unsure, write true
 *       }),
 *
 * entry.ts has a maker for each kind of value: minutes, grams, a limit, a time, yes or no, one of some options. Then use
 * `policy.dose.newSettingMin` in a rule, and write a test of that rule. Nothing else is needed:
 *
 * - the type WardPolicy, the default policy, and the value for wards that set their policy earlier: ward-policy.ts
 * - the range check: check.ts. A rule between two settings is a line there, with its sentence in views/words/policy.ts.
 * - the policy page, its form, the list of changes, and who may change the setting: parts.ts, field.ts
 * - the load file: server/load/policy-schema.ts
 *
 * The tests in tests/rules/policy.test.ts and tests/http/load.test.ts go through all settings, so they cover a new one.
 * The test there that names the settings which one administrator may change alone needs the name of a new one.
 *
 * A source is marked by how it was seen: read, read in a restatement, or from memory.
 */
import type { Meal, Occasion } from '../check/check.ts'
import type { GlucoseUnit } from '../glucose/value.ts'
import { INSULIN_CLASS, type InsulinClass, type InsulinName } from '../order/order.ts'
import type { FingerSite } from '../reading/reading.ts'
import {
  anyOf,
  difference,
  fieldsOf,
  fixed,
  limit,
  minutes,
  minutesOrNone,
  number,
  oneOf,
  OWN,
  PRACTICE,
  shifts,
  time,
  times,
  yesNo,
  type Entry,
  type Option,
  type PolicyField,
} from './entry.ts'
import { RANGE } from './ranges.ts'
import { LOW_SETTINGS } from './settings-low.ts'

/** Low < 70 mg/dL (3.9 mmol/L), level 2 < 54 (3.0). */
const ADA = 'American Diabetes Association since 2019 (read in a restatement)'
/** A repeat within 10 min; it confirms a low within 15 mg/dL, a high within 20 %. */
const CAP = 'CAP Q-Probes, Archives of Pathology & Laboratory Medicine 2016;140:119 (read)'
/** 46 and 484 are the means of the survey above. 50 and 400 are common practice, never a standard. */
const VARIES = 'varies by hospital (US survey means 46 and 484 mg/dL: read); the ward’s own setting'
const ENDOCRINE = 'Endocrine Society 2022 (read in a restatement)'
/** Rapid insulin 4 h, regular insulin 6 h. */
const ORDER_FORMS = 'printed order forms and American Diabetes Association 2004 (read)'
const NO_CORRECTION = 'no correction is given with it'
/** A second check of every insulin by any nurse who may give insulin is the safest setting. */
const SAFETY =
  'Institute for Safe Medication Practices on independent checks (read); how far it goes is the ward’s own setting'

export type NursingRole = 'floor-nurse' | 'charge-nurse'

/** In the order in which the rotation tries fingers that were never used. */
const FINGERS: readonly Option<FingerSite>[] = (['middle', 'ring', 'index', 'little'] as const).flatMap((finger) =>
  (['left', 'right'] as const).map((hand) => ({
    value: `${hand}-${finger}`,
    label: `${hand} ${finger} finger`,
    stored: { hand, finger },
  })),
)

const INSULINS = (Object.keys(INSULIN_CLASS) as readonly InsulinName[]).map((insulin) => ({
  value: insulin.replaceAll(' ', '-'),
  label: insulin,
  stored: insulin,
}))

const meal = (label: string, at: string): Entry<string> =>
  time({ part: 'meals', label, default: at, source: OWN, touchesDose: true })

/**
 * The window of a kind of check, in minutes before or after its anchor: the tray for a before-meal check, the planned
 * time for another. It only decides when a check may be done and which check a value answers: no dose follows from it.
 */
function window(
  label: string,
  anchor: string,
  [opensBefore, dueBefore, lateAfter, closesAfter]: readonly [number, number, number, number],
) {
  const entry = (words: string, value: number): Entry<number> =>
    minutes({
      part: 'windows',
      label: `${label}: ${words} ${anchor}`,
      default: value,
      source: PRACTICE,
      touchesDose: false,
    })
  return {
    opensBefore: entry('opens before', opensBefore),
    dueBefore: entry('due before', dueBefore),
    lateAfter: entry('late after', lateAfter),
    closesAfter: entry('closes after', closesAfter),
  }
}

/** Minutes from one correction to the next; null: not asked. */
const interval = (label: string, value: number | null, source: string): Entry<number | null> =>
  minutesOrNone({
    part: 'dose',
    label: `Between two corrections, ${label}`,
    default: value,
    none: 'not asked',
    source,
    touchesDose: true,
  })

/** The limits of one class of insulin, in units. */
const classLimit = (label: string, ask: number, stop: number) => ({
  ask: number({
    part: 'dose',
    label: `Single dose of ${label}: typed again above`,
    default: ask,
    unit: 'units',
    range: RANGE.singleDose,
    step: 0.5,
    source: OWN,
    touchesDose: true,
  }),
  stop: number({
    part: 'dose',
    label: `Single dose of ${label}: no dose above`,
    default: stop,
    unit: 'units',
    range: RANGE.singleDose,
    step: 0.5,
    source: OWN,
    touchesDose: true,
  }),
})

export const SETTINGS = {
  unit: fixed<GlucoseUnit>({
    part: 'unit',
    label: 'Unit of glucose',
    source: 'chosen when the ward was opened',
    touchesDose: true,
  }),
  /** IANA zone of the ward. */
  zone: fixed<string>({
    part: 'unit',
    label: 'Time zone',
    source: 'chosen when the ward was opened',
    touchesDose: true,
  }),

  limits: {
    low: limit({
      part: 'limits',
      label: 'Low below',
      default: { 'mg/dL': 70, 'mmol/L': 39 },
      source: ADA,
      touchesDose: true,
    }),
    level2: limit({
      part: 'limits',
      label: 'Level 2 below',
      default: { 'mg/dL': 54, 'mmol/L': 30 },
      source: ADA,
      touchesDose: true,
    }),
    recovered: limit({
      part: 'limits',
      label: 'Recovered from',
      default: { 'mg/dL': 70, 'mmol/L': 39 },
      source: 'the low limit itself; a ward may set a higher value',
      touchesDose: true,
    }),
    ketonesAbove: limit({
      part: 'limits',
      label: 'Ketones of a patient who depends on insulin: measured above',
      default: { 'mg/dL': 250, 'mmol/L': 140 },
      source: '250 mg/dL is US habit (from memory); 14 mmol/L NHS Scotland (read)',
      touchesDose: true,
    }),
    bedtimeSnack: limit({
      part: 'limits',
      label: 'At bedtime with basal insulin due: snack below',
      default: { 'mg/dL': 100, 'mmol/L': 56 },
      source: OWN,
      touchesDose: true,
    }),
    criticalLow: limit({
      part: 'limits',
      label: 'Critical low below',
      default: { 'mg/dL': 50, 'mmol/L': 28 },
      source: VARIES,
      touchesDose: true,
    }),
    criticalHigh: limit({
      part: 'limits',
      label: 'Critical high above',
      default: { 'mg/dL': 400, 'mmol/L': 222 },
      source: VARIES,
      touchesDose: true,
    }),
  },

  /** Ward-local tray times, HH:MM. */
  mealTimes: {
    breakfast: meal('Breakfast tray', '08:00'),
    lunch: meal('Lunch tray', '12:15'),
    supper: meal('Supper tray', '17:30'),
  } satisfies Record<Meal, Entry>,
  bedtime: time({ part: 'meals', label: 'Bedtime check', default: '21:30', source: OWN, touchesDose: false }),
  overnight: time({ part: 'meals', label: 'Overnight check', default: '02:30', source: OWN, touchesDose: false }),
  /** Each round runs from its start (HH:MM, ward-local) to the next one's start. */
  roundStarts: {
    overnight: meal('Overnight round starts', '00:00'),
    'before-breakfast': meal('Before breakfast round starts', '05:00'),
    'before-lunch': meal('Before lunch round starts', '10:00'),
    'before-supper': meal('Before supper round starts', '15:00'),
    bedtime: meal('Bedtime round starts', '20:00'),
  } satisfies Record<Occasion, Entry>,

  windows: {
    beforeMeal: window('Before a meal', 'the tray', [60, 30, 0, 60]),
    bedtime: window('Bedtime', 'bedtime', [60, 0, 30, 90]),
    timed: window('Listed times', 'the time', [30, 0, 30, 60]),
    every4h: window('Every 4 h', 'the time', [30, 0, 30, 120]),
    every6h: window('Every 6 h', 'the time', [30, 0, 30, 180]),
  },
  lateEntryReasonAfterMin: minutes({
    part: 'windows',
    label: 'A value charted later than this needs a reason',
    default: 15,
    source: OWN,
    touchesDose: false,
  }),
  missedLookBackHours: number({
    part: 'windows',
    label: 'A missed check waits for its reason for',
    default: 24,
    unit: 'h',
    range: RANGE.hours,
    step: 1,
    source: OWN,
    touchesDose: false,
  }),

  handOverWithinMin: minutes({
    part: 'windows',
    label: 'What a patient leaves open is handed over within',
    default: 30,
    source: OWN,
    touchesDose: false,
  }),

  ketones: {
    measuredWithinMin: minutes({
      part: 'limits',
      label: 'Ketones are measured within',
      default: 30,
      source: OWN,
      touchesDose: true,
    }),
    againWithinMin: minutes({
      part: 'limits',
      label: 'A repeat of ketones may be late by',
      default: 30,
      source: OWN,
      touchesDose: true,
    }),
  },

  low: LOW_SETTINGS,

  critical: {
    repeatWithinMin: minutes({ part: 'critical', label: 'Repeat within', default: 10, source: CAP, touchesDose: true }),
    /** 0.8 mmol/L is 15 mg/dL rounded down to the tenth, worked out here. */
    lowRepeatAgreesWithin: difference({
      part: 'critical',
      label: 'A low is confirmed by a repeat within',
      default: { 'mg/dL': 15, 'mmol/L': 8 },
      range: RANGE.repeatAgrees,
      source: `${CAP}: 15 mg/dL`,
      touchesDose: true,
    }),
    highRepeatAgreesWithinPercent: number({
      part: 'critical',
      label: 'A high is confirmed by a repeat within',
      default: 20,
      unit: '%',
      range: RANGE.repeatAgreesPercent,
      step: 1,
      source: CAP,
      touchesDose: true,
    }),
    callWithinMin: minutes({
      part: 'critical',
      label: 'Tell the prescriber within',
      default: 30,
      source: OWN,
      touchesDose: false,
    }),
    laboratoryWithinMin: minutes({
      part: 'critical',
      label: 'Laboratory value within',
      default: 60,
      source: OWN,
      touchesDose: false,
    }),
  },

  /** Which insulins need a second check, and which nursing roles may give one. */
  secondCheck: {
    insulins: anyOf<InsulinName>({
      part: 'second-check',
      label: 'Insulins that need a second check',
      default: INSULINS.map(({ stored }) => stored),
      options: INSULINS,
      source: SAFETY,
      touchesDose: true,
    }),
    roles: anyOf<NursingRole>({
      part: 'second-check',
      label: 'Who may give one',
      default: ['floor-nurse', 'charge-nurse'],
      options: [
        { value: 'floor-nurse', label: 'floor nurse', stored: 'floor-nurse' },
        { value: 'charge-nurse', label: 'charge nurse', stored: 'charge-nurse' },
      ],
      source: SAFETY,
      touchesDose: true,
    }),
  },

  dose: {
    singleDoseLimit: number({
      part: 'dose',
      label: 'Single-dose limit, any insulin',
      default: 100,
      unit: 'units',
      range: RANGE.singleDose,
      step: 0.5,
      source: OWN,
      touchesDose: true,
    }),
    /** Units of a single dose: above `ask` the nurses type them again, above `stop` there is no dose. */
    classLimits: {
      rapid: classLimit('rapid insulin', 20, 40),
      regular: classLimit('regular insulin', 20, 40),
      intermediate: classLimit('NPH insulin', 40, 80),
      'long-acting': classLimit('long-acting insulin', 50, 100),
    } satisfies Record<InsulinClass, { readonly ask: Entry<number>; readonly stop: Entry<number> }>,
    /** Long-acting insulin in one dose, units for each kilogram of body weight. */
    longActingAskPerKg: number({
      part: 'dose',
      label: 'Long-acting insulin is asked about again above',
      default: 0.6,
      unit: 'units/kg',
      range: RANGE.unitsPerKg,
      step: 0.1,
      source: 'more lows above 0.6 units/kg a day: Diabetes Care 2011;34:1723 (read)',
      touchesDose: true,
    }),
    dayWarnPerKg: number({
      part: 'dose',
      label: 'All insulin of 24 hours warns above',
      default: 1.5,
      unit: 'units/kg',
      range: RANGE.unitsPerKg,
      step: 0.1,
      source: OWN,
      touchesDose: true,
    }),
    directedSumTimes: times({
      part: 'dose',
      label: 'By direction within the interval: times the asking limit before the charge nurse checks',
      default: 2,
      source: OWN,
      touchesDose: true,
    }),
    mealGramsAsk: number({
      part: 'dose',
      label: 'Carbohydrate of a meal is asked about again above',
      default: 120,
      unit: 'g',
      range: RANGE.mealGrams,
      step: 1,
      source: OWN,
      touchesDose: true,
    }),
    mealGramsStop: number({
      part: 'dose',
      label: 'Carbohydrate of a meal is refused above',
      default: 300,
      unit: 'g',
      range: RANGE.mealGrams,
      step: 1,
      source: OWN,
      touchesDose: true,
    }),
    noDoseCallMin: minutes({
      part: 'dose',
      label: '“No dose, call”: the prescriber is told within',
      default: 30,
      source: OWN,
      touchesDose: false,
    }),
    readingSpareMin: minutes({
      part: 'dose',
      label: 'A new reading first when fewer minutes are left to give',
      default: 15,
      source: OWN,
      touchesDose: true,
    }),
    afterMealWithinMin: minutes({
      part: 'dose',
      label: 'A dose after the meal is given within',
      default: 30,
      range: RANGE.minutesNotZero,
      source: OWN,
      touchesDose: true,
    }),
    readingAgeMaxMin: minutes({
      part: 'dose',
      label: 'A reading is fresh for',
      default: 60,
      range: RANGE.minutesNotZero,
      source: ENDOCRINE,
      touchesDose: true,
    }),
    heldBasalAskAgainHours: number({
      part: 'dose',
      label: 'Held basal insulin of a patient who depends on it: ask again within',
      default: 4,
      unit: 'h',
      range: RANGE.hours,
      step: 1,
      source: OWN,
      touchesDose: true,
    }),
    shareAskedAfterMin: minutes({
      part: 'dose',
      label: 'What was eaten is asked after mealtime insulin by',
      default: 60,
      source: OWN,
      touchesDose: true,
    }),
    basalLateMin: minutes({
      part: 'dose',
      label: 'NPH and long-acting insulin may be given late by',
      default: 240,
      range: RANGE.minutesNotZero,
      source: OWN,
      touchesDose: true,
    }),
    trayWithinRegularMin: minutes({
      part: 'dose',
      label: 'Regular insulin before a meal: tray at most away',
      default: 30,
      source: OWN,
      touchesDose: true,
    }),
    trayWithinMin: minutes({
      part: 'dose',
      label: 'Insulin before a meal: tray at most away',
      default: 15,
      source: ENDOCRINE,
      touchesDose: true,
    }),
    trayServedAgoMaxMin: minutes({
      part: 'dose',
      label: 'Insulin before a meal: tray served at most ago',
      default: 30,
      source: OWN,
      touchesDose: true,
    }),
    noTrayAfterMin: minutes({
      part: 'dose',
      label: 'Insulin given and no tray: alarm after',
      default: 15,
      source: OWN,
      touchesDose: true,
    }),
    correctionIntervalMin: {
      rapid: interval('rapid insulin', 240, ORDER_FORMS),
      regular: interval('regular insulin', 360, ORDER_FORMS),
      intermediate: interval('intermediate insulin', null, NO_CORRECTION),
      'long-acting': interval('long-acting insulin', null, NO_CORRECTION),
    } satisfies Record<InsulinClass, Entry>,
    stackingStopsAtOccasions: yesNo({
      part: 'dose',
      label: 'The interval also stops a dose at the order’s own occasions',
      default: false,
      source: 'there it warns unless order or ward says so',
      touchesDose: true,
    }),
    verifiedValidMin: minutes({
      part: 'second-check',
      label: 'It holds for',
      default: 30,
      range: RANGE.minutesNotZero,
      source: OWN,
      touchesDose: true,
    }),
    zeroNeedsSecondCheck: yesNo({
      part: 'second-check',
      label: 'A dose of 0 units needs one too',
      default: false,
      source: OWN,
      touchesDose: true,
    }),
    mismatchesBeforeCharge: times({
      part: 'second-check',
      label: 'Differing answers before the charge nurse is called',
      default: 2,
      source: OWN,
      touchesDose: true,
    }),
  },

  fingers: anyOf<FingerSite>({
    part: 'fingers',
    label: 'Fingers in rotation',
    default: [
      { hand: 'left', finger: 'middle' },
      { hand: 'right', finger: 'middle' },
      { hand: 'left', finger: 'ring' },
      { hand: 'right', finger: 'ring' },
    ],
    options: FINGERS,
    source: PRACTICE,
    touchesDose: false,
  }),

  /** The plan that takes over while a patient is nil by mouth; null: the patient's own plan stays. */
  nilByMouthPlan: oneOf<'every-4-h' | 'every-6-h' | null>({
    part: 'ward-day',
    label: 'Checks while nil by mouth',
    default: 'every-6-h',
    options: [
      { value: 'every-4-h', label: 'every 4 h', stored: 'every-4-h' },
      { value: 'every-6-h', label: 'every 6 h', stored: 'every-6-h' },
      { value: 'own', label: 'the patient’s own plan stays', stored: null },
    ],
    source: 'every 4 to 6 h: American Diabetes Association, Standards of Care (read)',
    touchesDose: false,
  }),
  /** The ward's shifts in the order of the day, each from its start (HH:MM, ward-local) to the next one's. */
  shifts: shifts({
    part: 'ward-day',
    label: 'Shifts',
    default: [
      { name: 'Day', starts: '07:00' },
      { name: 'Night', starts: '19:00' },
    ],
    source: PRACTICE,
    touchesDose: false,
  }),
  idleLockMin: minutes({
    part: 'ward-day',
    label: 'An idle device locks after',
    default: 10,
    range: RANGE.minutesNotZero,
    source: OWN,
    touchesDose: false,
  }),
}

/** Every setting with its path in the policy, in the order above. */
export const FIELDS: readonly PolicyField[] = fieldsOf(SETTINGS)
