/** Finds which of an order's occasions a reading answers. */
import { MEAL_OF, OCCASIONS, type Occasion, type TrayDelay } from '../check/check.ts'
import { parseCheckKey, roundOf, trayTimeMs } from '../check/plan.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import { contains } from '../time/interval.ts'
import { localToUtc, wardDate } from '../time/zone.ts'
import { MINUTE_MS } from '../time/span.ts'

/**
 * `slot` separates two checks of one round (every 4 h there are two overnight). `own` is true for a planned check, and
 * for an extra reading taken inside the occasion's window. So a fresh reading can replace an old one.
 */
export type ReadingOccasion = {
  readonly occasion: Occasion
  readonly date: string
  readonly slot: string
  readonly own: boolean
}

/**
 * The occasion of a reading: its planned check's, otherwise the one whose window it falls into, otherwise the round's.
 */
export function occasionOfReading(
  reading: Pick<Reading, 'checkKey' | 'takenAtMs'>,
  policy: WardPolicy,
  trayDelays: readonly TrayDelay[],
): ReadingOccasion {
  const key = reading.checkKey === null ? null : parseCheckKey(reading.checkKey)
  if (key?.kind === 'planned') {
    const named = OCCASIONS.find((occasion) => occasion === key.slot)
    if (named !== undefined) return { occasion: named, date: key.date, slot: key.slot, own: true }
    const plannedMs = localToUtc(key.date, `${key.slot.slice(1, 3)}:${key.slot.slice(3)}`, policy.zone)
    return { occasion: roundOf(plannedMs, policy).occasion, date: key.date, slot: key.slot, own: true }
  }
  const date = wardDate(reading.takenAtMs, policy.zone)
  const inWindow = OCCASIONS.find((occasion) =>
    contains(windowOf(occasion, date, policy, trayDelays), reading.takenAtMs),
  )
  if (inWindow !== undefined) return { occasion: inWindow, date, slot: inWindow, own: true }
  const round = roundOf(reading.takenAtMs, policy)
  return { occasion: round.occasion, date: round.date, slot: round.occasion, own: false }
}

/** The window of an AC & HS occasion. Empty for overnight, which no such plan has. */
function windowOf(
  occasion: Occasion,
  date: string,
  policy: WardPolicy,
  trayDelays: readonly TrayDelay[],
): { readonly fromMs: number; readonly toMs: number } {
  const meal = MEAL_OF[occasion]
  if (meal === null && occasion !== 'bedtime') return { fromMs: 0, toMs: 0 }
  const anchorMs =
    meal === null ? localToUtc(date, policy.bedtime, policy.zone) : trayTimeMs(date, meal, policy, trayDelays)
  const window = meal === null ? policy.windows.bedtime : policy.windows.beforeMeal
  return { fromMs: anchorMs - window.opensBefore * MINUTE_MS, toMs: anchorMs + window.closesAfter * MINUTE_MS }
}
