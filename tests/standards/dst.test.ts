/**
 * Every clock change of ten years in sixteen zones: each planned local time gives exactly one check, none missing or
 * doubled. The reference is the platform's own time zone data read through Intl in steps of a quarter of an hour,
 * independent of the library that the service uses. Zones: one whole hour, half an hour (Lord Howe), a change at
 * local midnight (Havana, Beirut, Santiago), twice within Ramadan (Casablanca), south of the equator, and changes of
 * law (Paraguay, Mexico, Samoa).
 */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { CheckPlan } from '../../shared/check/check.ts'
import { plannedChecks } from '../../shared/check/plan.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import { addDays, localToUtc, parseLocalDateTime, wardDate, wardTime } from '../../shared/time/zone.ts'

const ZONES = [
  'America/New_York',
  'America/Los_Angeles',
  'America/St_Johns',
  'America/Havana',
  'America/Santiago',
  'America/Asuncion',
  'America/Mexico_City',
  'Europe/London',
  'Europe/Helsinki',
  'Europe/Paris',
  'Africa/Casablanca',
  'Asia/Beirut',
  'Australia/Sydney',
  'Australia/Lord_Howe',
  'Pacific/Auckland',
  'Pacific/Apia',
] as const
const MINUTE = 60_000
const QUARTER = 15 * MINUTE
const DAY = 86_400_000
const FROM = Date.UTC(2016, 0, 1)
const TO = Date.UTC(2026, 0, 1)
const QUARTER_HOURS = Array.from(
  { length: 96 },
  (_, i) => `${String(Math.floor(i / 4)).padStart(2, '0')}:${String((i % 4) * 15).padStart(2, '0')}`,
)

const formats = new Map<string, Intl.DateTimeFormat>()
function clock(ms: number, zone: string): { date: string; time: string; asUtc: number } {
  let format = formats.get(zone)
  if (format === undefined) {
    format = new Intl.DateTimeFormat('en-US', {
      timeZone: zone,
      hourCycle: 'h23',
      year: 'numeric',
      month: '2-digit',
      day: '2-digit',
      hour: '2-digit',
      minute: '2-digit',
    })
    formats.set(zone, format)
  }
  const part = Object.fromEntries(format.formatToParts(ms).map(({ type, value }) => [type, value])) as Record<
    'year' | 'month' | 'day' | 'hour' | 'minute',
    string
  >
  return {
    date: `${part.year}-${part.month}-${part.day}`,
    time: `${part.hour}:${part.minute}`,
    asUtc: Date.UTC(
      Number(part.year),
      Number(part.month) - 1,
      Number(part.day),
      Number(part.hour),
      Number(part.minute),
    ),
  }
}
const offset = (ms: number, zone: string): number => clock(ms, zone).asUtc - ms

/** Every instant at which the zone's offset changes, to the minute. */
function changesOf(zone: string): readonly number[] {
  const changes: number[] = []
  for (let day = FROM; day < TO; day += DAY) {
    if (offset(day, zone) === offset(day + DAY, zone)) continue
    let [before, after] = [day, day + DAY]
    while (after - before > MINUTE) {
      const middle = Math.floor((before + after) / 2 / MINUTE) * MINUTE
      if (offset(middle, zone) === offset(before, zone)) before = middle
      else after = middle
    }
    changes.push(after)
  }
  return changes
}
const CHANGES = ZONES.flatMap((zone) => changesOf(zone).map((atMs) => ({ zone, atMs })))

const checksOf = (zone: string, plan: CheckPlan, fromMs: number, toMs: number) =>
  plannedChecks({
    plans: [{ stayId: 'stay', version: 1, plan, fromMs: 0, untilMs: null, overlay: false }],
    policy: defaultPolicy('mg/dL', zone),
    trayDelays: [],
    fromMs,
    toMs,
    stay: { stayId: 'stay', admittedAtMs: 0, dischargedAtMs: null },
  })

