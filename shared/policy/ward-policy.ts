/**
 * Ward policy: every number a rule uses, with its default. Versioned; a version is never edited.
 * Glucose limits are counted in the ward's unit: mg/dL, or tenths of a mmol/L.
 */
import type { Meal, Occasion } from '../check/check.ts'
import type { GlucoseUnit } from '../glucose/value.ts'
import { INSULIN_CLASS, type InsulinClass, type InsulinName } from '../order/order.ts'
import type { FingerSite } from '../reading/reading.ts'

/** Minutes relative to the anchor: the tray for a before-meal check, the planned time for a timed one. */
export type WindowMinutes = {
  readonly opensBefore: number
  readonly dueBefore: number
  readonly lateAfter: number
  readonly closesAfter: number
}

/** Dextrose into a vein: the same amount for every low, or grams = (100 - mg/dL) x 0.2 of the value. */
export type DextroseRule =
  | { readonly kind: 'fixed'; readonly grams: number; readonly percent: number }
  | {
      readonly kind: 'formula'
      readonly percent: number
      /** for LO, which is no number */ readonly gramsWithoutNumber: number
    }

/** The ward's low protocol. Minutes, grams of carbohydrate or dextrose, mg of glucagon; percent is g in 100 mL. */
export type LowPolicy = {
  readonly treatWithinMin: number
  readonly recheckMin: number
  /** A value sooner after a treatment than this says little: it asks for no further treatment unless the level is worse. */
  readonly recheckNotBeforeMin: number
  readonly maxCycles: number
  /** Escalate when this many minutes have passed without recovery, besides the cycles; null: by cycles alone. */
  readonly escalateAfterMin: number | null
  readonly followUpMin: number
  readonly insulinQuestionMin: number
  readonly tellWithinMin: number
  readonly closeWithinMin: number
  /** What was seen at the bedside holds for one treatment within these minutes; then it is asked again. */
  readonly answersValidMin: number
  readonly fastGrams: number
  readonly fastGramsLevel2: number
  readonly dextrose: DextroseRule
  readonly glucagonMg: number
  /** After `maxCycles` by mouth or tube without recovery. */
  readonly rescue: { readonly grams: number; readonly percent: number; readonly overMin: number }
  /** Signed by the ward's prescriber: without it the service shows "call" in place of an amount. */
  readonly standingOrders: { readonly dextrose: boolean; readonly glucagon: boolean }
  readonly tube: { readonly grams: number; readonly how: string }
  /** Longer-acting carbohydrate when the next meal is more than `mealWithinMin` after recovery. */
  readonly lasting: {
    readonly grams: number
    readonly gramsAfterGlucagon: number
    readonly mealWithinMin: number
    readonly giveWithinMin: number
  }
}

