/** Times on the handover sheet, where space is short. */
import { DAY_MS } from '../../shared/time/span.ts'
import { wardDate } from '../../shared/time/zone.ts'
import { formatDay, formatTime, formatWhen } from '../../views/format.ts'

/**
 * "07:20" on the ward's day, "Mon 21:20" within a day of now, where the weekday is unambiguous. Otherwise as
 * everywhere.
 */
export function sheetWhen(ms: number, nowMs: number, zone: string): string {
  if (wardDate(ms, zone) === wardDate(nowMs, zone) || Math.abs(ms - nowMs) > DAY_MS) return formatWhen(ms, nowMs, zone)
  return `${formatDay(ms, zone).slice(0, 3)} ${formatTime(ms, zone)}`
}
