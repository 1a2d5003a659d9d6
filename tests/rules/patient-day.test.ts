/** The patient-day figure: the published worked split, each bound at its edge, and bitwise equal sums in any order. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { patientDay, type PatientDayHead } from '../../shared/audit/patient-day.ts'
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { at, glucose, reading } from '../support/readings.ts'

const HEAD: PatientDayHead = { stayId: 'stay1', wardId: 'ward1', wardDate: '2026-03-10', unit: 'mg/dL' }
type Value = Reading['glucose']['value']

function day(values: readonly Value[], unit: GlucoseUnit = 'mg/dL'): ReturnType<typeof patientDay> {
  return patientDay(
    { ...HEAD, unit },
    values.map((value, i) =>
      reading(value, at('07:00') + i, { readingId: `r${String(i)}`, glucose: glucose(value, unit) }),
    ),
  )
}

it('the worked split of tests/standards/rates.test.ts (D): A day 1 and 2, B day 1 and 2', () => {
  const days = [[65, 150, 210, 180], [140], [55, 60], [300, 320]].map((values) => day(values))
  const total = (of: (one: (typeof days)[number]) => number): number => days.reduce((sum, one) => sum + of(one), 0)
  expect([total((one) => one.below70), total((one) => one.readings)]).toEqual([3, 9])
  expect(days.filter((one) => one.below70 > 0).length).toBe(2)
  expect((total((one) => one.sum) / total((one) => one.numeric)).toFixed(1)).toBe('164.4')
  expect((days.reduce((sum, one) => sum + one.sum / one.numeric, 0) / 4).toFixed(1)).toBe('164.7')
})

describe('bounds: below and above are strict, 70 and 180 are in range', () => {
  it.each([
    [53, { below54: 1, below70: 1, in70to180: 0 }],
    [54, { below54: 0, below70: 1, in70to180: 0 }],
    [69, { below70: 1, in70to180: 0 }],
    [70, { below70: 0, in70to180: 1 }],
    [180, { in70to180: 1, above180: 0 }],
    [181, { in70to180: 0, above180: 1 }],
    [250, { above180: 1, above250: 0 }],
    [251, { above250: 1 }],
    [300, { above250: 1, above300: 0 }],
    [301, { above300: 1 }],
  ])('%i mg/dL', (value, expected) => {
    expect(day([value])).toMatchObject(expected)
  })

  it.each([
    [29, { below54: 1 }],
    [30, { below54: 0, below70: 1 }],
    [38, { below70: 1 }],
    [39, { below70: 0, in70to180: 1 }],
    [100, { in70to180: 1, above180: 0 }],
    [101, { above180: 1 }],
    [139, { above250: 0 }],
    [140, { above250: 1 }],
    [167, { above300: 0 }],
    [168, { above300: 1 }],
  ])('%i tenths of mmol/L', (value, expected) => {
    expect(day([value], 'mmol/L')).toMatchObject(expected)
  })
})

it('LO and HI are counted separately and enter no sum, share or extreme', () => {
  expect(day(['LO', 'HI', 'HI', 100])).toMatchObject({
    readings: 4,
    numeric: 1,
    lo: 1,
    hi: 2,
    sum: 100,
    sumOfSquares: 10_000,
    least: 100,
    most: 100,
    below70: 0,
    above180: 0,
  })
  expect(day(['LO'])).toMatchObject({ readings: 1, numeric: 0, sum: 0, least: null, most: null })
})

it('superseded, voided and other-unit readings do not count', () => {
  const counted = reading(100, at('07:00'))
  const others = [
    { ...counted, readingId: 'a', supersededBy: 'b' },
    { ...counted, readingId: 'c', voided: { reason: 'x', byId: 'n', atMs: 0 } },
    { ...counted, readingId: 'd', glucose: glucose(62, 'mmol/L') },
  ]
  expect(patientDay(HEAD, [counted, ...others])).toEqual(patientDay(HEAD, [counted]))
})

it('property: every reading is in exactly one class, and any order gives bitwise equal figures', () => {
  const values = fc.array(fc.oneof(fc.integer({ min: 20, max: 600 }), fc.constantFrom('LO' as const, 'HI' as const)), {
    maxLength: 40,
  })
  fc.assert(
    fc.property(values, fc.func(fc.integer()), (some, order) => {
      const figure = day(some)
      expect(figure.below70 + figure.in70to180 + figure.above180 + figure.lo + figure.hi).toBe(figure.readings)
      expect(JSON.stringify(day([...some].sort((a, b) => order(a) - order(b))))).toBe(JSON.stringify(figure))
    }),
  )
})
