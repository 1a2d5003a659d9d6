/**
 * Accuracy of meters against published limits.
 * ISO 15197:2013: 95 % within ± 15 mg/dL below 100 mg/dL and ± 15 % from 100 (PMC4525642; R).
 * CLSI POCT12-A3: 95 % within ± 12 mg/dL below 100 and ± 12.5 % from 100; at most 2 % beyond 15 mg/dL below 75 or 20 % from 75 (PMC5951031; R).
 * FDA, point of care: 95 % within ± 12 mg/dL below 75 and ± 12 % from 75; 98 % within ± 15 mg/dL or ± 15 % (R/S).
 */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { mmolPerLToMgPerDl } from '../../shared/glucose/convert.ts'
import {
  isInside,
  judgePair,
  judgeSet,
  limitAt,
  limitTurnsAt,
  PAIRS_NEEDED,
  STANDARDS,
  type Limit,
  type Pair,
  type StandardName,
} from '../../shared/meter/accuracy.ts'

const standard = (name: StandardName) => {
  const found = STANDARDS.find((one) => one.name === name)
  if (found === undefined) throw new Error(name)
  return found
}
const ISO = standard('iso-15197-2013').inner.limit
const CLSI = standard('clsi-poct12-a3').inner.limit
const CLSI_OUTER = standard('clsi-poct12-a3').outer?.limit ?? ISO
const FDA = standard('fda-point-of-care').inner.limit
const FDA_OUTER = standard('fda-point-of-care').outer?.limit ?? ISO
const mg = (laboratory: number, difference: number): Pair => ({
  unit: 'mg/dL',
  laboratory,
  meter: laboratory + difference,
})
const mmol = (laboratory: number, difference: number): Pair => ({
  unit: 'mmol/L',
  laboratory,
  meter: laboratory + difference,
})

describe('limits of each source', () => {
  it.each([
    ['iso-15197-2013', 95, null],
    ['clsi-poct12-a3', 95, 98],
    ['fda-point-of-care', 95, 98],
  ] as const)('%s: %i %% and %s %%', (name, inner, outer) => {
    expect([standard(name).inner.leastPercent, standard(name).outer?.leastPercent ?? null]).toEqual([inner, outer])
  })
})

describe.each([
  // laboratory value, greatest difference inside (D: the rule's own arithmetic)
  [
    'ISO 15197:2013 (R)',
    ISO,
    [
      [40, 15],
      [99, 15],
      [100, 15],
      [101, 15],
      [106, 15],
      [107, 16],
      [180, 27],
      [199, 29],
      [200, 30],
      [400, 60],
    ],
  ],
  [
    'CLSI POCT12-A3 (R)',
    CLSI,
    [
      [40, 12],
      [99, 12],
      [100, 12],
      [103, 12],
      [104, 13],
      [111, 13],
      [112, 14],
      [160, 20],
      [200, 25],
      [400, 50],
    ],
  ],
  [
    'CLSI POCT12-A3, at most 2 % beyond (R)',
    CLSI_OUTER,
    [
      [40, 15],
      [74, 15],
      [75, 15],
      [79, 15],
      [80, 16],
      [100, 20],
      [200, 40],
    ],
  ],
  [
    'FDA point of care (R/S)',
    FDA,
    [
      [40, 12],
      [74, 12],
      [75, 9],
      [83, 9],
      [84, 10],
      [99, 11],
      [100, 12],
      [200, 24],
      [400, 48],
    ],
  ],
  [
    'FDA point of care, 98 % (R/S)',
    FDA_OUTER,
    [
      [40, 15],
      [74, 15],
      [75, 11],
      [80, 12],
      [100, 15],
      [200, 30],
    ],
  ],
] as const satisfies readonly (readonly [string, Limit, readonly (readonly [number, number])[]])[])(
  '%s, mg/dL',
  (_name, limit, rows: readonly (readonly [number, number])[]) => {
    it.each(rows)('beside %i mg/dL: %i is inside, one more is not, above and below', (laboratory, most) => {
      expect(
        [most, -most, most + 1, -most - 1].map((difference) => isInside(mg(laboratory, difference), limit)),
      ).toEqual([true, true, false, false])
    })
  },
)

