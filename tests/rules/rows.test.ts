/**
 * Rows of a paper order: refusals and the value they name. The published scales are in
 * tests/standards/scales.test.ts.
 */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { answerFor, checkScale } from '../../shared/order/scale.ts'
import { scaleFromRows, type PrintedRow, type PrintedScale } from '../../shared/order/rows.ts'
import type { ScaleAnswer } from '../../shared/order/order.ts'

const row = (from: number | null, to: number | null, answer: ScaleAnswer): PrintedRow => ({
  from,
  to,
  answer,
  also: null,
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

describe('refusals name the value', () => {
  it.each([
    ['no rows', printed([]), 'rows-missing', {}],
    [
      'more rows than a paper has',
      printed(
        Array.from({ length: 41 }, (_, index) => row(100 + index, 100 + index, 1)),
        { afterLast: 2 },
      ),
      'rows-missing',
      { most: 40 },
    ],
    ['a bound with a fraction', printed([row(150.5, null, 2)]), 'row-bound-not-whole', { value: '150.5' }],
    ['a negative bound', printed([row(-1, null, 2)]), 'row-bound-not-whole', { value: '-1' }],
    ['a bound that is no number', printed([row(Number.NaN, null, 2)]), 'row-bound-not-whole', { value: 'NaN' }],
    [
      'a row upside down',
      printed([row(200, 150, 2)], { afterLast: 4 }),
      'row-upside-down',
      { value: '200', to: '150' },
    ],
    [
      'rows out of order',
      printed([row(201, 250, 4), row(151, 200, 2)], { afterLast: 6 }),
      'rows-not-ascending',
      { value: '151' },
    ],
    [
      'an open beginning in the middle',
      printed([row(151, 200, 2), row(null, 250, 4)], { afterLast: 6 }),
      'rows-not-ascending',
      { value: '250' },
    ],
    ['a row after an open end', printed([row(151, null, 2), row(201, null, 4)]), 'row-overlap', { value: '201' }],
    [
      'the same row twice',
      printed([row(151, 200, 2), row(151, 200, 2)], { afterLast: 4 }),
      'row-overlap',
      { value: '151' },
    ],
    [
      'going down',
      printed([row(151, 200, 4), row(201, null, 2)]),
      'scale-goes-down',
      { value: '201', answer: 2, before: 4 },
    ],
    [
      'going down past a call',
      printed([row(151, 200, 4), row(201, 250, 'call'), row(251, null, 2)]),
      'scale-goes-down',
      { value: '251', before: 4 },
    ],
    [
      'a dose below the low limit',
      printed([row(69, 150, 1), row(151, null, 2)]),
      'scale-doses-below-low',
      { value: '69', low: '70' },
    ],
    [
      'a dose from an open beginning',
      printed([row(null, 150, 1), row(151, null, 2)]),
      'scale-doses-below-low',
      { value: '0' },
    ],
    [
      'above the single-dose limit',
      printed([row(151, null, 21)]),
      'scale-above-limit',
      { value: '151', answer: 21, limit: 20 },
    ],
    ['a third of a unit', printed([row(151, null, 1 / 3)]), 'scale-answer-not-units', { value: '151' }],
    ['less than nothing', printed([row(151, null, -2)]), 'scale-answer-not-units', { value: '151' }],
    [
      'an endless dose',
      printed([row(151, null, Number.POSITIVE_INFINITY)]),
      'scale-answer-not-units',
      { value: '151' },
    ],
    ['an answer above an open last row', printed([row(151, null, 2)], { afterLast: 4 }), 'after-last-not-needed', {}],
    [
      'an answer for a value that has one',
      printed([row(151, null, 2)], { answered: { 160: 4 } }),
      'answer-not-needed',
      { value: '160' },
    ],
    [
      'an answer for no value',
      printed([row(151, null, 2)], { answered: { abc: 4 } }),
      'answer-not-needed',
      { value: 'abc' },
    ],
    [
      'going down into what lies above',
      printed([row(151, 200, 4)], { afterLast: 2 }),
      'scale-goes-down',
      { value: '201' },
    ],
    [
      'a hole of one tenth',
      printed([row(100, 110, 1), row(112, null, 2)], { unit: 'mmol/L', lowLimit: 39 }),
      'row-hole',
      { value: '11.1', unit: 'mmol/L' },
    ],
  ] as const)('%s', (_name, scale, reason, details) => {
    expect(scaleFromRows(scale)).toMatchObject({ ok: false, reason, details })
  })
})

it('allows a dose at the low limit, and none one below it', () => {
  expect(scaleFromRows(printed([row(70, null, 1)])).ok).toBe(true)
  expect(scaleFromRows(printed([row(69, null, 1)])).ok).toBe(false)
})

it('exempts "call" from the rising rule, also below the low limit', () => {
  const made = scaleFromRows(
    printed([row(null, 69, 'call'), row(70, 150, 0), row(151, 200, 2), row(201, 250, 'call'), row(251, null, 2)]),
  )
  expect(made.ok).toBe(true)
})

/** Rows as somebody might type them: adjacent, with gaps, overlapping, rising or not. */
const anyRows = fc
  .array(
    fc.record({
      width: fc.integer({ min: -1, max: 60 }),
      gap: fc.constantFrom(1, 1, 1, 0, 2),
      answer: fc.oneof(fc.integer({ min: 0, max: 22 }), fc.constant('call' as const)),
    }),
    { minLength: 1, maxLength: 8 },
  )
  .chain((parts) =>
    fc.record({
      parts: fc.constant(parts),
      start: fc.integer({ min: 0, max: 200 }),
      open: fc.boolean(),
      sorted: fc.boolean(),
      afterLast: fc.option(fc.oneof(fc.integer({ min: 0, max: 22 }), fc.constant('call' as const))),
    }),
  )
  .map(({ parts, start, open, sorted, afterLast }) => {
    const numbers = parts.flatMap(({ answer }) => (answer === 'call' ? [] : [answer])).sort((a, b) => a - b)
    let at = start
    const rows = parts.map(({ width, gap, answer }, index): PrintedRow => {
      const to = at + width
      const made = row(
        at,
        open && index === parts.length - 1 ? null : to,
        answer === 'call' ? 'call' : sorted ? (numbers.shift() ?? 0) : answer,
      )
      at = to + gap
      return made
    })
    return printed(rows, { afterLast })
  })

it('property: an accepted scale is total over 20 to 600, rises apart from calls, gives 0 below the low limit and stays within the limit', () => {
  let accepted = 0
  fc.assert(
    fc.property(anyRows, (rows) => {
      const made = scaleFromRows(rows)
      if (!made.ok) return
      accepted += 1
      let highest = 0
      for (let value = 20; value <= 600; value++) {
        const { answer, atLeast, below } = answerFor(made.value, { unit: 'mg/dL', value })
        expect(atLeast === null || atLeast <= value).toBe(true)
        expect(below === null || value < below).toBe(true)
        if (answer === 'call') continue
        expect(answer).toBeGreaterThanOrEqual(highest)
        expect(answer).toBeLessThanOrEqual(rows.maxSingleDose)
        if (value < rows.lowLimit) expect(answer).toBe(0)
        highest = answer
      }
      expect(checkScale(made.value, { low: rows.lowLimit, maxSingleDose: rows.maxSingleDose }).ok).toBe(true)
    }),
    { numRuns: 1500 },
  )
  expect(accepted).toBeGreaterThan(50)
})

it('property: an accepted scale answers every printed row by that row and repairs nothing', () => {
  fc.assert(
    fc.property(anyRows, (rows) => {
      const made = scaleFromRows(rows)
      if (!made.ok) return
      for (const { from, to, answer } of rows.rows) {
        for (const value of [from ?? 0, to ?? 600])
          expect(answerFor(made.value, { unit: 'mg/dL', value }).answer).toBe(answer)
      }
    }),
    { numRuns: 1000 },
  )
})
