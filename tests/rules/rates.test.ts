/** Rates from sums equal a straight computation over raw readings; readings fold by hour and occasion. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { foldReadings, hourOf, occasionGroupOf } from '../../shared/audit/by-hour.ts'
import { patientDay } from '../../shared/audit/patient-day.ts'
import { BANDS, ratesOf, sumsOf, type Band } from '../../shared/audit/rates.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { aReading, mgPerDl, STAY, ZONE } from '../support/makers.ts'

const POLICY = defaultPolicy('mg/dL', ZONE)
const taken = (time: string, over: Partial<Reading> = {}): Reading =>
  aReading({ takenAtMs: localToUtc('2026-03-02', time, ZONE), ...over })

describe('rates from sums', () => {
  type Raw = { readonly stay: number; readonly day: number; readonly value: number | 'LO' | 'HI' }
  const raw = fc.array(
    fc.record({
      stay: fc.integer({ min: 1, max: 4 }),
      day: fc.integer({ min: 1, max: 5 }),
      value: fc.oneof(
        { weight: 6, arbitrary: fc.integer({ min: 20, max: 600 }) },
        { weight: 1, arbitrary: fc.constantFrom('LO' as const, 'HI' as const) },
      ),
    }),
    { maxLength: 80 },
  )
  const IN: Readonly<Record<Band, (value: number) => boolean>> = {
    below54: (v) => v < 54,
    below70: (v) => v < 70,
    in70to180: (v) => v >= 70 && v <= 180,
    above180: (v) => v > 180,
    above250: (v) => v > 250,
    above300: (v) => v > 300,
  }
  const inGroup = (values: readonly Raw['value'][], band: Band): boolean =>
    values.some((value) =>
      value === 'LO' ? band.startsWith('below') : value === 'HI' ? band.startsWith('above') : IN[band](value),
    )
  const groupsOf = (all: readonly Raw[], keyOf: (one: Raw) => string): readonly (readonly Raw['value'][])[] => {
    const groups: Record<string, Raw['value'][]> = {}
    for (const one of all) (groups[keyOf(one)] ??= []).push(one.value)
    return Object.values(groups)
  }

  it('property: equal a straight count and mean over the raw readings', () => {
    fc.assert(
      fc.property(raw, (all) => {
        const days = groupsOf(all, ({ stay, day }) => `${String(stay)} ${String(day)}`)
        const figures = [...new Set(all.map(({ stay, day }) => `${String(stay)} ${String(day)}`))].map((key) => {
          const [stayId = '', date = ''] = key.split(' ')
          const own = all.filter(({ stay, day }) => `${String(stay)} ${String(day)}` === key)
          return patientDay(
            { stayId, wardId: 'w', wardDate: `2026-03-0${date}`, unit: 'mg/dL' },
            own.map(({ value }, at) => aReading({ readingId: `r${String(at)}`, glucose: mgPerDl(value) })),
          )
        })
        const rates = ratesOf(sumsOf(figures))
        const numbers = all.flatMap(({ value }) => (typeof value === 'number' ? [value] : []))
        for (const band of BANDS) {
          expect(rates.readings.bands[band]).toMatchObject({
            count: numbers.filter(IN[band]).length,
            of: numbers.length,
          })
          expect(rates.days.bands[band]).toMatchObject({
            count: days.filter((values) => inGroup(values, band)).length,
            of: days.length,
          })
          const stays = groupsOf(all, ({ stay }) => String(stay))
          expect(rates.stays.bands[band]).toMatchObject({
            count: stays.filter((values) => inGroup(values, band)).length,
            of: stays.length,
          })
        }
        const meanOf = (values: readonly number[]): number =>
          values.reduce((sum, value) => sum + value, 0) / values.length
        const dayMeans = days
          .map((values) => values.filter((value) => typeof value === 'number'))
          .filter((values) => values.length > 0)
          .map(meanOf)
        if (numbers.length === 0) expect(rates.mean).toEqual({ ofReadings: null, ofDays: null, ofStays: null })
        else {
          expect(rates.mean.ofReadings).toBe(meanOf(numbers))
          expect(rates.mean.ofDays).toBeCloseTo(meanOf(dayMeans), 5)
        }
        expect(rates.readings.lo + rates.readings.hi + numbers.length).toBe(all.length)
      }),
    )
  })
})

describe('the occasion of a reading', () => {
  it.each([
    ['its planned check', taken('09:10', { checkKey: `${STAY}.2026-03-02.before-breakfast` }), 'before-breakfast'],
    ['a timed check by its time', taken('06:20', { checkKey: `${STAY}.2026-03-02.t0600` }), 'before-breakfast'],
    ['a timed check at night', taken('04:10', { checkKey: `${STAY}.2026-03-02.t0400` }), 'overnight'],
    ['a recheck stands apart', taken('07:35', { checkKey: 'low.abc.1' }), 'recheck'],
    [
      'an extra check stands apart',
      taken('07:35', { checkKey: `extra.${STAY}.abc`, extraReason: 'symptoms' }),
      'extra',
    ],
    ['an extra reading without a check', taken('07:35', { extraReason: 'symptoms' }), 'extra'],
    ['from paper: the round it was taken in', taken('12:00', { source: 'paper' }), 'before-lunch'],
    ['from the laboratory, at night', taken('03:00', { source: 'venous' }), 'overnight'],
  ])('%s', (_name, reading, expected) => {
    expect(occasionGroupOf(reading, POLICY)).toBe(expected)
  })
})

describe('folding', () => {
  it('by hour of the ward’s day, each with its own denominators', () => {
    const all = [
      taken('07:20', { readingId: 'a', glucose: mgPerDl(65) }),
      taken('07:59', { readingId: 'b', glucose: mgPerDl(150) }),
      taken('08:00', { readingId: 'c', glucose: mgPerDl('HI') }),
      taken('07:00', { readingId: 'd', stayId: 'other', glucose: mgPerDl(100) }),
    ]
    const folded = foldReadings(all, (reading) => hourOf(reading, ZONE))
    expect([...folded.keys()].sort()).toEqual(['07', '08'])
    expect(folded.get('07')).toMatchObject({
      readings: 3,
      numeric: 3,
      bands: { below70: 1 },
      days: { count: 2 },
      stays: { count: 2 },
    })
    expect(folded.get('08')).toMatchObject({ readings: 1, numeric: 0, hi: 1 })
  })
  it('property: no reading is lost, for any key', () => {
    fc.assert(
      fc.property(
        fc.array(fc.record({ key: fc.integer({ min: 0, max: 3 }), value: fc.integer({ min: 20, max: 600 }) }), {
          maxLength: 40,
        }),
        (all) => {
          const readings = all.map(({ key, value }, at) =>
            taken('07:20', { readingId: `r${String(at)}`, stripLot: String(key), glucose: mgPerDl(value) }),
          )
          const folded = [...foldReadings(readings, ({ stripLot }) => stripLot ?? '').values()]
          expect(folded.reduce((sum, { numeric }) => sum + numeric, 0)).toBe(all.length)
          expect(folded.reduce((sum, { sum: { 'mg/dL': mg } }) => sum + mg, 0)).toBe(
            all.reduce((sum, { value }) => sum + value, 0),
          )
        },
      ),
    )
  })
  it('a voided reading does not count, and two units keep their own limits', () => {
    const all = [
      taken('07:20', { readingId: 'a', voided: { reason: 'x', byId: 'n', atMs: 0 } }),
      taken('07:20', { readingId: 'b', glucose: { unit: 'mmol/L', value: 38 } }),
      taken('07:20', { readingId: 'c', glucose: mgPerDl(70) }),
    ]
    expect(foldReadings(all, () => 'x').get('x')).toMatchObject({ readings: 2, bands: { below70: 1, in70to180: 1 } })
  })
})
