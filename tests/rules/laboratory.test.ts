/** LO and HI wait for a laboratory value: which one, until when, and what ends the wait. */
import { describe, expect, it } from 'vitest'
import { laboratoryValueFor, laboratoryWait } from '../../shared/critical/laboratory.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { at, POLICY, reading } from '../support/readings.ts'

const HI = reading('HI', at('07:00'), { readingId: 'hi' })
const LO = reading('LO', at('07:20'), { readingId: 'lo' })
const venous = (value: Reading['glucose']['value'], time: string): Reading =>
  reading(value, at(time), { source: 'venous', readingId: `v${time}` })
const waits = (readings: readonly Reading[], time = '07:30'): string | null =>
  laboratoryWait(readings, POLICY, at(time))?.readingId ?? null

/** HI and LO need a laboratory sample and give no dose. The wait is a ward setting, 60 min by default. */
describe('waiting for a laboratory value', () => {
  it.each<[string, readonly Reading[], string | null]>([
    ['HI waits', [HI], 'hi'],
    ['LO waits', [LO], 'lo'],
    ['the one that waits longest', [LO, HI], 'hi'],
    ['a number does not', [reading(498, at('07:00'))], null],
    ['a later finger stick that is a number does not end it', [HI, reading(412, at('07:10'))], 'hi'],
    ['a second HI does not', [HI, reading('HI', at('07:10'))], 'hi'],
    ['a value from paper does not', [HI, reading(300, at('07:10'), { source: 'paper' })], 'hi'],
    ['a laboratory value drawn with it ends it', [HI, venous(712, '07:00')], null],
    ['one drawn after it ends it', [HI, venous(712, '07:10')], null],
    ['one drawn before it does not', [HI, venous(712, '06:59')], 'hi'],
    ['one between two ends the first wait alone', [HI, venous(712, '07:10'), LO], 'lo'],
    [
      'a laboratory value in error does not',
      [HI, { ...venous(712, '07:10'), voided: { reason: 'x', byId: 'n', atMs: 1 } }],
      'hi',
    ],
    [
      'corrected to a number: no wait',
      [{ ...HI, supersededBy: 'r2' }, reading(480, at('07:00'), { readingId: 'r2' })],
      null,
    ],
    ['a laboratory’s own LO waits for nothing', [venous('LO', '07:00')], null],
    ['one still to come does not', [reading('HI', at('07:31'))], null],
  ])('%s', (_name, readings, expected) => {
    expect(waits(readings)).toBe(expected)
  })

  it('is due 60 min after the reading, and listed as long as a missed check', () => {
    expect(laboratoryWait([HI], POLICY, at('07:30'))).toEqual({
      readingId: 'hi',
      which: 'HI',
      byMs: at('08:00'),
      untilMs: at('07:00') + 24 * 3_600_000,
    })
    expect(laboratoryWait([HI], POLICY, at('07:00') + 24 * 3_600_000)).not.toBeNull()
    expect(laboratoryWait([HI], POLICY, at('07:00') + 24 * 3_600_000 + 1)).toBeNull()
  })
  it('does not depend on the order of arrival', () => {
    const all = [HI, venous(712, '07:10'), LO, venous(60, '07:25')]
    expect(laboratoryValueFor(HI, [...all].reverse())?.readingId).toBe('v07:10')
    expect(waits(all)).toBeNull()
    expect(waits([...all].reverse())).toBeNull()
  })
})
