import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Check, CheckOutcome } from '../../shared/check/check.ts'
import { checkState, nextChangeMs } from '../../shared/check/state.ts'

const MINUTE = 60_000
const check: Check = {
  key: 'stay1.2026-11-24.before-breakfast',
  stayId: 'stay1',
  kind: 'planned',
  occasion: 'before-breakfast',
  date: '2026-11-24',
  opensMs: 100 * MINUTE,
  dueMs: 130 * MINUTE,
  lateAfterMs: 160 * MINUTE,
  closesMs: 220 * MINUTE,
}
const done: CheckOutcome = { kind: 'done', readingId: 'r1', atMs: 5 }
const excused: CheckOutcome = { kind: 'excused', reason: 'refused', note: '', byId: 'n1', atMs: 5 }

describe('state at the edges of the window, ± 1 ms', () => {
  it.each([
    ['1 ms before it opens', check.opensMs - 1, 'upcoming', check.opensMs],
    ['as it opens', check.opensMs, 'open', check.lateAfterMs + 1],
    ['1 ms before due', check.dueMs - 1, 'open', check.lateAfterMs + 1],
    ['as it is due', check.dueMs, 'open', check.lateAfterMs + 1],
    ['at the end of the time allowed', check.lateAfterMs, 'open', check.lateAfterMs + 1],
    ['1 ms past it', check.lateAfterMs + 1, 'late', check.closesMs],
    ['1 ms before it closes', check.closesMs - 1, 'late', check.closesMs],
    ['as it closes', check.closesMs, 'missed', null],
  ] as const)('%s', (_name, nowMs, state, next) => {
    expect(checkState(check, undefined, nowMs)).toBe(state)
    expect(nextChangeMs(check, undefined, nowMs)).toBe(next)
  })

  // 42 CFR 482.23(c) guidance 2011, R/S: time-critical is ± 30 min
  it.each([
    ['06:59:59 is early', -1000, 'upcoming'],
    ['07:00:00 is in time', 0, 'open'],
    ['08:00:00 is in time', 60 * MINUTE, 'open'],
    ['08:01 is late', 61 * MINUTE, 'late'],
  ] as const)('due 07:30: %s', (_name, sinceSeven, state) => {
    const timed: Check = { ...check, opensMs: 0, dueMs: 30 * MINUTE, lateAfterMs: 60 * MINUTE, closesMs: 90 * MINUTE }
    expect(checkState(timed, undefined, sinceSeven)).toBe(state)
  })

  it.each([check.opensMs - 1, check.dueMs, check.closesMs])('an outcome counts at any time', (nowMs) => {
    expect(checkState(check, done, nowMs)).toBe('done')
    expect(checkState(check, excused, nowMs)).toBe('excused')
    expect(nextChangeMs(check, done, nowMs)).toBeNull()
    expect(nextChangeMs(check, excused, nowMs)).toBeNull()
  })

  it('property: the state stays until the next change, and differs then', () => {
    const some = fc.record({
      opens: fc.integer({ min: 0, max: 500 }),
      toDue: fc.nat(200),
      toLate: fc.nat(200),
      toClose: fc.nat(200),
    })
    fc.assert(
      fc.property(
        some,
        fc.integer({ min: -50, max: 1300 }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        ({ opens, toDue, toLate, toClose }, nowMs, part) => {
          const random: Check = {
            ...check,
            opensMs: opens,
            dueMs: opens + toDue,
            lateAfterMs: opens + toDue + toLate,
            closesMs: opens + toDue + toLate + toClose,
          }
          const next = nextChangeMs(random, undefined, nowMs)
          const state = checkState(random, undefined, nowMs)
          if (next === null) {
            expect(checkState(random, undefined, nowMs + 1e9)).toBe(state)
            return
          }
          expect(next).toBeGreaterThan(nowMs)
          expect(checkState(random, undefined, nowMs + Math.floor((next - 1 - nowMs) * part))).toBe(state)
          expect(checkState(random, undefined, next)).not.toBe(state)
        },
      ),
    )
  })
})
