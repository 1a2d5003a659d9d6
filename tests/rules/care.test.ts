/** Tasks and watch checks: when they show, what ends them, and the call after "no dose, call". */
import { describe, expect, it } from 'vitest'
import type { StayEntry } from '../../shared/care/entries.ts'
import type { CareFacts } from '../../shared/care/facts.ts'
import { noDoseCallTasks, repeatsOfCalls } from '../../shared/care/no-dose-call.ts'
import type { Task } from '../../shared/care/task.ts'
import { bedtimeTasks, bedtimeWatches } from '../../shared/care/bedtime.ts'
import { settleTask, tasksOf } from '../../shared/care/tasks.ts'
import { watchesOf } from '../../shared/care/watch.ts'
import { parseCheckKey, plannedChecks } from '../../shared/check/plan.ts'
import { callsFor } from '../../shared/order/call.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import { aReading, anOrder, HOUR, MINUTE, mgPerDl, NOW, NURSE, someFacts, STAY, WARD, ZONE } from '../support/makers.ts'

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
  facts: someFacts(),
}
const policy = defaultPolicy('mg/dL', ZONE)
const care = (over: Partial<CareFacts> = {}): CareFacts => ({
  stay,
  policy,
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
const owed = (id: string, atMs: number, repeatInMin: number | null = null): StayEntry => ({
  entryId: id,
  kind: 'no-dose-call',
  fact: { readingId: `r${id}`, orderId: 'order', repeatInMin },
  stayId: STAY,
  atMs,
  chartedAtMs: atMs,
  byId: NURSE,
})
const read = (id: string, atMs: number) => aReading({ readingId: `r${id}`, takenAtMs: atMs, chartedAtMs: atMs })
const settled = (taskKey: string, atMs: number): StayEntry => ({
  entryId: `s${String(atMs)}`,
  kind: 'task-settled',
  fact: { taskKey, how: 'told', told: 'Dr Vale', ordered: 'nothing new' },
  stayId: STAY,
  atMs,
  chartedAtMs: atMs,
  byId: NURSE,
})
const told = { told: 'Dr Vale', readBack: true, ordered: 'nothing new', note: '', byId: NURSE, entryId: 'settled1' }

describe('a task', () => {
  const task = (over: Partial<Task> = {}): Task => ({
    kind: 'no-dose-call',
    key: 'no-dose-call.a',
    stayId: STAY,
    subjectId: 'a',
    detail: null,
    sinceMs: NOW,
    dueMs: NOW + 30 * MINUTE,
    chargeFromMs: NOW + 45 * MINUTE,
    ...over,
  })
  const from = (tasks: readonly Task[]) => [() => tasks]

  it('shows from its instant, not a millisecond sooner', () => {
    expect(tasksOf(care(), NOW - 1, from([task()])).tasks).toEqual([])
    expect(tasksOf(care(), NOW, from([task()])).tasks).toEqual([task()])
  })

  it('names each instant at which time alone changes it', () => {
    expect(tasksOf(care(), NOW - 1, from([task()])).changes).toEqual([NOW, NOW + 30 * MINUTE, NOW + 45 * MINUTE])
  })

  it('is sorted by how long it waits', () => {
    const both = [task({ key: 'no-dose-call.b', sinceMs: NOW - 1 }), task({ key: 'no-dose-call.c', sinceMs: NOW - 2 })]
    expect(tasksOf(care(), NOW, from(both)).tasks.map(({ key }) => key)).toEqual(['no-dose-call.c', 'no-dose-call.b'])
  })

  it('ends once it is settled, and for a patient who has left', () => {
    const entries = [settled('no-dose-call.a', NOW)]
    expect(tasksOf(care({ entries }), NOW, from([task()])).tasks).toEqual([])
    const gone = care({ stay: { ...stay, dischargedAtMs: NOW } })
    expect(tasksOf(gone, NOW, from([task()])).tasks).toEqual([])
  })

  it.each([
    ['nobody named', { told: '  ' }, 'task-told-missing'],
    ['not read back', { readBack: false }, 'task-not-read-back'],
    ['no answer', { ordered: '' }, 'task-ordered-missing'],
    ['another task', { taskKey: 'no-dose-call.z' }, 'task-gone'],
  ])('is not settled with %s', (_name, over, reason) => {
    const entry = { ...told, taskKey: 'no-dose-call.a', ...over }
    expect(settleTask(entry, care(), NOW, from([task()]))).toMatchObject({ ok: false, reason })
  })

  it('is settled by the call and its answer', () => {
    expect(settleTask({ ...told, taskKey: 'no-dose-call.a' }, care(), NOW, from([task()]))).toMatchObject({
      ok: true,
      value: [
        { type: 'entry-charted', body: { kind: 'task-settled', fact: { taskKey: 'no-dose-call.a', how: 'told' } } },
      ],
    })
  })
})

describe('"no dose, call"', () => {
  const readings = [read('b', NOW - HOUR), read('a', NOW - 2 * HOUR)]

  it('is one open call from the earliest value, due in 30 min, then the charge nurse’s (ward settings)', () => {
    const entries = [owed('a', NOW - 2 * HOUR), owed('b', NOW - HOUR)]
    expect(noDoseCallTasks(care({ entries, readings }), NOW)).toMatchObject([
      { key: 'no-dose-call.a', subjectId: 'ra', dueMs: NOW - 90 * MINUTE, chargeFromMs: NOW - 90 * MINUTE },
    ])
  })

  it('is ended by one call for every value before it, and opens again with a later value', () => {
    const called = [owed('a', NOW - 2 * HOUR), owed('b', NOW - HOUR), settled('no-dose-call.a', NOW - 30 * MINUTE)]
    expect(noDoseCallTasks(care({ entries: called, readings }), NOW)).toEqual([])
    const later = [...called, owed('c', NOW)]
    expect(noDoseCallTasks(care({ entries: later, readings: [read('c', NOW), ...readings] }), NOW)).toMatchObject([
      { key: 'no-dose-call.c' },
    ])
  })

  it('is not ended by a call about something else', () => {
    const entries = [owed('a', NOW - 2 * HOUR), settled('other.a', NOW)]
    expect(noDoseCallTasks(care({ entries, readings }), NOW)).toHaveLength(1)
  })

  it('outlasts the check by days, and ends with a value entered in error', () => {
    expect(noDoseCallTasks(care({ entries: [owed('a', NOW - 40 * HOUR)] }), NOW)).toHaveLength(1)
    expect(noDoseCallTasks(care({ entries: [owed('a', NOW - HOUR)], readings: [] }), NOW)).toEqual([])
  })

  it('turns a printed repeat into a check at its time, and nothing else into one', () => {
    const entries = [owed('a', NOW, 120), owed('b', NOW)]
    expect(repeatsOfCalls(care({ entries }))).toEqual([{ id: 'ar', dueMs: NOW + 2 * HOUR, reason: 'call-repeat' }])
    expect(watchesOf(care({ entries }), NOW)).toHaveLength(1)
  })

  const scale = {
    unit: 'mg/dL' as const,
    steps: [
      { atLeast: 151, answer: 2, also: null },
      { atLeast: 351, answer: 'call' as const, also: null, repeatMin: 120 },
    ],
  }
  const version = {
    stayId: STAY,
    orderId: 'order',
    version: 1,
    order: anOrder({ correction: { kind: 'scale', scale } }),
    writtenAtMs: NOW - HOUR,
    writtenById: NURSE,
    verified: { byId: NURSE, atMs: NOW - HOUR },
    stopsAtMs: null,
    endedAtMs: null,
  }

  it.each([
    [350, 0],
    [351, 1],
    [599, 1],
  ])('at %i mg/dL %i orders say so', (value, count) => {
    const [occasion = 'before-lunch'] = version.order.occasions
    const found = callsFor([version as never], { glucose: mgPerDl(value), occasion, atMs: NOW })
    expect(found).toHaveLength(count)
    expect(found.map(({ step }) => step.repeatMin)).toEqual(count === 0 ? [] : [120])
  })

  it('is said by no order that nobody has verified', () => {
    const [occasion = 'before-lunch'] = version.order.occasions
    const unverified = { ...version, verified: null }
    expect(callsFor([unverified as never], { glucose: mgPerDl(400), occasion, atMs: NOW })).toEqual([])
  })
})

describe('a watch check', () => {
  const span = { fromMs: NOW - HOUR, toMs: NOW + 4 * HOUR }
  const watches = [{ id: 'ar', dueMs: NOW + HOUR, reason: 'call-repeat' as const }]
  const base = { plans: [], policy, trayDelays: [], stay, ...span }

  it('is planned at its time, with the windows of a timed check', () => {
    expect(plannedChecks({ ...base, watches })).toMatchObject([
      { key: `watch.${STAY}.ar`, kind: 'watch', dueMs: NOW + HOUR, watch: 'call-repeat' },
    ])
    expect(parseCheckKey(`watch.${STAY}.ar`)).toEqual({ kind: 'watch', stayId: STAY, id: 'ar' })
    expect(parseCheckKey(`watch.${STAY}.A-r`)).toBe(null)
  })

  it('beside a planned check within half an hour is that check, unless it was done', () => {
    const plan = (atMs: number) => ({
      stayId: STAY,
      version: 1,
      plan: { kind: 'once' as const, atMs },
      fromMs: NOW - HOUR,
      untilMs: null,
      overlay: false,
    })
    const kinds = (atMs: number, outcomes = new Map<string, unknown>()) =>
      plannedChecks({ ...base, watches, plans: [plan(atMs)], outcomes }).map(({ kind }) => kind)
    expect(kinds(NOW + 90 * MINUTE)).toEqual(['planned'])
    expect(kinds(NOW + 91 * MINUTE)).toEqual(['watch', 'planned'])
    expect(kinds(NOW + 90 * MINUTE, new Map([[`watch.${STAY}.ar`, {}]]))).toEqual(['watch', 'planned'])
  })

  it('is none before admission or after discharge', () => {
    const before = { ...stay, admittedAtMs: NOW + 2 * HOUR }
    expect(plannedChecks({ ...base, watches, stay: before })).toEqual([])
  })
})

describe('a bedtime value below 100 mg/dL (the ward’s setting) with basal insulin due', () => {
  // 21:30 in New York
  const bedtimeMs = Date.UTC(2026, 2, 3, 2, 30)
  const basal = (over: Partial<ReturnType<typeof anOrder>> = {}) => ({
    stayId: STAY,
    orderId: 'basal',
    version: 1,
    order: anOrder({
      insulin: 'insulin glargine',
      correction: null,
      scheduled: [{ time: '21:00', units: 18, holdBelow: null }],
      startsAtMs: bedtimeMs - 48 * HOUR,
      ...over,
    }),
    writtenAtMs: bedtimeMs - 48 * HOUR,
    writtenById: NURSE,
    verified: { byId: NURSE, atMs: bedtimeMs - 48 * HOUR },
    stopsAtMs: null,
    endedAtMs: null,
  })
  const value = (mgDl: number, atMs = bedtimeMs) =>
    aReading({ readingId: 'night', checkKey: null, takenAtMs: atMs, glucose: mgPerDl(mgDl) })
  const asked = (mgDl: number, order = basal(), atMs = bedtimeMs) =>
    bedtimeTasks(care({ readings: [value(mgDl, atMs)], orders: [order as never] }), atMs).length

  it.each([
    [100, 0],
    [99, 1],
    [70, 1],
    [69, 0],
  ])('%i mg/dL asks for %i snacks: a low has its own treatment', (mgDl, count) => {
    expect(asked(mgDl)).toBe(count)
  })

  it('asks nothing without basal insulin, for rapid insulin, or in the middle of the day', () => {
    expect(asked(90, basal({ scheduled: [] }))).toBe(0)
    expect(asked(90, basal({ insulin: 'insulin lispro' }))).toBe(0)
    expect(asked(90, basal(), bedtimeMs - 8 * HOUR)).toBe(0)
    expect(asked(90, basal({ insulin: 'NPH insulin' }))).toBe(1)
  })

  it('is checked again at the night’s time, on the same night before and after midnight', () => {
    const dueOf = (atMs: number) =>
      bedtimeWatches(care({ readings: [value(90, atMs)], orders: [basal() as never] }), atMs).map(({ dueMs }) => dueMs)
    // 02:30 in New York on 3 March is 07:30 UTC
    expect(dueOf(bedtimeMs)).toEqual([Date.UTC(2026, 2, 3, 7, 30)])
  })
})
