/**
 * Published scales against the rules: every row at both ends and the values beside them, with source and mark.
 * README.md beside this file explains the labels and marks.
 */
import { describe, expect, it } from 'vitest'
import { answerFor } from '../../shared/order/scale.ts'
import { scaleFromRows, type PrintedRow, type PrintedScale } from '../../shared/order/rows.ts'
import type { Scale, ScaleAnswer } from '../../shared/order/order.ts'
import type { GlucoseUnit } from '../../shared/glucose/value.ts'

const row = (from: number | null, to: number | null, answer: ScaleAnswer, also: string | null = null): PrintedRow => ({
  from,
  to,
  answer,
  also,
})
const printed = (rows: readonly PrintedRow[], parts: Partial<PrintedScale> = {}): PrintedScale => ({
  unit: 'mg/dL',
  rows,
  afterLast: null,
  answered: {},
  lowLimit: 70,
  maxSingleDose: 20,
  ...parts,
})
const scaleOf = (rows: readonly PrintedRow[], parts: Partial<PrintedScale> = {}): Scale => {
  const made = scaleFromRows(printed(rows, parts))
  if (!made.ok) throw new Error(`${made.reason} ${JSON.stringify(made.details)}`)
  return made.value
}
const at = (scale: Scale, value: number): ScaleAnswer => answerFor(scale, { unit: scale.unit, value }).answer

/** Both ends of every row and the values beside them. */
function edges(rows: readonly PrintedRow[]): readonly [number, ScaleAnswer][] {
  return rows
    .flatMap(({ from, to, answer }, index) => {
      const found: [number, ScaleAnswer][] = []
      if (from !== null) {
        found.push([from, answer])
        const before = rows[index - 1]
        if (from > 0) found.push([from - 1, before === undefined ? 0 : before.to === from - 1 ? before.answer : NaN])
      }
      if (to !== null) {
        found.push([to, answer])
        const after = rows[index + 1]
        if (after !== undefined) found.push([to + 1, after.from === to + 1 ? after.answer : NaN])
      }
      return found
    })
    .filter(([, answer]) => !Number.isNaN(answer))
}

/** 2a. RABBIT 2 trial (Umpierrez et al., Diabetes Care 2007;30:2181), also Endocrine Society 2012; usual column and the rule of 2 units more or less R/S, other columns D. */
const A_BOUNDS = [
  [null, 140],
  [141, 180],
  [181, 220],
  [221, 260],
  [261, 300],
  [301, 350],
  [351, 400],
  [401, null],
] as const
const A_COLUMNS = {
  sensitive: [0, 2, 4, 6, 8, 10, 12, 14],
  usual: [0, 4, 6, 8, 10, 12, 14, 16],
  resistant: [0, 6, 8, 10, 12, 14, 16, 18],
} as const
const A = (column: keyof typeof A_COLUMNS): readonly PrintedRow[] =>
  A_BOUNDS.map(([from, to], index) => row(from, to, A_COLUMNS[column][index] ?? 0))

/** 2b. Emergency-medicine and family-practice handbooks (R): "over 350" leaves 350 in no row. */
const B_COLUMNS = { low: [1, 2, 3, 4, 5], medium: [1, 3, 5, 7, 8], high: [2, 4, 7, 10, 12] } as const
const B = (column: keyof typeof B_COLUMNS): readonly PrintedRow[] =>
  (
    [
      [150, 199],
      [200, 249],
      [250, 299],
      [300, 349],
      [351, null],
    ] as const
  ).map(([from, to], index) => row(from, to, B_COLUMNS[column][index] ?? 0))

/** 2d. Pregnancy clinic scale of a US medical school (R): "> 301" leaves 301 in no row. */
const D_MEAL = [
  row(100, 140, 2),
  row(141, 160, 3),
  row(161, 180, 4),
  row(181, 200, 5),
  row(201, 250, 6),
  row(251, 300, 8),
  row(302, null, 10),
]
const D_BEDTIME = [row(100, 160, 1), row(161, 200, 2), row(201, 250, 3), row(251, 300, 4), row(302, null, 5)]

