/** Each guard: a fact that passes, the nearest one that does not, and the dose after its release. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { EarlierDose, GuardName, GuardResult } from '../../shared/dose/dose.ts'
import { proposeDose } from '../../shared/order/propose.ts'
import { foundText, GUARD_NAME, releaseText } from '../../views/words/guards.ts'
import {
  facts,
  minutes,
  NOW_MS,
  POLICY,
  propose,
  reading,
  TRAY_MS,
  unitsOf,
  version,
  type Given,
} from '../support/dose.ts'

const outcomeOf = (given: Given, guard: GuardName): GuardResult['outcome'] | undefined => {
  const proposal = propose(given)
  const guards = proposal.kind === 'dose' ? proposal.working.guards : proposal.guards
  return guards.find((one) => one.guard === guard)?.outcome
}
const earlier = (minutesAgo: number, parts: Partial<EarlierDose> = {}): EarlierDose => ({
  doseId: 'dose000000000009',
  insulin: 'insulin lispro',
  units: 4,
  givenAtMs: NOW_MS - minutes(minutesAgo),
  source: 'here',
  withCorrection: true,
  ...parts,
})
const MEAL = { meal: { kind: 'fixed' as const, units: { 'before-breakfast': 5 } } }
const RATIO = { meal: { kind: 'ratio' as const, gramsPerUnit: 10 } }
const eats = (willEat: 'yes' | 'no' | 'unsure', carbohydrateGrams: number | null = null) => ({
  meal: { willEat, carbohydrateGrams, shareEatenPercent: null },
})
const scheduled = (parts: Given = {}): Given => ({
  ...parts,
  order: {
    insulin: 'insulin glargine',
    correction: null,
    occasions: [],
    scheduled: [{ time: '21:00', units: 18, holdBelow: 100 }],
    maxSingleDose: 20,
    ...parts.order,
  },
  inputs: {
    occasion: null,
    scheduledTime: '21:00',
    scheduledDueMs: NOW_MS,
    trayExpectedAtMs: null,
    meal: null,
    ...parts.inputs,
  },
})

/** 200 mg/dL on the usual column of 2a is 6 units. */
describe('a guard and its release', () => {
  it.each<[GuardName, string, Given, Given]>([
    [
      'reading-age',
      'taken after the dose is worked out',
      { inputs: { readingTakenAtMs: NOW_MS + 1 } },
      { inputs: { readingTakenAtMs: NOW_MS } },
    ],
    [
      'reading-age',
      'with less than 15 of its 60 min left to give',
      { inputs: { readingTakenAtMs: NOW_MS - minutes(45) - 1 } },
      { inputs: { readingTakenAtMs: NOW_MS - minutes(45) } },
    ],
    ['reading-in-doubt', 'the meter had no control', { reading: { doubts: ['meter-control-not-done'] } }, {}],
    ['reading-in-doubt', 'the strips are expired', { reading: { doubts: ['strip-lot-expired'] } }, {}],
    ['reading-in-doubt', 'the meter failed a control since', { inputs: { meterFailedAtMs: NOW_MS - minutes(1) } }, {}],
    ['reading-not-effective', 'corrected or in error', { inputs: { readingEffective: false } }, {}],
    ['reading-superseded-by-newer', 'a newer reading', { inputs: { newerReadingAtMs: NOW_MS - minutes(1) } }, {}],
    [
      'critical-high-unconfirmed',
      'said to be unconfirmed',
      { glucose: 200, inputs: { criticalConfirmed: false } },
      { inputs: { criticalConfirmed: true } },
    ],
    ['order-in-force', 'not in force', { inputs: { orderInForce: false } }, {}],
    ['order-verified', 'not verified', { inputs: { orderVerified: false } }, {}],
    ['ward-unit', 'the ward counts in mmol/L', { inputs: { wardUnit: 'mmol/L' } }, {}],
    ['low-event-open', 'a low under way', { inputs: { low: 'open' } }, {}],
    ['low-event-open', 'the follow-up to come', { inputs: { low: 'recovered-awaiting-follow-up' } }, {}],
    ['insulin-elsewhere-asked', 'not asked', { inputs: { elsewhereAsked: false } }, {}],
    ['single-dose-limit', 'above the order', { order: { maxSingleDose: 5 } }, { order: { maxSingleDose: 6 } }],
    ['occasion-not-ordered', 'no such occasion in the order', { inputs: { occasion: 'overnight' } }, {}],
    ['already-dosed', 'insulin since the reading', { inputs: { earlierDoses: [earlier(5)] } }, {}],
  ])('%s: %s', (guard, _what, stopping, released) => {
    const proposal = propose(stopping)
    expect(proposal.kind).toBe('stopped')
    expect(outcomeOf(stopping, guard)).toBe('stops')
    expect(outcomeOf(released, guard)).toBe('passed')
    expect(unitsOf(released)).toBe(6)
  })

  it('single-dose-limit: the ward’s limit applies when it is lower', () => {
    const policy = { ...POLICY, dose: { ...POLICY.dose, singleDoseLimit: 5 } }
    expect(unitsOf({ policy })).toBe('single-dose-limit')
    expect(unitsOf({ policy: { ...POLICY, dose: { ...POLICY.dose, singleDoseLimit: 6 } } })).toBe(6)
  })
})

