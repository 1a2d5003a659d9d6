/** A patient of the demo as the parts of its week share it: place, nurses, trays and chance. */
import { MEAL_OF, type Check, type Meal } from '../shared/check/check.ts'
import type { Signer } from '../shared/dose/second-check.ts'
import type { Place } from './acts.ts'
import type { Course } from './course.ts'
import type { DemoPatient } from './patients.ts'
import type { Chance } from './random.ts'
import type { Timeline } from './timeline.ts'

export type Ward = { readonly name: string; readonly nurses: readonly Signer[] }

export type Life = {
  readonly place: Place
  readonly line: Timeline
  readonly ward: Ward
  readonly patient: DemoPatient
  readonly stayId: string
  /** The last day that is planned, and the instant before which everything happens: of the demo's morning, or of going home. */
  readonly today: string
  readonly startMs: number
  /** Ward-local date of the demo's morning. */
  readonly morning: string
}

/** What the parts of a patient's week share. */
export type Living = Life & {
  readonly chance: Chance
  readonly course: Course
  /** The two nurses at this bed at an instant: who measures and gives, and who checks. */
  readonly nursesAt: (ms: number) => readonly [Signer, Signer]
  /** When this patient's tray arrives. */
  readonly trayAtMs: (date: string, meal: Meal) => number
}

/** The meal that a check comes before, and when its tray arrives; null where there is none. */
export function trayOf(living: Living, check: Check): number | null {
  const meal = MEAL_OF[check.occasion]
  return meal === null ? null : living.trayAtMs(check.date, meal)
}
