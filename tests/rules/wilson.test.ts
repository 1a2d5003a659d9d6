/** Wilson's interval: printed values and properties. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { wilson95 } from '../../shared/audit/wilson.ts'

describe('the 95 % score interval', () => {
  // Newcombe, Stat Med 1998;17:857, table I, method 3 (score, no continuity correction); M
  it.each([
    [81, 263, 0.2553, 0.3662],
    [15, 148, 0.0624, 0.1605],
    [0, 20, 0, 0.1611],
    [1, 29, 0.0061, 0.1718],
  ])('%i of %i', (count, of, low, high) => {
    const interval = wilson95(count, of)
    expect(interval?.low).toBeCloseTo(low, 4)
    expect(interval?.high).toBeCloseTo(high, 4)
  })

  it('is none for 0 of 0', () => {
    expect(wilson95(0, 0)).toBeNull()
  })

  it('contains the share, lies in [0, 1], and mirrors', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 100_000 }).chain((of) => fc.tuple(fc.integer({ min: 0, max: of }), fc.constant(of))),
        ([count, of]) => {
          const interval = wilson95(count, of)
          const mirrored = wilson95(of - count, of)
          if (interval === null || mirrored === null) throw new Error('none')
          expect(interval.low).toBeGreaterThanOrEqual(0)
          expect(interval.high).toBeLessThanOrEqual(1)
          expect(interval.low).toBeLessThanOrEqual(count / of)
          expect(interval.high).toBeGreaterThanOrEqual(count / of)
          expect(interval.low).toBeCloseTo(1 - mirrored.high, 12)
        },
      ),
    )
  })

  it('refuses an invalid share', () => {
    expect(() => wilson95(3, 2)).toThrow()
    expect(() => wilson95(0.5, 2)).toThrow()
    expect(() => wilson95(-1, 2)).toThrow()
  })
})
