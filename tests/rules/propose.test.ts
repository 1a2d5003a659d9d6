/** Proposing a dose: the sum, the meal part after eating, the stored working, and recomputation. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { recomputeDose } from '../../shared/order/recompute.ts'
import {
  inputsForSchedule,
  inputsFromReading,
  newestReading,
  ordersForReading,
  type StayAtNow,
} from '../../shared/order/inputs.ts'
import { occasionOfReading } from '../../shared/order/occasion.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { answerFor } from '../../shared/order/scale.ts'
import { roundUnits } from '../../shared/order/fraction.ts'
import { checkOrder, type OrderAsWritten, type OrderRefusal } from '../../shared/order/validate.ts'
import { alderFacts } from '../support/facts.ts'
import {
  doseOf,
  facts,
  minutes,
  NOW_MS,
  order,
  POLICY,
  propose,
  reading,
  scaleOf,
  unitsOf,
  USUAL,
  version,
  type Given,
} from '../support/dose.ts'

const share = (percent: 0 | 25 | 50 | 75 | 100 | null) => ({
  meal: { willEat: 'yes' as const, carbohydrateGrams: 50, shareEatenPercent: percent },
  trayServedAtMs: NOW_MS - minutes(25),
})
const AFTER = {
  mealTiming: 'after-by-share' as const,
  meal: { kind: 'fixed' as const, units: { 'before-breakfast': 6 } },
}

describe('the meal part after eating, by the share eaten', () => {
  it.each([
    [0, 0],
    [25, 1],
    [50, 3],
    [75, 4],
    [100, 6],
  ] as const)('%i %% of 6 units, whole units, ties down: %i', (percent, units) => {
    expect(unitsOf({ order: AFTER, inputs: share(percent) })).toBe(units)
  })
  it('by carbohydrate: half of 50 g at 1:10 is 2.5', () => {
    const parts = { ...AFTER, meal: { kind: 'ratio' as const, gramsPerUnit: 10 } }
    expect(unitsOf({ order: { ...parts, rounding: { to: 0.5, ties: 'down' } }, inputs: share(50) })).toBe(2.5)
    expect(unitsOf({ order: parts, inputs: share(50) })).toBe(2)
  })
  it('gives only the correction before the meal; a meal-only order waits', () => {
    expect(unitsOf({ order: AFTER, inputs: share(null) })).toBe(6)
    expect(propose({ order: AFTER, inputs: share(null) }).working.terms).toMatchObject([{ part: 'correction-scale' }])
    expect(unitsOf({ order: { ...AFTER, correction: null }, inputs: share(null) })).toBe('meal-timing')
  })
  it('gives only the meal part after the meal, also right after the correction', () => {
    const earlierDoses = [
      {
        doseId: 'dose000000000009',
        insulin: 'insulin lispro' as const,
        units: 6,
        givenAtMs: NOW_MS - minutes(2),
        source: 'here' as const,
        withCorrection: true,
      },
    ]
    const proposal = propose({ order: AFTER, inputs: { ...share(100), earlierDoses, correctionAlreadyGiven: true } })
    expect(proposal).toMatchObject({
      kind: 'dose',
      working: { units: 6, terms: [{ part: 'meal-fixed', sharePercent: 100 }] },
    })
    expect(doseOf({ order: AFTER, inputs: share(100) }).kind).toBe('after-meal')
  })
  it('waits until a tray is charted', () => {
    expect(unitsOf({ order: AFTER, inputs: { ...share(100), trayServedAtMs: null } })).toBe('meal-timing')
  })
})

describe('below the target', () => {
  const parts = {
    correction: { kind: 'factor' as const, target: 120, perUnit: 10, belowTargetSubtracts: true },
    meal: { kind: 'fixed' as const, units: { 'before-breakfast': 5 } },
  }
  it.each([
    [100, true, 3],
    [100, false, 5],
    [120, true, 5],
    [70, true, 0],
    [75, true, 0],
  ] as const)('%i, subtracting %s: %i units', (glucose, belowTargetSubtracts, units) => {
    expect(unitsOf({ glucose, order: { ...parts, correction: { ...parts.correction, belowTargetSubtracts } } })).toBe(
      units,
    )
  })
  it('keeps a sum below 0 in the working and gives 0', () => {
    expect(
      propose({ glucose: 70, order: { ...parts, correction: { ...parts.correction, perUnit: 5 } } }).working,
    ).toMatchObject({ sum: { numerator: -5, denominator: 1 }, units: 0 })
  })
  it('still counts a subtracting correction when the meal is held', () => {
    expect(unitsOf({ glucose: 100, order: parts, inputs: { nilByMouth: true } })).toBe(0)
  })
})

it('gives no meal part for an extra reading outside its window', () => {
  expect(
    unitsOf({
      order: { meal: { kind: 'fixed', units: { 'before-breakfast': 5 } } },
      inputs: { atOrderOccasion: false },
    }),
  ).toBe(6)
})

describe('the working as data', () => {
  it('names order, policy, reading, step and every guard', () => {
    const { working } = propose({ glucose: 200 })
    expect(working).toMatchObject({
      rules: 3,
      orderId: 'order00000000001',
      orderVersion: 3,
      policyVersion: 1,
      readingId: 'reading000000001',
      glucose: { unit: 'mg/dL', value: 200 },
      occasion: 'before-breakfast',
      terms: [
        { part: 'correction-scale', atLeast: 181, below: 221, amount: { numerator: 6, denominator: 1 }, held: false },
      ],
      sum: { numerator: 6, denominator: 1 },
      units: 6,
      also: [],
    })
    expect(new Set(working.guards.map((guard) => guard.guard)).size).toBe(working.guards.length)
    expect(JSON.parse(JSON.stringify(working))).toEqual(working)
  })
})

const anyGiven: fc.Arbitrary<Given> = fc
  .record({
    glucose: fc.integer({ min: 70, max: 400 }),
    kind: fc.constantFrom('scale', 'factor'),
    target: fc.integer({ min: 100, max: 140 }),
    perUnit: fc.integer({ min: 5, max: 60 }),
    subtracts: fc.boolean(),
    ratio: fc.constantFrom(5, 7.5, 12, 15, 5.56),
    grams: fc.integer({ min: 0, max: 120 }),
    to: fc.constantFrom<1 | 0.5>(1, 0.5),
    ties: fc.constantFrom<'down' | 'up'>('down', 'up'),
    occasion: fc.constantFrom<'before-breakfast' | 'before-lunch' | 'bedtime'>(
      'before-breakfast',
      'before-lunch',
      'bedtime',
    ),
    eat: fc.constantFrom<'yes' | 'no' | 'unsure'>('yes', 'no', 'unsure'),
    bedtime: fc.constantFrom<'same' | 'half' | 'none'>('same', 'half', 'none'),
  })
  .map((c): Given => ({
    glucose: c.glucose,
    order: {
      correction:
        c.kind === 'scale'
          ? { kind: 'scale', scale: USUAL }
          : { kind: 'factor', target: c.target, perUnit: c.perUnit, belowTargetSubtracts: c.subtracts },
      meal: { kind: 'ratio', gramsPerUnit: c.ratio },
      rounding: { to: c.to, ties: c.ties },
      bedtime: { kind: c.kind === 'scale' ? c.bedtime : 'same' },
    },
    inputs: { occasion: c.occasion, meal: { willEat: c.eat, carbohydrateGrams: c.grams, shareEatenPercent: null } },
  }))

describe('recomputing', () => {
  const given = (made: Given) => ({
    order: facts(made).order ?? undefined,
    policy: POLICY,
    reading: facts(made).reading ?? undefined,
  })

  it('property: the same inputs always give the same result, also after JSON', () => {
    let doses = 0
    fc.assert(
      fc.property(anyGiven, (made) => {
        if (propose(made).kind === 'stopped') return
        doses += 1
        const stored = JSON.parse(JSON.stringify(doseOf(made))) as ReturnType<typeof doseOf>
        expect(recomputeDose(stored, given(made))).toEqual({ units: stored.units })
      }),
      { numRuns: 500 },
    )
    expect(doses).toBeGreaterThan(200)
  })

  it('ignores later changes of reading or order, since the inputs were kept', () => {
    const stored = doseOf()
    const later = {
      ...reading(200),
      supersededBy: 'reading000000002',
      voided: { reason: 'wrong patient', byId: 'x', atMs: NOW_MS + 1 },
    }
    expect(
      recomputeDose(stored, { order: version({}, { endedAtMs: NOW_MS }), policy: POLICY, reading: later }),
    ).toEqual({ units: 6 })
  })

  it.each([
    ['units changed', { ...doseOf(), units: 7 }, given({}), 'stored 7 units, worked out 6'],
    ['a term changed', { ...doseOf(), working: { ...doseOf().working, terms: [] } }, given({}), 'terms: stored []'],
    ['a guard changed', { ...doseOf(), working: { ...doseOf().working, guards: [] } }, given({}), 'guards: stored []'],
    ['another value in the reading', doseOf(), { ...given({}), reading: reading(300) }, 'glucose: stored'],
    ['no order', doseOf(), { ...given({}), order: undefined }, 'order order00000000001 version 3 is not there'],
    ['no reading', doseOf(), { ...given({}), reading: undefined }, 'reading reading000000001 is not there'],
    ['another version', doseOf(), { ...given({}), order: version({}, { version: 4 }) }, 'another order version'],
    [
      'another scale in the order',
      doseOf(),
      { ...given({}), order: version({ correction: { kind: 'scale', scale: scaleOf([[150, null, 2]]) } }) },
      'terms: stored',
    ],
    ['never verified', doseOf(), { ...given({}), order: version({}, { verified: null }) }, 'not verified at that time'],
    [
      'verified too late',
      doseOf(),
      { ...given({}), order: version({}, { verified: { byId: 'x', atMs: NOW_MS + 1 } }) },
      'not verified at that time',
    ],
    [
      'ended before',
      doseOf(),
      { ...given({}), order: version({}, { endedAtMs: NOW_MS - 1 }) },
      'not in force at that time',
    ],
    [
      'a stricter policy',
      doseOf(),
      { ...given({}), policy: { ...POLICY, dose: { ...POLICY.dose, singleDoseLimit: 5 } } },
      'now stopped by single-dose-limit',
    ],
    ['another insulin', { ...doseOf(), insulin: 'insulin aspart' as const }, given({}), 'another insulin'],
    [
      'the reading taken at another time',
      doseOf(),
      { ...given({}), reading: reading(200, { takenAtMs: NOW_MS - minutes(6) }) },
      'taken at another time',
    ],
  ] as const)('reports %s', (_name, stored, from, difference) => {
    const found = recomputeDose(stored, from)
    expect('difference' in found ? found.difference : 'none').toContain(difference)
  })
})

it('property: units are the exact sum of unheld parts, rounded once', () => {
  fc.assert(
    fc.property(anyGiven, (made) => {
      const { working } = propose(made)
      const counted = working.terms
        .filter((term) => !term.held)
        .reduce((total, { amount }) => total + amount.numerator / amount.denominator, 0)
      expect(working.sum.numerator / working.sum.denominator).toBeCloseTo(counted, 9)
      expect(working.units).toBe(roundUnits(working.sum, working.rounding))
      const correction = working.terms.find((term) => term.part === 'correction-scale')
      if (correction?.part === 'correction-scale' && !correction.halved)
        expect(correction.amount.numerator).toBe(
          answerFor(USUAL, { unit: 'mg/dL', value: Number(made.glucose) }).answer,
        )
    }),
    { numRuns: 500 },
  )
})

describe('gathering the facts', () => {
  const stay = (parts: Partial<StayAtNow> = {}): StayAtNow => ({
    nowMs: NOW_MS,
    policy: POLICY,
    facts: alderFacts(),
    readings: [reading(200)],
    doses: [],
    earlierDoses: [],
    insulinGiven: [],
    trays: [],
    trayDelays: [],
    low: 'none',
    failedControls: new Map(),
    ...parts,
  })
  const asked = { meal: null, elsewhereAsked: true, criticalConfirmed: null }
  const inputsOf = (parts: Partial<StayAtNow> = {}, of = reading(200)) =>
    inputsFromReading(stay(parts), of, version(), asked, null)

  it('a planned reading answers its own occasion; the tray comes from policy and delay', () => {
    expect(inputsOf()).toMatchObject({
      occasion: 'before-breakfast',
      atOrderOccasion: true,
      trayExpectedAtMs: NOW_MS + minutes(15),
      trayServedAtMs: null,
      newerReadingAtMs: null,
    })
    expect(inputsOf({ trayDelays: [{ date: '2026-03-10', meal: 'breakfast', minutes: 45 }] }).trayExpectedAtMs).toBe(
      NOW_MS + minutes(60),
    )
    expect(
      inputsOf({
        trays: [
          {
            stayId: 'stay000000000001',
            date: '2026-03-10',
            meal: 'breakfast',
            servedAtMs: NOW_MS - minutes(1),
            shareEatenPercent: null,
          },
        ],
      }).trayServedAtMs,
    ).toBe(NOW_MS - minutes(1))
  })
  it('a control failed since the reading is kept with the inputs; without one they are unchanged', () => {
    const of = reading(200, { meterId: 'meter00000000001' })
    expect(inputsOf({ failedControls: new Map([['meter00000000001', NOW_MS]]) }, of).meterFailedAtMs).toBe(NOW_MS)
    expect(Object.keys(inputsOf({ failedControls: new Map([['meter00000000002', NOW_MS]]) }, of))).not.toContain(
      'meterFailedAtMs',
    )
  })
  it('a scheduled dose uses the newest reading: its meter and its doubts', () => {
    const order = version({
      insulin: 'insulin glargine',
      correction: null,
      occasions: [],
      scheduled: [{ time: '21:00', units: 18, holdBelow: 100 }],
    })
    const inputs = (of: Reading, failed: readonly string[] = []) =>
      inputsForSchedule(
        stay({ readings: [of], failedControls: new Map(failed.map((meterId) => [meterId, NOW_MS])) }),
        order,
        { date: '2026-03-10', time: '21:00' },
        true,
      )
    expect(inputs(reading(200, { meterId: 'meter00000000001' }), ['meter00000000001'])).toMatchObject({
      meterFailedAtMs: NOW_MS,
    })
    expect(inputs(reading(200, { doubts: ['meter-control-not-done'] }))).toMatchObject({ holdReadingInDoubt: true })
    expect(
      Object.keys(inputs(reading(200))).filter((name) => name === 'meterFailedAtMs' || name === 'holdReadingInDoubt'),
    ).toEqual([])
  })
  it('an extra reading inside the occasion’s window replaces it, one outside does not', () => {
    const extra = (takenAtMs: number) =>
      occasionOfReading({ checkKey: 'extra.stay000000000001.extra00000000001', takenAtMs }, POLICY, [])
    expect(extra(NOW_MS)).toMatchObject({ occasion: 'before-breakfast', own: true })
    expect(extra(NOW_MS - minutes(45))).toMatchObject({ occasion: 'before-breakfast', own: true })
    expect(extra(NOW_MS - minutes(46))).toMatchObject({ occasion: 'before-breakfast', own: false })
    expect(extra(NOW_MS + minutes(74))).toMatchObject({ own: true })
    expect(extra(NOW_MS + minutes(75))).toMatchObject({ occasion: 'before-breakfast', own: false })
  })
  it('two checks of one round differ by their slot', () => {
    const at = (slot: string) =>
      occasionOfReading({ checkKey: `stay000000000001.2026-03-10.${slot}`, takenAtMs: NOW_MS }, POLICY, [])
    expect([at('t0000'), at('t0400')]).toMatchObject([
      { occasion: 'overnight', slot: 't0000', own: true },
      { occasion: 'overnight', slot: 't0400', own: true },
    ])
  })
  it('a newer reading counts; a corrected or voided one does not', () => {
    const newer = reading(150, { readingId: 'reading000000002', takenAtMs: NOW_MS - minutes(1) })
    expect(inputsOf({ readings: [newer, reading(200)] }).newerReadingAtMs).toBe(NOW_MS - minutes(1))
    expect(
      inputsOf({ readings: [{ ...newer, supersededBy: 'reading000000003' }, reading(200)] }).newerReadingAtMs,
    ).toBeNull()
    expect(newestReading([{ ...newer, voided: { reason: 'x', byId: 'y', atMs: 1 } }, reading(200)])?.readingId).toBe(
      'reading000000001',
    )
  })
  it('insulin given at this occasion is known by part; a direction counts as both', () => {
    const given = doseOf(
      { order: { meal: { kind: 'fixed', units: { 'before-breakfast': 5 } } } },
      {
        outcome: {
          kind: 'given',
          byId: 'n',
          atMs: NOW_MS - minutes(3),
          site: { area: 'abdomen', side: 'left' },
          food: 'tray-here',
        },
      },
    )
    expect(inputsOf({ doses: [given] })).toMatchObject({ mealAlreadyGiven: true, correctionAlreadyGiven: true })
    expect(inputsOf({ doses: [{ ...given, outcome: null }] })).toMatchObject({
      mealAlreadyGiven: false,
      correctionAlreadyGiven: false,
    })
    const directed = {
      ...doseOf({ inputs: { directionId: 'direction0000001', directedUnits: 4 } }),
      outcome: given.outcome,
    }
    expect(inputsOf({ doses: [directed] })).toMatchObject({ mealAlreadyGiven: true, correctionAlreadyGiven: true })
    const yesterday = reading(200, { checkKey: 'stay000000000001.2026-03-09.before-breakfast' })
    expect(
      inputsOf({ doses: [given], readings: [yesterday] }, reading(200, { readingId: 'reading000000002' })),
    ).toMatchObject({ mealAlreadyGiven: false, correctionAlreadyGiven: false })
  })
  it('insulin on paper since the reading may have been the meal part', () => {
    const paper = {
      doseId: 'p',
      insulin: 'insulin lispro' as const,
      units: 5,
      givenAtMs: NOW_MS - minutes(1),
      source: 'paper' as const,
      withCorrection: true,
    }
    expect(inputsOf({ earlierDoses: [paper] }).mealAlreadyGiven).toBe(true)
    expect(inputsOf({ earlierDoses: [{ ...paper, givenAtMs: NOW_MS - minutes(300) }] }).mealAlreadyGiven).toBe(false)
  })
  it('orders for readings: the one in force, else the one that ended last; never scheduled ones', () => {
    const ended = version({}, { endedAtMs: NOW_MS, version: 1 })
    const now = version({}, { version: 2 })
    const glargine = version(
      { insulin: 'insulin glargine', correction: null, scheduled: [{ time: '21:00', units: 10, holdBelow: null }] },
      { orderId: 'order00000000002' },
    )
    expect(ordersForReading([ended, now, glargine], NOW_MS)).toEqual([now])
    expect(ordersForReading([ended, glargine], NOW_MS)).toEqual([ended])
    expect(ordersForReading([glargine], NOW_MS)).toEqual([])
  })
})

describe('an order is checked as a whole', () => {
  const meal = (units: number) => ({ meal: { kind: 'fixed' as const, units: { 'before-breakfast': units } } })
  it.each<[OrderRefusal, Partial<OrderAsWritten>]>([
    ['order-unit-not-wards', { unit: 'mmol/L' }],
    ['order-prescriber-missing', { prescriber: '  ' }],
    ['order-limit-not-units', { maxSingleDose: 0 }],
    ['order-limit-not-units', { maxSingleDose: Number.NaN }],
    ['order-interval-not-minutes', { correctionIntervalMin: 0 }],
    ['order-dates-crossed', { stopsAtMs: NOW_MS - minutes(3000) }],
    ['order-says-nothing', { correction: null }],
    ['order-occasions-missing', { occasions: [] }],
    ['order-occasion-repeated', { occasions: ['bedtime', 'bedtime'] }],
    ['insulin-not-for-meals-or-correction', { insulin: 'insulin glargine' }],
    ['insulin-not-for-meals-or-correction', { insulin: 'NPH insulin' }],
    ['scale-unit-not-orders', { correction: { kind: 'scale', scale: { ...USUAL, unit: 'mmol/L' } } }],
    ['scale-above-limit', { maxSingleDose: 14 }],
    [
      'scale-goes-down',
      {
        correction: {
          kind: 'scale',
          scale: {
            unit: 'mg/dL',
            steps: [
              { atLeast: 150, answer: 4, also: null },
              { atLeast: 200, answer: 2, also: null },
            ],
          },
        },
      },
    ],
    [
      'scale-doses-below-low',
      { correction: { kind: 'scale', scale: { unit: 'mg/dL', steps: [{ atLeast: 60, answer: 1, also: null }] } } },
    ],
    [
      'answer-finer-than-rounding',
      { correction: { kind: 'scale', scale: { unit: 'mg/dL', steps: [{ atLeast: 150, answer: 1.5, also: null }] } } },
    ],
    ['factor-not-positive', { correction: { kind: 'factor', target: 120, perUnit: 0, belowTargetSubtracts: false } }],
    [
      'factor-not-positive',
      { correction: { kind: 'factor', target: 120, perUnit: 12.5, belowTargetSubtracts: false } },
    ],
    ['target-below-low', { correction: { kind: 'factor', target: 69, perUnit: 30, belowTargetSubtracts: false } }],
    ['meal-occasion-not-a-meal', { meal: { kind: 'fixed', units: { bedtime: 4 } } }],
    ['meal-occasion-not-ordered', { occasions: ['bedtime'], ...meal(4) }],
    ['meal-units-not-deliverable', meal(0)],
    ['meal-units-not-deliverable', meal(2.5)],
    ['meal-units-not-deliverable', { meal: { kind: 'fixed', units: {} } }],
    ['meal-above-limit', meal(21)],
    ['meal-ratio-not-positive', { meal: { kind: 'ratio', gramsPerUnit: 0 } }],
    ['meal-ratio-not-positive', { meal: { kind: 'ratio', gramsPerUnit: 1 / 3 } }],
    ['meal-missing-for-share', { mealTiming: 'after-by-share' }],
    ['bedtime-not-ordered', { occasions: ['before-lunch'], bedtime: { kind: 'half' } }],
    [
      'bedtime-needs-scale',
      {
        correction: { kind: 'factor', target: 120, perUnit: 30, belowTargetSubtracts: false },
        bedtime: { kind: 'half' },
      },
    ],
    [
      'scale-above-limit',
      { bedtime: { kind: 'own-scale', scale: { unit: 'mg/dL', steps: [{ atLeast: 150, answer: 30, also: null }] } } },
    ],
    ['scheduled-time-not-a-time', { scheduled: [{ time: '24:00', units: 10, holdBelow: null }] }],
    [
      'scheduled-time-repeated',
      {
        scheduled: [
          { time: '21:00', units: 10, holdBelow: null },
          { time: '21:00', units: 8, holdBelow: null },
        ],
      },
    ],
    ['scheduled-units-not-deliverable', { scheduled: [{ time: '21:00', units: 10.25, holdBelow: null }] }],
    ['scheduled-above-limit', { scheduled: [{ time: '21:00', units: 24, holdBelow: null }] }],
    ['scheduled-hold-not-a-glucose', { scheduled: [{ time: '21:00', units: 10, holdBelow: 69 }] }],
  ])('%s', (reason, parts) => {
    expect(checkOrder({ ...order(), ...parts }, POLICY)).toMatchObject({ ok: false, reason })
  })
  it('a correct order is stored unchanged', () => {
    const right = order({
      meal: { kind: 'ratio', gramsPerUnit: 7.5 },
      bedtime: { kind: 'half' },
      correctionIntervalMin: 180,
    })
    expect(checkOrder(right, POLICY)).toEqual({ ok: true, value: right })
  })
})
