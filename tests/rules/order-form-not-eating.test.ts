/** The order's rule for a patient who does not eat: the correction as ordered, held, or from a separate scale. */
import { describe, expect, it } from 'vitest'
import { recomputeDose } from '../../shared/order/recompute.ts'
import type { InsulinOrder, NotEatingRule } from '../../shared/order/order.ts'
import { checkOrder } from '../../shared/order/validate.ts'
import { exampleDose } from '../../shared/order/answers.ts'
import { asksEating } from '../../shared/order/parts.ts'
import { overlappingOrder, reviseOrder, writeOrder } from '../../shared/order/write.ts'
import {
  doseOf,
  facts,
  NOW_MS,
  order,
  POLICY,
  propose,
  scaleOf,
  unitsOf,
  version,
  type Given,
} from '../support/dose.ts'

/** RABBIT 2, sensitive column for a patient who does not eat (2a, S); the usual column gives 6 at 200. */
const SENSITIVE = scaleOf([
  [null, 140, 0],
  [141, 180, 2],
  [181, 220, 4],
  [221, 260, 6],
  [261, 300, 8],
  [301, 350, 10],
  [351, 400, 12],
  [401, null, 14],
])
const OWN: NotEatingRule = { kind: 'own-scale', scale: SENSITIVE }
const HOLD: NotEatingRule = { kind: 'hold-all' }
const AS: NotEatingRule = { kind: 'correction-as-ordered' }
const MEAL: Partial<InsulinOrder> = { meal: { kind: 'fixed', units: { 'before-breakfast': 5 } } }
const eats = (willEat: 'yes' | 'no' | 'unsure') => ({
  meal: { willEat, carbohydrateGrams: null, shareEatenPercent: null },
})
const NIL = { nilByMouth: true, meal: null }

