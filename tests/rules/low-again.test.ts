/** A low that comes back: the same event before its follow-up, a new one after it. Minutes are the ward's own settings. */
import { describe, expect, it } from 'vitest'
import { currentLow, lowAgain, openLows, reopensLow } from '../../shared/low/current.ts'
import { lowCourse } from '../../shared/low/course.ts'
import { escalatesAtMs } from '../../shared/low/event.ts'
import { lowForDose } from '../../shared/low/recheck.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { by, mouth, NOTHING_CHARTED, recheckOf, stateOf } from '../support/lows.ts'
import { at, lowEvent, MINUTE, POLICY, reading } from '../support/readings.ts'

const FIRST = reading(58, at('03:00'), { readingId: 'r0' })
const RECOVERED = recheckOf(96, at('03:20'), 1)
const FOLLOWED = recheckOf(101, at('04:20'), 2)
const called = (...times: readonly string[]): LowEvent['charted'] => ({
  ...NOTHING_CHARTED,
  prescriberCalls: times.map((time) => ({ ...by(at(time)), told: 'Dr. Vera Kim', ordered: '' })),
})
const low = lowEvent(FIRST, { treatments: [mouth(at('03:03'))], charted: called('03:10') })

describe('a further low value', () => {
  const again = (value: number, time: string, readings: readonly Reading[]): string =>
    lowAgain(low, reading(value, at(time), { readingId: 'again' }), readings, POLICY)
  it('after the follow-up is a low of its own: 58 at 03:00, 43 at 11:30', () => {
    expect(again(43, '11:30', [FIRST, RECOVERED, FOLLOWED])).toBe('new')
  })
  it('before the follow-up is a relapse of the same', () => {
    expect(again(64, '04:00', [FIRST, RECOVERED])).toBe('relapse')
    expect(again(64, '05:20', [FIRST, RECOVERED])).toBe('relapse')
  })
  it('with the follow-up more than 60 min overdue is a low of its own', () => {
    expect(lowAgain(low, reading(64, at('05:20') + 1, { readingId: 'x' }), [FIRST, RECOVERED], POLICY)).toBe('new')
  })
  it('before recovery is nothing new, and one charted late is judged by when it was taken', () => {
    expect(again(64, '11:30', [FIRST])).toBe('same')
    expect(again(64, '04:00', [FIRST, RECOVERED, FOLLOWED])).toBe('relapse')
    expect(again(64, '02:30', [FIRST, RECOVERED, FOLLOWED])).toBe('same')
  })
})

describe('two open events of one stay', () => {
  const later = reading(43, at('11:30'), { readingId: 'r9' })
  const second = lowEvent(later, { lowId: 'low2', previousLowId: 'low1', previousClosedAtMs: at('11:30') - 1 })
  const first: LowEvent = { ...low, charted: { ...low.charted, next: { lowId: 'low2', atMs: at('11:30') } } }
  const readings = [FIRST, RECOVERED, later]
  it('the newest is followed, whatever their order', () => {
    expect(currentLow([first, second])?.lowId).toBe('low2')
    expect(currentLow([second, first])?.lowId).toBe('low2')
    expect(openLows([first, second]).map(({ lowId }) => lowId)).toEqual(['low2', 'low1'])
    expect(currentLow([first, second], at('11:00'))?.lowId).toBe('low1')
    expect(currentLow([{ ...second, closedAtMs: at('13:00') }, first])?.lowId).toBe('low1')
  })
  it('the older one ends where the newer begins, and waits only for its paperwork', () => {
    expect(lowCourse(first, readings, POLICY)).toMatchObject({ phase: 'followed-up', dueMs: null, last: RECOVERED })
    expect(stateOf({ low: first, readings, nowMs: at('11:31') }).steps.map(({ kind }) => kind)).toEqual(['close'])
  })
  it('the newer one has clocks and a call of its own, and alone stops insulin', () => {
    const state = stateOf({ low: second, readings, nowMs: at('11:31') })
    expect(state.steps).toEqual([
      { kind: 'treat', number: 1, deadlineMs: at('11:35') },
      { kind: 'recheck', cycle: 1, deadlineMs: at('11:45') },
      { kind: 'tell-prescriber', deadlineMs: at('12:00') },
    ])
    expect(lowForDose([first, second], readings, POLICY, at('11:31'))).toBe('open')
    const over = [...readings, reading(90, at('11:50')), reading(95, at('12:50'))]
    expect(lowForDose([first, second], over, POLICY, at('12:51'))).toBe('none')
  })
})