describe('exactly on a limit is inside', () => {
  it.each([
    ['15 % of 100', ISO, 100, 15],
    ['15 % of 140', ISO, 140, 21],
    ['12.5 % of 104', CLSI, 104, 13],
    ['12.5 % of 120', CLSI, 120, 15],
    ['12 % of 75', FDA, 75, 9],
    ['20 % of 75', CLSI_OUTER, 75, 15],
    ['15 % of 80', FDA_OUTER, 80, 12],
  ] as const)('%s', (_name, limit, laboratory, difference) => {
    expect([difference, difference + 1].map((one) => isInside(mg(laboratory, one), limit))).toEqual([true, false])
  })
})

describe('mmol/L', () => {
  // ISO's own figures: ± 0.83 mmol/L below 5.55 (M)
  it.each([
    [20, 8],
    [55, 8],
    [56, 8],
    [60, 9],
    [100, 15],
    [200, 30],
  ])('ISO beside %i tenths: %i tenths is inside, one more is not', (laboratory, most) => {
    expect([most, -most, most + 1, -most - 1].map((difference) => isInside(mmol(laboratory, difference), ISO))).toEqual(
      [true, true, false, false],
    )
  })
  // converted unrounded (18.0156): 12 mg/dL is 0.666, 15 is 0.833; 75 mg/dL is 4.163, 100 is 5.551 (D)
  it.each([
    ['CLSI below 100', CLSI, 55, 6],
    ['CLSI from 100', CLSI, 56, 7],
    ['CLSI far above', CLSI, 160, 20],
    ['CLSI outer below 75', CLSI_OUTER, 41, 8],
    ['CLSI outer from 75', CLSI_OUTER, 45, 9],
    ['FDA below 75', FDA, 41, 6],
    ['FDA from 75', FDA, 42, 5],
    ['FDA far above', FDA, 100, 12],
    ['FDA outer below 75', FDA_OUTER, 41, 8],
    ['FDA outer from 75', FDA_OUTER, 42, 6],
  ] as const)('%s: beside %3$i tenths', (_name, limit, laboratory, most) => {
    expect([most, most + 1].map((difference) => isInside(mmol(laboratory, difference), limit))).toEqual([true, false])
  })
  it('agrees with the unrounded conversion, except where ISO prints its own figure', () => {
    const tenths = fc.integer({ min: 11, max: 333 })
    fc.assert(
      fc.property(tenths, tenths, (laboratory, meter) => {
        for (const limit of [CLSI, CLSI_OUTER, FDA, FDA_OUTER]) {
          const [lab, difference] = [
            mmolPerLToMgPerDl(laboratory / 10),
            mmolPerLToMgPerDl(Math.abs(meter - laboratory) / 10),
          ]
          // no tenth of a mmol/L is within a millionth of a fixed limit; the share has no unit and is compared in
          // tenths
          const expected =
            lab < limit.belowMgPerDl
              ? difference <= limit.withinMgPerDl
              : Math.abs(meter - laboratory) * 1000 <= limit.withinPermille * laboratory
          expect(isInside({ unit: 'mmol/L', laboratory, meter }, limit)).toBe(expected)
        }
      }),
    )
  })
})

