/** Published worked doses that an order can hold. README.md beside this file explains the numbers and the marks. */
import { describe, expect, it } from 'vitest'
import { checkOrder } from '../../shared/order/validate.ts'
import { fraction } from '../../shared/order/fraction.ts'
import { amountText, sumText, termText } from '../../views/dose/working.ts'
import {
  facts,
  inputs,
  MMOL_POLICY,
  order,
  POLICY,
  propose,
  reading,
  scaleOf,
  unitsOf,
  version,
  workingOf,
} from '../support/dose.ts'
import { proposeDose } from '../../shared/order/propose.ts'

const grams = (carbohydrateGrams: number) => ({
  meal: { willEat: 'yes' as const, carbohydrateGrams, shareEatenPercent: null },
})
const scaleOrder = (rows: Parameters<typeof scaleOf>[0]) => ({
  correction: { kind: 'scale' as const, scale: scaleOf(rows) },
})
const factor = (target: number, perUnit: number) => ({
  correction: { kind: 'factor' as const, target, perUnit, belowTargetSubtracts: false },
})
const ratio = (gramsPerUnit: number) => ({ meal: { kind: 'ratio' as const, gramsPerUnit } })

const REVIEW = scaleOrder([
  [null, 69, 0],
  [70, 130, 0],
  [131, 180, 2],
  [181, 240, 4],
  [241, 300, 6],
  [301, 350, 8],
  [351, 400, 10],
  [401, null, 12, 'Call'],
])
const TEXTBOOK = scaleOrder([
  [0, 180, 0],
  [181, 240, 2],
  [241, 300, 4],
  [301, 400, 6],
  [401, null, 8, 'Repeat in 2 h'],
])
const PACKET = scaleOrder([
  [0, 150, 0],
  [151, 200, 2],
  [201, 240, 4],
  [241, 280, 6],
  [281, 330, 8],
  [331, null, 'call'],
])
const WORKBOOK = scaleOrder([
  [0, 150, 0],
  [151, 200, 2],
  [201, 300, 4],
  [301, 400, 6],
  [401, null, 8, 'At once; notify; repeat in 2 h'],
])
const fixed = (units: number) => ({ meal: { kind: 'fixed' as const, units: { 'before-breakfast': units } } })

describe('by scale', () => {
  it.each([
    [
      '1 (R): 210 on 60–150: 0, 151–200: 2, 201–250: 4, 251–300: 6',
      210,
      scaleOrder([
        [60, 150, 0],
        [151, 200, 2],
        [201, 250, 4],
        [251, 300, 6],
      ]),
      4,
    ],
    ['2 (R): 202, workbook scale', 202, WORKBOOK, 4],
    ['4 (R): 364, textbook scale', 364, TEXTBOOK, 6],
    ['5 (R): 235, college packet', 235, PACKET, 4],
    ['6 (D): 265, college packet', 265, PACKET, 6],
    ['6 (D): 75, college packet', 75, PACKET, 0],
    ['7 (D): 187, 6 with the meal and the exam-review scale', 187, { ...REVIEW, ...fixed(6) }, 10],
    ['11 (R): 230, standing 5 and 201–250: 2', 230, { ...scaleOrder([[201, 250, 2]]), ...fixed(5) }, 7],
  ])('%s', (_name, glucose, parts, units) => {
    expect(unitsOf({ glucose, order: parts })).toBe(units)
  })

  it('3 (R): 404, repeated 406, workbook scale: 8 at once, notify, repeat in 2 h', () => {
    expect(unitsOf({ glucose: 404, order: WORKBOOK, inputs: { criticalConfirmed: false } })).toBe(
      'critical-high-unconfirmed',
    )
    const proposal = propose({ glucose: 406, order: WORKBOOK, inputs: { criticalConfirmed: true } })
    expect(proposal).toMatchObject({ kind: 'dose', working: { units: 8, also: ['At once; notify; repeat in 2 h'] } })
  })

  it('above 330 the college packet gives no dose, which is not 0 units', () => {
    expect(unitsOf({ glucose: 331, order: PACKET })).toBe('scale-says-call')
  })
})

