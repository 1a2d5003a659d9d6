/** Late trays: for which meals a delay may be charted, and how the windows of their round move. */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { addWardDays, localToUtc, wardDate } from '../time/zone.ts'
import { MINUTE_MS } from '../time/span.ts'
import type { Meal, TrayDelay } from './check.ts'
import { trayDelayMin } from './round.ts'

/** A shorter delay does not affect the round; a longer one calls for another plan (common practice). */
export const DELAY_MIN = { least: 5, most: 180 } as const

/** The four instants of a before-meal check, and the tray's time. */
export type MealWindows = {
  readonly opensMs: number
  readonly dueMs: number
  readonly trayMs: number
  readonly closesMs: number
}
/** A meal whose trays may still be late. `minutes`: the charted delay, or 0. */
export type CallableMeal = {
  readonly date: string
  readonly meal: Meal
  readonly minutes: number
  readonly windows: MealWindows
}

export type TrayDelayFacts = {
  readonly wardId: string
  readonly policy: WardPolicy
  readonly trayDelays: readonly TrayDelay[]
  readonly nowMs: number
}
export type TrayDelayRefusal = 'delay-meal-over' | 'delay-minutes' | 'delay-none-to-take-back' | 'delay-same'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'delay-minutes': { least: number; most: number }
    'delay-same': { minutes: number }
  }
}

const MEALS: readonly Meal[] = ['breakfast', 'lunch', 'supper']

/** The windows of the round before the meal when its trays are this many minutes late. */
export function mealWindows(date: string, meal: Meal, policy: WardPolicy, minutes: number): MealWindows {
  const trayMs = localToUtc(date, policy.mealTimes[meal], policy.zone) + minutes * MINUTE_MS
  const { opensBefore, dueBefore, closesAfter } = policy.windows.beforeMeal
  return {
    opensMs: trayMs - opensBefore * MINUTE_MS,
    dueMs: trayMs - dueBefore * MINUTE_MS,
    trayMs,
    closesMs: trayMs + closesAfter * MINUTE_MS,
  }
}

/** Today's meals whose round is not over, and tomorrow's breakfast, because the kitchen also calls in the evening. */
export function mealsToCome({ policy, trayDelays, nowMs }: Omit<TrayDelayFacts, 'wardId'>): readonly CallableMeal[] {
  const today = wardDate(nowMs, policy.zone)
  const asked = [
    ...MEALS.map((meal) => ({ date: today, meal })),
    { date: addWardDays(today, 1, policy.zone), meal: 'breakfast' as const },
  ]
  return asked.flatMap(({ date, meal }) => {
    const minutes = trayDelayMin(date, meal, trayDelays)
    const windows = mealWindows(date, meal, policy, minutes)
    return nowMs < windows.closesMs ? [{ date, meal, minutes, windows }] : []
  })
}

/**
 * Charts that the ward's trays of a meal come `minutes` late: 5 to 180, replacing an earlier delay. 0 cancels it.
 * Refuses a meal whose round is over, and an entry that changes nothing.
 */
export function delayTrays(
  entry: { readonly date: string; readonly meal: Meal; readonly minutes: number; readonly byId: string },
  facts: TrayDelayFacts,
): Outcome<LedgerEvent[], TrayDelayRefusal> {
  const { date, meal, minutes, byId } = entry
  const known = mealsToCome(facts).find((one) => one.date === date && one.meal === meal)
  if (known === undefined) return refuse('delay-meal-over')
  if (!Number.isInteger(minutes) || (minutes !== 0 && (minutes < DELAY_MIN.least || minutes > DELAY_MIN.most)))
    return refuse('delay-minutes', DELAY_MIN)
  if (minutes === 0 && known.minutes === 0) return refuse('delay-none-to-take-back')
  if (minutes === known.minutes) return refuse('delay-same', { minutes })
  return accept([
    {
      ...eventHead({ wardId: facts.wardId }, byId, facts.nowMs),
      type: 'tray-delayed',
      body: { date, meal, minutes },
    },
  ])
}
