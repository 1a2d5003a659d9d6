/** Every refusal of an order that names a glucose prints it as it was typed, in the ward's unit. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { glucoseDigits, type GlucoseUnit } from '../../shared/glucose/value.ts'
import { orderFromTyped, type EntryRefusal } from '../../shared/order/entry.ts'
import type { Typed } from '../../shared/order/entry-fields.ts'
import { boundText, checkScale, LARGEST_BOUND } from '../../shared/order/scale.ts'
import { sentenceOf } from '../../shared/outcome.ts'
import { FRESH_ORDER } from '../../server/order/form-schema.ts'
import { ENTRY_SENTENCES } from '../../views/words/order.ts'
import { MMOL_POLICY, NOW_MS, POLICY } from '../support/dose.ts'

const HEAD: Typed = {
  ...FRESH_ORDER,
  insulin: 'insulin lispro',
  atBreakfast: 'yes',
  atBedtime: 'yes',
  prescriber: 'Dr. Vera Kim',
  received: 'written',
  startsAt: '2026-03-10T07:00',
}
const FACTOR: Typed = { correctionKind: 'factor' }
const SCHEDULED: Typed = {
  insulin: 'insulin glargine',
  atBreakfast: '',
  atBedtime: '',
  correctionKind: 'none',
  scheduled1Time: '21:00',
  scheduled1Units: '10',
}
const SCALE: Typed = { row1From: '', row1Units: '0' }

/** A refusal with the counts for which it is given, and the form that leads to it. */
type Case = {
  readonly reason: EntryRefusal
  /** Counts: mg/dL, or tenths of a mmol/L. */
  readonly counts: (unit: GlucoseUnit) => readonly [least: number, most: number]
  readonly typed: (text: (more?: number) => string, unit: GlucoseUnit) => Typed
}
const lowOf = (unit: GlucoseUnit): number => (unit === 'mg/dL' ? POLICY : MMOL_POLICY).limits.low
const belowLow = (unit: GlucoseUnit) => [0, lowOf(unit) - 1] as const
const ordinary = (unit: GlucoseUnit) => [lowOf(unit) + 40, 300] as const
/** Up to what the form can take: three digits before the decimal point. */
const beyond = (unit: GlucoseUnit) => [LARGEST_BOUND[unit] + 1, unit === 'mg/dL' ? 0 : 9999] as const

