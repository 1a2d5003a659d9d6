/** A glucose as typed and as compared: the wrong-unit guard, LO and HI, and the decimal point of mmol/L. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  compareGlucose,
  formatGlucose,
  glucoseDigits,
  isAbove,
  isBelow,
  parseGlucose,
  type Glucose,
  type GlucoseUnit,
} from '../../shared/glucose/value.ts'

const UNITS: readonly GlucoseUnit[] = ['mg/dL', 'mmol/L']

describe('typed value on a mg/dL ward', () => {
  it.each([
    ['20', 20],
    ['54', 54],
    ['112', 112],
    ['600', 600],
    [' 112 ', 112],
    ['LO', 'LO'],
    ['lo', 'LO'],
    ['Hi', 'HI'],
  ])('takes %j', (typed, value) => {
    expect(parseGlucose(typed, 'mg/dL')).toEqual({ ok: true, value: { unit: 'mg/dL', value } })
  })

  it.each([
    ['', 'glucose-missing'],
    ['   ', 'glucose-missing'],
    // only plausible in mmol/L: 6.2 typed on a mg/dL ward
    ['6.2', 'glucose-looks-like-other-unit'],
    ['6', 'glucose-looks-like-other-unit'],
    ['19', 'glucose-looks-like-other-unit'],
    ['19.9', 'glucose-looks-like-other-unit'],
    ['1', 'glucose-not-plausible'],
    ['0', 'glucose-not-plausible'],
    ['601', 'glucose-not-plausible'],
    ['1120', 'glucose-not-plausible'],
    ['112.5', 'glucose-needs-whole-number'],
    ['112.0', 'glucose-needs-whole-number'],
    ['-112', 'glucose-not-a-number'],
    ['1e2', 'glucose-not-a-number'],
    ['0x70', 'glucose-not-a-number'],
    ['11 2', 'glucose-not-a-number'],
    ['112 mg/dL', 'glucose-not-a-number'],
    ['１１２', 'glucose-not-a-number'],
    ['1,2', 'glucose-not-a-number'],
    ['LOW', 'glucose-not-a-number'],
    ['NaN', 'glucose-not-a-number'],
    ['1111111', 'glucose-not-a-number'],
  ])('refuses %j: %s', (typed, reason) => {
    expect(parseGlucose(typed, 'mg/dL')).toMatchObject({ ok: false, reason })
  })
})

describe('typed value on a mmol/L ward', () => {
  it.each([
    ['1.1', 11],
    ['2.8', 28],
    ['6.2', 62],
    ['10.0', 100],
    ['33.3', 333],
    ['hi', 'HI'],
  ])('takes %j', (typed, value) => {
    expect(parseGlucose(typed, 'mmol/L')).toEqual({ ok: true, value: { unit: 'mmol/L', value } })
  })

  it.each([
    // only plausible in mg/dL: 112 typed on a mmol/L ward; and "28", which could be 2.8 or 28.0
    ['112', 'glucose-looks-like-other-unit'],
    ['34', 'glucose-looks-like-other-unit'],
    ['33.4', 'glucose-looks-like-other-unit'],
    ['600', 'glucose-looks-like-other-unit'],
    ['28', 'glucose-needs-decimal-point'],
    ['6', 'glucose-needs-decimal-point'],
    ['6.', 'glucose-needs-decimal-point'],
    ['33', 'glucose-needs-decimal-point'],
    ['6.25', 'glucose-too-many-decimals'],
    ['6.20', 'glucose-too-many-decimals'],
    ['1.0', 'glucose-not-plausible'],
    ['0.9', 'glucose-not-plausible'],
    ['601', 'glucose-not-plausible'],
    ['.5', 'glucose-not-a-number'],
    ['6,2', 'glucose-not-a-number'],
  ])('refuses %j: %s', (typed, reason) => {
    expect(parseGlucose(typed, 'mmol/L')).toMatchObject({ ok: false, reason })
  })

  it('keeps every tenth from 1.1 to 33.3 exact, unlike a floating-point product', () => {
    for (let tenths = 11; tenths <= 333; tenths++) {
      const typed = `${String(Math.floor(tenths / 10))}.${String(tenths % 10)}`
      expect(parseGlucose(typed, 'mmol/L')).toEqual({ ok: true, value: { unit: 'mmol/L', value: tenths } })
    }
  })
})

describe('properties', () => {
  it('an accepted value prints back to itself, and no input throws', () => {
    fc.assert(
      fc.property(
        fc.oneof(
          fc.string({ maxLength: 12 }),
          fc.integer({ min: -50, max: 2000 }).map(String),
          fc.integer({ min: 0, max: 9999 }).map((n) => (n / 10).toFixed(1)),
        ),
        fc.constantFrom(...UNITS),
        (typed, unit) => {
          const read = parseGlucose(typed, unit)
          if (read.ok) expect(parseGlucose(glucoseDigits(read.value), unit)).toEqual(read)
        },
      ),
      { numRuns: 2000 },
    )
  })

  it('no number is accepted on wards of both units', () => {
    fc.assert(
      fc.property(
        fc.oneof(
          fc.integer({ min: 0, max: 9999 }).map(String),
          fc.integer({ min: 0, max: 9999 }).map((n) => (n / 10).toFixed(1)),
        ),
        (typed) => {
          expect(parseGlucose(typed, 'mg/dL').ok && parseGlucose(typed, 'mmol/L').ok).toBe(false)
        },
      ),
      { numRuns: 2000 },
    )
  })

  it('LO is below and HI above every number and limit', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 1200 }), fc.constantFrom(...UNITS), (value, unit) => {
        const [number, lo, hi]: Glucose[] = [
          { unit, value },
          { unit, value: 'LO' },
          { unit, value: 'HI' },
        ]
        if (number === undefined || lo === undefined || hi === undefined) throw new Error('three values')
        expect([
          compareGlucose(lo, number) < 0,
          compareGlucose(hi, number) > 0,
          isBelow(lo, value),
          isAbove(hi, value),
          isBelow(hi, value),
          isAbove(lo, value),
        ]).toEqual([true, true, true, true, false, false])
      }),
    )
  })
})

it('compares strictly: a value at a limit is neither below nor above it', () => {
  expect([
    isBelow({ unit: 'mg/dL', value: 70 }, 70),
    isAbove({ unit: 'mg/dL', value: 400 }, 400),
    isBelow({ unit: 'mg/dL', value: 69 }, 70),
  ]).toEqual([false, false, true])
})

it('throws when two units are compared, which is a bug', () => {
  expect(() => compareGlucose({ unit: 'mg/dL', value: 70 }, { unit: 'mmol/L', value: 39 })).toThrow(/two units/)
})

it('shows the number with its unit, LO and HI without one', () => {
  expect([
    formatGlucose({ unit: 'mg/dL', value: 112 }),
    formatGlucose({ unit: 'mmol/L', value: 100 }),
    formatGlucose({ unit: 'mmol/L', value: 'LO' }),
  ]).toEqual(['112 mg/dL', '10.0 mmol/L', 'LO'])
})
