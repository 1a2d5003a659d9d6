/** A prescriber's signed insulin order. It is versioned and never edited in place. */
import type { Occasion } from '../check/check.ts'
import type { GlucoseUnit } from '../glucose/value.ts'

export type InsulinClass = 'rapid' | 'regular' | 'intermediate' | 'long-acting'
/** Generic names only. */
export type InsulinName =
  | 'insulin lispro'
  | 'insulin aspart'
  | 'insulin glulisine'
  | 'regular insulin'
  | 'NPH insulin'
  | 'insulin glargine'
  | 'insulin detemir'
  | 'insulin degludec'

export const INSULIN_CLASS: Readonly<Record<InsulinName, InsulinClass>> = {
  'insulin lispro': 'rapid',
  'insulin aspart': 'rapid',
  'insulin glulisine': 'rapid',
  'regular insulin': 'regular',
  'NPH insulin': 'intermediate',
  'insulin glargine': 'long-acting',
  'insulin detemir': 'long-acting',
  'insulin degludec': 'long-acting',
}

/** True for insulin that covers the basal need: NPH and long-acting. */
export function isBasal(insulin: InsulinName): boolean {
  const kind = INSULIN_CLASS[insulin]
  return kind === 'intermediate' || kind === 'long-acting'
}

/** `answer`: units, or 'call': no dose, call the prescriber (not the same as 0 units). */
export type ScaleAnswer = number | 'call'
/**
 * A step answers every glucose from `atLeast` (included) up to the next step (excluded). The last one has no upper end.
 * `atLeast` counts mg/dL or tenths of mmol/L. Below the first step the answer is 0 units.
 */
export type ScaleStep = {
  readonly atLeast: number
  readonly answer: ScaleAnswer
  readonly also: string | null
  /** Minutes after which the order prints a repeat of the reading; absent: it prints none. */
  readonly repeatMin?: number
}
export type Scale = { readonly unit: GlucoseUnit; readonly steps: readonly ScaleStep[] }

export type Correction =
  | { readonly kind: 'scale'; readonly scale: Scale }
  /** (glucose - target) / factor; target and factor count mg/dL or tenths of mmol/L. */
  | {
      readonly kind: 'factor'
      readonly target: number
      readonly perUnit: number
      readonly belowTargetSubtracts: boolean
    }

export type MealPart =
  | { readonly kind: 'fixed'; readonly units: Readonly<Partial<Record<Occasion, number>>> }
  /** carbohydrate grams / gramsPerUnit */
  | { readonly kind: 'ratio'; readonly gramsPerUnit: number }

export type BedtimeVariant =
  | { readonly kind: 'same' }
  | { readonly kind: 'own-scale'; readonly scale: Scale }
  /** half of the step's answer, half units rounded down */
  | { readonly kind: 'half' }
  | { readonly kind: 'none' }

/**
 * The order's rule for a patient who does not eat. The meal part is always held. hold-all also holds the correction;
 * own-scale uses another scale.
 */
export type NotEatingRule =
  | { readonly kind: 'correction-as-ordered' }
  | { readonly kind: 'hold-all' }
  | { readonly kind: 'own-scale'; readonly scale: Scale }

/** A dose without a scale, at a listed ward-local time (HH:MM). `holdBelow` is the order's own hold, if any. */
export type ScheduledDose = { readonly time: string; readonly units: number; readonly holdBelow: number | null }

export type Rounding = { readonly to: 1 | 0.5; readonly ties: 'down' | 'up' }

/** What the prescriber ordered, as it was transcribed. */
export type InsulinOrder = {
  readonly insulin: InsulinName
  readonly concentration: 'U-100'
  readonly route: 'subcutaneous'
  readonly unit: GlucoseUnit
  /** Occasions at which the correction and meal parts apply. */
  readonly occasions: readonly Occasion[]
  readonly correction: Correction | null
  readonly meal: MealPart | null
  /** before: with the correction. after-by-share: after eating, by the share eaten, if the order says so. */
  readonly mealTiming: 'before' | 'after-by-share'
  readonly bedtime: BedtimeVariant
  /** Absent in older orders, written before the field existed: the correction applies as ordered. */
  readonly notEating?: NotEatingRule
  readonly scheduled: readonly ScheduledDose[]
  readonly rounding: Rounding
  /** The order's single-dose limit in units. */
  readonly maxSingleDose: number
  /** Minutes between two corrections. Null: the policy's minutes for the insulin's class. */
  readonly correctionIntervalMin: number | null
  /**
   * True: the prescriber orders this NPH or long-acting insulin in addition to another one (for a steroid, a feed, a split
   * dose). The two do not count against each other. Absent: it replaces, and a second one is asked about.
   */
  readonly inAddition?: true
  /** True when stacking also stops at the order's own occasions. Otherwise it only warns there. */
  readonly stackingStopsAtOccasions: boolean
  readonly prescriber: string
  readonly received: 'written' | 'telephone-read-back'
  readonly startsAtMs: number
  readonly stopsAtMs: number | null
}

export type OrderVersion = {
  readonly orderId: string
  readonly version: number
  readonly stayId: string
  readonly order: InsulinOrder
  readonly writtenAtMs: number
  readonly transcribedById: string
  readonly verified: { readonly byId: string; readonly atMs: number } | null
  /** When it was stopped or replaced by a newer version. */
  readonly endedAtMs: number | null
}

/** True when the version has started and is neither stopped nor replaced at the instant, verified or not. */
export function isInForce(version: OrderVersion, nowMs: number): boolean {
  const { order, endedAtMs } = version
  return (
    nowMs >= order.startsAtMs &&
    (order.stopsAtMs === null || nowMs < order.stopsAtMs) &&
    (endedAtMs === null || nowMs < endedAtMs)
  )
}