describe('properties', () => {
  const unit = fc.constantFrom('mg/dL' as const, 'mmol/L' as const)
  const value = fc.integer({ min: 20, max: 600 })
  const limits = STANDARDS.flatMap(({ inner, outer }) => [inner.limit, ...(outer === null ? [] : [outer.limit])])
  it('treats differences above and below alike', () => {
    fc.assert(
      fc.property(
        unit,
        value,
        fc.integer({ min: 0, max: 300 }),
        fc.constantFrom(...limits),
        (u, laboratory, difference, limit) => {
          expect(isInside({ unit: u, laboratory, meter: laboratory + difference }, limit)).toBe(
            isInside({ unit: u, laboratory, meter: laboratory - difference }, limit),
          )
        },
      ),
    )
  })
  it('a nearer value is never worse, and an equal one is inside every limit', () => {
    fc.assert(
      fc.property(
        unit,
        value,
        fc.integer({ min: 0, max: 300 }),
        fc.constantFrom(...limits),
        (u, laboratory, difference, limit) => {
          if (isInside({ unit: u, laboratory, meter: laboratory + difference + 1 }, limit))
            expect(isInside({ unit: u, laboratory, meter: laboratory + difference }, limit)).toBe(true)
          expect(isInside({ unit: u, laboratory, meter: laboratory }, limit)).toBe(true)
        },
      ),
    )
  })
  it('a value inside the narrower limit of a source is inside its wider one', () => {
    fc.assert(
      fc.property(unit, value, value, (u, laboratory, meter) => {
        for (const { insideInner, insideOuter } of judgePair({ unit: u, laboratory, meter }))
          if (insideInner && insideOuter !== null) expect(insideOuter).toBe(true)
      }),
    )
  })
  it('the plot and the verdict use the same limits', () => {
    fc.assert(
      fc.property(
        unit,
        value,
        fc.integer({ min: -100, max: 100 }),
        fc.constantFrom(...limits),
        (u, laboratory, difference, limit) => {
          const drawn = limitAt(laboratory, u, limit)
          // a pair exactly on the line is judged in whole numbers
          if (Math.abs(Math.abs(difference) - drawn) > 1e-9)
            expect(isInside({ unit: u, laboratory, meter: laboratory + difference }, limit)).toBe(
              Math.abs(difference) < drawn,
            )
        },
      ),
    )
    expect([limitTurnsAt('mg/dL', FDA), limitTurnsAt('mmol/L', ISO), limitTurnsAt('mmol/L', FDA).toFixed(3)]).toEqual([
      75,
      55.5,
      '41.631',
    ])
  })
})

describe('pairs of a meter', () => {
  const good = mg(200, 0)
  const set = (count: number, bad: Pair, badCount: number): Readonly<Record<string, string>> => {
    const pairs = [
      ...Array.from({ length: count - badCount }, () => good),
      ...Array.from({ length: badCount }, () => bad),
    ]
    return Object.fromEntries(judgeSet(pairs).map(({ name, verdict }) => [name.slice(0, 4), verdict]))
  }
  it.each([
    // beside 200 mg/dL: 26 is outside CLSI and FDA only, 31 outside all narrow limits and FDA's wider one, 41 outside
    // all limits
    ['100 pairs that agree', 100, 0, 0, { 'iso-': 'met', clsi: 'met', 'fda-': 'met' }],
    ['99 pairs that agree', 99, 0, 0, { 'iso-': 'too-few', clsi: 'too-few', 'fda-': 'too-few' }],
    ['5 of 100 off by 26', 100, 26, 5, { 'iso-': 'met', clsi: 'met', 'fda-': 'met' }],
    ['6 of 100 off by 26', 100, 26, 6, { 'iso-': 'met', clsi: 'not-met', 'fda-': 'not-met' }],
    ['2 of 100 off by 31', 100, 31, 2, { 'iso-': 'met', clsi: 'met', 'fda-': 'met' }],
    ['3 of 100 off by 31', 100, 31, 3, { 'iso-': 'met', clsi: 'met', 'fda-': 'not-met' }],
    ['6 of 100 off by 31', 100, 31, 6, { 'iso-': 'not-met', clsi: 'not-met', 'fda-': 'not-met' }],
    ['2 of 100 off by 41', 100, 41, 2, { 'iso-': 'met', clsi: 'met', 'fda-': 'met' }],
    ['3 of 100 off by 41', 100, 41, 3, { 'iso-': 'met', clsi: 'not-met', 'fda-': 'not-met' }],
    ['6 of 119 off by 31: 94.96 %, not 95', 119, 31, 6, { 'iso-': 'not-met', clsi: 'not-met', 'fda-': 'not-met' }],
  ] as const)('%s', (_name, count, difference, badCount, expected) => {
    expect(set(count, mg(200, difference), badCount)).toEqual(expected)
  })
  it('too few pairs still give counts; no pairs give no verdict', () => {
    expect(PAIRS_NEEDED).toBe(100)
    expect(
      judgeSet([good, mg(200, 31)]).map(({ inner, outer, pairs }) => [pairs, inner.inside, outer?.inside ?? null]),
    ).toEqual([
      [2, 1, null],
      [2, 1, 2],
      [2, 1, 1],
    ])
    expect(judgeSet([]).every(({ verdict }) => verdict === 'too-few')).toBe(true)
  })
})
