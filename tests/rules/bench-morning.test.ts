/** The plan of the measured morning: the played load matches its stated mix. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  BEDS,
  BEDS_A_NURSE,
  hasOrder,
  MORNING_SECONDS,
  NURSES,
  planMorning,
  TIMES,
  WARD_MINUTE_MS,
} from '../bench/morning-plan.ts'
import { percentile, Tally } from '../bench/morning-tally.ts'
import { mostHeld, type Found } from '../bench/morning-search.ts'
import { hiddenOf } from '../bench/morning-tablet.ts'

const WHOLE = { wards: 25, seed: 3, seconds: MORNING_SECONDS } as const

describe('plan of a morning', () => {
  it('has 1,000 checks of 25 wards, 45 minutes pressed into one: 350 doses and 30 lows', () => {
    const plan = planMorning(WHOLE)
    const count = (outcome: string): number => plan.filter((one) => one.outcome === outcome).length
    expect([plan.length, count('dose'), count('low')]).toEqual([1000, 350, 30])
    expect(count('zero-units') + count('in-range')).toBe(620)
    expect(new Set(plan.map(({ ward }) => ward)).size).toBe(25)
    expect(TIMES).toBe(45)
  })

  it('is the same for one seed and differs for another', () => {
    expect(planMorning(WHOLE)).toEqual(planMorning(WHOLE))
    expect(planMorning(WHOLE)).not.toEqual(planMorning({ ...WHOLE, seed: 4 }))
  })

  it('checks each bed once at most, by its own nurse, with another second checker, sorted by time', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 60 }),
        fc.integer(),
        fc.integer({ min: 5, max: 60 }),
        (wards, seed, seconds) => {
          const plan = planMorning({ wards, seed, seconds })
          expect(plan.length).toBe(Math.round((wards * BEDS * seconds) / MORNING_SECONDS))
          expect(new Set(plan.map(({ ward, bed }) => ward * BEDS + bed)).size).toBe(plan.length)
          let before = 0
          for (const one of plan) {
            expect(one.nurse).toBe(Math.floor(one.bed / BEDS_A_NURSE))
            expect(one.second).not.toBe(one.nurse)
            expect(one.second >= 0 && one.second < NURSES).toBe(true)
            expect(one.dueMs >= before && one.dueMs < seconds * 1000).toBe(true)
            before = one.dueMs
          }
        },
      ),
      { numRuns: 40 },
    )
  })

  it('gives no dose without an order, and units by the printed rows only', () => {
    const doses = planMorning(WHOLE).filter(({ outcome }) => outcome === 'dose')
    expect(doses.every(({ bed }) => hasOrder(bed))).toBe(true)
    const wrong = doses.filter(
      ({ value, units }) =>
        units !== (value < 151 || value > 350 ? 0 : value <= 200 ? 2 : value <= 250 ? 4 : value <= 300 ? 6 : 8),
    )
    expect(wrong).toEqual([])
    const others = planMorning(WHOLE).filter(({ outcome }) => outcome !== 'dose')
    expect(others.filter(({ bed, value, units }) => units !== 0 || (hasOrder(bed) && value > 150))).toEqual([])
  })

  it('starts each low early enough for its recheck 15 minutes later in the same morning', () => {
    const lows = planMorning(WHOLE).filter(({ outcome }) => outcome === 'low')
    expect(Math.max(...lows.map(({ dueMs }) => dueMs)) + 19 * WARD_MINUTE_MS).toBeLessThan(MORNING_SECONDS * 1000)
    expect(lows.every(({ value }) => value >= 54 && value < 70)).toBe(true)
  })
})

describe('tally', () => {
  it('uses the nearest rank as a percentile', () => {
    const hundred = Array.from({ length: 100 }, (_, index) => 100 - index)
    expect([percentile(hundred, 0.5), percentile(hundred, 0.99), percentile([7], 0.99), percentile([], 0.5)]).toEqual([
      50,
      99,
      7,
      Number.NaN,
    ])
  })

  it('counts errors with and without a response', () => {
    const tally = new Tally()
    tally.add('Round', 10)
    tally.add('Round', 30)
    tally.fail('Round', 'answered 500')
    tally.fail('giving', 'the server closed the connection')
    expect(tally.byKind()).toEqual({
      Round: { asked: 2, p50: 10, p99: 30, errors: 1 },
      giving: { asked: 0, p50: Number.NaN, p99: Number.NaN, errors: 1 },
    })
    expect(tally.whole()).toEqual({ asked: 2, p50: 10, p99: 30, most: 30, errors: 2 })
    expect(tally.faults).toEqual(['Round: answered 500', 'giving: the server closed the connection'])
  })
})

describe('hidden fields of a form', () => {
  const page =
    '<form method="post" action="/a"><input type="hidden" name="key" value="k1"></form><form method="post" action="/b"><input type="hidden" name="key" value="k2"><input type="hidden" name="arm" value="by-mouth"></form>'

  it('come from the form with that action only', () => {
    expect([hiddenOf(page, '/a'), hiddenOf(page, '/b')]).toEqual([{ key: 'k1' }, { key: 'k2', arm: 'by-mouth' }])
  })

  it('are refused when the page has no such form', () => {
    expect(() => hiddenOf(page, '/c')).toThrow('no form to /c')
  })
})

describe('search for the highest load', () => {
  const search = async (
    most: number,
    tries = 100,
  ): Promise<{ readonly found: Found; readonly tried: readonly number[] }> => {
    const tried: number[] = []
    const found = await mostHeld({
      first: 25,
      least: 3,
      near: 1.1,
      held: async (wards) => {
        tried.push(wards)
        return wards <= most
      },
      mayGoOn: () => tried.length < tries,
    })
    return { found, tried }
  }

  it('doubles, then narrows the gap in equal ratios', async () => {
    expect(await search(70)).toEqual({ tried: [25, 50, 100, 71, 60, 65], found: { held: 65, notHeld: 71 } })
  })

  it('goes down when the first load fails, to the minimum at most', async () => {
    expect((await search(8)).found).toEqual({ held: 8, notHeld: 9 })
    expect(await search(0)).toEqual({ tried: [25, 12, 6, 3], found: { held: null, notHeld: 3 } })
  })

  it('ends in time with its results so far', async () => {
    expect(await search(1000, 2)).toEqual({ tried: [25, 50], found: { held: 50, notHeld: null } })
    expect(await search(1000, 1)).toEqual({ tried: [25], found: { held: 25, notHeld: null } })
  })

  it('always has the limit between the two bounds, close enough, and tries no load twice', async () => {
    await fc.assert(
      fc.asyncProperty(fc.integer({ min: 3, max: 2000 }), async (most) => {
        const {
          found: { held, notHeld },
          tried,
        } = await search(most)
        expect(held !== null && notHeld !== null && held <= most && most < notHeld).toBe(true)
        expect((notHeld ?? 0) / (held ?? 1) <= 1.1 || (notHeld ?? 0) - (held ?? 0) === 1).toBe(true)
        expect(new Set(tried).size).toBe(tried.length)
      }),
      { numRuns: 300 },
    )
  })
})
