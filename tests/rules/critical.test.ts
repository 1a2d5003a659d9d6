/** Critical results: limits, confirmation, effect on a dose, and the call. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { tellCritical } from '../../shared/critical/call.ts'
import { confirmationOf, criticalConfirmed, criticalKind, judgeRepeat } from '../../shared/critical/confirm.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { at, glucose, lowEvent, MINUTE, MMOL_POLICY, POLICY, reading, treatment } from '../support/readings.ts'

const NOW = at('08:00')

function facts(
  readings: readonly Reading[],
  lows: readonly LowEvent[] = [],
  nowMs = NOW,
): Parameters<typeof confirmationOf>[1] {
  return { readings, lows, policy: POLICY, nowMs }
}

describe('limits of critical values (the ward’s own: below 50, above 400 mg/dL; common practice)', () => {
  it.each([
    [50, null],
    [49, 'low'],
    ['LO', 'low'],
    [400, null],
    [401, 'high'],
    ['HI', 'high'],
    [112, null],
  ] as const)('%s: %s', (value, kind) => {
    expect(criticalKind(glucose(value), POLICY)).toBe(kind)
  })
  it.each([
    [28, null],
    [27, 'low'],
    [222, null],
    [223, 'high'],
  ] as const)('%i tenths of mmol/L: %s', (value, kind) => {
    expect(criticalKind(glucose(value, 'mmol/L'), MMOL_POLICY)).toBe(kind)
  })
})

describe('LO and HI', () => {
  it.each([
    ['LO', 'LO', 'low', 'confirmed'],
    ['HI', 'HI', 'high', 'confirmed'],
    ['LO', 30, 'low', 'not-confirmed'],
    [590, 'HI', 'high', 'not-confirmed'],
    ['HI', 'LO', 'high', 'not-confirmed'],
  ] as const)('%s then %s: %s %s', (first, repeat, kind, verdict) => {
    expect(judgeRepeat({ first: glucose(first), repeat: glucose(repeat), afterMs: 5 * MINUTE, kind }, POLICY)).toBe(
      verdict,
    )
  })
})

describe('state of a critical value', () => {
  const high = reading(500, at('07:20'))
  const low = reading(38, at('07:20'))
  it.each([
    ['not critical', reading(112, at('07:20')), [], NOW, null],
    ['nothing yet, in time', high, [], at('07:30'), 'awaiting-repeat'],
    ['nothing, too late', high, [], at('07:30') + 1, 'outside'],
    ['agrees', high, [reading(400, at('07:28'))], NOW, 'confirmed'],
    ['does not', high, [reading(399, at('07:28'))], NOW, 'not-confirmed'],
    ['does not, then the third does', high, [reading(399, at('07:25')), reading(480, at('07:29'))], NOW, 'confirmed'],
    ['a repeat too late', high, [reading(490, at('07:31'))], NOW, 'outside'],
    [
      'a voided repeat is none',
      high,
      [reading(490, at('07:25'), { voided: { reason: 'x', byId: 'n', atMs: NOW } })],
      NOW,
      'outside',
    ],
    ['a low that its repeat confirms', low, [reading(52, at('07:28'))], NOW, 'confirmed'],
    ['a low that it does not', low, [reading(54, at('07:28'))], NOW, 'not-confirmed'],
  ] as const)('%s', (_name, first, others, nowMs, expected) => {
    expect(confirmationOf(first, facts([first, ...others], [], nowMs))).toBe(expected)
  })

  it('needs no repeat when measured by the laboratory', () => {
    const venous = reading(500, at('07:20'), { source: 'venous' })
    expect(confirmationOf(venous, facts([venous]))).toBe('confirmed')
  })

  it('counts the next value as a recheck once a low is being treated', () => {
    const second = reading(40, at('07:25'))
    expect(confirmationOf(low, facts([low, second]))).toBe('confirmed')
    expect(confirmationOf(low, facts([low, second], [lowEvent(low, { treatments: [treatment(at('07:22'))] })]))).toBe(
      'outside',
    )
  })

  it('confirms a critical repeat by the first value', () => {
    const second = reading(480, at('07:25'))
    expect(confirmationOf(second, facts([high, second]))).toBe('confirmed')
  })
})

describe('effect on a dose: an unconfirmed critical high gives none', () => {
  const high = reading(500, at('07:20'))
  const confirmed = (readings: readonly Reading[]): boolean | null => {
    const last = readings.at(-1)
    return last === undefined ? null : criticalConfirmed(last, facts(readings))
  }
  it.each([
    ['an ordinary value', [reading(187, at('07:20'))], null],
    ['unconfirmed', [high], false],
    ['the repeat agrees and is not critical itself: its value is used', [high, reading(400, at('07:28'))], true],
    ['the repeat agrees and is critical', [high, reading(450, at('07:28'))], true],
    ['the repeat does not agree: a third stick', [high, reading(250, at('07:28'))], false],
    ['the third agrees with the second', [high, reading(250, at('07:25')), reading(260, at('07:29'))], true],
    ['the third agrees with the first', [high, reading(250, at('07:25')), reading(480, at('07:29'))], true],
    ['the third agrees with neither', [high, reading(250, at('07:25')), reading(350, at('07:29'))], false],
    ['a low-ish value too late is still in doubt', [high, reading(250, at('07:40'))], false],
    ['after an hour it stands alone', [high, reading(250, at('08:20') + 1)], null],
    ['a laboratory value settles it', [high, reading(250, at('07:40'), { source: 'venous' })], null],
    [
      'and what follows the laboratory value',
      [high, reading(250, at('07:30'), { source: 'venous' }), reading(240, at('07:45'))],
      null,
    ],
    ['a critical laboratory value is confirmed', [reading(500, at('07:20'), { source: 'venous' })], true],
    [
      'a voided critical high leaves no doubt',
      [{ ...high, voided: { reason: 'x', byId: 'n', atMs: NOW } }, reading(250, at('07:28'))],
      null,
    ],
    ['a critical low casts none', [reading(38, at('07:20')), reading(187, at('07:28'))], null],
  ])('%s', (_name, readings, expected) => {
    expect(confirmed(readings)).toBe(expected)
  })

  it('property: a critical high and later values that disagree with it never lead to a dose', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 401, max: 600 }),
        fc.integer({ min: 71, max: 600 }),
        fc.integer({ min: 1, max: 60 }),
        (first, second, minutes) => {
          fc.pre(minutes > 10 || Math.abs(first - second) * 5 > first)
          const readings = [
            reading(first, at('07:00'), { readingId: 'a' }),
            reading(second, at('07:00') + minutes * MINUTE, { readingId: 'b' }),
          ]
          expect(readings.map((one, i) => criticalConfirmed(one, facts(readings.slice(0, i + 1))))).toEqual([
            false,
            false,
          ])
        },
      ),
    )
  })
})

describe('call', () => {
  const critical = reading(38, at('07:20'), { readingId: 'r1' })
  const said = { told: ' Dr Weir ', readBack: true, ordered: ' dextrose ', byId: 'nurse-a' }
  it('is one event: recipient, read-back, orders', () => {
    expect(tellCritical(said, { reading: critical, isOpen: true }, NOW)).toMatchObject({
      ok: true,
      value: [
        {
          type: 'critical-told',
          happenedAtMs: NOW,
          body: { readingId: 'r1', told: 'Dr Weir', readBack: true, ordered: 'dextrose' },
        },
      ],
    })
  })
  it.each([
    ['not read back', { ...said, readBack: false }, critical, true, 'call-not-read-back'],
    ['nobody named', { ...said, told: '  ' }, critical, true, 'call-told-missing'],
    ['told already', said, critical, false, 'call-not-open'],
    ['corrected', said, { ...critical, supersededBy: 'r2' }, true, 'call-reading-not-current'],
  ])('refuses: %s', (_name, entered, of, isOpen, reason) => {
    expect(tellCritical(entered, { reading: of, isOpen }, NOW)).toMatchObject({ ok: false, reason })
  })
})
