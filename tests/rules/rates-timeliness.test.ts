/** Planned checks against their times, on the ward where the patient was, by the policy of the day. */
import { describe, expect, it } from 'vitest'
import { timelinessOf, type StayTimes } from '../../shared/audit/timeliness.ts'
import type { CheckOutcome } from '../../shared/check/check.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { STAY, TODAY, WARD, ZONE } from '../support/makers.ts'

const POLICY = defaultPolicy('mg/dL', ZONE)
const at = (time: string, date = TODAY): number => localToUtc(date, time, ZONE)
const done = (time: string): CheckOutcome => ({ kind: 'done', readingId: 'r', atMs: at(time) })
const excused = (time: string): CheckOutcome => ({
  kind: 'excused',
  reason: 'off-the-ward',
  note: '',
  byId: 'n',
  atMs: at(time),
})
const key = (slot: string): string => `${STAY}.${TODAY}.${slot}`
const stay = (outcomes: readonly (readonly [string, CheckOutcome])[], over: Partial<StayTimes> = {}): StayTimes => ({
  stay: { stayId: STAY, admittedAtMs: at('00:00', '2026-02-28'), dischargedAtMs: null },
  spans: [{ number: 1, wardId: WARD, bed: '1', fromMs: at('00:00', '2026-02-28'), toMs: null }],
  plans: [
    {
      stayId: STAY,
      version: 1,
      plan: { kind: 'ac-and-hs' },
      fromMs: at('00:00', '2026-02-28'),
      untilMs: null,
      overlay: false,
    },
  ],
  outcomes: new Map(outcomes.map(([slot, outcome]) => [key(slot), outcome])),
  ...over,
})
const wholeDay = {
  policies: [{ policy: POLICY, fromMs: at('00:00'), toMs: at('00:00', '2026-03-03') }],
  trayDelays: [],
  nowMs: at('02:00', '2026-03-04'),
}

describe('outcomes of four checks before meals and at bedtime', () => {
  it.each([
    // before breakfast: late from the tray at 08:00 on, closed at 09:00
    ['at the very tray: on time', [['before-breakfast', done('08:00')]], { onTime: 1, late: 0 }],
    ['a minute later: late', [['before-breakfast', done('08:01')]], { onTime: 0, late: 1 }],
    ['excused while it could be done', [['before-breakfast', excused('08:59')]], { excused: 1, missedWithReason: 0 }],
    [
      'its reason charted once it was closed',
      [['before-breakfast', excused('09:00')]],
      { excused: 0, missedWithReason: 1 },
    ],
    ['nothing charted', [], { missedWithoutReason: 4 }],
  ] as const)('%s', (_name, outcomes, expected) => {
    const found = timelinessOf([stay(outcomes)], wholeDay)
    expect(found).toMatchObject(expected)
    expect(found.checks).toBe(4)
    expect(found.onTime + found.late + found.excused + found.missedWithReason + found.missedWithoutReason).toBe(
      found.checks,
    )
  })

  it('moves the late time with a tray delay', () => {
    const delayed = { ...wholeDay, trayDelays: [{ date: TODAY, meal: 'breakfast' as const, minutes: 20 }] }
    expect(timelinessOf([stay([['before-breakfast', done('08:20')]])], delayed)).toMatchObject({ onTime: 1, late: 0 })
  })
  it('does not count a check that is still open', () => {
    expect(timelinessOf([stay([])], { ...wholeDay, nowMs: at('12:30') }).checks).toBe(1)
  })
  it('does not count a check due while the patient was on another ward', () => {
    const away = stay([], { spans: [{ number: 1, wardId: WARD, bed: '1', fromMs: at('00:00'), toMs: at('11:00') }] })
    expect(timelinessOf([away], wholeDay).checks).toBe(1)
  })
  it('judges each check once by its own policy after a change in the middle', () => {
    const later = { ...POLICY, mealTimes: { ...POLICY.mealTimes, lunch: '13:15' } }
    const changed = {
      ...wholeDay,
      policies: [
        { policy: POLICY, fromMs: at('00:00'), toMs: at('12:00') },
        { policy: later, fromMs: at('12:00'), toMs: at('00:00', '2026-03-03') },
      ],
    }
    expect(timelinessOf([stay([])], changed).checks).toBe(4)
  })
})