describe('values that give no dose', () => {
  it.each([
    [69, 'low-glucose'],
    ['LO', 'out-of-range-value low-glucose'],
    ['HI', 'out-of-range-value'],
    [401, 'critical-high-unconfirmed'],
  ] as const)('%s', (glucose, stops) => {
    expect(unitsOf({ glucose })).toBe(stops)
  })
  it('the low limit is not low, and the critical limit is not critical', () => {
    expect([unitsOf({ glucose: 70 }), unitsOf({ glucose: 400 })]).toEqual([0, 14])
  })
  it('a value above the critical limit is in doubt even if no repeat was requested', () => {
    expect(unitsOf({ glucose: 450 })).toBe('critical-high-unconfirmed')
    expect(unitsOf({ glucose: 450, inputs: { criticalConfirmed: true } })).toBe(16)
  })
})

describe('meal timing (rapid insulin 15 min before or right after the meal, Endocrine Society 2022, S)', () => {
  const at = (trayInMin: number): Given => ({ order: MEAL, inputs: { trayExpectedAtMs: NOW_MS + minutes(trayInMin) } })
  it.each([
    [15, 'passed'],
    [16, 'warns'],
    [45, 'warns'],
    [46, 'stops'],
    [0, 'passed'],
    [-20, 'passed'],
  ] as const)('tray expected in %i min: %s', (trayInMin, outcome) => {
    expect(outcomeOf(at(trayInMin), 'meal-timing')).toBe(outcome)
  })
  it.each([
    [30, 'passed'],
    [31, 'stops'],
  ] as const)('tray served %i min ago: %s', (ago, outcome) => {
    expect(outcomeOf({ order: MEAL, inputs: { trayServedAtMs: NOW_MS - minutes(ago) } }, 'meal-timing')).toBe(outcome)
  })
  it('a meal part needs a tray time', () => {
    expect(outcomeOf({ order: MEAL, inputs: { trayExpectedAtMs: null } }, 'meal-timing')).toBe('stops')
  })
  it('the tray does not stop a correction alone; a reading after the tray warns', () => {
    expect(unitsOf({ inputs: { trayExpectedAtMs: NOW_MS + minutes(120) } })).toBe(6)
    const after: Given = { inputs: { trayServedAtMs: NOW_MS - minutes(20) } }
    expect([outcomeOf(after, 'meal-timing'), unitsOf(after)]).toEqual(['warns', 6])
  })
})

