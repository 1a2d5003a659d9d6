/** When the trays of a stretch of days come, for the question whether the next meal is soon. */
import type { Meal, TrayDelay } from '../check/check.ts'
import { trayTimeMs } from '../check/round.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { addWardDays, wardDate } from '../time/zone.ts'
import { DAY_MS } from '../time/span.ts'

const MEALS: readonly Meal[] = ['breakfast', 'lunch', 'supper']

/** Tray times of the ward-local days from the one of `fromMs` to the day after `toMs`, delays counted, at most ten days back. */
export function mealsAround(
  fromMs: number,
  toMs: number,
  policy: WardPolicy,
  trayDelays: readonly TrayDelay[],
): readonly number[] {
  const times: number[] = []
  const last = addWardDays(wardDate(toMs, policy.zone), 1, policy.zone)
  for (
    let date = wardDate(Math.max(fromMs, toMs - 10 * DAY_MS), policy.zone);
    date <= last;
    date = addWardDays(date, 1, policy.zone)
  ) {
    for (const meal of MEALS) times.push(trayTimeMs(date, meal, policy, trayDelays))
  }
  return times
}
