/** One rounding at the end, on exact fractions. */
import fc from 'fast-check'
import { expect, it } from 'vitest'
import { add, divide, fraction, fractionOf, multiply, roundUnits } from '../../shared/order/fraction.ts'
import type { Rounding } from '../../shared/order/order.ts'

const down1: Rounding = { to: 1, ties: 'down' }
const up1: Rounding = { to: 1, ties: 'up' }
const down5: Rounding = { to: 0.5, ties: 'down' }
const up5: Rounding = { to: 0.5, ties: 'up' }

it.each([
  ['2.5 ties down', fraction(5, 2), down1, 2],
  ['2.5 ties up where ordered', fraction(5, 2), up1, 3],
  ['just under the tie', fraction(24_999, 10_000), up1, 2],
  ['just over the tie', fraction(25_001, 10_000), down1, 3],
  ['2.25 to half units, ties down', fraction(9, 4), down5, 2],
  ['2.25 to half units, ties up', fraction(9, 4), up5, 2.5],
  ['2.75 to half units, ties down', fraction(11, 4), down5, 2.5],
  ['a third', fraction(1, 3), down1, 0],
  ['two thirds', fraction(2, 3), down1, 1],
  ['a third to half units', fraction(1, 3), down5, 0.5],
  ['a half, ties down', fraction(1, 2), down1, 0],
  ['a quarter to half units, ties down', fraction(1, 4), down5, 0],
  ['nothing', fraction(0, 1), down1, 0],
  ['below 0 is 0', fraction(-7, 2), up1, 0],
  ['whole stays', fraction(7, 1), down5, 7],
])('%s', (_name, amount, rounding, units) => {
  expect(roundUnits(amount, rounding)).toBe(units)
})

it('finds a tie made of decimals: 1.1 + 2.2 + 0.2 is exactly 3.5', () => {
  expect(1.1 + 2.2 + 0.2).not.toBe(3.5)
  const sum = [1.1, 2.2, 0.2].map(fractionOf).reduce(add)
  expect(sum).toEqual(fraction(7, 2))
  expect([roundUnits(sum, down1), roundUnits(sum, up1)]).toEqual([3, 4])
})

it('throws on an inexact number, which is a bug', () => {
  expect(() => fractionOf(1 / 3)).toThrow()
  expect(() => fractionOf(Number.NaN)).toThrow()
  expect(() => fraction(1, 0)).toThrow()
  expect(() => fraction(0.5, 1)).toThrow()
  expect(() => divide(fraction(1, 1), fraction(0, 1))).toThrow()
})

it('property: rounded units are within half a step of the sum, and are the nearest', () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 0, max: 5000 }),
      fc.integer({ min: 1, max: 400 }),
      fc.constantFrom(down1, up1, down5, up5),
      (n, d, rounding) => {
        const units = roundUnits(fraction(n, d), rounding)
        const steps = units / rounding.to
        expect(Number.isInteger(steps)).toBe(true)
        // |units - n/d| <= step/2, in whole numbers: |2·steps·d - 2·n/to| <= d
        const apart = Math.abs(2 * steps * d - (2 * n) / rounding.to)
        expect(apart).toBeLessThanOrEqual(d)
        if (apart === d) expect(steps * d > n / rounding.to).toBe(rounding.ties === 'up')
      },
    ),
  )
})

it('property: arithmetic agrees with whole-number cross multiplication', () => {
  const small = fc.record({ n: fc.integer({ min: -500, max: 500 }), d: fc.integer({ min: 1, max: 60 }) })
  fc.assert(
    fc.property(small, small, (a, b) => {
      const [x, y] = [fraction(a.n, a.d), fraction(b.n, b.d)]
      const sum = add(x, y)
      expect(sum.numerator * a.d * b.d === (a.n * b.d + b.n * a.d) * sum.denominator).toBe(true)
      const product = multiply(x, y)
      expect(product.numerator * a.d * b.d === a.n * b.n * product.denominator).toBe(true)
    }),
  )
})