describe('not eating holds the meal part only', () => {
  it.each<[string, Given, number | string]>([
    ['will eat', { order: MEAL, inputs: eats('yes') }, 11],
    ['will not eat', { order: MEAL, inputs: eats('no') }, 6],
    ['not sure warns and goes on', { order: MEAL, inputs: eats('unsure') }, 11],
    ['nil by mouth', { order: MEAL, inputs: { nilByMouth: true, meal: null } }, 6],
    ['not asked', { order: MEAL, inputs: { meal: null } }, 'not-eating'],
    ['no meal part: not asked and not needed', { inputs: { meal: null } }, 6],
    ['grams missing', { order: RATIO, inputs: eats('yes') }, 'carbohydrate-needed'],
    ['grams given', { order: RATIO, inputs: eats('yes', 40) }, 10],
    ['grams not needed when nothing is eaten', { order: RATIO, inputs: eats('no') }, 6],
    [
      'nothing eaten and no correction: 0 units',
      { glucose: 100, order: { ...MEAL, correction: null }, inputs: eats('no') },
      0,
    ],
  ])('%s', (_name, given, units) => {
    expect(unitsOf(given)).toBe(units)
  })
  it('the held part stays in the working', () => {
    const proposal = propose({ order: MEAL, inputs: eats('no') })
    expect(proposal).toMatchObject({
      kind: 'dose',
      working: {
        terms: [
          { part: 'correction-scale', held: false },
          { part: 'meal-fixed', units: 5, held: true },
        ],
      },
    })
    expect(outcomeOf({ order: MEAL, inputs: eats('unsure') }, 'not-eating')).toBe('warns')
  })
})

describe('stacking (repeat correction: rapid ≥ 4 h, regular ≥ 6 h; order forms, ADA 2004, R)', () => {
  // the earlier dose was given before the reading, which is 5 min old
  it.each([
    [239, 'warns'],
    [240, 'passed'],
  ] as const)('rapid, %i min ago, at an occasion of the order: %s', (ago, outcome) => {
    const given: Given = { inputs: { earlierDoses: [earlier(ago)] } }
    expect([outcomeOf(given, 'stacking'), unitsOf(given)]).toEqual([outcome, 6])
  })
  it.each([
    [359, 'warns'],
    [360, 'passed'],
  ] as const)('regular insulin, %i min ago: %s', (ago, outcome) => {
    expect(
      outcomeOf(
        {
          order: { insulin: 'regular insulin' },
          inputs: { earlierDoses: [earlier(ago, { insulin: 'regular insulin' })] },
        },
        'stacking',
      ),
    ).toBe(outcome)
    // regular insulin still acts when rapid insulin is due
    expect(outcomeOf({ inputs: { earlierDoses: [earlier(ago, { insulin: 'regular insulin' })] } }, 'stacking')).toBe(
      outcome,
    )
  })
  it.each([
    [179, 'warns'],
    [180, 'passed'],
  ] as const)('the order’s own interval of 3 h, %i min ago: %s', (ago, outcome) => {
    expect(
      outcomeOf({ order: { correctionIntervalMin: 180 }, inputs: { earlierDoses: [earlier(ago)] } }, 'stacking'),
    ).toBe(outcome)
  })
  it('doses on paper and from elsewhere count alike', () => {
    for (const source of ['paper', 'elsewhere'] as const)
      expect(outcomeOf({ inputs: { earlierDoses: [earlier(100, { source })] } }, 'stacking')).toBe('warns')
  })
  it.each<[string, Given]>([
    ['an extra reading', { inputs: { atOrderOccasion: false, earlierDoses: [earlier(100)] } }],
    ['the occasion had its correction', { inputs: { correctionAlreadyGiven: true, earlierDoses: [earlier(100)] } }],
    ['the order says so', { order: { stackingStopsAtOccasions: true }, inputs: { earlierDoses: [earlier(100)] } }],
    [
      'the policy says so',
      {
        policy: { ...POLICY, dose: { ...POLICY.dose, stackingStopsAtOccasions: true } },
        inputs: { earlierDoses: [earlier(100)] },
      },
    ],
  ])('stops a correction alone: %s', (_name, given) => {
    expect(unitsOf(given)).toBe('stacking')
    expect(unitsOf({ ...given, inputs: { ...given.inputs, earlierDoses: [earlier(240)] } })).toBe(6)
  })
  it('holds the correction and keeps the meal part', () => {
    const given: Given = {
      order: { ...MEAL, stackingStopsAtOccasions: true },
      inputs: { earlierDoses: [earlier(100)] },
    }
    expect([outcomeOf(given, 'stacking'), unitsOf(given)]).toEqual(['holds-correction', 5])
  })
  it('never holds a zero or negative correction, which would raise the dose', () => {
    const subtracting: Given = {
      glucose: 90,
      order: {
        ...MEAL,
        correction: { kind: 'factor', target: 120, perUnit: 15, belowTargetSubtracts: true },
        stackingStopsAtOccasions: true,
      },
      inputs: { earlierDoses: [earlier(100)] },
    }
    expect([outcomeOf(subtracting, 'stacking'), unitsOf(subtracting)]).toEqual(['passed', 3])
    expect(
      outcomeOf({ glucose: 100, inputs: { atOrderOccasion: false, earlierDoses: [earlier(100)] } }, 'stacking'),
    ).toBe('passed')
  })
})

