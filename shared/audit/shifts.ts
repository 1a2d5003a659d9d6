/** The ward's shifts as periods for an audit. */
import type { WardPolicy } from '../policy/ward-policy.ts'
import { addWardDays, localToUtc, wardDate } from '../time/zone.ts'

/** From is included, to is excluded. `date` is the ward-local date on which the shift began. */
export type Shift = { readonly name: string; readonly date: string; readonly fromMs: number; readonly toMs: number }

/** Longest period of one audit in calendar days (our own choice). */
export const PERIOD_MOST_DAYS = 31

/**
 * The last `count` shifts, starting with the one running at `nowMs`. Each runs to the start of the next one by the
 * ward's clock. The night of a clock change is an hour shorter or longer.
 */
export function lastShifts(
  { shifts, zone }: Pick<WardPolicy, 'shifts' | 'zone'>,
  nowMs: number,
  count: number,
): readonly Shift[] {
  const today = wardDate(nowMs, zone)
  const days = Math.ceil(count / Math.max(1, shifts.length)) + 2
  const starts = Array.from({ length: days + 2 }, (_, index) => addWardDays(today, 1 - index, zone))
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
