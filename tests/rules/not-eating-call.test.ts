/**
 * "Hold all when not eating" at a step that says "no dose, call": 0 units by the hold, and the call stays owed. The
 * preview, the verification and the dose ask one function, so they agree for every order.
 */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { OCCASIONS } from '../../shared/check/check.ts'
import type { GuardFinding } from '../../shared/dose/dose.ts'
import { correctionAnswer, exampleDose } from '../../shared/order/answers.ts'
import type { BedtimeVariant, InsulinOrder, NotEatingRule } from '../../shared/order/order.ts'
import { asksEating } from '../../shared/order/parts.ts'
import { recomputeDose } from '../../shared/order/recompute.ts'
import { decideCorrection } from '../../shared/order/terms.ts'
import { checkOrder } from '../../shared/order/validate.ts'
import { transcribedAnswer } from '../../shared/order/verification.ts'
import { foundText } from '../../views/words/guards.ts'
import { doseOf, facts, order, POLICY, propose, scaleOf } from '../support/dose.ts'

const CALLS = scaleOf([
  [null, 140, 0],
  [141, 250, 4],
  [251, null, 'call', 'Call the prescriber'],
])
const HOLD: Partial<InsulinOrder> = {
  correction: { kind: 'scale', scale: CALLS },
  meal: { kind: 'fixed', units: { 'before-breakfast': 5 } },
  notEating: { kind: 'hold-all' },
}
const eats = (willEat: 'yes' | 'no') => ({ meal: { willEat, carbohydrateGrams: null, shareEatenPercent: null } })
const NOT_EATING = { glucose: 280, order: HOLD, inputs: eats('no') }

describe('a held correction at a step that says call', () => {
  it('is a dose of 0 units that names the call still to be made', () => {
    const made = propose(NOT_EATING)
    expect(made.kind).toBe('dose')
    expect(made.working).toMatchObject({ units: 0, rules: 3 })
    const guard = made.working.guards.find(({ guard: name }) => name === 'scale-says-call')
    expect(guard).toEqual({
      guard: 'scale-says-call',
      outcome: 'warns',
      details: { also: 'Call the prescriber', held: 'not-eating' },
    })
  })
  it('stops as before for a patient who eats', () => {
    expect(propose({ ...NOT_EATING, inputs: eats('yes') })).toMatchObject({ kind: 'stopped', working: { rules: 3 } })
    expect(propose({ ...NOT_EATING, glucose: 200 })).toMatchObject({ kind: 'dose', working: { rules: 3, units: 0 } })
  })
  it('is worked out again unchanged', () => {
    const made = facts(NOT_EATING)
    expect(
      recomputeDose(doseOf(NOT_EATING), {
        order: made.order ?? undefined,
        policy: POLICY,
        reading: made.reading ?? undefined,
      }),
    ).toEqual({ units: 0 })
  })
  it('is 0 units with a call owed in the preview, and 0 units in the verification', () => {
    const at = { atBedtime: false, notEating: true }
    expect(correctionAnswer(order(HOLD), 280, at, 20)).toMatchObject({ answer: 0, callOwed: true })
    const example = { glucose: 280, grams: null, occasion: 'before-breakfast' as const, eats: false }
    expect(exampleDose(order(HOLD), example, 20)).toMatchObject({ units: 0, stops: null, callOwed: true })
    expect(
      transcribedAnswer(order(HOLD), { kind: 'correction-not-eating', glucose: 280, occasion: 'before-breakfast' }),
    ).toBe(0)
  })
})

it('property: preview, verification and dose agree for every valid order, glucose and meal occasion', () => {
  const answer = fc.constantFrom<(number | 'call')[]>(0, 2, 4, 6, 'call')
  const scale = fc
    .uniqueArray(fc.integer({ min: 70, max: 400 }), { minLength: 1, maxLength: 5 })
    .chain((bounds) =>
      fc.tuple(fc.constant(bounds.sort((a, b) => a - b)), fc.array(answer, { minLength: 5, maxLength: 5 })),
    )
    .map(([bounds, answers]) => {
      const rising = answers.filter((one) => one !== 'call').sort((a, b) => Number(a) - Number(b))
      const steps = bounds.map((atLeast, index) => ({
        atLeast,
        answer: answers[index] === 'call' ? ('call' as const) : (rising.shift() ?? 6),
        also: null,
      }))
      return { unit: 'mg/dL' as const, steps }
    })
  const correction = fc.oneof(
    scale.map((one) => ({ kind: 'scale' as const, scale: one })),
    fc.record({
      kind: fc.constant('factor' as const),
      target: fc.integer({ min: 100, max: 150 }),
      perUnit: fc.integer({ min: 10, max: 60 }),
      belowTargetSubtracts: fc.boolean(),
    }),
  )
  const notEating: fc.Arbitrary<NotEatingRule> = fc.oneof(
    fc.constant<NotEatingRule>({ kind: 'hold-all' }),
    fc.constant<NotEatingRule>({ kind: 'correction-as-ordered' }),
    scale.map((one): NotEatingRule => ({ kind: 'own-scale', scale: one })),
  )
  const bedtime = fc.constantFrom<BedtimeVariant[]>({ kind: 'same' }, { kind: 'none' })
  let compared = 0
  let owed = 0
  fc.assert(
    fc.property(
      fc.record({ correction, notEating, bedtime }),
      fc.integer({ min: 70, max: 400 }),
      fc.constantFrom(...OCCASIONS),
      fc.boolean(),
      (parts, glucose, occasion, eating) => {
        const written = order(parts)
        if (!checkOrder(written, POLICY).ok || !written.occasions.includes(occasion)) return
        if (!eating && !asksEating(written, occasion)) return
        const at = { atBedtime: occasion === 'bedtime', notEating: !eating }
        const decided = decideCorrection(written, { unit: 'mg/dL', value: glucose }, at)
        const preview = correctionAnswer(written, glucose, at, 20)
        const example = exampleDose(written, { glucose, grams: null, occasion, eats: eating }, 20)
        const kind = eating ? ('correction' as const) : ('correction-not-eating' as const)
        const verified = transcribedAnswer(written, { kind, glucose, occasion })
        const made = propose({
          glucose,
          order: parts,
          inputs: { occasion, atOrderOccasion: true, criticalConfirmed: true, ...eats(eating ? 'yes' : 'no') },
        })
        const says = made.working.guards.find(({ guard }) => guard === 'scale-says-call')
        const fromDose = says?.outcome === 'stops' ? 'call' : made.working.units
        if (typeof verified === 'number' && verified > 20) return
        expect(preview.answer).toBe(verified)
        expect(example.stops ?? example.units).toBe(verified)
        expect(fromDose).toBe(verified)
        const calls = [decided.calls, preview.callOwed, example.callOwed, says?.outcome !== 'passed']
        expect(new Set(calls).size).toBe(1)
        compared += 1
        if (decided.calls && verified === 0) owed += 1
      },
    ),
    { numRuns: 3000, seed: 13 },
  )
  expect([compared > 500, owed > 10]).toEqual([true, true])
})

it('the sentence says what to do first', () => {
  const guard = propose(NOT_EATING).working.guards.find(({ guard: name }) => name === 'scale-says-call')
  if (guard === undefined) throw new Error('no guard')
  expect(foundText(guard as GuardFinding, 'UTC')).toContain('Call the prescriber now')
})
