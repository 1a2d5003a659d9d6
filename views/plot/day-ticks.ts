/**
 * Positions of the hours and days in a plot over several days, by the ward's clock. A night of a clock change is an
 * hour shorter or longer.
 */
import { addDays, localToUtc, wardDate, weekdayOf } from '../../shared/time/zone.ts'

const WEEKDAYS = ['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun'] as const

export type DayTicks = {
  /** Whole hours of the ward's clock: "06", "12". */
  readonly hours: readonly { readonly ms: number; readonly text: string }[]
  /** Midnights after the start. */
  readonly boundaries: readonly number[]
  /** Each day's span, clipped at both ends: "Tue 24". From is included, to is excluded. */
  readonly days: readonly { readonly fromMs: number; readonly toMs: number; readonly text: string }[]
}

/** Ticks every `everyHours` of the clock (a divisor of 24) from `fromMs` to `toMs`, both included. */
export function dayTicks(fromMs: number, toMs: number, zone: string, everyHours: 3 | 4 | 6 | 12): DayTicks {
  const last = wardDate(toMs, zone)
  const hours: { ms: number; text: string }[] = []
  const days: { fromMs: number; toMs: number; text: string }[] = []
  for (let date = wardDate(fromMs, zone); date <= last; date = addDays(date, 1)) {
    const [startMs, endMs] = [localToUtc(date, '00:00', zone), localToUtc(addDays(date, 1), '00:00', zone)]
    const [cutFrom, cutTo] = [Math.max(fromMs, startMs), Math.min(toMs, endMs)]
    if (cutTo > cutFrom)
      days.push({
        fromMs: cutFrom,
        toMs: cutTo,
        text: `${WEEKDAYS[weekdayOf(date) - 1] ?? ''} ${String(Number(date.slice(8)))}`,
      })
    for (let hour = 0; hour < 24; hour += everyHours) {
      const text = String(hour).padStart(2, '0')
      const ms = localToUtc(date, `${text}:00`, zone)
      if (ms >= fromMs && ms <= toMs) hours.push({ ms, text })
    }
  }
  return { hours, boundaries: days.slice(1).map((day) => day.fromMs), days }
}
