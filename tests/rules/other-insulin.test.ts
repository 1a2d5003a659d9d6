/** Insulin by another way, and basal insulin that a patient who depends on it did not get. */
import { describe, expect, it } from 'vitest'
import type { InsulinWay, StayEntry } from '../../shared/care/entries.ts'
import type { CareFacts } from '../../shared/care/facts.ts'
import {
  basalCovers,
  basalTasks,
  endWay,
  otherInsulinTasks,
  otherInsulinWatches,
  runningWays,
  startWay,
} from '../../shared/care/other-insulin.ts'
import type { EarlierDose } from '../../shared/dose/dose.ts'
import { wordGuards } from '../../shared/order/word-guards.ts'
import type { InsulinName } from '../../shared/order/order.ts'
import { partsOf } from '../../shared/order/parts.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import { facts as doseFacts } from '../support/dose.ts'
import { anOrder, HOUR, MINUTE, NOW, NURSE, someFacts, STAY, WARD, ZONE } from '../support/makers.ts'

const stay: Stay = {
  stayId: STAY,
  wardId: WARD,
  bed: '1',
  wristband: 'W1',
  familyName: 'Quill',
  givenName: 'Ada',
  bornOn: '1950-05-05',
  admittedAtMs: NOW - 48 * HOUR,
  dischargedAtMs: null,
  facts: someFacts({ diabetes: 'type-1' }),
}
const charted = (entryId: string, atMs: number) => ({ entryId, stayId: STAY, atMs, chartedAtMs: atMs, byId: NURSE })
const started = (way: InsulinWay, atMs: number): StayEntry => ({
  ...charted(`start${way}`, atMs),
  kind: 'other-insulin-started',
  fact: { way },
})
const ended = (way: InsulinWay, atMs: number): StayEntry => ({
  ...charted(`end${way}`, atMs),
  kind: 'other-insulin-ended',
  fact: { startedId: `start${way}` },
})
const given = (insulin: InsulinName, givenAtMs: number): EarlierDose => ({
  doseId: 'd',
  insulin,
  units: 18,
  givenAtMs,
  source: 'here',
  withCorrection: false,
})
const care = (over: Partial<CareFacts> = {}): CareFacts => ({
  stay,
  policy: defaultPolicy('mg/dL', ZONE),
  entries: [],
  readings: [],
  insulinGiven: [],
  directions: [],
  feedStoppedSinceMs: null,
  notGiven: [],
  missedBasal: [],
  trays: [],
  orders: [],
  lows: [],
  ...over,
})

describe('what runs', () => {
  it('runs from its beginning to its end; insulin for potassium is given once', () => {
    const entries = [started('infusion', NOW), ended('infusion', NOW + HOUR), started('potassium', NOW)]
    const at = (atMs: number) => runningWays(entries, atMs).map(({ fact }) => fact.way)
    expect([at(NOW - 1), at(NOW), at(NOW + HOUR - 1), at(NOW + HOUR)]).toEqual([[], ['infusion'], ['infusion'], []])
  })
  it('is not begun twice, and not ended when it does not run', () => {
    const start = { entryId: 'e', way: 'infusion', atMs: NOW, byId: NURSE } as const
    const begin = (entries: readonly StayEntry[], over = {}) => {
      const made = startWay({ ...start, ...over }, { stay, entries, nowMs: NOW })
      return made.ok ? null : made.reason
    }
    expect([begin([]), begin([started('infusion', NOW - HOUR)]), begin([], { atMs: NOW + 1 })]).toEqual([
      null,
      'other-insulin-runs',
      'other-insulin-in-future',
    ])
    expect(endWay({ ...start, noBasal: true }, care(), NOW)).toMatchObject({
      ok: false,
      reason: 'other-insulin-runs-not',
    })
  })
})

describe('the end of an infusion', () => {
  // off at 12:00: basal at 11:30 stops, at 10:00 passes (reference values 19; D from ADA, R)
  const offMs = NOW
  const end = (insulinGiven: readonly EarlierDose[], noBasal = false) => {
    const facts = care({ entries: [started('infusion', NOW - 6 * HOUR)], insulinGiven })
    const made = endWay({ entryId: 'e', way: 'infusion', atMs: offMs, noBasal, byId: NURSE }, facts, NOW)
    return made.ok ? null : made.reason
  }
  it.each<[string, readonly EarlierDose[], string | null]>([
    ['without basal insulin', [], 'other-insulin-no-basal'],
    ['30 min after it', [given('insulin glargine', offMs - 30 * MINUTE)], 'other-insulin-no-basal'],
    ['2 h after it', [given('insulin glargine', offMs - 2 * HOUR)], null],
    ['with basal insulin that acts no more', [given('NPH insulin', offMs - 18 * HOUR)], 'other-insulin-no-basal'],
    ['2 h after rapid insulin', [given('insulin lispro', offMs - 2 * HOUR)], 'other-insulin-no-basal'],
  ])('%s', (_name, insulin, reason) => {
    expect(end(insulin)).toBe(reason)
  })
  it('that has happened is charted all the same, and is urgent for everybody at once', () => {
    expect(end([], true)).toBe(null)
    const entries = [started('infusion', NOW - 6 * HOUR), ended('infusion', NOW)]
    expect(otherInsulinTasks(care({ entries }))).toMatchObject([
      { kind: 'infusion-ended', sinceMs: NOW, dueMs: null, chargeFromMs: NOW },
    ])
    const times = otherInsulinWatches(care({ entries }), NOW).filter(({ reason }) => reason === 'infusion-ended')
    expect(times.map(({ dueMs }) => dueMs)).toEqual([NOW + HOUR, NOW + 2 * HOUR])
    const late = care({ entries, insulinGiven: [given('insulin glargine', NOW + MINUTE)] })
    expect(otherInsulinTasks(late)).toEqual([])
    expect(basalCovers(late, NOW)).toBe(false)
  })
  it('a pump taken off is the prescriber’s after an hour (the ward’s own setting)', () => {
    const entries = [started('pump', NOW - 6 * HOUR), ended('pump', NOW)]
    expect(otherInsulinTasks(care({ entries }))).toMatchObject([{ kind: 'pump-off', sinceMs: NOW + HOUR }])
    const again = [...entries, { ...started('pump', NOW + 10 * MINUTE), entryId: 'again' }]
    expect(otherInsulinTasks(care({ entries: again }))).toEqual([])
  })
})

