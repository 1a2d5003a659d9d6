/** Ward time never goes back, so that a clock set back cannot make an old reading fresh. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { monotonicWardTime } from '../../server/clocks.ts'

const HOUR = 3_600_000
const START = Date.UTC(2026, 2, 10, 12)

function clock(floorMs = 0) {
  const told: number[] = []
  const at = { wallMs: START, monoMs: 5000 }
  const now = monotonicWardTime({ now: () => at.wallMs, mono: () => at.monoMs }, floorMs, (behindMs) =>
    told.push(behindMs),
  )
  const pass = (ms: number): void => {
    at.wallMs += ms
    at.monoMs += ms
  }
  return { at, now, pass, told }
}

describe('ward time', () => {
  it('follows the machine’s clock', () => {
    const { now, pass, told } = clock()
    expect(now()).toBe(START)
    pass(1234)
    expect([now(), told]).toEqual([START + 1234, []])
  })

  it.each([HOUR, 24 * HOUR])(
    'continues when the clock is set back by %d ms, until the clock has caught up',
    (stepMs) => {
      const { at, now, pass, told } = clock()
      now()
      at.wallMs -= stepMs
      expect(now()).toBe(START)
      pass(HOUR / 2)
      expect([now(), told]).toEqual([START + HOUR / 2, [stepMs]])
      at.wallMs += stepMs + 10
      expect([now(), told]).toEqual([START + HOUR / 2 + 10, [stepMs]])
      at.wallMs -= stepMs
      now()
      expect(told).toHaveLength(2)
    },
  )

  it.each([HOUR, 24 * HOUR])('jumps when the clock is set forward by %d ms, and does not return', (stepMs) => {
    const { at, now, pass } = clock()
    now()
    at.wallMs += stepMs
    expect(now()).toBe(START + stepMs)
    at.wallMs -= stepMs
    pass(1000)
    expect(now()).toBe(START + stepMs + 1000)
  })

  it('does not start before the newest entry of the record', () => {
    const { now, pass, told } = clock(START + HOUR)
    expect([now(), told]).toEqual([START + HOUR, [HOUR]])
    pass(60_000)
    expect(now()).toBe(START + HOUR + 60_000)
  })

  it('never goes back or shortens a period, whatever the machine’s clock does', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.record({ passMs: fc.nat(10_000_000), stepMs: fc.integer({ min: -200_000_000, max: 200_000_000 }) }),
          { maxLength: 40 },
        ),
        (steps) => {
          const { at, now, pass } = clock()
          let before = now()
          for (const { passMs, stepMs } of steps) {
            pass(passMs)
            at.wallMs += stepMs
            const after = now()
            expect(after - before).toBeGreaterThanOrEqual(passMs - 1)
            before = after
          }
        },
      ),
    )
  })
})