describe('the clock changes of ten years', () => {
  it('are found in every zone, in large number', () => {
    for (const zone of ZONES)
      expect(changesOf(zone).length, zone).toBeGreaterThanOrEqual(
        zone === 'Pacific/Apia' || zone === 'America/Mexico_City' ? 10 : 18,
      )
    expect(CHANGES.length).toBeGreaterThan(280)
  })

  it('map every quarter of an hour around each change to one instant, as the platform does', () => {
    for (const { zone, atMs } of CHANGES) {
      const dates = [-1, 0, 1].map((days) => addDays(clock(atMs, zone).date, days))
      const shown = new Map<string, number[]>()
      for (let ms = atMs - 4 * DAY; ms < atMs + 4 * DAY; ms += QUARTER) {
        const { date, time } = clock(ms, zone)
        shown.set(`${date}T${time}`, [...(shown.get(`${date}T${time}`) ?? []), ms])
      }
      const gapMs = offset(atMs, zone) - offset(atMs - MINUTE, zone)
      for (const date of dates) {
        for (const time of QUARTER_HOURS) {
          const where = `${zone} ${date} ${time}`
          const ms = localToUtc(date, time, zone)
          const [first] = shown.get(`${date}T${time}`) ?? []
          if (first === undefined) {
            // skipped: the clock shows it moved by the gap
            expect(gapMs, where).toBeGreaterThan(0)
            expect(clock(ms, zone).asUtc, where).toBe(Date.parse(`${date}T${time}:00Z`) + gapMs)
          } else {
            expect(ms, where).toBe(first)
          }
          expect(`${wardDate(ms, zone)}T${wardTime(ms, zone)}`, where).toBe(
            `${clock(ms, zone).date}T${clock(ms, zone).time}`,
          )
        }
      }
    }
  })

  it('keep each planned time once', () => {
    for (const { zone, atMs } of CHANGES) {
      const dates = [-1, 0, 1].map((days) => addDays(clock(atMs, zone).date, days))
      // one day more on both sides, then only the keys of the three dates: a skipped 23:45 falls on the next date
      const keys = (plan: CheckPlan): string[] =>
        checksOf(
          zone,
          plan,
          localToUtc(addDays(dates[0] ?? '', -1), '00:00', zone),
          localToUtc(addDays(dates[2] ?? '', 2), '00:00', zone),
        )
          .map(({ key }) => key)
          .filter((key) => dates.some((date) => key.includes(date)))
          .sort()
      const expected = (slots: readonly string[]): string[] =>
        dates.flatMap((date) => slots.map((slot) => `stay.${date}.${slot}`)).sort()
      const where = `${zone} ${String(atMs)}`
      expect(keys({ kind: 'every-4-h' }), where).toEqual(
        expected(['t0000', 't0400', 't0800', 't1200', 't1600', 't2000']),
      )
      expect(keys({ kind: 'every-6-h' }), where).toEqual(expected(['t0000', 't0600', 't1200', 't1800']))
      expect(keys({ kind: 'ac-and-hs' }), where).toEqual(
        expected(['before-breakfast', 'before-lunch', 'before-supper', 'bedtime']),
      )
      expect(keys({ kind: 'listed-times', times: QUARTER_HOURS }), where).toEqual(
        expected(QUARTER_HOURS.map((time) => `t${time.replace(':', '')}`)),
      )
    }
  })

  it('property: any listed times and any division of the period give the same checks, each once', () => {
    const time = fc
      .integer({ min: 0, max: 1439 })
      .map((m) => `${String(Math.floor(m / 60)).padStart(2, '0')}:${String(m % 60).padStart(2, '0')}`)
    fc.assert(
      fc.property(
        fc.constantFrom(...CHANGES),
        fc.uniqueArray(time, { minLength: 1, maxLength: 8 }),
        fc.array(fc.integer({ min: -2 * DAY, max: 2 * DAY }), { maxLength: 5 }),
        ({ zone, atMs }, times, cuts) => {
          const plan: CheckPlan = { kind: 'listed-times', times }
          const whole = checksOf(zone, plan, atMs - 2 * DAY, atMs + 2 * DAY)
          const edges = [atMs - 2 * DAY, ...cuts.map((cut) => atMs + cut).sort((a, b) => a - b), atMs + 2 * DAY]
          const pieces = edges.slice(1).flatMap((to, i) => checksOf(zone, plan, edges[i] ?? to, to))
          expect(pieces.map(({ key }) => key).sort()).toEqual(whole.map(({ key }) => key).sort())
          expect(new Set(whole.map(({ key }) => key)).size).toBe(whole.length)
          const inner = whole.filter(({ date }) => date === clock(atMs, zone).date)
          expect(inner.map(({ key }) => key).sort()).toEqual(
            times.map((t) => `stay.${clock(atMs, zone).date}.t${t.replace(':', '')}`).sort(),
          )
        },
      ),
      { numRuns: 400 },
    )
  })
})

describe('named nights', () => {
  it.each([
    ['02:30 on the night that skips it is 03:30', 'America/New_York', '2026-03-08', '02:30', '2026-03-08T07:30:00Z'],
    [
      '01:30 on the night that repeats it is the first one',
      'America/New_York',
      '2026-11-01',
      '01:30',
      '2026-11-01T05:30:00Z',
    ],
    [
      '02:30 on the night that repeats it in New York is plain',
      'America/New_York',
      '2026-11-01',
      '02:30',
      '2026-11-01T07:30:00Z',
    ],
    ['03:30 on the night that skips it is 04:30', 'Europe/Helsinki', '2026-03-29', '03:30', '2026-03-29T01:30:00Z'],
    [
      '03:30 on the night that repeats it is the first one',
      'Europe/Helsinki',
      '2026-10-25',
      '03:30',
      '2026-10-25T00:30:00Z',
    ],
    ['a half-hour gap', 'Australia/Lord_Howe', '2025-10-05', '02:15', '2025-10-04T15:45:00Z'],
    ['midnight itself skipped', 'America/Havana', '2025-03-09', '00:00', '2025-03-09T05:00:00Z'],
    ['a whole date that never was', 'Pacific/Apia', '2011-12-30', '12:00', '2011-12-30T22:00:00Z'],
  ])('%s', (_name, zone, date, time, expected) => {
    expect(localToUtc(date, time, zone)).toBe(Date.parse(expected))
  })

  it('a reading charted in the second of two repeated hours is not an hour old', () => {
    const zone = 'America/New_York'
    const second = Date.parse('2026-11-01T06:30:00Z')
    expect(parseLocalDateTime('2026-11-01T01:30', zone, second + 20_000)).toBe(second)
    expect(parseLocalDateTime('2026-11-01T01:30', zone, second - 1)).toBe(Date.parse('2026-11-01T05:30:00Z'))
  })
})
