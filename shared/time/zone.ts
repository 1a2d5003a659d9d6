/**
 * Converts between ward-local dates and times and instants (UTC milliseconds). This is the only file that handles time
 * zones.
 *
 * A local time skipped by the spring change moves forward by the gap. One repeated by the autumn change means its first
 * occurrence. So every planned local time exists exactly once. The luxon documentation does not define the repeated
 * hour ("no guarantee which of the two"), so the choice is made here.
 */
import { DateTime, IANAZone, Settings } from 'luxon'
import { DAY_MS, MINUTE_MS } from './span.ts'

declare module 'luxon' {
  interface TSSettings {
    throwOnInvalid: true
  }
}
// an invalid DateTime would otherwise spread as NaN
Settings.throwOnInvalid = true

/**
 * Since 1973 every zone has changed its offset on a quarter of an hour (IANA tz database). So one offset is valid for
 * the whole quarter.
 */
const QUARTER_MS = 15 * MINUTE_MS
const QUARTERS_HOLD_FROM_MS = 94_694_400_000
/**
 * A ward needs a few hundred entries. Beyond this number the cache is cleared, so that no input can make it grow
 * without limit.
 */
const CACHE_MOST = 50_000

const zones = new Map<string, IANAZone>()
const offsets = new Map<string, Map<number, number>>()
const instants = new Map<string, Map<string, number>>()
const dates = new Map<number, string>()
const days = new Map<string, number>()

function remember<K, V>(cache: Map<K, V>, key: K, value: V): V {
  if (cache.size >= CACHE_MOST) cache.clear()
  cache.set(key, value)
  return value
}

function zoneNamed(zone: string): IANAZone {
  const known = zones.get(zone)
  if (known !== undefined) return known
  if (!IANAZone.isValidZone(zone)) throw new RangeError(`not an IANA zone: ${zone}`)
  return remember(zones, zone, IANAZone.create(zone))
}

/** True when the name is an IANA zone known to this machine. */
export function isZone(zone: string): boolean {
  return IANAZone.isValidZone(zone)
}

/** Minutes that the zone is ahead of UTC at the instant. */
function offsetMin(ms: number, zone: string): number {
  if (ms < QUARTERS_HOLD_FROM_MS) return zoneNamed(zone).offset(ms)
  let cache = offsets.get(zone)
  if (cache === undefined) cache = remember(offsets, zone, new Map<number, number>())
  const quarter = Math.floor(ms / QUARTER_MS)
  return cache.get(quarter) ?? remember(cache, quarter, zoneNamed(zone).offset(quarter * QUARTER_MS))
}

const DATE = /^(\d{4})-(\d{2})-(\d{2})$/
const TIME = /^([01]\d|2[0-3]):([0-5]\d)$/

/** The date and time as if they were UTC. Undefined: either is invalid. */
function readAsUtc(date: string, time: string): number | undefined {
  const d = DATE.exec(date)
  const t = TIME.exec(time)
  if (d === null || t === null) return undefined
  const [year, month, day] = [Number(d[1]), Number(d[2]), Number(d[3])]
  if (month < 1 || month > 12 || day < 1 || day > 31) return undefined
  const first = DateTime.utc(year, month, 1)
  if (day > first.daysInMonth) return undefined
  return first.toMillis() + (day - 1) * DAY_MS + (Number(t[1]) * 60 + Number(t[2])) * MINUTE_MS
}

/** The instants at which the ward's clock shows this date and time: one, two (repeated hour) or none (skipped hour). */
function occurrences(asUtcMs: number, zone: string): readonly number[] {
  const before = offsetMin(asUtcMs - DAY_MS, zone)
  const after = offsetMin(asUtcMs + DAY_MS, zone)
  const candidates = before === after ? [before] : [before, after]
  return candidates
    .map((offset) => ({ offset, ms: asUtcMs - offset * MINUTE_MS }))
    .filter((candidate) => offsetMin(candidate.ms, zone) === candidate.offset)
    .map((candidate) => candidate.ms)
    .sort((a, b) => a - b)
}

/**
 * The instant of a ward-local date (YYYY-MM-DD) and time (HH:MM). A skipped time moves forward by the gap (02:30
 * becomes 03:30 where the clock jumps from 02:00 to 03:00). A repeated time is its first occurrence. Throws a
 * RangeError on an invalid date, time or zone: plans and policies are checked earlier.
 */
export function localToUtc(date: string, time: string, zone: string): number {
  let cache = instants.get(zone)
  if (cache === undefined) cache = remember(instants, zone, new Map<string, number>())
  const key = `${date}T${time}`
  const known = cache.get(key)
  if (known !== undefined) return known
  const asUtc = readAsUtc(date, time)
  if (asUtc === undefined) throw new RangeError(`not a date and time: ${key}`)
  // the offset before the change moves a time inside the gap forward by the gap's length
  return remember(cache, key, occurrences(asUtc, zone)[0] ?? asUtc - offsetMin(asUtc - DAY_MS, zone) * MINUTE_MS)
}

