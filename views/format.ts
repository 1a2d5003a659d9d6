/**
 * The format of times, amounts and names on every page. Times are 24-hour and ward-local, and a number always has its
 * unit. There is never a trailing zero: a "1.0" read as 10 is a known cause of a tenfold overdose. "units" is spelled
 * out.
 */
import type { Occasion } from '../shared/check/check.ts'
import type { InjectionSite } from '../shared/dose/dose.ts'
import type { InsulinName } from '../shared/order/order.ts'
import type { FingerSite } from '../shared/reading/reading.ts'
import { wardDate, wardTime, weekdayOf } from '../shared/time/zone.ts'

const WEEKDAYS = ['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun'] as const
const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'] as const

/** Ward-local time on a 24-hour clock: "07:20". */
export function formatTime(ms: number, zone: string): string {
  return wardTime(ms, zone)
}

/** A calendar date, YYYY-MM-DD, as "4 Feb 1951". The month as a word makes it unambiguous. */
export function formatDate(date: string): string {
  const [year = '', month = '', day = ''] = date.split('-')
  return `${String(Number(day))} ${MONTHS[Number(month) - 1] ?? month} ${year}`
}

/** Ward-local day of an instant: "Tue 24 Nov 2026". */
export function formatDay(ms: number, zone: string): string {
  const date = wardDate(ms, zone)
  return `${WEEKDAYS[weekdayOf(date) - 1] ?? ''} ${formatDate(date)}`
}

/** Ward-local day and time of an instant: "Tue 24 Nov 2026, 07:20". */
export function formatDateTime(ms: number, zone: string): string {
  return `${formatDay(ms, zone)}, ${formatTime(ms, zone)}`
}

/** Within this time the year is left out. */
const YEAR_UNSAID_MS = 180 * 86_400_000

/**
 * The ward-local time alone when the instant is on the same ward day as now, otherwise with the day: "Mon 9 Mar,
 * 21:20".
 */
export function formatWhen(ms: number, nowMs: number, zone: string): string {
  if (wardDate(ms, zone) === wardDate(nowMs, zone)) return formatTime(ms, zone)
  if (Math.abs(ms - nowMs) >= YEAR_UNSAID_MS) return formatDateTime(ms, zone)
  return `${formatDay(ms, zone).replace(/ \d{4}$/, '')}, ${formatTime(ms, zone)}`
}

/** A duration in whole minutes: "45 min", "3 h 20 min", "2 d 4 h". Fractions are truncated. */
export function formatMinutes(minutes: number): string {
  const whole = Math.max(0, Math.floor(minutes))
  if (whole < 60) return `${String(whole)} min`
  const hours = Math.floor(whole / 60)
  if (hours < 48) return whole % 60 === 0 ? `${String(hours)} h` : `${String(hours)} h ${String(whole % 60)} min`
  return hours % 24 === 0
    ? `${String(Math.floor(hours / 24))} d`
    : `${String(Math.floor(hours / 24))} d ${String(hours % 24)} h`
}

/** How long ago, in whole minutes: "just now", "12 min ago", "3 h 20 min ago". */
export function formatAgo(minutes: number): string {
  return minutes < 1 ? 'just now' : `${formatMinutes(minutes)} ago`
}

/** A number without a trailing zero, at most three decimals: 7.5, 4, 0.25. Throws on a number that is not finite. */
export function formatNumber(n: number): string {
  if (!Number.isFinite(n)) throw new TypeError('a number that is not finite cannot be shown')
  return String(Number(n.toFixed(3)))
}

/** An amount of insulin with its unit spelled out: "1 unit", "7.5 units", "0 units". */
export function formatUnits(units: number): string {
  return `${formatNumber(units)} ${units === 1 ? 'unit' : 'units'}`
}

/** A dose in words: "4 units of insulin lispro". */
export function formatInsulin(units: number, insulin: InsulinName): string {
  return `${formatUnits(units)} of ${insulin}`
}

/** "left middle finger" */
export function formatFinger(site: FingerSite): string {
  return `${site.hand} ${site.finger} finger`
}

/** "right upper arm" */
export function formatInjectionSite(site: InjectionSite): string {
  return `${site.side} ${site.area.replace('-', ' ')}`
}

/** The occasion's name with a capital, as the heading of a page or row. */
export const OCCASION_NAME: Readonly<Record<Occasion, string>> = {
  'before-breakfast': 'Before breakfast',
  'before-lunch': 'Before lunch',
  'before-supper': 'Before supper',
  bedtime: 'Bedtime',
  overnight: 'Overnight',
}

/** "Ilves, Aino": family name first, as on a ward list. */
export function formatName(person: { readonly familyName: string; readonly givenName: string }): string {
  return `${person.familyName}, ${person.givenName}`
}

/** "M. Olsen" for "Marguerite Olsen", where space is short. A name of one word stays as it is. */
export function formatShortName(name: string): string {
  const words = name.split(' ').filter((word) => word !== '')
  const [first, last] = [words[0] ?? name, words.at(-1) ?? name]
  return words.length < 2 ? name : `${[...first][0] ?? ''}. ${last}`
}
