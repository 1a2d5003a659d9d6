/** When a reading was taken, as a nurse types it. */
import { addWardDays, parseLocalDateTime, wardDate } from '../time/zone.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'

const HALF_DAY_MS = 12 * 3_600_000

export type TakenAtRefusal = 'time-not-read'

/**
 * Reads "07:05", "7:05", "0705" as that ward-local time today, or a whole ward-local date and time as it is
 * ("2026-11-24T07:05"); nothing typed means now. A time alone that is more than 12 h ahead was yesterday's (23:55
 * typed at 00:05); one less far ahead is read as it stands, so that a slip is refused as lying in the future and not
 * charted a day too early. Refuses what is no time.
 */
export function parseTakenAt(typed: string, zone: string, nowMs: number): Outcome<number, TakenAtRefusal> {
  const text = typed.trim()
  if (text === '') return accept(nowMs)
  const clock = /^(\d{1,2}):?(\d{2})$/.exec(text)
  if (clock === null) {
    const whole = parseLocalDateTime(text, zone, nowMs)
    return whole === null ? refuse('time-not-read') : accept(whole)
  }
  const time = `${(clock[1] ?? '').padStart(2, '0')}:${clock[2] ?? ''}`
  const today = wardDate(nowMs, zone)
  const atMs = parseLocalDateTime(`${today}T${time}`, zone, nowMs)
  if (atMs === null) return refuse('time-not-read')
  if (atMs - nowMs <= HALF_DAY_MS) return accept(atMs)
  return accept(parseLocalDateTime(`${addWardDays(today, -1, zone)}T${time}`, zone, nowMs) ?? atMs)
}