describe('already dosed', () => {
  it('a meal part is not given twice', () => {
    expect(unitsOf({ order: MEAL, inputs: { mealAlreadyGiven: true } })).toBe(6)
    expect(unitsOf({ order: { ...MEAL, correction: null }, inputs: { mealAlreadyGiven: true } })).toBe('already-dosed')
  })
  it('insulin at the instant of the reading counts as after it', () => {
    expect(unitsOf({ inputs: { earlierDoses: [earlier(5)] } })).toBe('already-dosed')
    expect(unitsOf({ inputs: { earlierDoses: [earlier(6)] } })).toBe(6)
  })
})

describe('scheduled insulin', () => {
  it('reading age, meal and stacking do not hold it', () => {
    expect(
      unitsOf(
        scheduled({
          inputs: { readingTakenAtMs: NOW_MS - minutes(900), earlierDoses: [earlier(10)], nilByMouth: true },
        }),
      ),
    ).toBe(18)
    expect(
      unitsOf(
        scheduled({
          glucose: null,
          order: { scheduled: [{ time: '21:00', units: 18, holdBelow: null }] },
          inputs: { readingTakenAtMs: null },
        }),
      ),
    ).toBe(18)
  })
  it.each([
    [99, 'scheduled-hold'],
    [100, 18],
  ] as const)('its own hold limit of 100: %i gives %s', (glucose, units) => {
    expect(unitsOf(scheduled({ glucose }))).toBe(units)
  })
  it('a hold limit without a reading asks for one; an old reading warns', () => {
    expect(unitsOf(scheduled({ glucose: null, inputs: { readingTakenAtMs: null } }))).toBe('scheduled-hold')
    expect(outcomeOf(scheduled({ inputs: { readingTakenAtMs: NOW_MS - minutes(61) } }), 'scheduled-hold')).toBe('warns')
    // a value in doubt does not release the hold: charted in doubt, or its meter failed a control since
    for (const inputs of [{ meterFailedAtMs: NOW_MS }, { holdReadingInDoubt: true as const }])
      expect(unitsOf(scheduled({ inputs }))).toBe('scheduled-hold')
    // without a hold limit no reading is checked; a dose from before this check works out as it did
    expect(
      unitsOf(
        scheduled({
          order: { scheduled: [{ time: '21:00', units: 18, holdBelow: null }] },
          inputs: { meterFailedAtMs: NOW_MS, holdReadingInDoubt: true },
        }),
      ),
    ).toBe(18)
    expect(unitsOf(scheduled({ reading: { doubts: ['meter-control-not-done'] } }))).toBe(18)
  })
  it.each([['open'], ['recovered-awaiting-follow-up']] as const)(
    'asks the prescriber after a low that is %s',
    (low) => {
      expect(unitsOf(scheduled({ inputs: { low } }))).toBe('low-event-open')
      const { guards } = propose(scheduled({ inputs: { low } })) as { guards: readonly GuardResult[] }
      expect(guards.find((guard) => guard.guard === 'low-event-open')?.details).toMatchObject({ asks: 'prescriber' })
    },
  )
  it.each([
    [-61, 'stops'],
    [-60, 'passed'],
    [30, 'passed'],
    [31, 'warns'],
    [59, 'warns'],
    [60, 'warns'],
    [239, 'warns'],
    [240, 'stops'],
  ] as const)('%i min from its time: %s', (after, outcome) => {
    expect(outcomeOf(scheduled({ inputs: { scheduledDueMs: NOW_MS - minutes(after) } }), 'scheduled-time')).toBe(
      outcome,
    )
  })
  it('gives nothing for a time that the order does not list', () => {
    expect(unitsOf(scheduled({ inputs: { scheduledTime: '20:00' } }))).toBe('scheduled-time')
  })
})

