/** When a login ends by time alone. */
import { describe, expect, it } from 'vitest'
import { idleLeftMs, isLoginOver } from '../../shared/staff/login.ts'

const MINUTE = 60_000
const HOUR = 60 * MINUTE
const LIMITS = { idleLockMin: 10, longestHours: 13 }
const BUSY = { startedMonoMs: 0, lastUsedMonoMs: 13 * HOUR - 1 }

describe('a login', () => {
  it.each([
    ['used now', { startedMonoMs: 5000, lastUsedMonoMs: 5000 }, 5000, false],
    ['a millisecond before the idle lock', { startedMonoMs: 0, lastUsedMonoMs: MINUTE }, 11 * MINUTE - 1, false],
    ['idle for exactly the minutes of the ward', { startedMonoMs: 0, lastUsedMonoMs: MINUTE }, 11 * MINUTE, true],
    ['busy, a millisecond before the longest hours', BUSY, 13 * HOUR - 1, false],
    ['busy, at the longest hours', BUSY, 13 * HOUR, true],
    ['past both', { startedMonoMs: 0, lastUsedMonoMs: 0 }, 20 * HOUR, true],
  ])('%s', (_name, login, monoMs, over) => {
    expect(isLoginOver(login, LIMITS, monoMs)).toBe(over)
  })

  it('has no idle lock without a limit, and still ends after the longest hours', () => {
    const limits = { idleLockMin: Number.POSITIVE_INFINITY, longestHours: 13 }
    expect(isLoginOver({ startedMonoMs: 0, lastUsedMonoMs: 0 }, limits, 12 * HOUR)).toBe(false)
    expect(isLoginOver({ startedMonoMs: 0, lastUsedMonoMs: 0 }, limits, 13 * HOUR)).toBe(true)
  })

  it('says how long is left until the idle lock', () => {
    expect(idleLeftMs({ startedMonoMs: 0, lastUsedMonoMs: 2 * MINUTE }, 10, 5 * MINUTE)).toBe(7 * MINUTE)
  })
})