export type WardPolicy = {
  readonly unit: GlucoseUnit
  /** IANA zone of the ward. */
  readonly zone: string
  /** Ward-local tray times, HH:MM. */
  readonly mealTimes: Readonly<Record<Meal, string>>
  readonly bedtime: string
  readonly overnight: string
  /** Each round runs from its start (HH:MM, ward-local) to the next one's start. */
  readonly roundStarts: Readonly<Record<Occasion, string>>
  readonly windows: {
    readonly beforeMeal: WindowMinutes
    readonly bedtime: WindowMinutes
    readonly timed: WindowMinutes
    readonly every4h: WindowMinutes
    readonly every6h: WindowMinutes
  }
  readonly lateEntryReasonAfterMin: number
  readonly missedLookBackHours: number
  readonly limits: {
    readonly low: number
    readonly level2: number
    readonly recovered: number
    readonly criticalLow: number
    readonly criticalHigh: number
  }
  readonly low: LowPolicy
  readonly critical: {
    readonly repeatWithinMin: number
    readonly lowRepeatAgreesWithin: number
    readonly highRepeatAgreesWithinPercent: number
    readonly callWithinMin: number
    readonly laboratoryWithinMin: number
  }
  readonly dose: {
    readonly readingAgeMaxMin: number
    readonly trayWithinMin: number
    readonly trayServedAgoMaxMin: number
    readonly noTrayAfterMin: number
    readonly correctionIntervalMin: Readonly<Record<InsulinClass, number | null>>
    readonly stackingStopsAtOccasions: boolean
    readonly singleDoseLimit: number
    readonly zeroNeedsSecondCheck: boolean
    readonly verifiedValidMin: number
    readonly mismatchesBeforeCharge: number
  }
  readonly fingers: readonly FingerSite[]
  readonly idleLockMin: number
  /** The plan that takes over while a patient is nil by mouth; null: the patient's own plan stays. */
  readonly nilByMouthPlan: 'every-4-h' | 'every-6-h' | null
  /** Which insulins need a second check, and which nursing roles may give one. */
  readonly secondCheck: { readonly insulins: readonly InsulinName[]; readonly roles: readonly NursingRole[] }
  /** The ward's shifts in the order of the day, each from its start (HH:MM, ward-local) to the next one's. */
  readonly shifts: readonly { readonly name: string; readonly starts: string }[]
}

export type NursingRole = 'floor-nurse' | 'charge-nurse'

/** A policy as an older ledger holds it: written before the newest parts existed. */
export type StoredPolicy = Omit<WardPolicy, NewerPart> & Partial<Pick<WardPolicy, NewerPart>>
type NewerPart = 'nilByMouthPlan' | 'secondCheck' | 'shifts'

/** The policy with its newer parts: a ward that set its policy before they existed has their defaults. */
export function completePolicy(stored: StoredPolicy): WardPolicy {
  return { ...NEWER_PARTS, ...stored }
}

const FINGERS: readonly FingerSite[] = [
  { hand: 'left', finger: 'middle' },
  { hand: 'right', finger: 'middle' },
  { hand: 'left', finger: 'ring' },
  { hand: 'right', finger: 'ring' },
]

/**
 * The low protocol's defaults. Sources:
 * 15 g fast carbohydrate (15-20 g), recheck 15 min and not before 10, 3 cycles, then 200 mL of 10 % glucose IV over
 * 15 min (20 g) or glucagon 1 mg IM: World J Diabetes 2021;12:2036 table 1 (R); 20 g below level 2: design, the upper end
 * of the same range; 25 g of dextrose as 50 mL of 50 %: reference-values section 4 (R); the formula that a ward may choose
 * instead: SCCM 2012, Crit Care Med 40:3251 (M); 20 g longer-acting carbohydrate, 40 g after glucagon, and escalation
 * after 45 min where a UK ward sets it: NHS formularies restating JBDS (R); follow-up at 60 min, the tube arm: common
 * practice. No figure is published for how soon to treat, tell and close, how long an answer at the bedside holds, and
 * within what time longer-acting carbohydrate is given: those are the ward's own settings.
 * No standing order is assumed to be signed.
 */
const LOW_PROTOCOL: LowPolicy = {
  treatWithinMin: 5,
  recheckMin: 15,
  recheckNotBeforeMin: 10,
  maxCycles: 3,
  escalateAfterMin: null,
  followUpMin: 60,
  insulinQuestionMin: 15,
  tellWithinMin: 30,
  closeWithinMin: 60,
  answersValidMin: 10,
  fastGrams: 15,
  fastGramsLevel2: 20,
  dextrose: { kind: 'fixed', grams: 25, percent: 50 },
  glucagonMg: 1,
  rescue: { grams: 20, percent: 10, overMin: 15 },
  standingOrders: { dextrose: false, glucagon: false },
  tube: { grams: 15, how: 'glucose gel or solution by tube, then flush' },
  lasting: { grams: 20, gramsAfterGlucagon: 40, mealWithinMin: 60, giveWithinMin: 15 },
}

