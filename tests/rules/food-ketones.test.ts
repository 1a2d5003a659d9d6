/** Food after mealtime insulin, and ketones: what is asked, when, and what a result asks for. */
import { describe, expect, it } from 'vitest'
import type { StayEntry } from '../../shared/care/entries.ts'
import type { CareFacts } from '../../shared/care/facts.ts'
import { actsUntilMs, foodTasks, foodWatches } from '../../shared/care/food.ts'
import { chartKetones, ketoneLevel, ketoneTasks, ketoneTenths } from '../../shared/care/ketones.ts'
import type { EarlierDose } from '../../shared/dose/dose.ts'
import type { InsulinName } from '../../shared/order/order.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { aReading, HOUR, MINUTE, mgPerDl, NURSE, someFacts, STAY, WARD, ZONE } from '../support/makers.ts'

const DATE = '2026-03-02'
const at = (time: string): number => localToUtc(DATE, time, ZONE)
const policy = defaultPolicy('mg/dL', ZONE)
const LUNCH_MS = localToUtc(DATE, policy.mealTimes.lunch, ZONE)
const stay: Stay = {
  stayId: STAY,
  wardId: WARD,
  bed: '1',
  wristband: 'W1',
  familyName: 'Quill',
  givenName: 'Ada',
  bornOn: '1950-05-05',
  admittedAtMs: LUNCH_MS - 48 * HOUR,
  dischargedAtMs: null,
  facts: someFacts({ diabetes: 'type-1' }),
}
const given = (insulin: InsulinName = 'insulin lispro', givenAtMs = LUNCH_MS - 10 * MINUTE): EarlierDose => ({
  doseId: 'dose',
  insulin,
  units: 8,
  givenAtMs,
  source: 'here',
  withCorrection: true,
})
const care = (over: Partial<CareFacts> = {}): CareFacts => ({
  stay,
  policy,
  entries: [],
  readings: [],
  insulinGiven: [given()],
  directions: [],
  feedStoppedSinceMs: null,
  notGiven: [],
  missedBasal: [],
  trays: [{ stayId: STAY, date: DATE, meal: 'lunch', servedAtMs: LUNCH_MS, shareEatenPercent: null }],
  orders: [],
  lows: [],
  ...over,
})
const little = (share: 0 | 25 | 'cancelled', atMs = LUNCH_MS + HOUR): StayEntry => ({
  entryId: 'little',
  kind: 'ate-too-little',
  fact: { date: DATE, meal: 'lunch', share },
  stayId: STAY,
  atMs,
  chartedAtMs: atMs,
  byId: NURSE,
})
const kinds = (facts: CareFacts, nowMs = LUNCH_MS + HOUR) => foodTasks(facts, nowMs).map(({ kind }) => kind)
const reading = (value: number | 'LO' | 'HI', takenAtMs = LUNCH_MS) =>
  aReading({ readingId: 'high', glucose: mgPerDl(value), takenAtMs })
const served = (percent: 0 | 25 | 50 | 100 | null) =>
  care({
    trays: [{ stayId: STAY, date: DATE, meal: 'lunch', servedAtMs: LUNCH_MS, shareEatenPercent: percent }],
    entries: percent === 0 || percent === 25 ? [little(percent)] : [],
  })