const CASES: readonly Case[] = [
  {
    reason: 'factor-not-positive',
    counts: () => [0, 0],
    typed: (text, unit) => ({ ...FACTOR, target: glucoseDigits({ unit, value: 120 }), perUnit: text() }),
  },
  {
    reason: 'factor-not-positive',
    counts: beyond,
    typed: (text, unit) => ({ ...FACTOR, target: glucoseDigits({ unit, value: 120 }), perUnit: text() }),
  },
  {
    reason: 'target-below-low',
    counts: belowLow,
    typed: (text, unit) => ({ ...FACTOR, target: text(), perUnit: glucoseDigits({ unit, value: 30 }) }),
  },
  {
    reason: 'target-below-low',
    counts: beyond,
    typed: (text, unit) => ({ ...FACTOR, target: text(), perUnit: glucoseDigits({ unit, value: 30 }) }),
  },
  {
    reason: 'scheduled-hold-not-a-glucose',
    counts: belowLow,
    typed: (text) => ({ ...SCHEDULED, scheduled1HoldBelow: text() }),
  },
  {
    reason: 'scheduled-hold-not-a-glucose',
    counts: beyond,
    typed: (text) => ({ ...SCHEDULED, scheduled1HoldBelow: text() }),
  },
  {
    reason: 'row-bound-not-whole',
    counts: beyond,
    typed: (text) => ({ row1From: text(), row1Units: '2' }),
  },
  {
    reason: 'row-bound-not-whole',
    counts: beyond,
    typed: (text) => ({ ...SCALE, row1To: text(), aboveUnits: '2' }),
  },
  {
    reason: 'row-upside-down',
    counts: ordinary,
    typed: (text) => ({ row1From: text(), row1To: text(-10), row1Units: '2', aboveUnits: '4' }),
  },
  {
    reason: 'rows-not-ascending',
    counts: ordinary,
    typed: (text) => ({
      row1From: text(20),
      row1To: text(30),
      row1Units: '2',
      row2From: text(),
      row2To: text(10),
      row2Units: '4',
      aboveUnits: '6',
    }),
  },
  {
    reason: 'row-overlap',
    counts: ordinary,
    typed: (text) => ({ ...SCALE, row1To: text(), row2From: text(), row2Units: '2' }),
  },
  {
    reason: 'row-hole',
    counts: ordinary,
    typed: (text) => ({ ...SCALE, row1To: text(-1), row2From: text(1), row2Units: '2' }),
  },
  {
    reason: 'last-row-closed',
    counts: ordinary,
    typed: (text) => ({ ...SCALE, row1To: text(-1) }),
  },
  {
    reason: 'answer-not-needed',
    counts: ordinary,
    typed: (text) => ({ ...SCALE, answered1From: text(), answered1Units: '2' }),
  },
  {
    reason: 'answer-repeated',
    counts: ordinary,
    typed: (text) => ({
      ...SCALE,
      answered1From: text(),
      answered1Units: '2',
      answered2From: text(),
      answered2Units: '4',
    }),
  },
  {
    reason: 'scale-goes-down',
    counts: ordinary,
    typed: (text) => ({ row1From: text(-9), row1To: text(-1), row1Units: '4', row2From: text(), row2Units: '2' }),
  },
  {
    reason: 'scale-doses-below-low',
    counts: belowLow,
    typed: (text) => ({ row1From: text(), row1Units: '2' }),
  },
  {
    reason: 'scale-above-limit',
    counts: ordinary,
    typed: (text) => ({ row1From: text(), row1Units: '90' }),
  },
  {
    reason: 'answer-finer-than-rounding',
    counts: ordinary,
    typed: (text) => ({ row1From: text(), row1Units: '2.5' }),
  },
  {
    reason: 'not-eating-above-bedtime',
    counts: ordinary,
    typed: (text) => ({
      row1From: text(),
      row1Units: '6',
      bedtimeKind: 'own-scale',
      bedtimeRow1From: text(),
      bedtimeRow1Units: '2',
      notEatingKind: 'own-scale',
      notEatingRow1From: text(),
      notEatingRow1Units: '4',
    }),
  },
]

describe.each(['mg/dL', 'mmol/L'] as const)('a refusal on a ward in %s', (unit) => {
  const possible = CASES.filter(({ counts }) => counts(unit)[0] <= counts(unit)[1])
  it.each(possible)('$reason names the glucose as typed', ({ reason, counts, typed }) => {
    const [least, most] = counts(unit)
    fc.assert(
      fc.property(fc.integer({ min: least, max: most }), (count) => {
        const text = (more = 0): string => glucoseDigits({ unit, value: count + more })
        const read = orderFromTyped(
          { ...HEAD, ...typed(text, unit) },
          { policy: unit === 'mg/dL' ? POLICY : MMOL_POLICY, nowMs: NOW_MS, entry: 'patient' },
        )
        if (read.ok) throw new Error('the order was accepted')
        expect(read.reason).toBe(reason)
        const said = sentenceOf(ENTRY_SENTENCES, read)
        expect(said.split(/[^\d.]+/).map((one) => one.replace(/\.$/, ''))).toContain(text())
      }),
      { numRuns: 200 },
    )
  })
  it('prints a bound of a scale that is beyond every order', () => {
    const atLeast = LARGEST_BOUND[unit] + 1
    const checked = checkScale({ unit, steps: [{ atLeast, answer: 2, also: null }] }, { low: 39, maxSingleDose: 20 })
    expect(checked).toMatchObject({
      reason: 'scale-bound-not-whole',
      details: { value: glucoseDigits({ unit, value: atLeast }) },
    })
  })
})

describe('the text of a count', () => {
  it.each([
    ['mg/dL', 150.5, '150.5'],
    ['mg/dL', Number.NaN, 'NaN'],
    ['mmol/L', 35, '3.5'],
    ['mmol/L', 60, '6.0'],
    ['mmol/L', 35.5, '3.55'],
    ['mmol/L', -1, '-0.1'],
  ] as const)('%s %d is %s', (unit, count, text) => {
    expect(boundText(count, unit)).toBe(text)
  })
})