/**
 * A patient who does not eat is checked every 4 to 6 h: American Diabetes Association, Standards of Care (R). That every
 * insulin has a second check, by any nurse who may give insulin: the safest setting; which ones need it is for a ward to
 * decide. Two 12-hour shifts: common practice.
 */
const NEWER_PARTS: Pick<WardPolicy, NewerPart> = {
  nilByMouthPlan: 'every-6-h',
  secondCheck: { insulins: Object.keys(INSULIN_CLASS) as InsulinName[], roles: ['floor-nurse', 'charge-nurse'] },
  shifts: [
    { name: 'Day', starts: '07:00' },
    { name: 'Night', starts: '19:00' },
  ],
}

/**
 * The defaults, in the unit asked for. Sources:
 * low < 70 mg/dL (3.9 mmol/L) and level 2 < 54 (3.0): American Diabetes Association since 2019;
 * the low protocol: LOW_PROTOCOL above;
 * critical repeat within 10 min, 15 mg/dL or 20 %: CAP Q-Probes, Arch Pathol Lab Med 2016;140:119
 * (0.8 mmol/L is 15 mg/dL rounded down to the tenth, worked out here);
 * critical limits vary by hospital: 46 and 484 are the US survey means of the same article, 50 and 400 here are the
 * ward's own setting (common practice), never a standard; reading age 60 min: Endocrine Society 2022;
 * correction interval rapid 4 h, regular 6 h: order forms, ADA 2004; single-dose limit: the ward's own setting,
 * no published universal figure exists; windows: design, common practice.
 */
export function defaultPolicy(unit: GlucoseUnit, zone: string): WardPolicy {
  const mg = unit === 'mg/dL'
  return {
    unit,
    zone,
    mealTimes: { breakfast: '08:00', lunch: '12:15', supper: '17:30' },
    bedtime: '21:30',
    overnight: '02:30',
    roundStarts: {
      overnight: '00:00',
      'before-breakfast': '05:00',
      'before-lunch': '10:00',
      'before-supper': '15:00',
      bedtime: '20:00',
    },
    windows: {
      beforeMeal: { opensBefore: 60, dueBefore: 30, lateAfter: 0, closesAfter: 60 },
      bedtime: { opensBefore: 60, dueBefore: 0, lateAfter: 30, closesAfter: 90 },
      timed: { opensBefore: 30, dueBefore: 0, lateAfter: 30, closesAfter: 60 },
      every4h: { opensBefore: 30, dueBefore: 0, lateAfter: 30, closesAfter: 120 },
      every6h: { opensBefore: 30, dueBefore: 0, lateAfter: 30, closesAfter: 180 },
    },
    lateEntryReasonAfterMin: 15,
    missedLookBackHours: 24,
    limits: mg
      ? { low: 70, level2: 54, recovered: 70, criticalLow: 50, criticalHigh: 400 }
      : { low: 39, level2: 30, recovered: 39, criticalLow: 28, criticalHigh: 222 },
    low: LOW_PROTOCOL,
    critical: {
      repeatWithinMin: 10,
      lowRepeatAgreesWithin: mg ? 15 : 8,
      highRepeatAgreesWithinPercent: 20,
      callWithinMin: 30,
      laboratoryWithinMin: 60,
    },
    dose: {
      readingAgeMaxMin: 60,
      trayWithinMin: 15,
      trayServedAgoMaxMin: 30,
      noTrayAfterMin: 15,
      correctionIntervalMin: { rapid: 240, regular: 360, intermediate: null, 'long-acting': null },
      stackingStopsAtOccasions: false,
      singleDoseLimit: 20,
      zeroNeedsSecondCheck: false,
      verifiedValidMin: 30,
      mismatchesBeforeCharge: 2,
    },
    fingers: FINGERS,
    idleLockMin: 10,
    ...NEWER_PARTS,
  }
}