describe('what was eaten after mealtime insulin', () => {
  it('is asked an hour after it (the ward’s own setting)', () => {
    expect(foodTasks(care(), LUNCH_MS)).toMatchObject([
      { kind: 'share-to-chart', subjectId: 'lunch', sinceMs: LUNCH_MS + 50 * MINUTE },
    ])
  })
  it.each<[string, CareFacts, readonly string[]]>([
    ['half eaten', served(50), []],
    ['a quarter eaten', served(25), ['carbohydrate-now']],
    ['under a quarter eaten', served(0), ['carbohydrate-now', 'ate-too-little-call']],
    ['no tray comes', care({ trays: [], entries: [little('cancelled')] }), ['carbohydrate-now', 'ate-too-little-call']],
    ['no insulin for the meal', care({ insulinGiven: [given('insulin lispro', LUNCH_MS - 135 * MINUTE)] }), []],
    ['basal insulin alone', care({ insulinGiven: [given('insulin glargine')] }), []],
    ['no tray and no insulin', care({ insulinGiven: [], entries: [little('cancelled')] }), []],
    ['tube-fed', care({ stay: { ...stay, facts: someFacts({ feeding: 'tube' }) } }), []],
  ])('%s', (_name, facts, expected) => {
    expect(kinds(facts)).toEqual(expected)
  })
  it('a quarter eaten asks for carbohydrate below 180 mg/dL only', () => {
    const asks = (value: number) => kinds({ ...served(25), readings: [reading(value)] })
    expect([asks(179), asks(180)]).toEqual([['carbohydrate-now'], []])
  })
  it('half eaten, charted afterwards, ends it', () => {
    expect(kinds({ ...served(50), entries: [little(0)] })).toEqual([])
  })
})

describe('checks after too little food', () => {
  const hours = (facts: CareFacts) =>
    foodWatches(facts, LUNCH_MS + HOUR).map(({ dueMs }) => (dueMs - (LUNCH_MS + HOUR)) / HOUR)
  it('are one at 2 h for a quarter', () => {
    expect(hours(served(25))).toEqual([2])
  })
  it('are at 1 h and 2 h, then 2-hourly to the insulin’s long end (lispro 4.75 h, AACE 2022; R)', () => {
    expect(hours(served(0))).toEqual([1, 2])
    expect(hours({ ...served(0), insulinGiven: [given('regular insulin')] })).toEqual([1, 2, 4, 6])
  })
  it('are 4-hourly for NPH beside it (18 h)', () => {
    const both = [given('regular insulin'), given('NPH insulin')]
    expect(hours({ ...served(0), insulinGiven: both })).toEqual([1, 2, 4, 6, 8, 12, 16])
  })
  it.each<[InsulinName, boolean, number]>([
    ['insulin lispro', false, 4.75],
    ['insulin aspart', false, 5],
    ['regular insulin', false, 8],
    ['regular insulin', true, 12],
    ['NPH insulin', false, 18],
    ['insulin glargine', false, 24],
    ['insulin degludec', false, 42],
  ])('%s, renal impairment %s: acts %d h at the longest', (insulin, renal, expected) => {
    expect(actsUntilMs({ insulin, givenAtMs: 0 }, renal) / HOUR).toBe(expected)
  })
})

describe('a feed that stops', () => {
  const stopped = (sinceMs: number, insulin: readonly EarlierDose[] = [given('regular insulin')]) =>
    care({
      feedStoppedSinceMs: sinceMs,
      insulinGiven: insulin,
      stay: { ...stay, facts: someFacts({ feeding: 'tube' }) },
    })
  it('asks for the prescriber and hourly checks after half an hour with insulin acting (JBDS 05; R)', () => {
    const facts = stopped(at('12:00'))
    expect(foodTasks(facts, at('13:00'))).toMatchObject([{ kind: 'feed-stopped-call', sinceMs: at('12:30') }])
    expect(foodWatches(facts, at('13:00')).map(({ dueMs }) => dueMs)).toEqual([at('12:30'), at('13:30')])
  })
  it('asks nothing without insulin acting, or while it runs', () => {
    expect(kinds(stopped(at('12:00'), []))).toEqual([])
    expect(kinds(stopped(at('12:00'), [given('insulin lispro', at('06:00'))]))).toEqual([])
    expect(foodWatches(care(), at('13:00'))).toEqual([])
  })
})