/** The ward-local calendar date of the instant, YYYY-MM-DD. */
export function wardDate(ms: number, zone: string): string {
  const day = Math.floor((ms + offsetMin(ms, zone) * MINUTE_MS) / DAY_MS)
  return dates.get(day) ?? remember(dates, day, DateTime.fromMillis(day * DAY_MS, { zone: 'utc' }).toISODate())
}

/** The ward-local time of the instant, HH:MM on a 24-hour clock, truncated to the minute. */
export function wardTime(ms: number, zone: string): string {
  const minutes = Math.floor((ms + offsetMin(ms, zone) * MINUTE_MS) / MINUTE_MS)
  const ofDay = ((minutes % 1440) + 1440) % 1440
  return `${String(Math.floor(ofDay / 60)).padStart(2, '0')}:${String(ofDay % 60).padStart(2, '0')}`
}

/** The date as a count of days. Throws a RangeError on an invalid date. */
function dayOf(date: string): number {
  const known = days.get(date)
  if (known !== undefined) return known
  const asUtc = readAsUtc(date, '00:00')
  if (asUtc === undefined) throw new RangeError(`not a date: ${date}`)
  return remember(days, date, asUtc / DAY_MS)
}

/** The calendar date a whole number of days later (earlier when negative). Throws a RangeError on an invalid date. */
export function addDays(date: string, count: number): string {
  const day = dayOf(date) + count
  return dates.get(day) ?? remember(dates, day, DateTime.fromMillis(day * DAY_MS, { zone: 'utc' }).toISODate())
}

/**
 * True when the zone's calendar has the date. A zone that crosses the date line skips one: Pacific/Apia has no 30
 * December 2011 (IANA tz database). Every other change of the clock is over by noon, so noon tells.
 */
export function hasDate(date: string, zone: string): boolean {
  return wardDate(localToUtc(date, '12:00', zone), zone) === date
}

/**
 * The date so many days of the zone's calendar later (earlier when negative). A day that the zone skips does not count.
 * Throws a RangeError on an invalid date.
 */
export function addWardDays(date: string, count: number, zone: string): string {
  const step = Math.sign(count)
  let reached = date
  for (let left = Math.abs(count); left > 0;) {
    reached = addDays(reached, step)
    if (hasDate(reached, zone)) left -= 1
  }
  return reached
}

/** Day of the week of a calendar date: 1 is Monday, 7 is Sunday (ISO 8601). Throws a RangeError on an invalid date. */
export function weekdayOf(date: string): number {
  // day 0, 1970-01-01, was a Thursday
  return ((((dayOf(date) + 3) % 7) + 7) % 7) + 1
}

/** True when the text is a valid calendar date, YYYY-MM-DD. */
export function isCalendarDate(text: string): boolean {
  return readAsUtc(text, '00:00') !== undefined
}

/**
 * Parses a ward-local date and time as a form sends it ("2026-11-24T07:20"; a blank instead of T, and seconds, are
 * allowed). Null: not a date and time. A repeated time is its latest occurrence not after `nowMs`, because charted
 * events are past. At the second 01:30 of the autumn night, "01:30" means now and not an hour ago.
 */
export function parseLocalDateTime(text: string, zone: string, nowMs: number): number | null {
  const match = /^(\d{4}-\d{2}-\d{2})[T ](\d{2}:\d{2})(?::([0-5]\d)(?:\.\d{1,3})?)?$/.exec(text.trim())
  const [date, time] = [match?.[1] ?? '', match?.[2] ?? '']
  const asUtc = readAsUtc(date, time)
  if (asUtc === undefined) return null
  const secondsMs = Number(match?.[3] ?? 0) * 1000
  const past = occurrences(asUtc, zone).filter((ms) => ms + secondsMs <= nowMs)
  return (past.at(-1) ?? localToUtc(date, time, zone)) + secondsMs
}

/** The ward-local date and time in the format of a form field: "2026-11-24T07:20". */
export function localDateTime(ms: number, zone: string): string {
  return `${wardDate(ms, zone)}T${wardTime(ms, zone)}`
}

/**
 * The ward-local date and time of the instant to the second, "2026-11-24 07:05:30". `parseLocalDateTime` can read it
 * back.
 */
export function localToTheSecond(ms: number, zone: string): string {
  const second = Math.floor(ms / 1000) % 60
  return `${wardDate(ms, zone)} ${wardTime(ms, zone)}:${String(second).padStart(2, '0')}`
}
