/** What voids an open dose: shared/dose/voids.ts, event by event. */
import { describe, expect, it } from 'vitest'
import type { Dose, DoseVoidReason } from '../../shared/dose/dose.ts'
import { dosesVoidedBy, openDoseOf, withVoids, type OpenDose, type VoidFacts } from '../../shared/dose/voids.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import {
  aDose,
  anEvent,
  anOrder,
  aReading,
  HOUR,
  idOf,
  mgPerDl,
  MINUTE,
  NOW,
  OTHER_WARD,
  SECOND_NURSE,
  someInputs,
  someWorking,
  STAY,
  WARD,
  ZONE,
} from '../support/makers.ts'

const POLICY = defaultPolicy('mg/dL', ZONE)
const { limits } = POLICY
const METER = idOf('meter')
const READING = { takenAtMs: NOW, meterId: METER }
const HOLD = { guard: 'scheduled-hold', outcome: 'passed', details: { limit: 100 } } as const

const open = (over: Partial<Dose> = {}, reading: typeof READING | null = READING): OpenDose =>
  openDoseOf(aDose(over), WARD, reading)
const mealDose = open()
const held = open({
  doseId: idOf('held'),
  kind: 'scheduled',
  readingId: null,
  slotKey: 'slot',
  insulin: 'insulin glargine',
  working: someWorking({ orderId: idOf('basal'), guards: [HOLD] }),
})
const basal = open(
  {
    doseId: idOf('basal'),
    kind: 'scheduled',
    readingId: null,
    slotKey: 'slot',
    insulin: 'insulin glargine',
    working: someWorking({ orderId: idOf('basal'), readingId: null }),
  },
  null,
)
const afterLow = open(
  {
    doseId: idOf('afterlow'),
    kind: 'scheduled',
    readingId: null,
    slotKey: 'slot',
    insulin: 'insulin glargine',
    working: someWorking({ orderId: idOf('basal'), readingId: null }),
    inputs: someInputs({ low: 'recovered-awaiting-follow-up' }),
  },
  null,
)
const ALL = [mealDose, held, basal, afterLow]
const NAMES = new Map(ALL.map(({ doseId }, index) => [doseId, ['meal', 'held', 'basal', 'after low'][index] ?? '']))

const facts = (over: Partial<VoidFacts> = {}): VoidFacts => ({
  open: ALL,
  limits: null,
  retired: null,
  given: null,
  lastControlAtMs: null,
  ...over,
})
const voids = (event: LedgerEvent, over: Partial<VoidFacts> = {}): Readonly<Record<string, DoseVoidReason>> =>
  Object.fromEntries(dosesVoidedBy(event, facts(over)).map(({ doseId, reason }) => [NAMES.get(doseId), reason]))
const at = (minutes: number) => ({ happenedAtMs: NOW + minutes * MINUTE })
const recorded = (value: number, minutes: number): LedgerEvent =>
  anEvent('reading-recorded', {
    reading: aReading({ readingId: idOf('new'), glucose: mgPerDl(value), takenAtMs: NOW + minutes * MINUTE }),
  })
const every = (reason: DoseVoidReason) => ({ meal: reason, held: reason, basal: reason, 'after low': reason })

