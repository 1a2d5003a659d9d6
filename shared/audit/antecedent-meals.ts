/** Links meals to insulin: which tray belongs to which dose, and the minutes between them. */
import { MEAL_OF } from '../check/check.ts'
import type { Dose, TrayFact } from '../dose/dose.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import { MINUTE_MS } from '../time/span.ts'
import { localToUtc, wardDate } from '../time/zone.ts'
import type { Antecedent, MealDose, TrayAfter } from './antecedent.ts'

type MealFacts = {
  readonly doses: readonly Dose[]
  readonly readings: readonly Reading[]
  readonly trays: readonly TrayFact[]
}

/** The meal and ward-local date of a dose. Null for a dose at bedtime, overnight or at a listed time. */
function mealOf(
  { inputs, readingId }: Dose,
  readings: readonly Reading[],
  { zone }: WardPolicy,
): { readonly meal: TrayFact['meal']; readonly date: string } | null {
  const meal = inputs.occasion === null ? null : MEAL_OF[inputs.occasion]
  if (meal === null || inputs.readingTakenAtMs === null) return null
  const date = readings.find((reading) => reading.readingId === readingId)?.wardDate
  return { meal, date: date ?? wardDate(inputs.readingTakenAtMs, zone) }
}

/** The tray that a given dose belongs to. Null: the dose belongs to no meal. */
export function trayOfDose(
  dose: Dose,
  { readings, trays }: Omit<MealFacts, 'doses'>,
  policy: WardPolicy,
): TrayAfter | null {
  const about = mealOf(dose, readings, policy)
  if (about === null || dose.outcome?.kind !== 'given') return null
  const { atMs, food } = dose.outcome
  const servedAtMs = trays.find(({ meal, date }) => meal === about.meal && date === about.date)?.servedAtMs ?? null
  const byMs = atMs + policy.dose.noTrayAfterMin * MINUTE_MS
  return {
    meal: about.meal,
    afterMs: servedAtMs === null ? null : servedAtMs - atMs,
    isLate: food === 'tray-coming' && (servedAtMs === null || servedAtMs > byMs),
  }
}

/**
 * Each charted tray with the insulin given for it, at its time of serving. Without one, it takes the planned time of
 * its meal.
 */
export function mealsOf({ doses, readings, trays }: MealFacts, policy: WardPolicy): readonly Antecedent[] {
  // the order of charting must not change the result
  const byTime = [...doses].sort(
    (a, b) => (a.outcome?.atMs ?? 0) - (b.outcome?.atMs ?? 0) || (a.doseId < b.doseId ? -1 : 1),
  )
  return trays.map((tray) => {
    const { servedAtMs } = tray
    const own = byTime.flatMap((dose): MealDose[] => {
      const about = mealOf(dose, readings, policy)
      if (about === null || about.meal !== tray.meal || about.date !== tray.date || dose.outcome?.kind !== 'given')
        return []
      return [{ dose, beforeMs: servedAtMs === null ? null : servedAtMs - dose.outcome.atMs }]
    })
    return {
      atMs: servedAtMs ?? localToUtc(tray.date, policy.mealTimes[tray.meal], policy.zone),
      chartedAtMs: null,
      byId: null,
      fact: { kind: 'tray', tray, isTimed: servedAtMs !== null, doses: own },
    }
  })
}
