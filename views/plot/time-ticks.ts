/** Positions of the ticks of a time axis: at whole steps of the ward's clock. */
import { MINUTE_MS, HOUR_MS, DAY_MS } from '../../shared/time/span.ts'
import { localToUtc, wardDate } from '../../shared/time/zone.ts'
import { formatDay, formatTime } from '../format.ts'

const STEPS_MS: readonly number[] = [
  5 * MINUTE_MS,
  10 * MINUTE_MS,
  15 * MINUTE_MS,
  30 * MINUTE_MS,
  HOUR_MS,
  2 * HOUR_MS,
  3 * HOUR_MS,
  6 * HOUR_MS,
  12 * HOUR_MS,
  DAY_MS,
  2 * DAY_MS,
  7 * DAY_MS,
]

/**
 * At most `most` ticks from `fromMs` to `toMs`, both included: times of day, or days if the period is longer than two.
 */
export function timeTicks(
  fromMs: number,
  toMs: number,
  zone: string,
  most: number,
): readonly { readonly ms: number; readonly text: string }[] {
  const stepMs = STEPS_MS.find((step) => (toMs - fromMs) / step <= most) ?? 14 * DAY_MS
  const midnightMs = localToUtc(wardDate(fromMs, zone), '00:00', zone)
  const ticks: { ms: number; text: string }[] = []
  for (let ms = midnightMs + Math.ceil((fromMs - midnightMs) / stepMs) * stepMs; ms <= toMs; ms += stepMs) {
    ticks.push({ ms, text: stepMs >= DAY_MS ? formatDay(ms, zone).replace(/ \d{4}$/, '') : formatTime(ms, zone) })
  }
  return ticks
}
