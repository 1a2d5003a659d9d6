/** Types of planned checks. The files beside this one generate, time and order them. */
import type { WatchReason } from '../care/watch-time.ts'

export type Occasion = 'before-breakfast' | 'before-lunch' | 'before-supper' | 'bedtime' | 'overnight'
export type Meal = 'breakfast' | 'lunch' | 'supper'

export const OCCASIONS: readonly Occasion[] = [
  'before-breakfast',
  'before-lunch',
  'before-supper',
  'bedtime',
  'overnight',
]

/** The meal after a before-meal occasion. Null for bedtime and overnight. */
export const MEAL_OF: Readonly<Record<Occasion, Meal | null>> = {
  'before-breakfast': 'breakfast',
  'before-lunch': 'lunch',
  'before-supper': 'supper',
  bedtime: null,
  overnight: null,
}

/** When a stay is checked. Times are ward-local, HH:MM. */
export type CheckPlan =
  | { readonly kind: 'ac-and-hs' }
  | { readonly kind: 'before-meals' }
  | { readonly kind: 'every-4-h' }
  | { readonly kind: 'every-6-h' }
  | { readonly kind: 'listed-times'; readonly times: readonly string[] }
  | { readonly kind: 'once'; readonly atMs: number }
  /** Every night at the policy's overnight time, in addition to the plan in force. */
  | { readonly kind: 'overnight' }

/** One version of a stay's plan. From is included, until is excluded; null: no end yet. */
export type PlanVersion = {
  readonly stayId: string
  readonly version: number
  readonly plan: CheckPlan
  readonly fromMs: number
  readonly untilMs: number | null
  /** True: overlays the other plans for a time (nil by mouth). It takes precedence and ends none of them. */
  readonly overlay: boolean
}

/**
 * One planned check time. `key` identifies it and never changes: stay, ward-local date and slot, or low event and
 * cycle, or a watch check's or an extra check's own id. The four instants are derived from plan, policy and tray delays and can move. A
 * window is half-open: opens is included, closes is excluded.
 */
export type Check = {
  readonly key: string
  readonly stayId: string
  readonly kind: 'planned' | 'recheck' | 'extra' | 'watch'
  /** The round to which it belongs. */
  readonly occasion: Occasion
  /** Ward-local date, YYYY-MM-DD. */
  readonly date: string
  readonly opensMs: number
  readonly dueMs: number
  readonly lateAfterMs: number
  readonly closesMs: number
  /** Why a watch check is asked for; absent for every other kind. */
  readonly watch?: WatchReason
}

export type CheckState = 'upcoming' | 'open' | 'late' | 'missed' | 'done' | 'excused'

export type ExcuseReason = 'off-the-ward' | 'refused' | 'order-changed' | 'asleep-by-order' | 'other'
/** Why a check closed without a reading. */
export type MissedReason = 'off-the-ward' | 'refused' | 'workload' | 'no-meter' | 'emergency-elsewhere' | 'other'

/** How a check was settled: by a reading or by a reason. Without either it is null in the facts. */
export type CheckOutcome =
  | { readonly kind: 'done'; readonly readingId: string; readonly atMs: number }
  | {
      readonly kind: 'excused'
      readonly reason: ExcuseReason | MissedReason
      readonly note: string
      readonly byId: string
      readonly atMs: number
    }

/** A delay of one round's trays for the whole ward, in minutes. It may be replaced; the last one charted counts. */
export type TrayDelay = { readonly date: string; readonly meal: Meal; readonly minutes: number }
