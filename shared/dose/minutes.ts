/**
 * The two spans a given dose is judged by: from its reading to the insulin, and from the insulin to the tray. Derived
 * from the charted instants, so that a correction of either is a correction of the span.
 */
import { MEAL_OF } from '../check/check.ts'
import type { Dose, TrayFact } from './dose.ts'
import { MINUTE_MS } from '../time/span.ts'

export type DoseMinutes = {
  /** Whole minutes from the reading to the insulin, cut off; null without a reading, or when it was not given. */
  readonly readingToInsulin: number | null
  /** Whole minutes from the insulin to its meal's tray, cut off toward 0; below 0: the tray came first. Null: no tray charted. */
  readonly insulinToTray: number | null
}

/** `readingDate` is the ward-local date of the dose's reading: the day whose tray belongs to it. */
export function doseMinutes(
  dose: Pick<Dose, 'stayId' | 'outcome' | 'inputs'>,
  trays: readonly TrayFact[],
  readingDate: string | null,
): DoseMinutes {
  const { outcome, inputs } = dose
  if (outcome?.kind !== 'given') return { readingToInsulin: null, insulinToTray: null }
  const minutes = (ms: number): number => Math.trunc(ms / MINUTE_MS) || 0
  const meal = inputs.occasion === null ? null : MEAL_OF[inputs.occasion]
  const servedAtMs =
    trays.find((tray) => tray.stayId === dose.stayId && tray.meal === meal && tray.date === readingDate)?.servedAtMs ??
    null
  return {
    readingToInsulin: inputs.readingTakenAtMs === null ? null : minutes(outcome.atMs - inputs.readingTakenAtMs),
    insulinToTray: servedAtMs === null ? null : minutes(servedAtMs - outcome.atMs),
  }
}
