/** One patient of the demo, as the parts of the week use it: store, nurses, trays and random source. */
import { MEAL_OF, type Check, type Meal } from '../shared/check/check.ts'
import type { Signer } from '../shared/dose/second-check.ts'
import type { Place } from './acts.ts'
import type { Course } from './course.ts'
import type { DemoPatient } from './patients.ts'
import type { RandomSource } from './random.ts'
import type { Timeline } from './timeline.ts'

export type Ward = { readonly name: string; readonly nurses: readonly Signer[] }

export type PatientSetup = {
  readonly place: Place
  readonly line: Timeline
  readonly ward: Ward
  readonly patient: DemoPatient
  readonly stayId: string
  /** The last planned day. `startMs` is when the plan ends: the demo's first instant, or the discharge. */
  readonly today: string
  readonly startMs: number
  /** Ward-local date of the demo's morning. */
  readonly morning: string
}

export type PatientSimulation = PatientSetup & {
  readonly random: RandomSource
  readonly course: Course
  /** The two nurses at this bed at an instant. The first measures and gives; the second checks. */
  readonly nursesAt: (ms: number) => readonly [Signer, Signer]
  /** When this patient's tray arrives. */
  readonly trayAtMs: (date: string, meal: Meal) => number
}

/** When the tray of the check's meal arrives. Null: the check precedes no meal. */
export function trayOf(simulation: PatientSimulation, check: Check): number | null {
  const meal = MEAL_OF[check.occasion]
  return meal === null ? null : simulation.trayAtMs(check.date, meal)
}