describe('by scale and carbohydrate', () => {
  it.each([
    [
      '8 (R): 178, 45 g at 1:15',
      178,
      {
        ...scaleOrder([
          [80, 150, 0],
          [151, 189, 1],
          [190, 220, 2],
        ]),
        ...ratio(15),
      },
      45,
      4,
    ],
    [
      '9 (D): 214, 60 g at 1:12',
      214,
      {
        ...scaleOrder([
          [150, 199, 2],
          [200, 249, 4],
        ]),
        ...ratio(12),
      },
      60,
      9,
    ],
    [
      '10 (D): 275, 75 g at 1:15',
      275,
      {
        ...scaleOrder([
          [200, 299, 1],
          [300, 399, 2],
          [400, null, 3],
        ]),
        ...ratio(15),
      },
      75,
      6,
    ],
  ])('%s', (_name, glucose, parts, carbohydrate, units) => {
    expect(unitsOf({ glucose, order: parts, inputs: grams(carbohydrate) })).toBe(units)
  })
})

describe('by factor', () => {
  it.each([
    ['15 (R): 300, target 140, TDD 60 so 30 for each unit: 160/30', 300, factor(140, 30), 5],
    ['17 (R): 230, target 130, factor 50', 230, factor(130, 50), 2],
  ])('%s', (_name, glucose, parts, units) => {
    expect(unitsOf({ glucose, order: parts })).toBe(units)
  })

  it('13 (R): TDD 90, 220, target 120, factor 1800/90 = 20, 70 g at 1:5 (500/90 truncated): 5 + 14 = 19', () => {
    expect(unitsOf({ glucose: 220, order: { ...factor(120, 20), ...ratio(5) }, inputs: grams(70) })).toBe(19)
  })

  it('13 (D): with the ratio written as 1:5.56 the sum is 17.59, and rounding once at the end gives 18', () => {
    const parts = { ...factor(120, 20), ...ratio(5.56) }
    expect(unitsOf({ glucose: 220, order: parts, inputs: grams(70) })).toBe(18)
    const { sum } = workingOf({ glucose: 220, order: parts, inputs: grams(70) })
    expect(sum.numerator / sum.denominator).toBeCloseTo(17.59, 2)
  })

  it('16 (R): TDD 50, 14.0 mmol/L, target 8.0, factor 100/50 = 2.0: 3 units, in tenths', () => {
    const ordered = version({
      unit: 'mmol/L',
      correction: { kind: 'factor', target: 80, perUnit: 20, belowTargetSubtracts: false },
    })
    const proposal = proposeDose({
      order: ordered,
      insulin: ordered.order.insulin,
      policy: MMOL_POLICY,
      policyVersion: 1,
      reading: reading(140, { glucose: { unit: 'mmol/L', value: 140 } }),
      inputs: inputs({ wardUnit: 'mmol/L' }),
    })
    expect(proposal).toMatchObject({ kind: 'dose', working: { units: 3, sum: { numerator: 3, denominator: 1 } } })
  })

  it('18 (S/M, UCSF Diabetes Teaching Center): 220, target 120, factor 50; 60 g at 1:10: 2 + 6 = 8', () => {
    expect(unitsOf({ glucose: 220, order: { ...factor(120, 50), ...ratio(10) }, inputs: grams(60) })).toBe(8)
  })

  it('19 (R/D): 214, target 120, factor 30, 68 g at 1:15: 7.67; half units 7.5, whole units 8', () => {
    const parts = { ...factor(120, 30), ...ratio(15) }
    expect(workingOf({ glucose: 214, order: parts, inputs: grams(68) }).sum).toEqual(fraction(23, 3))
    expect(unitsOf({ glucose: 214, order: { ...parts, rounding: { to: 0.5, ties: 'down' } }, inputs: grams(68) })).toBe(
      7.5,
    )
    expect(unitsOf({ glucose: 214, order: parts, inputs: grams(68) })).toBe(8)
  })

  it('20 (D): 140, target 120, 1 for each 10; 21 g at 1:10: 4.1, given as 4', () => {
    const parts = { ...factor(120, 10), ...ratio(10) }
    expect(workingOf({ glucose: 140, order: parts, inputs: grams(21) }).sum).toEqual(fraction(41, 10))
    expect(unitsOf({ glucose: 140, order: parts, inputs: grams(21) })).toBe(4)
  })

  it('rounding each part separately would differ: 2.5 + 2.5 is 5, not 4', () => {
    expect(unitsOf({ glucose: 170, order: { ...factor(120, 20), ...ratio(10) }, inputs: grams(25) })).toBe(5)
  })
})

