/** A zone that crosses the date line skips a civil day: nothing is planned for it, and nothing is planned twice. */
import fc from 'fast-check'
import { DateTime } from 'luxon'
import { describe, expect, it } from 'vitest'
import { lastShifts } from '../../shared/audit/shifts.ts'
import { shiftAt } from '../../shared/board/shift.ts'
import type { CheckPlan } from '../../shared/check/check.ts'
import { plannedChecks, roundOf } from '../../shared/check/plan.ts'
import { scheduledSlots, slotsAhead } from '../../shared/check/scheduled.ts'
import { mealsToCome } from '../../shared/check/tray-delay.ts'
import { mealsAround } from '../../shared/low/meals.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import { parseTakenAt } from '../../shared/reading/taken-at.ts'
import { addDays, localToUtc, wardDate } from '../../shared/time/zone.ts'
import { version as orderVersion } from '../support/dose.ts'

const HOUR = 3_600_000
/** Zones with a day that they skipped (IANA tz database), and zones that never did. */
const SKIPPED: readonly (readonly [zone: string, date: string | null])[] = [
  ['Pacific/Apia', '2011-12-30'],
  ['Pacific/Fakaofo', '2011-12-30'],
  ['Pacific/Kiritimati', '1994-12-31'],
  ['Pacific/Kwajalein', '1993-08-21'],
  ['America/New_York', null],
  ['Europe/London', null],
  ['America/Sao_Paulo', null],
  ['Asia/Beirut', null],
  ['Australia/Lord_Howe', null],
  ['UTC', null],
]
const PLANS: readonly CheckPlan[] = [
  { kind: 'ac-and-hs' },
  { kind: 'every-4-h' },
  { kind: 'overnight' },
  { kind: 'listed-times', times: ['00:00', '12:30', '23:45'] },
]
const SLOTS: readonly number[] = [4, 6, 1, 3]
/** By luxon alone: the calendar of the zone has this date. */
const hasDate = (date: string, zone: string): boolean =>
  DateTime.fromISO(`${date}T12:00`, { zone }).toISODate() === date
const around = fc.constantFrom(...SKIPPED).chain(([zone, date]) =>
  fc.record({
    zone: fc.constant(zone),
    date: fc.integer({ min: -4, max: 4 }).map((days) => addDays(date ?? '2019-03-10', days)),
  }),
)
const glargine = (startsAtMs: number) =>
  orderVersion(
    {
      insulin: 'insulin glargine',
      correction: null,
      occasions: [],
      startsAtMs,
      scheduled: [
        { time: '09:00', units: 10, holdBelow: null },
        { time: '21:00', units: 18, holdBelow: null },
      ],
    },
    { writtenAtMs: startsAtMs, verified: null },
  )

it('Apia on 30 December 2011: the day is not there', () => {
  expect(hasDate('2011-12-30', 'Pacific/Apia')).toBe(false)
  const zone = 'Pacific/Apia'
  const stay = { stayId: 'stay1', admittedAtMs: 0, dischargedAtMs: null }
  const plan = {
    stayId: 'stay1',
    version: 1,
    plan: { kind: 'every-6-h' },
    fromMs: 0,
    untilMs: null,
    overlay: false,
  } as const
  const checks = plannedChecks({
    plans: [plan],
    policy: defaultPolicy('mmol/L', zone),
    trayDelays: [],
    fromMs: localToUtc('2011-12-29', '00:00', zone),
    toMs: localToUtc('2012-01-01', '00:00', zone),
    stay,
  })
  expect(checks.map(({ date }) => date)).toEqual([
    ...Array.from({ length: 4 }, () => '2011-12-29'),
    ...Array.from({ length: 4 }, () => '2011-12-31'),
  ])
})

it('Apia on 31 December 2011 at 00:05: 23:55 was two dates before', () => {
  const zone = 'Pacific/Apia'
  const nowMs = localToUtc('2011-12-31', '00:05', zone)
  expect(parseTakenAt('23:55', zone, nowMs)).toEqual({ ok: true, value: nowMs - HOUR / 6 })
})