describe('2a, supplemental scale of the RABBIT 2 trial', () => {
  it.each(['sensitive', 'usual', 'resistant'] as const)('%s: each row at both ends and beside them', (column) => {
    const rows = A(column)
    const scale = scaleOf(rows)
    expect(edges(rows).length).toBeGreaterThan(20)
    for (const [value, answer] of edges(rows)) expect([value, at(scale, value)]).toEqual([value, answer])
    expect([at(scale, 20), at(scale, 600)]).toEqual([0, A_COLUMNS[column][7]])
  })

  it('published figures by hand, usual column (R/S)', () => {
    const scale = scaleOf(A('usual'))
    const figures: readonly [number, number][] = [
      [140, 0],
      [141, 4],
      [180, 4],
      [181, 6],
      [220, 6],
      [221, 8],
      [260, 8],
      [261, 10],
      [300, 10],
      [301, 12],
      [350, 12],
      [351, 14],
      [400, 14],
      [401, 16],
    ]
    expect(figures.map(([value]) => [value, at(scale, value)])).toEqual(figures)
  })

  it('a copy that prints 15 where the rule gives 14 is accepted as ordered (2f)', () => {
    const copy = A('usual').map((one) => (one.from === 351 ? { ...one, answer: 15 } : one))
    expect(at(scaleOf(copy), 375)).toBe(15)
  })
})

describe('2b, handbook scale with a gap (R)', () => {
  it.each(['low', 'medium', 'high'] as const)('%s is refused as printed, naming 350', (column) => {
    expect(scaleFromRows(printed(B(column)))).toMatchObject({
      ok: false,
      reason: 'row-hole',
      details: { value: '350', unit: 'mg/dL', before: '349', after: '351' },
    })
  })
  it.each(['low', 'medium', 'high'] as const)(
    '%s is accepted once 350 is answered, with that answer only',
    (column) => {
      const [, , , before, after] = B_COLUMNS[column]
      for (const answer of [before, after]) {
        const scale = scaleOf(B(column), { answered: { 350: answer } })
        expect([149, 150, 199, 200, 249, 250, 299, 300, 349, 350, 351].map((value) => at(scale, value))).toEqual([
          0,
          ...B_COLUMNS[column].slice(0, 4).flatMap((units) => [units, units]),
          answer,
          after,
        ])
      }
    },
  )
  it('an answer that would fall is refused by its value', () => {
    expect(scaleFromRows(printed(B('high'), { answered: { 350: 9 } }))).toMatchObject({
      ok: false,
      reason: 'scale-goes-down',
      details: { value: '350' },
    })
  })
})

it('2c, simplified scale for older adults, ADA Standards of Care (S)', () => {
  const scale = scaleOf([row(251, 350, 2), row(351, null, 4)])
  expect([249, 250, 251, 252, 349, 350, 351, 352].map((value) => at(scale, value))).toEqual([0, 0, 2, 2, 2, 2, 4, 4])
})

describe('2d, pregnancy clinic scale (R)', () => {
  it('refuses both scales as printed, naming 301', () => {
    for (const rows of [D_MEAL, D_BEDTIME])
      expect(scaleFromRows(printed(rows))).toMatchObject({ ok: false, reason: 'row-hole', details: { value: '301' } })
  })
  it('accepts them with 301 answered; each row at both ends', () => {
    const meal = scaleOf(D_MEAL, { answered: { 301: 8 } })
    for (const [value, answer] of edges(D_MEAL)) expect([value, at(meal, value)]).toEqual([value, answer])
    expect([300, 301, 302].map((value) => at(meal, value))).toEqual([8, 8, 10])
  })
  it('rounds printed bedtime halves down: half of 3 is 1, half of 5 is 2', () => {
    const meal = scaleOf(D_MEAL, { answered: { 301: 8 } })
    const bedtime = scaleOf(D_BEDTIME, { answered: { 301: 4 } })
    for (let value = 20; value <= 600; value++) {
      const whole = at(meal, value)
      expect([value, at(bedtime, value)]).toEqual([value, Math.floor(Number(whole) / 2)])
    }
  })
})