describe('dose at 200 mg/dL: 6 by the scale, 4 by the one for not eating, 5 with the meal', () => {
  it.each<[string, Given, number | string]>([
    ['no rule, eats', { order: MEAL, inputs: eats('yes') }, 11],
    ['no rule, will not eat', { order: MEAL, inputs: eats('no') }, 6],
    ['as ordered, will not eat', { order: { ...MEAL, notEating: AS }, inputs: eats('no') }, 6],
    ['own scale, eats', { order: { ...MEAL, notEating: OWN }, inputs: eats('yes') }, 11],
    ['own scale, will not eat', { order: { ...MEAL, notEating: OWN }, inputs: eats('no') }, 4],
    ['own scale, nil by mouth', { order: { ...MEAL, notEating: OWN }, inputs: NIL }, 4],
    ['own scale without a meal part, nil by mouth', { order: { notEating: OWN }, inputs: NIL }, 4],
    ['own scale without a meal part, will not eat', { order: { notEating: OWN }, inputs: eats('no') }, 4],
    [
      'own scale without a meal part: asked, because it decides',
      { order: { notEating: OWN }, inputs: { meal: null } },
      'not-eating',
    ],
    ['at bedtime nobody asks', { order: { notEating: OWN }, inputs: { meal: null, occasion: 'bedtime' } }, 6],
    [
      'an extra reading is not asked about a meal',
      { order: { notEating: OWN }, inputs: { meal: null, atOrderOccasion: false } },
      6,
    ],
    [
      'own scale at bedtime, halved',
      { order: { notEating: OWN, bedtime: { kind: 'half' } }, inputs: { ...NIL, occasion: 'bedtime' } },
      2,
    ],
    [
      'own scale at bedtime, none ordered there',
      { order: { notEating: OWN, bedtime: { kind: 'none' } }, inputs: { ...NIL, occasion: 'bedtime' } },
      0,
    ],
    [
      'own scale in place of a factor',
      {
        order: {
          notEating: OWN,
          correction: { kind: 'factor', target: 120, perUnit: 10, belowTargetSubtracts: false },
        },
        inputs: NIL,
      },
      4,
    ],
    ['held, eats', { order: { ...MEAL, notEating: HOLD }, inputs: eats('yes') }, 11],
    ['held, will not eat', { order: { ...MEAL, notEating: HOLD }, inputs: eats('no') }, 0],
    ['held, nil by mouth', { order: { notEating: HOLD }, inputs: NIL }, 0],
    ['held, not sure: warned, and as ordered', { order: { ...MEAL, notEating: HOLD }, inputs: eats('unsure') }, 11],
  ])('%s', (_name, given, units) => {
    expect(unitsOf(given)).toBe(units)
  })

  it('names in the working which scale was used and what was held', () => {
    expect(propose({ order: { ...MEAL, notEating: OWN }, inputs: eats('no') }).working.terms).toMatchObject([
      { part: 'correction-scale', notEating: true, held: false },
      { part: 'meal-fixed', held: true },
    ])
    const held = propose({ order: { ...MEAL, notEating: HOLD }, inputs: eats('no') }).working
    expect(held.terms).toMatchObject([
      { part: 'correction-scale', held: true },
      { part: 'meal-fixed', held: true },
    ])
    expect(held.guards).toContainEqual({
      guard: 'not-eating-rule',
      outcome: 'holds-correction',
      details: { found: 'no', rule: 'hold-all' },
    })
    expect(propose({ order: { notEating: HOLD }, inputs: eats('unsure') }).working.guards).toContainEqual(
      expect.objectContaining({ guard: 'not-eating-rule', outcome: 'warns' }),
    )
  })

  it('an order without a rule keeps the guards and parts of older doses', () => {
    const { working } = propose({ order: MEAL, inputs: eats('no') })
    expect(working.guards.map(({ guard }) => guard)).not.toContain('not-eating-rule')
    expect(working.terms.every((term) => !('notEating' in term))).toBe(true)
    expect(propose({ order: { ...MEAL, notEating: AS }, inputs: eats('no') }).working).toEqual(working)
  })

  it.each<[string, Given]>([
    ['own scale', { order: { ...MEAL, notEating: OWN }, inputs: eats('no') }],
    ['held', { order: { notEating: HOLD }, inputs: NIL }],
    ['no rule', { order: MEAL, inputs: eats('no') }],
  ])('works out again unchanged: %s', (_name, given) => {
    const made = facts(given)
    const dose = doseOf(given)
    expect(
      recomputeDose(dose, { order: made.order ?? undefined, policy: POLICY, reading: made.reading ?? undefined }),
    ).toEqual({ units: dose.units })
  })
})

describe('order checks', () => {
  it('apply to the scale for not eating as to the others', () => {
    expect(checkOrder(order({ notEating: OWN }), POLICY).ok).toBe(true)
    expect(
      checkOrder(order({ notEating: { kind: 'own-scale', scale: { ...SENSITIVE, unit: 'mmol/L' } } }), POLICY),
    ).toMatchObject({ ok: false, reason: 'scale-unit-not-orders', details: { part: 'not-eating' } })
    expect(
      checkOrder(
        order({ notEating: OWN, maxSingleDose: 13, correction: { kind: 'scale', scale: scaleOf([[200, null, 2]]) } }),
        POLICY,
      ),
    ).toMatchObject({ ok: false, reason: 'scale-above-limit', details: { value: '401', part: 'not-eating' } })
  })
  it('refuse two scales that could both apply at bedtime and contradict each other', () => {
    const bedtime = (from: number, units: number) => ({
      bedtime: { kind: 'own-scale' as const, scale: scaleOf([[from, null, units]]) },
    })
    expect(checkOrder(order({ notEating: OWN, ...bedtime(141, 14) }), POLICY).ok).toBe(true)
    expect(checkOrder(order({ notEating: OWN, ...bedtime(142, 14) }), POLICY)).toMatchObject({
      ok: false,
      reason: 'not-eating-above-bedtime',
      details: { value: '141', answer: 2, bedtime: 0 },
    })
    expect(
      checkOrder(
        order({
          notEating: OWN,
          bedtime: {
            kind: 'own-scale',
            scale: scaleOf([
              [141, 400, 14],
              [401, null, 'call'],
            ]),
          },
        }),
        POLICY,
      ),
    ).toMatchObject({ ok: false, reason: 'not-eating-above-bedtime', details: { value: '401' } })
  })
  it('ask about eating for meals only', () => {
    expect([
      asksEating(order({ notEating: OWN }), 'before-lunch'),
      asksEating(order({ notEating: OWN }), 'bedtime'),
      asksEating(order({ notEating: AS }), 'before-lunch'),
      asksEating(order(), 'before-lunch'),
    ]).toEqual([true, false, false, false])
  })
  it('the preview follows the same rule', () => {
    const at = { glucose: 200, grams: null, occasion: 'before-breakfast' as const }
    expect(
      [true, false].map((one) => exampleDose(order({ ...MEAL, notEating: OWN }), { ...at, eats: one }, 20).units),
    ).toEqual([11, 4])
    expect(exampleDose(order({ ...MEAL, notEating: HOLD }), { ...at, eats: false }, 20).units).toBe(0)
  })
})

