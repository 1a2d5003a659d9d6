/**
 * Values measured in another unit before a move are compared with the limit's printed pair, and never counted in the
 * new unit.
 */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { compareAcross, inMgPerDl, limitIn } from '../../shared/glucose/convert.ts'
import { criticalKind } from '../../shared/critical/confirm.ts'
import { lowCourse } from '../../shared/low/course.ts'
import { lowLevel } from '../../shared/low/level.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import { mmol, mouth } from '../support/lows.ts'
import { at, glucose, lowEvent, reading } from '../support/readings.ts'

const MG = defaultPolicy('mg/dL', 'UTC')
const MMOL = defaultPolicy('mmol/L', 'UTC')

describe('a limit in the other unit', () => {
  // printed pairs: American Diabetes Association (R)
  it.each([
    [54, 30],
    [70, 39],
    [100, 56],
    [140, 78],
    [180, 100],
    [200, 111],
    [250, 139],
    [350, 194],
    [400, 222],
  ])('%i mg/dL is %i tenths of mmol/L', (mg, tenths) => {
    expect(limitIn(mg, 'mg/dL', 'mmol/L')).toBe(tenths)
  })
  it.each([
    [30, 54],
    [39, 70],
    [100, 180],
    [111, 200],
    [139, 250],
    [194, 350],
    [222, 400],
  ])('%i tenths of mmol/L are %i mg/dL', (tenths, mg) => {
    expect(limitIn(tenths, 'mmol/L', 'mg/dL')).toBe(mg)
  })
  it('stays the same in its own unit', () => {
    expect(limitIn(71, 'mg/dL', 'mg/dL')).toBe(71)
  })
  it('orders two values of two units by their mg/dL, LO first and HI last', () => {
    fc.assert(
      fc.property(fc.integer({ min: 20, max: 600 }), fc.integer({ min: 11, max: 333 }), (mg, tenths) => {
        const [a, b] = [glucose(mg), glucose(tenths, 'mmol/L')] as const
        expect(Math.sign(compareAcross(a, b))).toBe(Math.sign(mg - inMgPerDl({ unit: 'mmol/L', value: tenths })))
        expect(compareAcross(glucose('LO', 'mmol/L'), a)).toBeLessThan(0)
        expect(compareAcross(glucose('HI', 'mmol/L'), a)).toBeGreaterThan(0)
      }),
    )
  })
})

describe('after a move to a ward of the other unit', () => {
  it('6.2 mmol/L is not low on a ward of mg/dL, and 52 mg/dL is low on a ward of mmol/L', () => {
    expect(lowLevel(glucose(62, 'mmol/L'), MG)).toBeNull()
    expect(lowLevel(glucose(38, 'mmol/L'), MG)).toBe(1)
    expect(lowLevel(glucose(52), MMOL)).toBe(2)
    expect(lowLevel(glucose(112), MMOL)).toBeNull()
    expect(criticalKind(glucose(62, 'mmol/L'), MG)).toBeNull()
    expect(criticalKind(glucose(45), MMOL)).toBe('low')
    expect(criticalKind(glucose(250), MMOL)).toBeNull()
    expect(criticalKind(glucose(420), MMOL)).toBe('high')
  })
  it('a low event continues across units: lowest, recovery and follow-up', () => {
    const first = mmol(35, at('03:00'))
    const low = { ...lowEvent(first), treatments: [mouth(at('03:02')), mouth(at('03:20'))] }
    const still = lowCourse(low, [first, reading(60, at('03:17'))], MG)
    expect(still.phase).toBe('open')
    expect(still.lowest).toEqual(glucose(60))
    const course = lowCourse(low, [first, reading(60, at('03:17')), reading(96, at('03:35'))], MG)
    expect(course.phase).toBe('recovered')
    expect(course.parts.map(({ part }) => part)).toEqual(['first', 'not-recovered', 'recovery'])
  })
})
