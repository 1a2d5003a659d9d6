/** Looking a glucose up in a scale. */
import { expect, it } from 'vitest'
import { answerFor, boundText, checkScale, isDeliverable } from '../../shared/order/scale.ts'
import type { Scale } from '../../shared/order/order.ts'

const scale: Scale = {
  unit: 'mg/dL',
  steps: [
    { atLeast: 151, answer: 2, also: null },
    { atLeast: 201, answer: 4, also: 'tell' },
    { atLeast: 401, answer: 'call', also: 'call now' },
  ],
}

it.each([
  [20, { answer: 0, atLeast: null, below: 151, also: null }],
  [150, { answer: 0, atLeast: null, below: 151, also: null }],
  [151, { answer: 2, atLeast: 151, below: 201, also: null }],
  [200, { answer: 2, atLeast: 151, below: 201, also: null }],
  [201, { answer: 4, atLeast: 201, below: 401, also: 'tell' }],
  [400, { answer: 4, atLeast: 201, below: 401, also: 'tell' }],
  [401, { answer: 'call', atLeast: 401, below: null, also: 'call now' }],
  [600, { answer: 'call', atLeast: 401, below: null, also: 'call now' }],
])('%i mg/dL', (value, found) => {
  expect(answerFor(scale, { unit: 'mg/dL', value })).toEqual({ ...found, repeatMin: null })
})

it('mmol/L is looked up in tenths', () => {
  const tenths: Scale = { unit: 'mmol/L', steps: [{ atLeast: 101, answer: 2, also: null }] }
  expect([100, 101].map((value) => answerFor(tenths, { unit: 'mmol/L', value }).answer)).toEqual([0, 2])
  expect(boundText(100, 'mmol/L')).toBe('10.0')
})

it('a scale of the other unit throws, which is a bug', () => {
  expect(() => answerFor(scale, { unit: 'mmol/L', value: 112 })).toThrow('other unit')
})

it.each([
  [0, true],
  [0.5, true],
  [1, true],
  [20, true],
  [0.25, false],
  [-1, false],
  [Number.NaN, false],
  [Number.POSITIVE_INFINITY, false],
])('%d units can be delivered: %s', (units, answer) => {
  expect(isDeliverable(units)).toBe(answer)
})

it('a stored scale is checked again: empty, crossed or fractional steps are refused', () => {
  const limits = { low: 70, maxSingleDose: 20 }
  expect(checkScale({ unit: 'mg/dL', steps: [] }, limits)).toMatchObject({ reason: 'scale-empty' })
  expect(
    checkScale(
      {
        unit: 'mg/dL',
        steps: [
          { atLeast: 150, answer: 1, also: null },
          { atLeast: 150, answer: 2, also: null },
        ],
      },
      limits,
    ),
  ).toMatchObject({ reason: 'scale-not-ascending', details: { value: '150' } })
  expect(checkScale({ unit: 'mg/dL', steps: [{ atLeast: 1201, answer: 1, also: null }] }, limits)).toMatchObject({
    reason: 'scale-bound-not-whole',
  })
})
