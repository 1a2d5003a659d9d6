import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { contains, containsOpen } from '../../shared/time/interval.ts'
import {
  addDays,
  isCalendarDate,
  isZone,
  localDateTime,
  localToTheSecond,
  localToUtc,
  parseLocalDateTime,
  wardDate,
  wardTime,
  weekdayOf,
} from '../../shared/time/zone.ts'

const NOON = Date.parse('2026-11-24T12:00:00Z')

describe('ward-local dates and times', () => {
  it('parse and format', () => {
    expect(localToUtc('2026-11-24', '07:20', 'America/New_York')).toBe(NOON + 20 * 60_000)
    expect(wardDate(NOON, 'America/New_York')).toBe('2026-11-24')
    expect(wardTime(NOON, 'America/New_York')).toBe('07:00')
    expect(localDateTime(NOON, 'Asia/Kolkata')).toBe('2026-11-24T17:30')
    expect(wardTime(NOON + 59_999, 'UTC')).toBe('12:00')
  })

  it.each(['2026-02-29', '2026-13-01', '2026-00-10', '2026-04-31', '2026-4-01', '', 'yesterday'])(
    'refuse %s as a date',
    (date) => {
      expect(isCalendarDate(date)).toBe(false)
      expect(() => localToUtc(date, '08:00', 'UTC')).toThrow(RangeError)
      expect(() => addDays(date, 1)).toThrow(RangeError)
      expect(() => weekdayOf(date)).toThrow(RangeError)
    },
  )

  it.each(['24:00', '7:20', '07:60', '0720', ''])('refuse %s as a time', (time) => {
    expect(() => localToUtc('2026-11-24', time, 'UTC')).toThrow(RangeError)
  })

  it('throw for an unknown zone', () => {
    expect(isZone('Europe/Helsinki')).toBe(true)
    expect(isZone('Europe/Nowhere')).toBe(false)
    expect(() => localToUtc('2026-11-24', '07:20', 'Europe/Nowhere')).toThrow(RangeError)
  })

  it('counts days over months, years and leap days', () => {
    expect(addDays('2026-12-31', 1)).toBe('2027-01-01')
    expect(addDays('2028-02-28', 1)).toBe('2028-02-29')
    expect(addDays('2026-03-01', -1)).toBe('2026-02-28')
    expect(weekdayOf('2026-11-24')).toBe(2)
    expect(weekdayOf('2028-02-29')).toBe(2)
  })

  it('property: every local time that a clock shows parses back to that local time', () => {
    const zone = fc.constantFrom(
      'America/New_York',
      'Asia/Kathmandu',
      'Australia/Lord_Howe',
      'Europe/Dublin',
      'Pacific/Chatham',
    )
    fc.assert(
      fc.property(zone, fc.integer({ min: Date.UTC(1995, 0), max: Date.UTC(2035, 0) }), (name, ms) => {
        const back = localToUtc(wardDate(ms, name), wardTime(ms, name), name)
        expect(localDateTime(back, name)).toBe(localDateTime(ms, name))
        expect(back).toBeLessThanOrEqual(ms)
        expect(ms - back).toBeLessThan(61 * 60_000)
      }),
      { numRuns: 3000 },
    )
  })
})

describe('a date and time typed in a form', () => {
  const read = (text: string): number | null => parseLocalDateTime(text, 'Europe/Helsinki', NOON)
  it('is read with a T or a space, with or without seconds', () => {
    const expected = Date.parse('2026-11-24T07:20:00Z')
    expect(read('2026-11-24T09:20')).toBe(expected)
    expect(read(' 2026-11-24 09:20 ')).toBe(expected)
    expect(read('2026-11-24T09:20:30')).toBe(expected + 30_000)
  })
  it('is formatted to the second so that it parses back, at any instant', () => {
    expect(localToTheSecond(NOON + 30_999, 'Europe/Helsinki')).toMatch(/^2026-11-24 \d\d:\d\d:30$/)
    fc.assert(
      fc.property(
        fc.integer({ min: Date.UTC(2000, 0, 1), max: Date.UTC(2040, 0, 1) }),
        fc.constantFrom('Europe/Helsinki', 'America/Chicago', 'Asia/Kolkata', 'Australia/Lord_Howe'),
        (ms, zone) => {
          expect(parseLocalDateTime(localToTheSecond(ms, zone), zone, ms)).toBe(Math.floor(ms / 1000) * 1000)
        },
      ),
    )
  })
  it('is read when it is in the future, too: the caller decides whether to allow it', () => {
    expect(read('2026-11-24T19:20')).toBe(Date.parse('2026-11-24T17:20:00Z'))
  })
  it.each([
    '',
    '09:20',
    '2026-11-24',
    '2026-11-24T24:00',
    '2026-02-30T09:20',
    '2026-11-24T09:20Z',
    '2026-11-24T09:20+02:00',
    '24.11.2026 09:20',
  ])('refuses %s', (text) => {
    expect(read(text)).toBeNull()
  })
})

describe('half-open intervals', () => {
  it('include their start and exclude their end', () => {
    expect([9, 10, 19, 20].map((ms) => contains({ fromMs: 10, toMs: 20 }, ms))).toEqual([false, true, true, false])
    expect([9, 10, 19, 20].map((ms) => containsOpen({ fromMs: 10, untilMs: 20 }, ms))).toEqual([
      false,
      true,
      true,
      false,
    ])
    expect([9, 10, 1e12].map((ms) => containsOpen({ fromMs: 10, untilMs: null }, ms))).toEqual([false, true, true])
  })
})
