/**
 * Ward policy: every number a rule uses, with its default. Versioned; a version is never edited.
 * Glucose limits are counted in the ward's unit: mg/dL, or tenths of a mmol/L.
 */
import type { Meal, Occasion } from '../check/check.ts'
import type { GlucoseUnit } from '../glucose/value.ts'
import type { InsulinClass } from '../order/order.ts'
import type { FingerSite } from '../reading/reading.ts'

/** Minutes relative to the anchor: the tray for a before-meal check, the planned time for a timed one. */
export type WindowMinutes = { readonly opensBefore: number; readonly dueBefore: number; readonly lateAfter: number; readonly closesAfter: number }

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
  readonly windows: { readonly beforeMeal: WindowMinutes; readonly bedtime: WindowMinutes; readonly timed: WindowMinutes; readonly every4h: WindowMinutes; readonly every6h: WindowMinutes }
  readonly lateEntryReasonAfterMin: number
  readonly missedLookBackHours: number
  readonly limits: { readonly low: number; readonly level2: number; readonly recovered: number; readonly criticalLow: number; readonly criticalHigh: number }
  readonly low: { readonly recheckMin: number; readonly maxCycles: number; readonly followUpMin: number; readonly insulinQuestionMin: number }
  readonly critical: { readonly repeatWithinMin: number; readonly lowRepeatAgreesWithin: number; readonly highRepeatAgreesWithinPercent: number; readonly callWithinMin: number }
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
}

const FINGERS: readonly FingerSite[] = [
  { hand: 'left', finger: 'middle' },
  { hand: 'right', finger: 'middle' },
  { hand: 'left', finger: 'ring' },
  { hand: 'right', finger: 'ring' },
]

/**
 * The defaults, in the unit asked for. Sources:
 * low < 70 mg/dL (3.9 mmol/L) and level 2 < 54 (3.0): American Diabetes Association since 2019;
 * recheck 15 min, 3 cycles: World J Diabetes 2021;12:2036 table 1; follow-up 60 min: common practice;
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
    roundStarts: { overnight: '00:00', 'before-breakfast': '05:00', 'before-lunch': '10:00', 'before-supper': '15:00', bedtime: '20:00' },
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
    low: { recheckMin: 15, maxCycles: 3, followUpMin: 60, insulinQuestionMin: 15 },
    critical: { repeatWithinMin: 10, lowRepeatAgreesWithin: mg ? 15 : 8, highRepeatAgreesWithinPercent: 20, callWithinMin: 30 },
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
  }
}
