/** The planned check of the AC & HS plan to which a value belongs. Independent of the rules. */
import type { Occasion } from '../../shared/check/check.ts'
import type { LogEntry } from './log.ts'
import { AT_BEDTIME, BEFORE_MEAL, TIMES } from './ward.ts'

export const minutesOf = (time: string): number => Number(time.slice(0, 2)) * 60 + Number(time.slice(3))

type Window = { readonly occasion: Occasion; readonly opens: number; readonly due: number; readonly closes: number }

const beforeMeal = (occasion: Occasion, tray: string): Window => {
  const at = minutesOf(tray)
  return {
    occasion,
    opens: at - BEFORE_MEAL.opensBefore,
    due: at - BEFORE_MEAL.dueBefore,
    closes: at + BEFORE_MEAL.closesAfter,
  }
}
/** The day's four windows in minutes after midnight: opens included, closes excluded. None reaches into another day. */
export const WINDOWS: readonly Window[] = [
  beforeMeal('before-breakfast', TIMES.breakfast),
  beforeMeal('before-lunch', TIMES.lunch),
  beforeMeal('before-supper', TIMES.supper),
  {
    occasion: 'bedtime',
    opens: minutesOf(TIMES.bedtime) - AT_BEDTIME.opensBefore,
    due: minutesOf(TIMES.bedtime),
    closes: minutesOf(TIMES.bedtime) + AT_BEDTIME.closesAfter,
  },
]

/**
 * The occasion whose open check takes the value. Null: an extra check. The log's own occasion counts where it names
 * one and its window is open; "unspecified" takes the open window that is due nearest. A value after a meal or at a
 * snack is always extra. `done` holds "date occasion" of finished checks.
 */
export function checkFor(entry: LogEntry, done: ReadonlySet<string>): Occasion | null {
  if (entry.occasion === 'after-a-meal' || entry.occasion === 'snack') return null
  const at = minutesOf(entry.time)
  const open = WINDOWS.filter(
    ({ opens, closes, occasion }) => at >= opens && at < closes && !done.has(`${entry.date} ${occasion}`),
  )
  if (entry.occasion !== 'unspecified')
    return open.find(({ occasion }) => occasion === entry.occasion)?.occasion ?? null
  const [nearest] = open.toSorted((a, b) => Math.abs(a.due - at) - Math.abs(b.due - at))
  return nearest?.occasion ?? null
}