describe('bedtime', () => {
  it.each([
    // 2a halved (M)
    [141, 2],
    [301, 6],
    [401, 8],
    [140, 0],
    [400, 7],
  ])('2a usual column, half at bedtime: %i gives %i (M)', (glucose, units) => {
    expect(
      unitsOf({
        glucose,
        order: { bedtime: { kind: 'half' } },
        inputs: { occasion: 'bedtime', criticalConfirmed: glucose > 400 ? true : null },
      }),
    ).toBe(units)
  })
  it('half units are rounded down before the sum, also on a half-unit device: half of 5 is 2', () => {
    const parts = {
      ...scaleOrder([[100, null, 5]]),
      bedtime: { kind: 'half' as const },
      rounding: { to: 0.5 as const, ties: 'up' as const },
    }
    expect(unitsOf({ glucose: 150, order: parts, inputs: { occasion: 'bedtime' } })).toBe(2)
  })
  it('2c: none at bedtime (S) is a charted 0 for every value', () => {
    expect(
      unitsOf({
        glucose: 300,
        order: {
          ...scaleOrder([
            [251, 350, 2],
            [351, null, 4],
          ]),
          bedtime: { kind: 'none' },
        },
        inputs: { occasion: 'bedtime' },
      }),
    ).toBe(0)
    expect(
      unitsOf({
        glucose: 300,
        order: {
          ...scaleOrder([
            [251, 350, 2],
            [351, null, 4],
          ]),
          bedtime: { kind: 'none' },
        },
      }),
    ).toBe(2)
  })
  it('2d: has its own scale at bedtime only (R)', () => {
    const parts = {
      ...scaleOrder([
        [100, 140, 2],
        [141, 160, 3],
        [161, 180, 4],
        [181, 200, 5],
        [201, 250, 6],
        [251, 300, 8],
      ]),
      bedtime: {
        kind: 'own-scale' as const,
        scale: scaleOf([
          [100, 160, 1],
          [161, 200, 2],
          [201, 250, 3],
          [251, 300, 4],
        ]),
      },
    }
    expect([
      unitsOf({ glucose: 170, order: parts, inputs: { occasion: 'bedtime' } }),
      unitsOf({ glucose: 170, order: parts }),
    ]).toEqual([2, 4])
  })
})

it('U-500 is refused: 0.15 mL of it is 75 units (R, a printed article elsewhere gets this wrong)', () => {
  expect(checkOrder({ ...order(), concentration: 'U-500' }, POLICY)).toMatchObject({
    ok: false,
    reason: 'concentration-u500',
  })
  expect(checkOrder({ ...order(), concentration: 'u500' }, POLICY)).toMatchObject({
    ok: false,
    reason: 'concentration-u500',
  })
  expect(checkOrder({ ...order(), concentration: 'U-200' }, POLICY)).toMatchObject({
    ok: false,
    reason: 'concentration-not-u100',
  })
})

it('no trailing zero, units spelled out (ISMP error-prone abbreviations, R)', () => {
  const working = workingOf({ glucose: 214, order: { ...factor(120, 30), ...ratio(15) }, inputs: grams(68) })
  const text = [...working.terms.map((term) => termText(term, 'mg/dL')), sumText(working)].join(' ')
  expect(text).toContain('68 g of carbohydrate ÷ 15 g for each unit')
  expect(text).toContain('8 units')
  expect(text).not.toMatch(/\d\.0\b|\bU\b|\bIU\b/)
  expect(amountText(fraction(15, 2))).toBe('7.5 units')
})

it('the facts of each case are a valid order: the check before storing accepts it', () => {
  const made = facts({ order: { ...factor(120, 30), ...ratio(15) } })
  expect(checkOrder(made.order?.order ?? order(), POLICY).ok).toBe(true)
})
