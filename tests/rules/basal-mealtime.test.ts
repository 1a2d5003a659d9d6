/** Insulin by the clock: basal once in its interval, mealtime insulin with a reading and food, a slot for each order. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { isSlotSettled, scheduledSlots, settledKeyOf, slotAddress } from '../../shared/check/scheduled.ts'
import type { EarlierDose, MealtimeFood, ProposalInputs } from '../../shared/dose/dose.ts'
import { hasMealTerm, isMealtimeDose, restsOn } from '../../shared/dose/state.ts'
import { asksFood } from '../../shared/dose/give.ts'
import { basalGapHours } from '../../shared/order/mealtime-guards.ts'
import type { InsulinName, InsulinOrder } from '../../shared/order/order.ts'
import { proposeDose, type Proposal } from '../../shared/order/propose.ts'
import { recomputeDose } from '../../shared/order/recompute.ts'
import { basalOrderBeside } from '../../shared/order/write.ts'
import { doseOf, facts, minutes, NOW_MS, version } from '../support/dose.ts'

const HOURS = (hours: number): number => minutes(hours * 60)
const TIMES = ['07:45'] as const

const order = (insulin: InsulinName, over: Partial<InsulinOrder> = {}): Partial<InsulinOrder> => ({
  insulin,
  correction: null,
  maxSingleDose: 100,
  scheduled: [{ time: TIMES[0], units: 12, holdBelow: null }],
  ...over,
})
const given = (insulin: InsulinName, hoursAgo: number, over: Partial<EarlierDose> = {}): EarlierDose => ({
  doseId: 'earlier',
  insulin,
  units: 18,
  givenAtMs: NOW_MS - HOURS(hoursAgo),
  source: 'here',
  withCorrection: false,
  ...over,
})
const EATS: MealtimeFood = {
  by: 'mouth',
  servedAtMs: null,
  expectedAtMs: NOW_MS + minutes(10),
  mealFromMs: NOW_MS - minutes(50),
}
const scheduled = (insulin: InsulinName, inputs: Partial<ProposalInputs> = {}, over: Partial<InsulinOrder> = {}) =>
  proposeDose(
    facts({
      order: order(insulin, over),
      inputs: { scheduledTime: TIMES[0], scheduledDueMs: NOW_MS, occasion: null, food: EATS, meal: null, ...inputs },
    }),
  )
const stopsOf = (made: Proposal): readonly string[] =>
  made.working.guards.filter(({ outcome }) => outcome === 'stops').map(({ guard }) => guard)
const outcomeOf = (made: Proposal, name: string): string | undefined =>
  made.working.guards.find(({ guard }) => guard === name)?.outcome

describe('the gap between basal doses', () => {
  it.each<[string, readonly string[], number]>([
    ['once a day: 24 h less 4', ['21:00'], 20],
    ['every 12 h', ['08:00', '20:00'], 8],
    ['uneven', ['07:00', '17:00'], 6],
    ['a gap over midnight', ['22:00', '06:00'], 4],
    ['three times', ['06:00', '14:00', '22:00'], 4],
  ])('%s', (_name, times, hours) => {
    expect(basalGapHours({ scheduled: times.map((time) => ({ time, units: 10, holdBelow: null })) })).toBe(hours)
  })

  it('is a day less 4 h for a direction, which has no times', () => {
    expect(basalGapHours(null)).toBe(20)
  })

  it.each<[InsulinName, InsulinName]>([
    ['insulin glargine', 'insulin glargine'],
    ['insulin glargine', 'NPH insulin'],
    ['NPH insulin', 'insulin degludec'],
    ['insulin detemir', 'insulin glargine'],
  ])('%s after %s: stops a millisecond before its end and not at it', (insulin, before) => {
    const at = (hoursAgo: number, laterMs = 0) =>
      stopsOf(
        scheduled(insulin, {
          basalGiven: [{ ...given(before, hoursAgo), givenAtMs: NOW_MS - HOURS(hoursAgo) + laterMs }],
        }),
      )
    expect(at(20, 1)).toEqual(['basal-gap'])
    expect(at(20)).toEqual([])
  })

  it.each(['here', 'elsewhere', 'paper'] as const)('counts whatever its source: %s', (source) => {
    expect(stopsOf(scheduled('insulin glargine', { basalGiven: [given('insulin glargine', 2, { source })] }))).toEqual([
      'basal-gap',
    ])
  })

  it('a direction is warned of it, and 0 units passes', () => {
    const directed = (units: number) =>
      proposeDose({
        ...facts({
          inputs: {
            directionId: 'direction0000001',
            directedUnits: units,
            basalGiven: [given('insulin glargine', 2)],
          },
        }),
        insulin: 'insulin glargine',
        order: null,
      })
    expect([outcomeOf(directed(18), 'basal-gap'), outcomeOf(directed(0), 'basal-gap')]).toEqual(['warns', 'passed'])
  })

  it('rapid and regular insulin has none', () => {
    expect(outcomeOf(scheduled('insulin lispro', { basalGiven: [given('insulin glargine', 1)] }), 'basal-gap')).toBe(
      'passed',
    )
  })

  it('property: of doses given in their turn no two lie inside the gap', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.tuple(
            fc.integer({ min: 1, max: 600 }),
            fc.constantFrom<InsulinName>('insulin glargine', 'NPH insulin', 'insulin detemir'),
          ),
          { minLength: 2, maxLength: 25 },
        ),
        (steps) => {
          let atMs = NOW_MS
          const log: EarlierDose[] = []
          for (const [minutesLater, insulin] of steps) {
            atMs += minutes(minutesLater)
            const made = scheduled(insulin, {
              nowMs: atMs,
              scheduledDueMs: atMs,
              basalGiven: log.filter(({ givenAtMs }) => givenAtMs >= atMs - HOURS(24)),
            })
            if (made.kind === 'dose') log.push({ ...given(insulin, 0), givenAtMs: atMs })
          }
          for (const [index, dose] of log.entries())
            expect(dose.givenAtMs - (log[index - 1]?.givenAtMs ?? -Infinity)).toBeGreaterThanOrEqual(HOURS(20))
          expect(log.length).toBeGreaterThan(0)
        },
      ),
      { numRuns: 300 },
    )
  })
})

describe('late basal insulin', () => {
  const late = (insulin: InsulinName, minutesLate: number) =>
    stopsOf(scheduled(insulin, { scheduledDueMs: NOW_MS - minutes(minutesLate) }))
  it.each<[InsulinName, number, readonly string[]]>([
    ['insulin glargine', 239, []],
    ['insulin glargine', 240, ['scheduled-time']],
    ['NPH insulin', 239, []],
    ['regular insulin', 59, []],
    ['regular insulin', 60, ['scheduled-time']],
  ])('%s %i min late', (insulin, minutesLate, stops) => {
    expect(late(insulin, minutesLate)).toEqual(stops)
  })
})

describe('scheduled rapid and regular insulin', () => {
  it.each<[string, Partial<ProposalInputs>, readonly string[]]>([
    ['with a fresh reading and the tray near', {}, []],
    ['without a reading', { readingTakenAtMs: null }, ['reading-age']],
    ['with a reading of 46 min, fewer than 15 left', { readingTakenAtMs: NOW_MS - minutes(46) }, ['reading-age']],
    ['nil by mouth', { nilByMouth: true }, ['mealtime-food']],
    ['no meal near', { food: { ...EATS, expectedAtMs: null, mealFromMs: null } }, ['mealtime-food']],
    ['the tray too far', { food: { ...EATS, expectedAtMs: NOW_MS + minutes(46) } }, ['mealtime-food']],
    ['the tray served', { food: { ...EATS, servedAtMs: NOW_MS - minutes(5) } }, []],
    ['the feed running, nil by mouth', { nilByMouth: true, food: { by: 'feed', stoppedSinceMs: null } }, []],
    ['the feed stopped', { food: { by: 'feed', stoppedSinceMs: NOW_MS - minutes(5) } }, ['mealtime-food']],
    [
      'twelve minutes after insulin for this meal',
      { earlierDoses: [given('insulin aspart', 0.2)] },
      ['mealtime-stacking'],
    ],
    ['three hours after insulin for another meal', { earlierDoses: [given('insulin lispro', 3)] }, []],
    ['an hour after basal insulin', { earlierDoses: [given('NPH insulin', 0.2)] }, []],
  ])('%s', (_name, inputs, stops) => {
    expect(stopsOf(scheduled('insulin lispro', inputs))).toEqual(stops)
  })

  it('insulin for another meal inside the interval warns', () => {
    const made = scheduled('insulin lispro', { earlierDoses: [given('insulin lispro', 3)] })
    expect(outcomeOf(made, 'mealtime-stacking')).toBe('warns')
  })

  it('regular insulin may be given with the tray 30 min away, rapid with 15 (the dose before that warns)', () => {
    const away = (insulin: InsulinName, awayMin: number) =>
      outcomeOf(
        scheduled(insulin, { food: { ...EATS, expectedAtMs: NOW_MS + minutes(awayMin) } as MealtimeFood }),
        'mealtime-food',
      )
    expect([away('insulin lispro', 15), away('insulin lispro', 16)]).toEqual(['passed', 'warns'])
    expect([away('regular insulin', 30), away('regular insulin', 31)]).toEqual(['passed', 'warns'])
  })

  it('rests on its reading, and food is asked at giving; basal insulin does neither', () => {
    const dose = (insulin: InsulinName) =>
      doseOf(
        {
          order: order(insulin),
          inputs: { scheduledTime: TIMES[0], scheduledDueMs: NOW_MS, occasion: null, food: EATS, meal: null },
        },
        { slotKey: 'slot', readingId: null },
      )
    const [meal, basal] = [dose('insulin lispro'), dose('insulin glargine')]
    expect([isMealtimeDose(meal), hasMealTerm(meal), asksFood(meal), restsOn(meal)]).toEqual([
      true,
      true,
      true,
      meal.working.readingId,
    ])
    expect([isMealtimeDose(basal), hasMealTerm(basal), asksFood(basal), restsOn(basal)]).toEqual([
      false,
      false,
      false,
      null,
    ])
  })

  it('a dose of the rules before works out as it did', () => {
    const made = facts({
      order: order('insulin lispro'),
      inputs: { scheduledTime: TIMES[0], scheduledDueMs: NOW_MS, occasion: null, meal: null, nilByMouth: true },
    })
    const old = proposeDose(made, 2)
    expect([old.kind, proposeDose(made, 3).kind]).toEqual(['dose', 'stopped'])
    const dose = {
      ...doseOf(),
      working: old.working,
      inputs: made.inputs,
      units: old.working.units,
      insulin: made.insulin,
    }
    expect(
      recomputeDose(
        { ...dose, kind: 'scheduled' },
        { order: made.order ?? undefined, reading: made.reading ?? undefined, policy: made.policy },
      ),
    ).toEqual({ units: 12 })
  })
})

describe('two insulins at one time', () => {
  const at = (orderId: string) => ({
    ...version({ scheduled: [{ time: '07:45', units: 10, holdBelow: null }] }),
    orderId,
  })
  const slotsWith = (settled: readonly string[]) => {
    const slotFacts = { zone: 'America/Chicago', lookBackHours: 24, settled: new Set(settled) }
    return ['nph', 'regular'].flatMap((orderId) =>
      scheduledSlots(at(orderId), slotFacts, NOW_MS).map(({ slotKey, state }) => [slotKey, state] as const),
    )
  }
  it('are two slots: one settled leaves the other due', () => {
    const [[nph = ''] = ['']] = slotsWith([])
    expect(slotsWith([]).map(([, state]) => state)).toEqual(['due', 'due'])
    expect(slotsWith([nph]).map(([, state]) => state)).toEqual(['settled', 'due'])
  })

  it('a key of an older record settles its own order’s slot; an older direction settled the time', () => {
    const slotKey = 'stay.2026-03-10.0745'
    const settle = (kind: string) => settledKeyOf({ slotKey, kind, orderId: 'nph' })
    expect([settle('scheduled'), settle('by-direction')]).toEqual([`${slotKey}.nph`, slotKey])
    const full = (orderId: string) => `stay.${slotAddress('2026-03-10', '07:45', orderId)}`
    const settles = (kind: string) =>
      ['nph', 'regular'].map((orderId) => isSlotSettled(new Set([settle(kind)]), full(orderId)))
    expect([settles('scheduled'), settles('by-direction')]).toEqual([
      [true, false],
      [true, true],
    ])
  })
})

describe('a second basal order', () => {
  const basal = (over: Partial<InsulinOrder> = {}) => version(order('insulin glargine', over))
  const beside = (over: Partial<InsulinOrder>, other = basal()) =>
    basalOrderBeside(basal(over).order, [{ ...other, orderId: 'other' }], NOW_MS) !== null
  it.each<[string, boolean]>([
    ['NPH insulin', true],
    ['insulin lispro', false],
  ])('%s beside glargine', (insulin, asked) => {
    expect(beside({ insulin: insulin as InsulinName })).toBe(asked)
  })
  it('is not asked about beside one in addition, or one that has ended', () => {
    expect(beside({ insulin: 'NPH insulin' }, basal({ inAddition: true }))).toBe(false)
    expect(beside({ insulin: 'NPH insulin' }, { ...basal(), endedAtMs: NOW_MS })).toBe(false)
  })
})