describe('property: over zones and days', () => {
  it('checks are planned for each day of the calendar once, and for no other', () => {
    fc.assert(
      fc.property(around, fc.constantFrom(...PLANS.keys()), ({ zone, date }, index) => {
        const plan = PLANS[index] as CheckPlan
        const checks = plannedChecks({
          plans: [{ stayId: 'stay1', version: 1, plan, fromMs: 0, untilMs: null, overlay: false }],
          policy: defaultPolicy('mg/dL', zone),
          trayDelays: [],
          fromMs: localToUtc(addDays(date, -3), '00:00', zone) - HOUR,
          toMs: localToUtc(addDays(date, 3), '00:00', zone) + HOUR,
          stay: { stayId: 'stay1', admittedAtMs: 0, dischargedAtMs: null },
        })
        for (const check of checks) expect([check.date, hasDate(check.date, zone)]).toEqual([check.date, true])
        expect(new Set(checks.map(({ dueMs }) => dueMs)).size).toBe(checks.length)
        for (let day = -2; day <= 2; day += 1) {
          const of = addDays(date, day)
          const expected = hasDate(of, zone) ? SLOTS[index] : 0
          expect([of, checks.filter((check) => check.date === of).length]).toEqual([of, expected])
        }
      }),
    )
  })

  it('a scheduled dose has one slot on each day of the calendar', () => {
    fc.assert(
      fc.property(around, fc.integer({ min: 0, max: 23 }), ({ zone, date }, hour) => {
        const nowMs = localToUtc(date, '00:00', zone) + hour * HOUR
        const version = glargine(nowMs - 20 * 24 * HOUR)
        const ahead = slotsAhead(version, { zone, settled: new Set() }, { fromMs: nowMs, toMs: nowMs + 72 * HOUR })
        expect(new Set(ahead.map(({ dueMs }) => dueMs)).size).toBe(ahead.length)
        const times = [-1, 0, 1, 2, 3, 4].map((days) => addDays(date, days)).filter((day) => hasDate(day, zone))
        const dues = times.flatMap((day) => ['09:00', '21:00'].map((time) => localToUtc(day, time, zone)))
        expect(ahead.map(({ dueMs }) => dueMs)).toEqual(dues.filter((ms) => ms >= nowMs && ms < nowMs + 72 * HOUR))
        const due = scheduledSlots(version, { zone, settled: new Set(), lookBackHours: 24 }, nowMs)
        for (const { slot } of due) expect([slot, hasDate(slot.slice(0, 10), zone)]).toEqual([slot, true])
        expect(new Set(due.map(({ dueMs }) => dueMs)).size).toBe(due.length)
      }),
    )
  })

  it('every instant has one round and one shift, of a day in the calendar; a meal comes once', () => {
    fc.assert(
      fc.property(around, fc.integer({ min: -3, max: 30 }), ({ zone, date }, hour) => {
        const policy = defaultPolicy('mg/dL', zone)
        const nowMs = localToUtc(date, '00:00', zone) + hour * HOUR
        const round = roundOf(nowMs, policy)
        expect([round.date, hasDate(round.date, zone)]).toEqual([round.date, true])
        expect(round.startsMs <= nowMs && nowMs < round.endsMs).toBe(true)
        const shift = shiftAt(policy, nowMs)
        expect(shift.startsMs <= nowMs && nowMs < shift.endsMs).toBe(true)
        for (const one of lastShifts(policy, nowMs, 9))
          expect([one.date, hasDate(one.date, zone)]).toEqual([one.date, true])
        const meals = mealsAround(nowMs - 72 * HOUR, nowMs, policy, [])
        expect(new Set(meals).size).toBe(meals.length)
        for (const meal of mealsToCome({ policy, trayDelays: [], nowMs }))
          expect([meal.date, hasDate(meal.date, zone)]).toEqual([meal.date, true])
        expect(hasDate(wardDate(nowMs, zone), zone)).toBe(true)
      }),
    )
  })
})