describe('ketones', () => {
  it.each([
    ['0.5', 'none'],
    ['0.6', 'again'],
    ['1.4', 'again'],
    ['1.5', 'prescriber'],
    ['2.9', 'prescriber'],
    ['3.0', 'emergency'],
    ['6.1', 'emergency'],
  ])('%s mmol/L in blood: %s', (typed, level) => {
    expect(ketoneLevel({ by: 'blood', tenths: ketoneTenths(typed) ?? -1 })).toBe(level)
  })
  it.each([
    ['negative', 'none'],
    ['small', 'again'],
    ['moderate', 'prescriber'],
    ['large', 'emergency'],
  ] as const)('%s in urine: %s', (band, level) => {
    expect(ketoneLevel({ by: 'urine', band })).toBe(level)
  })
  it.each(['15', '1,5', '.5', '20.1', '', '-0.1', '1.55'])('“%s” is no value', (typed) => {
    expect(ketoneTenths(typed)).toBe(null)
  })

  const measured = (tenths: number, atMs: number, well = true): StayEntry => ({
    entryId: `k${String(atMs)}`,
    kind: 'ketones',
    fact: { read: { by: 'blood', tenths }, well },
    stayId: STAY,
    atMs,
    chartedAtMs: atMs,
    byId: NURSE,
  })
  const tasks = (over: Partial<CareFacts>) =>
    ketoneTasks(care({ readings: [reading(251)], ...over })).map(({ kind }) => kind)
  it.each<[string, Partial<CareFacts>, readonly string[]]>([
    ['250 mg/dL', { readings: [reading(250)] }, []],
    ['251 mg/dL', {}, ['ketones-due']],
    ['HI', { readings: [reading('HI')] }, ['ketones-due']],
    ['type 2', { stay: { ...stay, facts: someFacts({ diabetes: 'type-2' }) } }, []],
    [
      'type 2 that has had ketoacidosis',
      { stay: { ...stay, facts: someFacts({ diabetes: 'type-2', pastKetoacidosis: true }) } },
      ['ketones-due'],
    ],
    ['measured since', { entries: [measured(3, LUNCH_MS)] }, []],
    ['0.3 and well, less than 4 h ago', { entries: [measured(3, LUNCH_MS - 4 * HOUR + 1)] }, []],
    ['0.3 and well, 4 h ago', { entries: [measured(3, LUNCH_MS - 4 * HOUR)] }, ['ketones-due']],
    ['0.3 and not well', { entries: [measured(3, LUNCH_MS - HOUR, false)] }, ['ketones-due']],
    ['0.6', { entries: [measured(6, LUNCH_MS)] }, ['ketones-again']],
    ['1.5', { entries: [measured(15, LUNCH_MS)] }, ['ketones-call', 'ketones-again']],
    ['3.0', { entries: [measured(30, LUNCH_MS)] }, ['ketones-emergency', 'ketones-again']],
  ])('%s', (_name, over, expected) => {
    expect(tasks(over)).toEqual(expected)
  })
  it('are measured again two hours after the result', () => {
    const [again] = ketoneTasks(care({ entries: [measured(6, LUNCH_MS)] }))
    expect(again?.sinceMs).toBe(LUNCH_MS + 2 * HOUR)
  })
  it('are refused without a value, a band or a way, and in the future', () => {
    const entry = { entryId: 'k', by: 'blood', blood: '', band: null, well: true, atMs: LUNCH_MS, byId: NURSE } as const
    const reason = (over: Partial<Parameters<typeof chartKetones>[0]>, nowMs = LUNCH_MS) => {
      const made = chartKetones({ ...entry, ...over }, { stay, nowMs })
      return made.ok ? null : made.reason
    }
    expect([
      reason({}),
      reason({ by: 'urine' }),
      reason({ by: null }),
      reason({ blood: '0.4' }, LUNCH_MS - 1),
      reason({ by: 'no-strip' }),
    ]).toEqual(['ketones-not-a-value', 'ketones-no-band', 'ketones-not-chosen', 'ketones-in-future', null])
  })
})