describe('2e, teaching scales (R)', () => {
  it('nursing exam review: 12 and call above 400', () => {
    const rows = [
      row(null, 69, 0),
      row(70, 130, 0),
      row(131, 180, 2),
      row(181, 240, 4),
      row(241, 300, 6),
      row(301, 350, 8),
      row(351, 400, 10),
      row(401, null, 12, 'Call the prescriber'),
    ]
    const scale = scaleOf(rows)
    for (const [value, answer] of edges(rows)) expect([value, at(scale, value)]).toEqual([value, answer])
    expect(answerFor(scale, { unit: 'mg/dL', value: 401 })).toMatchObject({ answer: 12, also: 'Call the prescriber' })
    expect(answerFor(scale, { unit: 'mg/dL', value: 400 }).also).toBeNull()
  })
  it('textbook: 8 and repeat in 2 h above 400', () => {
    const rows = [
      row(0, 180, 0),
      row(181, 240, 2),
      row(241, 300, 4),
      row(301, 400, 6),
      row(401, null, 8, 'Repeat in 2 h'),
    ]
    const scale = scaleOf(rows)
    for (const [value, answer] of edges(rows)) expect([value, at(scale, value)]).toEqual([value, answer])
    expect(answerFor(scale, { unit: 'mg/dL', value: 450 }).also).toBe('Repeat in 2 h')
  })
  it('college packet: no dose above 330, which is not 0 units', () => {
    const rows = [
      row(0, 150, 0),
      row(151, 200, 2),
      row(201, 240, 4),
      row(241, 280, 6),
      row(281, 330, 8),
      row(331, null, 'call'),
    ]
    const scale = scaleOf(rows)
    for (const [value, answer] of edges(rows)) expect([value, at(scale, value)]).toEqual([value, answer])
    expect([330, 331].map((value) => at(scale, value))).toEqual([8, 'call'])
  })
  it('workbook: 8 at once, notify, repeat in 2 h above 400', () => {
    const rows = [
      row(0, 150, 0),
      row(151, 200, 2),
      row(201, 300, 4),
      row(301, 400, 6),
      row(401, null, 8, 'At once; notify; repeat in 2 h'),
    ]
    const scale = scaleOf(rows)
    for (const [value, answer] of edges(rows)) expect([value, at(scale, value)]).toEqual([value, answer])
  })
})

describe('2f, malformed scales from print: each refused by its value', () => {
  const overlap = (unit: GlucoseUnit, bounds: readonly [number, number][], low: number): PrintedScale =>
    printed(
      bounds.map(([from, to], index) => row(from, to, index + 1)),
      { unit, lowLimit: low, afterLast: 'call' },
    )

  it.each([
    [
      '180',
      [
        [150, 180],
        [180, 200],
      ],
    ],
    [
      '200',
      [
        [180, 200],
        [200, 220],
      ],
    ],
    [
      '220',
      [
        [201, 220],
        [220, 240],
      ],
    ],
    [
      '240',
      [
        [221, 240],
        [240, 260],
      ],
    ],
  ] as const)('an overlap at %s mg/dL', (value, bounds) => {
    expect(
      scaleFromRows(
        overlap(
          'mg/dL',
          bounds.map(([from, to]) => [from, to]),
          70,
        ),
      ),
    ).toMatchObject({ ok: false, reason: 'row-overlap', details: { value } })
  })

  it.each([
    [
      '8.0',
      [
        [60, 80],
        [80, 100],
      ],
    ],
    [
      '10.0',
      [
        [81, 100],
        [100, 120],
      ],
    ],
    [
      '12.0',
      [
        [101, 120],
        [120, 140],
      ],
    ],
  ] as const)('an overlap at %s mmol/L ("6–8, 8–10, 10–12")', (value, bounds) => {
    expect(
      scaleFromRows(
        overlap(
          'mmol/L',
          bounds.map(([from, to]) => [from, to]),
          39,
        ),
      ),
    ).toMatchObject({ ok: false, reason: 'row-overlap', details: { value, unit: 'mmol/L' } })
  })

  it('a gap at 301 ("251–300", then "over 301")', () => {
    expect(scaleFromRows(printed([row(251, 300, 6), row(302, null, 8)]))).toMatchObject({
      ok: false,
      reason: 'row-hole',
      details: { value: '301' },
    })
  })

  it('a jump without a row between 150 and 201: 152 is in no row', () => {
    const jump = [row(0, 150, 0), row(201, 250, 4), row(251, null, 6)]
    expect(scaleFromRows(printed(jump))).toMatchObject({
      ok: false,
      reason: 'row-hole',
      details: { value: '151', before: '150', after: '201' },
    })
    // answering one value does not answer the next
    expect(scaleFromRows(printed(jump, { answered: { 151: 2 } }))).toMatchObject({
      ok: false,
      reason: 'row-hole',
      details: { value: '152' },
    })
    const every = Object.fromEntries(Array.from({ length: 50 }, (_, index) => [String(151 + index), 2]))
    expect([150, 151, 152, 200, 201].map((value) => at(scaleOf(jump, { answered: every }), value))).toEqual([
      0, 2, 2, 2, 4,
    ])
  })

  it('a closed last row never answers values above it', () => {
    const rows = [row(151, 200, 2), row(201, 250, 4), row(251, 300, 6)]
    expect(scaleFromRows(printed(rows))).toMatchObject({
      ok: false,
      reason: 'last-row-closed',
      details: { value: '301' },
    })
    expect([300, 301].map((value) => at(scaleOf(rows, { afterLast: 'call' }), value))).toEqual([6, 'call'])
  })
})
