/** The next steps after a reading: each step alone, their order, and a sentence for each. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { LowEvent } from '../../shared/low/low.ts'
import { whatNext, type NextFacts, type NextStep } from '../../shared/reading/next.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { sayStep } from '../../views/words/next.ts'
import {
  at,
  doseOf,
  glucose,
  lowEvent,
  MINUTE,
  MMOL_POLICY,
  POLICY,
  reading,
  orderVersion,
  treatment,
  ZONE,
} from '../support/readings.ts'

const NOW = at('07:25')
type Value = Reading['glucose']['value']

function next(
  value: Value,
  parts: Partial<Omit<NextFacts, 'reading'>> & {
    readonly of?: Partial<Reading>
    readonly before?: readonly Reading[]
  } = {},
): readonly NextStep[] {
  const { of = {}, before = [], ...facts } = parts
  const this_ = reading(value, at('07:20'), { readingId: 'r1', ...of })
  return whatNext({
    reading: this_,
    readings: [this_, ...before],
    lows: [],
    orders: [],
    doses: [],
    policy: POLICY,
    diabetes: 'type-2',
    occasion: 'before-breakfast',
    criticalTold: false,
    meterFailedAtMs: null,
    nowMs: NOW,
    ...facts,
  })
}
const kinds = (steps: readonly NextStep[]): readonly string[] => steps.map(({ kind }) => kind)
const opened = (parts: Partial<LowEvent> = {}): LowEvent =>
  lowEvent(reading(0, at('07:20'), { readingId: 'r1' }), parts)

describe('1. a low', () => {
  it('is treated at once, with its level, limit and recheck', () => {
    expect(next(52, { lows: [opened()] })[0]).toEqual({
      kind: 'treat-low',
      lowId: 'low1',
      level: 2,
      glucose: glucose(52),
      limit: glucose(54),
      recheckKey: 'low.low1.1',
      recheckDueMs: at('07:35'),
    })
    expect(next(69, { lows: [opened()] })[0]).toMatchObject({ kind: 'treat-low', level: 1, limit: glucose(70) })
  })

  it('asks about meal and long-acting insulin, more prominently in type 1, and proposes no dose', () => {
    const orders = [
      orderVersion(),
      orderVersion(
        { orderId: 'o2' },
        { insulin: 'insulin glargine', correction: null, scheduled: [{ time: '21:00', units: 10, holdBelow: null }] },
      ),
    ]
    const steps = next(65, { lows: [opened()], orders, diabetes: 'type-1' })
    expect(kinds(steps)).toEqual(['treat-low', 'ask-about-insulin'])
    expect(steps[1]).toEqual({
      kind: 'ask-about-insulin',
      lowId: 'low1',
      low: 'open',
      insulins: ['insulin glargine'],
      askByMs: at('07:35'),
      type1: true,
    })
  })

  it('is not low at 70', () => {
    expect(kinds(next(70))).toEqual(['no-order', 'done'])
  })

  it('open from before: keeps recheck and block whatever this value is', () => {
    const first = reading(52, at('07:00'), { readingId: 'r0' })
    const low = lowEvent(first)
    expect(
      next(96, { before: [first], lows: [low], orders: [orderVersion()], of: { checkKey: 'low.low1.1' } }),
    ).toEqual([
      { kind: 'recheck-due', phase: 'recovered', recheckKey: 'low.low1.2', dueMs: at('08:20'), recovered: glucose(70) },
      {
        kind: 'ask-about-insulin',
        lowId: 'low1',
        low: 'recovered-awaiting-follow-up',
        insulins: [],
        askByMs: at('07:15'),
        type1: false,
      },
    ])
  })

  it('followed up: allows insulin though the paperwork is open', () => {
    const first = reading(52, at('06:00'), { readingId: 'r0' })
    const before = [first, reading(90, at('06:20'), { checkKey: 'low.low1.1' })]
    expect(
      kinds(next(187, { before, lows: [lowEvent(first)], orders: [orderVersion()], of: { checkKey: 'low.low1.2' } })),
    ).toEqual(['propose-dose'])
  })
})

describe('2. critical', () => {
  it('low: treatment first, then repeat and call; never a dose', () => {
    const steps = next(38, { lows: [opened()], orders: [orderVersion()] })
    expect(kinds(steps)).toEqual(['treat-low', 'ask-about-insulin', 'critical-repeat', 'critical-call'])
    expect(steps[2]).toEqual({
      kind: 'critical-repeat',
      which: 'low',
      glucose: glucose(38),
      limit: glucose(50),
      confirmation: 'awaiting-repeat',
      byMs: at('07:30'),
      withinMin: 10,
    })
    expect(steps[3]).toEqual({
      kind: 'critical-call',
      which: 'low',
      byMs: at('07:50'),
      told: false,
      afterRepeat: false,
    })
  })

  it('low and treated: asks for no repeat, since the next value is a recheck', () => {
    expect(kinds(next(38, { lows: [opened({ treatments: [treatment(at('07:22'))] })] }))).toEqual([
      'treat-low',
      'ask-about-insulin',
      'critical-call',
    ])
  })

  it('high: repeat, call, and no dose until confirmed', () => {
    expect(kinds(next(401, { orders: [orderVersion()] }))).toEqual(['critical-repeat', 'critical-call'])
    expect(next(401, { orders: [orderVersion()] })[1]).toMatchObject({ afterRepeat: true })
  })

  it('high and confirmed: continues from the repeat', () => {
    const first = reading(390 + 60, at('07:15'), { readingId: 'r0' })
    expect(kinds(next(395, { before: [first], orders: [orderVersion()] }))).toEqual(['propose-dose'])
  })

  it('puts an ordinary value after an unconfirmed critical high in doubt too', () => {
    const first = reading(500, at('07:15'), { readingId: 'r0' })
    expect(kinds(next(187, { before: [first], orders: [orderVersion()] }))).toEqual(['critical-in-doubt'])
  })

  it('called: says so and does not ask again', () => {
    expect(next(38, { criticalTold: true }).at(-1)).toMatchObject({ kind: 'critical-call', told: true })
  })
})

it('3. HI: repeat, call, laboratory sample; no dose by any order', () => {
  expect(kinds(next('HI', { orders: [orderVersion()] }))).toEqual([
    'critical-repeat',
    'critical-call',
    'out-of-range-high',
    'laboratory',
  ])
})

describe('4. a current order', () => {
  const orders = [orderVersion()]
  it.each([
    ['answers', 187, { orders }, ['propose-dose']],
    ['answers 0 units as well', 112, { orders }, ['propose-dose']],
    [
      'its step says call',
      401,
      { orders, policy: { ...POLICY, limits: { ...POLICY.limits, criticalHigh: 450 } } },
      ['scale-says-call'],
    ],
    ['not verified', 187, { orders: [orderVersion({ verified: null })] }, ['order-not-verified']],
    ['not for this time', 187, { orders, occasion: 'overnight' }, ['not-this-occasion', 'done']],
    ['not begun', 187, { orders: [orderVersion({}, { startsAtMs: NOW + 1 })] }, ['no-order']],
    ['ended', 187, { orders: [orderVersion({ endedAtMs: NOW })] }, ['no-order']],
    [
      'scheduled insulin alone answers no reading',
      187,
      { orders: [orderVersion({}, { correction: null, scheduled: [{ time: '21:00', units: 10, holdBelow: null }] })] },
      ['no-order'],
    ],
    ['a meter in doubt', 187, { orders, of: { doubts: ['meter-control-not-done'] } }, ['meter-in-doubt']],
    ['a meter that failed a control since', 187, { orders, meterFailedAtMs: NOW }, ['meter-failed']],
    ['exactly 60 min old', 187, { orders, nowMs: at('08:20') }, ['propose-dose']],
    ['older', 187, { orders, nowMs: at('08:20') + 1 }, ['too-old']],
    ['a newer reading', 187, { orders, before: [reading(190, at('07:24'))] }, ['newer-reading']],
    [
      'two orders',
      187,
      { orders: [orderVersion(), orderVersion({ orderId: 'o2' }, { insulin: 'regular insulin' })] },
      ['propose-dose', 'propose-dose'],
    ],
  ] as const)('%s', (_name, value, parts, expected) => {
    expect(kinds(next(value, parts))).toEqual(expected)
  })

  it('uses the order’s own scale at bedtime', () => {
    const own = orderVersion(
      {},
      {
        bedtime: {
          kind: 'own-scale',
          scale: { unit: 'mg/dL', steps: [{ atLeast: 151, answer: 'call', also: 'Call' }] },
        },
      },
    )
    expect(next(187, { orders: [own], occasion: 'bedtime' })).toEqual([
      { kind: 'scale-says-call', atLeast: glucose(151), also: 'Call' },
    ])
    expect(kinds(next(187, { orders: [own] }))).toEqual(['propose-dose'])
  })

  it('asks for the call and offers the dose where the order depends on eating', () => {
    const steps = [{ atLeast: 151, answer: 'call' as const, also: 'Call' }]
    const held = orderVersion(
      {},
      { correction: { kind: 'scale', scale: { unit: 'mg/dL', steps } }, notEating: { kind: 'hold-all' } },
    )
    expect(kinds(next(187, { orders: [held] }))).toEqual(['scale-says-call', 'propose-dose'])
    expect(kinds(next(187, { orders: [held], occasion: 'bedtime' }))).toEqual(['scale-says-call'])
  })

  it('keeps the call after a dose of 0 units by a hold', () => {
    const dose = doseOf(reading(187, at('07:20'), { readingId: 'r1' }))
    const term = {
      part: 'correction-scale',
      atLeast: 151,
      below: null,
      also: 'Call',
      halved: false,
      held: true,
    } as const
    const working = {
      ...dose.working,
      glucose: glucose(187),
      terms: [{ ...term, amount: { numerator: 0, denominator: 1 } }],
      guards: [{ guard: 'scale-says-call', outcome: 'warns', details: { held: 'not-eating' } }] as const,
    }
    expect(next(187, { doses: [{ ...dose, working }] })).toMatchObject([
      { kind: 'scale-says-call', atLeast: glucose(151), also: 'Call' },
      { kind: 'dose-exists' },
    ])
  })

  it('links to this reading’s dose, but ignores a lapsed or void one', () => {
    const dose = doseOf(reading(187, at('07:20'), { readingId: 'r1' }))
    expect(next(187, { orders, doses: [dose] })).toEqual([
      { kind: 'dose-exists', doseId: 'dose1', state: 'awaiting-second-check' },
    ])
    expect(kinds(next(187, { orders, doses: [{ ...dose, voided: { reason: 'order-changed', atMs: NOW } }] }))).toEqual([
      'propose-dose',
    ])
    expect(
      kinds(
        next(187, {
          orders,
          doses: [{ ...dose, proposedAtMs: at('06:00'), inputs: { ...dose.inputs, readingTakenAtMs: at('06:00') } }],
        }),
      ),
    ).toEqual(['propose-dose'])
  })
})

describe('5. no order', () => {
  it.each([
    [112, ['no-order', 'done']],
    [180, ['no-order', 'done']],
    [181, ['no-order']],
  ] as const)('%i', (value, expected) => {
    expect(kinds(next(value))).toEqual(expected)
  })
  it('says so above 180 mg/dL', () => {
    expect(next(181)).toEqual([{ kind: 'no-order', above: glucose(180) }])
  })
})

it('asks for nothing when the reading no longer counts', () => {
  expect(next(38, { of: { supersededBy: 'r2' } })).toEqual([{ kind: 'not-current', correctedBy: 'r2' }])
  expect(next(38, { of: { voided: { reason: 'x', byId: 'n', atMs: NOW } } })).toEqual([
    { kind: 'not-current', correctedBy: null },
  ])
})

it('works alike in tenths of mmol/L', () => {
  const of = { glucose: glucose(29, 'mmol/L') }
  expect(next(0, { of, policy: MMOL_POLICY })[0]).toMatchObject({
    kind: 'treat-low',
    level: 2,
    limit: glucose(30, 'mmol/L'),
  })
})

describe('properties', () => {
  const anyFacts = fc.record({
    value: fc.oneof(fc.integer({ min: 20, max: 600 }), fc.constantFrom('LO' as const, 'HI' as const)),
    earlier: fc.array(
      fc.record({
        value: fc.oneof(fc.integer({ min: 20, max: 600 }), fc.constantFrom('LO' as const, 'HI' as const)),
        ago: fc.integer({ min: 1, max: 120 }),
      }),
      { maxLength: 3 },
    ),
    isOpen: fc.boolean(),
    ordered: fc.boolean(),
    verified: fc.boolean(),
    doubt: fc.boolean(),
    occasion: fc.constantFrom('before-breakfast' as const, 'bedtime' as const, 'overnight' as const),
    nowAfter: fc.integer({ min: 0, max: 100 }),
  })
  const stepsOf = (
    f: typeof anyFacts extends fc.Arbitrary<infer T> ? T : never,
  ): { steps: readonly NextStep[]; low: boolean } => {
    const before = f.earlier.map(({ value, ago }, i) =>
      reading(value, at('07:20') - ago * MINUTE, { readingId: `e${String(i)}` }),
    )
    const oldest = before[0]
    const lows = f.isOpen && oldest !== undefined ? [lowEvent(oldest)] : []
    const steps = next(f.value, {
      before,
      lows,
      orders: f.ordered ? [orderVersion({ verified: f.verified ? { byId: 'b', atMs: 0 } : null })] : [],
      of: f.doubt ? { doubts: ['strip-lot-expired'] } : {},
      occasion: f.occasion,
      nowMs: at('07:20') + f.nowAfter * MINUTE,
    })
    return { steps, low: f.value === 'LO' || (typeof f.value === 'number' && f.value < POLICY.limits.low) }
  }

  it('there is always a step, a low comes first, and a low, HI or doubt gives no dose', () => {
    fc.assert(
      fc.property(anyFacts, (facts) => {
        const { steps, low } = stepsOf(facts)
        expect(steps.length).toBeGreaterThan(0)
        expect(steps[0]?.kind === 'treat-low').toBe(low)
        if (low || facts.value === 'HI' || facts.doubt || !facts.ordered || !facts.verified)
          expect(kinds(steps)).not.toContain('propose-dose')
      }),
      { numRuns: 2000 },
    )
  })

  it('every step has its own sentence without undefined, NaN or a trailing zero', () => {
    fc.assert(
      fc.property(anyFacts, (facts) => {
        for (const step of stepsOf(facts).steps) {
          const said = sayStep(step, {
            stayId: 's',
            readingId: 'r',
            glucose: glucose(facts.value),
            zone: ZONE,
            nowMs: NOW,
          })
          expect(`${said.says} ${said.working}`).not.toMatch(/undefined|NaN|\d\.0\b|null/)
          expect(said.says).toMatch(/\.$/)
        }
      }),
      { numRuns: 1000 },
    )
  })
})