describe('by direction', () => {
  const directed = (units: number, given: Given = {}): Given => ({
    ...given,
    inputs: { directionId: 'direction0000001', directedUnits: units, ...given.inputs },
  })
  it('the prescriber’s units replace the order’s', () => {
    expect(unitsOf(directed(3))).toBe(3)
    expect(unitsOf(directed(0.5))).toBe(0.5)
    expect(unitsOf(directed(0))).toBe(0)
  })
  it.each<[string, Given]>([
    ['HI', { glucose: 'HI' }],
    ['LO', { glucose: 'LO' }],
    ['a low', { glucose: 60 }],
    ['a low before its follow-up', { inputs: { low: 'recovered-awaiting-follow-up' } }],
    ['an unconfirmed critical', { inputs: { criticalConfirmed: false } }],
    ['an old reading', { inputs: { readingTakenAtMs: NOW_MS - minutes(90) } }],
    ['an unverified order', { inputs: { orderVerified: false } }],
    ['above the order’s own limit', { order: { maxSingleDose: 2 } }],
  ])('the prescriber decides over %s', (_name, given) => {
    expect(unitsOf(directed(3, given))).toBe(3)
  })
  it.each<[GuardName, Given]>([
    ['reading-not-effective', { inputs: { readingEffective: false } }],
    ['reading-superseded-by-newer', { inputs: { newerReadingAtMs: NOW_MS } }],
    ['reading-in-doubt', { reading: { doubts: ['meter-control-not-done'] } }],
    ['reading-in-doubt', { inputs: { meterFailedAtMs: NOW_MS } }],
  ])('%s remains absolute', (guard, given) => {
    expect(unitsOf(directed(3, given))).toBe(guard)
  })
  it('the ward’s limit remains absolute: a misheard 50 for 15', () => {
    expect([
      unitsOf(directed(40, { order: { maxSingleDose: 50 }, inputs: { unitsAgain: 40 } })),
      unitsOf(directed(50, { order: { maxSingleDose: 50 }, inputs: { unitsAgain: 50 } })),
    ]).toEqual([40, 'single-dose-limit'])
  })
  it('needs no order', () => {
    const made = facts(directed(4))
    expect(proposeDose({ ...made, order: null })).toMatchObject({
      kind: 'dose',
      working: { units: 4, orderVersion: 0, orderId: 'direction0000001' },
    })
  })
})

describe('a reading or order of the other unit', () => {
  it('stops and is never compared', () => {
    expect(unitsOf({ reading: { glucose: { unit: 'mmol/L', value: 112 } } })).toBe('ward-unit')
    const made = facts({ inputs: { wardUnit: 'mmol/L' } })
    expect(proposeDose({ ...made, order: version({ unit: 'mmol/L' }), reading: reading(100) }).kind).toBe('stopped')
  })
})

