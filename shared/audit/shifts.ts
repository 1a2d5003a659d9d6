/** The ward's shifts as stretches of time: what an audit is asked about. */
import type { WardPolicy } from '../policy/ward-policy.ts'
import { addDays, localToUtc, wardDate } from '../time/zone.ts'

/** From is in, to is out. `date` is the ward-local date on which it began. */
export type Shift = { readonly name: string; readonly date: string; readonly fromMs: number; readonly toMs: number }

/** Longest period of one audit in days of the calendar (our own choice). */
export const PERIOD_MOST_DAYS = 31

/**
 * The last `count` shifts, the one that runs at `nowMs` first. Each runs from its start to the next one's, by the ward's
 * clock: the night on which the clock changes is an hour shorter or longer.
 */
export function lastShifts(
  { shifts, zone }: Pick<WardPolicy, 'shifts' | 'zone'>,
  nowMs: number,
  count: number,
): readonly Shift[] {
  const today = wardDate(nowMs, zone)
  const days = Math.ceil(count / Math.max(1, shifts.length)) + 2
  const starts = Array.from({ length: days + 2 }, (_, index) => addDays(today, 1 - index))
    .flatMap((date) => shifts.map(({ name, starts: time }) => ({ name, date, fromMs: localToUtc(date, time, zone) })))
    .sort((a, b) => a.fromMs - b.fromMs)
  const all = starts.flatMap((start, index): Shift[] => {
    const next = starts[index + 1]
    return next === undefined ? [] : [{ ...start, toMs: next.fromMs }]
  })
  return all
    .filter(({ fromMs, toMs }) => fromMs <= nowMs && toMs > fromMs)
    .slice(-count)
    .reverse()
}
