/**
 * The repeat of a point-of-care critical value: within 10 min, and within 15 mg/dL (low) or 20 % (high) is confirmed
 * (CAP Q-Probes, Schifman, Arch Pathol Lab Med 2016;140:119; R). The worked pairs follow from that rule (D).
 */
import { describe, expect, it } from 'vitest'
import { judgeRepeat } from '../../shared/critical/confirm.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'

const MINUTE = 60_000
const POLICY = defaultPolicy('mg/dL', 'America/Chicago')

describe('vectors', () => {
  it.each([
    [38, 52, 8, 'low', 'confirmed'],
    [38, 54, 8, 'low', 'not-confirmed'],
    [38, 40, 11, 'low', 'outside'],
    [500, 400, 8, 'high', 'confirmed'],
    [500, 399, 8, 'high', 'not-confirmed'],
    // edges of the same rule (D)
    [38, 53, 8, 'low', 'confirmed'],
    [38, 23, 8, 'low', 'confirmed'],
    [38, 22, 8, 'low', 'not-confirmed'],
    [38, 40, 10, 'low', 'confirmed'],
    [500, 600, 8, 'high', 'confirmed'],
    [455, 546, 8, 'high', 'confirmed'],
    [455, 547, 8, 'high', 'not-confirmed'],
  ] as const)('%i then %i at + %i min (%s): %s', (first, repeat, minutes, kind, verdict) => {
    expect(
      judgeRepeat(
        {
          first: { unit: 'mg/dL', value: first },
          repeat: { unit: 'mg/dL', value: repeat },
          afterMs: minutes * MINUTE,
          kind,
        },
        POLICY,
      ),
    ).toBe(verdict)
  })

  it('does not confirm a millisecond past 10 min', () => {
    const pair = { first: { unit: 'mg/dL', value: 38 }, repeat: { unit: 'mg/dL', value: 40 }, kind: 'low' } as const
    expect([
      judgeRepeat({ ...pair, afterMs: 10 * MINUTE }, POLICY),
      judgeRepeat({ ...pair, afterMs: 10 * MINUTE + 1 }, POLICY),
      judgeRepeat({ ...pair, afterMs: 0 }, POLICY),
    ]).toEqual(['confirmed', 'outside', 'outside'])
  })
})