describe('a reading', () => {
  it.each([
    ['a newer one', 182, 1, { meal: 'newer-reading', held: 'newer-reading', 'after low': 'newer-reading' }],
    ['at the same instant', 182, 0, { meal: 'newer-reading', held: 'newer-reading', 'after low': 'newer-reading' }],
    ['one taken before', 182, -1, {}],
    ['a newer low', 69, 1, every('newer-reading')],
    ['a low taken before, charted late', 69, -1, every('facts-changed')],
    ['one at the low limit', 70, 1, { meal: 'newer-reading', held: 'newer-reading', 'after low': 'newer-reading' }],
    ['a critical one taken before', limits.criticalHigh + 1, -1, { meal: 'facts-changed' }],
    ['one at the critical limit, taken before', limits.criticalHigh, -1, {}],
    ['a critical low taken before', limits.criticalLow - 1, -1, every('facts-changed')],
  ] as const)('%s', (_name, value, minutes, expected) => {
    expect(voids(recorded(value, minutes), { limits })).toEqual(expected)
  })

  const retired = (value: number, readingId = idOf('reading')) => ({ readingId, glucose: mgPerDl(value), limits })
  it.each([
    ['their own reading', retired(182), { meal: 'x', held: 'x', 'after low': 'x' }],
    ['another one', retired(182, idOf('another')), { 'after low': 'x' }],
    ['another one that was critical', retired(431, idOf('another')), { meal: 'facts-changed', 'after low': 'x' }],
  ])('entered in error: %s', (_name, fact, expected) => {
    const error = anEvent('reading-voided', { readingId: fact.readingId, reason: 'x' })
    const named = (reason: string) =>
      Object.fromEntries(Object.entries(expected).map(([name, why]) => [name, why === 'x' ? reason : why]))
    expect(voids(error, { retired: fact })).toEqual(named('reading-in-error'))
    // a correction of an older value: what rests on the old one first, then what the new one overrules
    const corrected = anEvent('reading-recorded', {
      reading: aReading({
        readingId: idOf('new'),
        takenAtMs: NOW - MINUTE,
        supersedes: { readingId: fact.readingId, reason: 'x' },
      }),
    })
    expect(voids(corrected, { retired: fact, limits })).toEqual(named('reading-corrected'))
  })
})

describe('a low charted late', () => {
  it('voids nothing when a fit value at least 60 min after it was satisfactory', () => {
    expect(voids(recorded(69, -90), { limits })).toEqual(every('facts-changed'))
    expect(voids(recorded(69, -90), { limits, lowFollowedUp: true })).toEqual({})
    const opened = anEvent('low-event-opened', { lowId: 'x', readingId: 'x', previousLowId: null })
    expect(voids(opened)).toEqual(every('newer-reading'))
    expect(voids(opened, { lowFollowedUp: true })).toEqual({})
  })
})

describe('insulin', () => {
  it('charted as given: the same one, or two that act within hours of a meal', () => {
    const given = anEvent('dose-given', {
      doseId: idOf('given'),
      site: { area: 'thigh', side: 'left' },
      food: 'tray-here',
    })
    expect(voids(given, { given: 'regular insulin' })).toEqual({ meal: 'facts-changed' })
    expect(voids(given, { given: 'NPH insulin' })).toEqual({})
    expect(Object.keys(voids(given, { given: 'insulin glargine' }))).toEqual(['held', 'basal', 'after low'])
    const own = anEvent('dose-given', { ...given.body, doseId: mealDose.doseId } as never)
    expect(voids(own, { given: 'insulin lispro' })).toEqual({})
  })
  it.each([
    [24 * HOUR - 1, { meal: 'facts-changed' }],
    [24 * HOUR, {}],
  ])('from elsewhere, %d ms ago', (ago, expected) => {
    const outsideDose = {
      outsideDoseId: idOf('outside'),
      stayId: STAY,
      insulin: 'insulin lispro',
      units: 2,
      givenAtMs: NOW - ago,
      chartedAtMs: NOW,
      source: 'elsewhere',
      givenBy: 'x',
      checkedBy: null,
      byId: SECOND_NURSE,
    } as const
    expect(voids(anEvent('outside-dose-recorded', { outsideDose }))).toEqual(expected)
  })
  it('worked out again, by direction, or for something else', () => {
    const proposed = (over: Partial<Dose>) =>
      anEvent('dose-proposed', { dose: aDose({ doseId: idOf('new'), ...over }) })
    expect(voids(proposed({}))).toEqual({ meal: 'started-again' })
    expect(voids(proposed({ kind: 'by-direction' }))).toEqual({ meal: 'replaced-by-direction' })
    expect(voids(proposed({ kind: 'by-direction', slotKey: 'slot' }))).toEqual(every('replaced-by-direction'))
    expect(voids(proposed({ kind: 'after-meal' }))).toEqual({})
    expect(voids(proposed({ working: someWorking({ orderId: idOf('two') }) }))).toEqual({})
    expect(voids(proposed({ readingId: idOf('other') }))).toEqual({})
  })
})