describe('saving the order', () => {
  const stay = { stayId: 'stay000000000001', wardId: 'ward000000000001', dischargedAtMs: null }
  const fresh = { orderId: 'order00000000002', order: order({ startsAtMs: NOW_MS }), byId: 'nurse00000000001' }
  const glargine = version(
    { insulin: 'insulin glargine', correction: null, scheduled: [{ time: '21:00', units: 10, holdBelow: null }] },
    { orderId: 'order00000000009' },
  )
  it('charts a first version', () => {
    expect(writeOrder(fresh, { stay, orders: [glargine], nowMs: NOW_MS })).toMatchObject({
      ok: true,
      value: [
        {
          type: 'order-written',
          stayId: stay.stayId,
          happenedAtMs: NOW_MS,
          body: { orderId: fresh.orderId, version: 1 },
        },
      ],
    })
    expect(writeOrder(fresh, { stay: { ...stay, dischargedAtMs: NOW_MS }, orders: [], nowMs: NOW_MS })).toMatchObject({
      ok: false,
      reason: 'stay-discharged',
    })
  })
  it('refuses another order that answers readings at the same time', () => {
    expect(writeOrder(fresh, { stay, orders: [version()], nowMs: NOW_MS })).toMatchObject({
      ok: false,
      reason: 'order-overlaps',
      details: { version: 3 },
    })
    for (const [parts, change, overlaps] of [
      [{}, { endedAtMs: NOW_MS }, false],
      [{}, { endedAtMs: NOW_MS + 1 }, true],
      [{ stopsAtMs: NOW_MS }, {}, false],
      [{ stopsAtMs: NOW_MS + 1 }, {}, true],
    ] as const)
      expect(overlappingOrder(fresh.order, [version(parts, change)], NOW_MS) !== null).toBe(overlaps)
    expect(
      overlappingOrder(
        order({ startsAtMs: NOW_MS, stopsAtMs: NOW_MS + 1000 }),
        [version({ startsAtMs: NOW_MS + 1000 })],
        NOW_MS,
      ),
    ).toBeNull()
    expect(overlappingOrder(glargine.order, [version()], NOW_MS)).toBeNull()
  })
  it('charts the next version once', () => {
    const revised = { ...fresh, orderId: version().orderId, basedOn: 3 }
    expect(
      reviseOrder(revised, {
        stay,
        orders: [version(), version({}, { version: 2, endedAtMs: NOW_MS - 1 })],
        nowMs: NOW_MS,
      }),
    ).toMatchObject({ ok: true, value: [{ body: { orderId: revised.orderId, version: 4 } }] })
    expect(reviseOrder({ ...revised, basedOn: 2 }, { stay, orders: [version()], nowMs: NOW_MS })).toMatchObject({
      ok: false,
      reason: 'order-changed',
    })
    expect(
      reviseOrder(revised, { stay, orders: [version({}, { endedAtMs: NOW_MS - 1 })], nowMs: NOW_MS }),
    ).toMatchObject({ ok: false, reason: 'order-ended' })
    expect(
      reviseOrder(revised, { stay: { ...stay, dischargedAtMs: 1 }, orders: [version()], nowMs: NOW_MS }),
    ).toMatchObject({ ok: false, reason: 'stay-discharged' })
  })
})