describe('a relapse is told again', () => {
  const tells = (calls: readonly string[], value: number, time: string): boolean =>
    stateOf({
      low: { ...low, charted: called(...calls) },
      readings: [FIRST, RECOVERED, reading(value, at(time), { readingId: 'again' })],
      nowMs: at(time) + MINUTE,
    }).missing.includes('prescriber-told')
  it('below level 2, and at level 1 when the last call is more than 60 min old', () => {
    expect(tells(['03:10'], 53, '04:00')).toBe(true)
    expect(tells(['03:10'], 64, '04:00')).toBe(false)
    expect(tells(['03:10'], 64, '04:10')).toBe(false)
    expect(tells(['03:10'], 64, '04:11')).toBe(true)
    expect(tells(['03:10', '04:12'], 53, '04:11')).toBe(false)
  })
  it('by a level 3 finding as well', () => {
    const charted: LowEvent['charted'] = {
      ...called('03:10'),
      findings: [{ ...by(at('04:01')), finding: 'confused-needs-help' }],
    }
    const readings = [FIRST, RECOVERED, reading(64, at('04:00'), { readingId: 'again' })]
    expect(stateOf({ low: { ...low, charted }, readings, nowMs: at('04:02') }).missing).toContain('prescriber-told')
  })
})

it('three treatments in 60 min escalate, whatever recovered between: 65, 68, 72, 69 and the next below 70', () => {
  const start = reading(65, at('03:00'), { readingId: 'r0' })
  const treated = lowEvent(start, { treatments: [mouth(at('03:01')), mouth(at('03:17')), mouth(at('03:47'))] })
  const readings = [start, recheckOf(68, at('03:16'), 1), recheckOf(72, at('03:32'), 2), recheckOf(69, at('03:46'), 3)]
  expect(escalatesAtMs(lowCourse(treated, readings, POLICY), POLICY)).toBe(null)
  expect(escalatesAtMs(lowCourse(treated, [...readings, recheckOf(71, at('04:01'), 4)], POLICY), POLICY)).toBe(null)
  const next = [...readings, recheckOf(69, at('04:01'), 4)]
  expect(escalatesAtMs(lowCourse(treated, next, POLICY), POLICY)).toBe(at('04:01'))
  expect(stateOf({ low: treated, readings: next, nowMs: at('04:01') }).steps).toContainEqual({
    kind: 'escalate',
    deadlineMs: at('04:01'),
  })
  const spread = { ...treated, treatments: [mouth(at('03:00')), mouth(at('03:17')), mouth(at('03:47'))] }
  expect(escalatesAtMs(lowCourse(spread, next, POLICY), POLICY)).toBe(null)
})

describe('a value that closed a low and does not count any more', () => {
  const closed: LowEvent = {
    ...low,
    closedAtMs: at('05:00'),
    charted: { ...low.charted, closing: { ...by(at('05:00')), cause: 'renal', note: '' } },
  }
  const all = [FIRST, RECOVERED, FOLLOWED]
  const reopens = (retired: Reading, instead: Reading | null, event = closed, readings = all): string | null =>
    reopensLow(retired, instead, [event], readings, POLICY)?.lowId ?? null
  it('opens it again, unless another value shows the same', () => {
    expect(reopens(FOLLOWED, null)).toBe('low1')
    expect(reopens(RECOVERED, null)).toBe('low1')
    expect(reopens(FOLLOWED, { ...FOLLOWED, readingId: 'x', glucose: { unit: 'mg/dL', value: 61 } })).toBe('low1')
    expect(reopens(FOLLOWED, { ...FOLLOWED, readingId: 'x', glucose: { unit: 'mg/dL', value: 110 } })).toBe(null)
    expect(reopens(FOLLOWED, null, closed, [...all, reading(99, at('04:25'), { readingId: 'y' })])).toBe(null)
    // without its only low value there is no low to open
    expect(reopens(FIRST, null)).toBe(null)
  })
})

it('a low charted after it was over is followed up by the fit value at least 60 min after it', () => {
  const late = reading(60, at('06:00'), { readingId: 'late', chartedAtMs: at('08:00') })
  const event = lowEvent(late)
  const course = (value: number, time: string, parts: Partial<Reading> = {}): string =>
    lowCourse(event, [late, reading(value, at(time), { readingId: 'later', ...parts })], POLICY).phase
  expect(course(110, '07:00')).toBe('followed-up')
  expect(course(110, '06:59')).toBe('recovered')
  expect(course(110, '07:00', { doubts: ['meter-control-not-done'] })).toBe('open')
  expect(course(110, '08:30')).toBe('recovered')
})