it('property: a stop means no dose, a dose means no stop, and each result has a message', () => {
  const change = fc.record({
    glucose: fc.constantFrom<number | 'LO' | 'HI'>('LO', 'HI', 50, 69, 70, 140, 141, 250, 399, 401, 600),
    low: fc.constantFrom<'none' | 'open' | 'recovered-awaiting-follow-up'>(
      'none',
      'open',
      'recovered-awaiting-follow-up',
    ),
    age: fc.integer({ min: 0, max: 100 }),
    atOrderOccasion: fc.boolean(),
    orderVerified: fc.boolean(),
    orderInForce: fc.boolean(),
    elsewhereAsked: fc.boolean(),
    nilByMouth: fc.boolean(),
    willEat: fc.constantFrom<'yes' | 'no' | 'unsure'>('yes', 'no', 'unsure'),
    tray: fc.integer({ min: -60, max: 90 }),
    earlierAgo: fc.integer({ min: 0, max: 500 }),
    critical: fc.constantFrom(null, true, false),
    kind: fc.constantFrom('scale', 'ratio', 'scheduled', 'direction'),
  })
  const seen = new Set<string>()
  fc.assert(
    fc.property(change, (c) => {
      const shared = {
        low: c.low,
        readingTakenAtMs: NOW_MS - minutes(c.age),
        atOrderOccasion: c.atOrderOccasion,
        orderVerified: c.orderVerified,
        orderInForce: c.orderInForce,
        elsewhereAsked: c.elsewhereAsked,
        nilByMouth: c.nilByMouth,
        trayExpectedAtMs: NOW_MS + minutes(c.tray),
        earlierDoses: [earlier(c.earlierAgo)],
        criticalConfirmed: c.critical,
        ...eats(c.willEat, 30),
      }
      const given: Given =
        c.kind === 'scheduled'
          ? scheduled({ glucose: c.glucose, inputs: { low: c.low, orderVerified: c.orderVerified } })
          : {
              glucose: c.glucose,
              order: c.kind === 'scale' ? MEAL : RATIO,
              inputs: {
                ...shared,
                ...(c.kind === 'direction' ? { directionId: 'direction0000001', directedUnits: 4 } : {}),
              },
            }
      const proposal = propose(given)
      const { guards } = proposal.working
      const stops = guards.some((guard) => guard.outcome === 'stops')
      expect(proposal.kind).toBe(stops ? 'stopped' : 'dose')
      if (c.kind !== 'direction' && (c.low !== 'none' || c.glucose === 'LO' || c.glucose === 50 || c.glucose === 69))
        expect(proposal.kind).toBe('stopped')
      if (proposal.kind === 'dose') {
        expect(proposal.working.units).toBeGreaterThanOrEqual(0)
        expect(proposal.working.units).toBeLessThanOrEqual(20)
      }
      for (const result of guards) {
        const { guard, outcome, details } = result
        seen.add(`${guard} ${outcome}`)
        if (result.outcome === 'passed') continue
        const words = [GUARD_NAME[guard], foundText(result, 'America/Chicago'), releaseText(result, 'America/Chicago')]
        for (const text of words) expect(text, `${guard} ${JSON.stringify(details)}`).toMatch(/^\S.{4,}/)
        expect(words.join(' ')).not.toMatch(/–|undefined|NaN/)
      }
    }),
    { numRuns: 3000 },
  )
  for (const name of [
    'stacking warns',
    'stacking stops',
    'not-eating holds-meal',
    'meal-timing stops',
    'reading-age stops',
    'low-event-open stops',
  ])
    expect(seen).toContain(name)
})

it('the trays are at the times these tests assume', () => {
  expect(TRAY_MS - NOW_MS).toBe(minutes(15))
})