describe('what everything on a stay or ward rests on', () => {
  const ofOrder = { orderId: idOf('order'), version: 1 }
  it.each<readonly [string, LedgerEvent, object]>([
    [
      'a low event',
      anEvent('low-event-opened', { lowId: 'x', readingId: 'x', previousLowId: null }),
      every('newer-reading'),
    ],
    ['an order written', anEvent('order-written', { ...ofOrder, order: anOrder() }), every('order-changed')],
    ['its own order verified', anEvent('order-verified', ofOrder), { meal: 'order-changed' }],
    [
      'its own order stopped',
      anEvent('order-stopped', { orderId: idOf('order'), reason: 'x' }),
      { meal: 'order-changed' },
    ],
    ['a move', anEvent('stay-moved', { fromWardId: WARD, toWardId: OTHER_WARD, bed: '1' }), every('stay-moved')],
    ['a discharge', anEvent('stay-discharged', {}), every('stay-discharged')],
    ['a policy', anEvent('policy-set', { version: 2, policy: POLICY }), every('policy-changed')],
    [
      'a policy from now',
      anEvent('policy-set-from', { version: 2, policy: POLICY, fromMs: NOW, changeId: null }),
      every('policy-changed'),
    ],
    [
      'a policy from later on',
      anEvent('policy-set-from', { version: 2, policy: POLICY, fromMs: NOW + 1, changeId: null }),
      {},
    ],
    ['a tray', anEvent('tray-charted', { date: '2026-03-02', meal: 'lunch', servedAtMs: NOW }), {}],
  ])('%s', (_name, event, expected) => {
    expect(voids(event)).toEqual(expected)
  })

  it.each<readonly [string, boolean, number, number | null, object]>([
    ['failed', false, 1, null, { meal: 'meter-failed', held: 'meter-failed' }],
    ['failed at the instant of the reading', false, 0, null, { meal: 'meter-failed', held: 'meter-failed' }],
    ['failed before the reading', false, -1, null, {}],
    ['passed', true, 1, null, {}],
    ['failed, charted after a newer control', false, 1, 2, {}],
  ])('a control that %s', (_name, passed, minutes, last, expected) => {
    const control = anEvent('meter-controlled', { meterId: METER, passed }, at(minutes))
    const lastControlAtMs = last === null ? null : NOW + last * MINUTE
    expect(voids(control, { lastControlAtMs })).toEqual(expected)
    expect(voids(anEvent('meter-controlled', { meterId: idOf('other'), passed }, at(1)))).toEqual({})
  })
})

it('a void is an event of its own: of the dose’s stay and ward, by the same person, at the instant of the charting', () => {
  const late = anEvent(
    'meter-controlled',
    { meterId: METER, passed: false },
    { stayId: null, wardId: OTHER_WARD, actorId: SECOND_NURSE, happenedAtMs: NOW, chartedAtMs: NOW + HOUR },
  )
  expect(withVoids(late, facts({ open: [mealDose] }))).toEqual([
    late,
    {
      type: 'dose-voided',
      wardId: WARD,
      stayId: STAY,
      actorId: SECOND_NURSE,
      happenedAtMs: NOW + HOUR,
      chartedAtMs: NOW + HOUR,
      body: { doseId: mealDose.doseId, reason: 'meter-failed' },
    },
  ])
})

it.each<readonly [LedgerEvent, string]>([
  [recorded(182, 1), 'limits'],
  [anEvent('reading-voided', { readingId: 'x', reason: 'x' }), 'retired'],
  [anEvent('dose-given', { doseId: 'x', site: { area: 'thigh', side: 'left' }, food: 'tray-here' }), 'given'],
])('without the facts it is asked by, nothing is answered: %#', (event, name) => {
  expect(() => dosesVoidedBy(event, facts())).toThrow(name)
})