describe('checks', () => {
  const times = (entries: readonly StayEntry[]) =>
    otherInsulinWatches(care({ entries }), NOW).map(({ reason, dueMs }) => [reason, (dueMs - NOW) / HOUR])
  it('are hourly while an infusion runs, and end with it', () => {
    expect(times([started('infusion', NOW - HOUR)]).slice(0, 3)).toEqual([
      ['infusion', 0],
      ['infusion', 1],
      ['infusion', 2],
    ])
    expect(
      times([started('infusion', NOW - 3 * HOUR), ended('infusion', NOW - HOUR)]).filter(([one]) => one === 'infusion'),
    ).toEqual([
      ['infusion', -2],
      ['infusion', -1],
    ])
  })
  it('are hourly for six hours after insulin for potassium', () => {
    expect(times([started('potassium', NOW)])).toEqual([1, 2, 3, 4, 5, 6].map((hour) => ['potassium', hour]))
  })
  it('are before meals, at bedtime and at 03:00 with a pump', () => {
    expect(otherInsulinWatches(care({ entries: [started('pump', NOW)] }), NOW).map(({ reason }) => reason)).toEqual([
      'pump',
      'pump',
      'pump',
    ])
  })
})

describe('rapid and regular insulin while an infusion runs', () => {
  const outcome = (insulin: InsulinName, way: 'infusion' | 'pump', directedUnits: number | null = null) => {
    const facts = {
      ...doseFacts({
        inputs: {
          otherWay: { way, sinceMs: NOW },
          directedUnits,
          directionId: directedUnits === null ? null : 'direction0000001',
        },
      }),
      insulin,
    }
    return wordGuards(facts, partsOf(facts)).find(({ guard }) => guard === 'other-insulin')?.outcome
  }
  it('stops; basal insulin goes on; a pump and a direction warn; 0 units pass', () => {
    expect([
      outcome('insulin lispro', 'infusion'),
      outcome('regular insulin', 'infusion'),
      outcome('insulin glargine', 'infusion'),
      outcome('insulin lispro', 'pump'),
      outcome('insulin lispro', 'infusion', 4),
      outcome('insulin lispro', 'infusion', 0),
    ]).toEqual(['stops', 'stops', 'passed', 'warns', 'warns', 'passed'])
  })
})

describe('basal insulin of a patient who depends on insulin', () => {
  const basal: CareFacts['orders'] = [
    {
      stayId: STAY,
      orderId: 'basal',
      version: 1,
      order: anOrder({
        insulin: 'insulin glargine',
        correction: null,
        scheduled: [{ time: '21:00', units: 18, holdBelow: null }],
      }),
      writtenAtMs: NOW - HOUR,
      transcribedById: NURSE,
      verified: { byId: NURSE, atMs: NOW - HOUR },
      endedAtMs: null,
    },
  ]
  const kinds = (over: Partial<CareFacts>) => basalTasks(care({ orders: basal, ...over }), NOW).map(({ kind }) => kind)
  it.each<[string, Partial<CareFacts>, readonly string[]]>([
    ['ordered and due later', {}, []],
    ['missed', { missedBasal: [{ slotKey: `${STAY}.slot`, dueMs: NOW - 2 * HOUR }] }, ['basal-not-given']],
    [
      'missed, and given late',
      {
        missedBasal: [{ slotKey: `${STAY}.slot`, dueMs: NOW - 2 * HOUR }],
        insulinGiven: [given('insulin glargine', NOW - HOUR)],
      },
      [],
    ],
    ['withheld', { notGiven: [{ doseId: 'd', insulin: 'insulin glargine', atMs: NOW - HOUR }] }, ['basal-not-given']],
    ['rapid insulin withheld', { notGiven: [{ doseId: 'd', insulin: 'insulin lispro', atMs: NOW - HOUR }] }, []],
    ['never ordered', { orders: [] }, ['basal-not-ordered']],
    ['never ordered, an infusion runs', { orders: [], entries: [started('infusion', NOW - HOUR)] }, []],
    ['never ordered, given elsewhere today', { orders: [], insulinGiven: [given('insulin glargine', NOW - HOUR)] }, []],
    ['never ordered, type 2', { orders: [], stay: { ...stay, facts: someFacts({ diabetes: 'type-2' }) } }, []],
  ])('%s', (_name, over, expected) => {
    expect(kinds(over)).toEqual(expected)
  })
  it('ordered by nobody is asked an hour after the admission, then the charge nurse’s', () => {
    const admittedAtMs = NOW
    expect(basalTasks(care({ stay: { ...stay, admittedAtMs } }), NOW)).toMatchObject([
      { sinceMs: NOW + HOUR, dueMs: NOW + HOUR + 30 * MINUTE, chargeFromMs: NOW + HOUR + 30 * MINUTE },
    ])
  })
})
