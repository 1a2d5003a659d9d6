/** Charting, correcting, voiding and excusing: each refusal at its edge, and the events of an accepted entry. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { CheckOutcome } from '../../shared/check/check.ts'
import { correctReading, voidReading } from '../../shared/reading/correct.ts'
import { excuseCheck } from '../../shared/reading/excuse.ts'
import { checkAt, findCheck } from '../../shared/reading/facts.ts'
import { resolveFlag } from '../../shared/reading/flag.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { recordReading } from '../../shared/reading/record.ts'
import { parseTakenAt } from '../../shared/reading/taken-at.ts'
import type { RestrictedHand } from '../../shared/stay/stay.ts'
import { at, entry, glucose, lowEvent, MINUTE, POLICY, reading, readingFacts, ZONE } from '../support/readings.ts'

const NOW = at('07:20')
const FACTS = readingFacts()

function refusal(parts: Parameters<typeof entry>[1], facts = FACTS, nowMs = NOW): string | null {
  const decision = recordReading(entry(112, parts), facts, nowMs)
  return decision.ok ? null : decision.reason
}

function recorded(
  value: Reading['glucose']['value'],
  parts: Parameters<typeof entry>[1] = {},
  facts = FACTS,
  nowMs = NOW,
): Reading {
  const decision = recordReading(entry(value, parts), facts, nowMs)
  if (!decision.ok) throw new Error(decision.reason)
  const [event] = decision.value
  if (event?.type !== 'reading-recorded') throw new Error('no reading')
  return event.body.reading
}

function withHands(...restrictedHands: RestrictedHand[]): typeof FACTS {
  return { ...FACTS, stay: { ...FACTS.stay, facts: { ...FACTS.stay.facts, restrictedHands } } }
}

it('charts a normal check as one event: author, patient, time taken, time charted', () => {
  const decision = recordReading(entry(112, { takenAtMs: at('07:10') }), FACTS, NOW)
  expect(decision).toMatchObject({
    ok: true,
    value: [
      {
        type: 'reading-recorded',
        wardId: 'ward1',
        stayId: 'stay1',
        actorId: 'nurse-a',
        happenedAtMs: at('07:10'),
        chartedAtMs: NOW,
      },
    ],
  })
  expect(recorded(112)).toMatchObject({
    wardDate: '2026-03-10',
    checkKey: 'stay1.2026-03-10.before-breakfast',
    doubts: [],
    extraReason: null,
    supersedes: null,
    supersededBy: null,
    voided: null,
  })
})

describe('refusals', () => {
  it.each([
    ['another wristband', { wristband: 'W101' }, 'wristband-wrong'],
    ['an empty wristband', { wristband: '' }, 'wristband-wrong'],
    ['a millisecond in the future', { takenAtMs: NOW + 1 }, 'time-in-future'],
    ['now', { takenAtMs: NOW }, null],
    ['exactly 15 min ago needs no reason', { takenAtMs: NOW - 15 * MINUTE }, null],
    ['a millisecond more does', { takenAtMs: NOW - 15 * MINUTE - 1 }, 'late-reason-missing'],
    ['with a reason', { takenAtMs: NOW - 15 * MINUTE - 1, lateReason: 'forgotten' }, null],
    ['no meter', { meterId: null }, 'meter-missing'],
    ['a meter that nobody knows', { meterId: 'meter0' }, 'meter-unknown'],
    ['a meter in the other unit', { meterId: 'meter3' }, 'meter-other-unit'],
    ['a value in the other unit', { glucose: glucose(62, 'mmol/L') }, 'reading-other-unit'],
    ['a lot that nobody knows', { stripLot: 'L9' }, 'strip-lot-unknown'],
    ['no lot', { stripLot: null }, null],
    ['no finger', { site: null }, 'finger-missing'],
    ['no finger for a laboratory sample', { site: null, source: 'venous', meterId: null }, null],
    ['another stay’s check', { checkKey: 'stay2.2026-03-10.before-breakfast' }, 'check-unknown'],
    ['a slot that the plan has not', { checkKey: 'stay1.2026-03-10.t0400' }, 'check-unknown'],
    ['a key that is none', { checkKey: 'x' }, 'check-unknown'],
    ['a recheck of no low event', { checkKey: 'low.low1.1' }, 'check-unknown'],
    ['a check that has not opened', { checkKey: 'stay1.2026-03-10.before-lunch' }, 'check-not-open'],
    ['an extra check without its reason', { checkKey: 'extra.stay1.x1' }, 'extra-reason-missing'],
    ['an extra check with its reason', { checkKey: 'extra.stay1.x1', extraReason: 'symptoms' }, null],
    ['another stay’s extra check', { checkKey: 'extra.stay2.x1', extraReason: 'symptoms' }, 'check-unknown'],
  ] as const)('%s', (_name, parts, reason) => {
    expect(refusal(parts)).toBe(reason)
  })

  it('refuses a time before admission, to the millisecond', () => {
    const facts = { ...FACTS, stay: { ...FACTS.stay, admittedAtMs: NOW - 5 * MINUTE } }
    const parts = { checkKey: 'extra.stay1.x1', extraReason: 'symptoms' } as const
    expect([
      refusal({ ...parts, takenAtMs: NOW - 5 * MINUTE - 1 }, facts),
      refusal({ ...parts, takenAtMs: NOW - 5 * MINUTE }, facts),
    ]).toEqual(['time-before-admission', null])
  })

  it('refuses a discharged stay', () => {
    expect(refusal({}, { ...FACTS, stay: { ...FACTS.stay, dischargedAtMs: NOW } })).toBe('stay-discharged')
  })

  it('refuses a check that is done; an excused one can still be done', () => {
    const key = 'stay1.2026-03-10.before-breakfast'
    const outcomes = (outcome: CheckOutcome): typeof FACTS => ({ ...FACTS, outcomes: new Map([[key, outcome]]) })
    expect(refusal({}, outcomes({ kind: 'done', readingId: 'r9', atMs: NOW }))).toBe('check-already-done')
    expect(
      refusal({}, outcomes({ kind: 'excused', reason: 'off-the-ward', note: '', byId: 'nurse-b', atMs: NOW })),
    ).toBe(null)
  })
})

describe('a restricted hand', () => {
  const left: RestrictedHand = { hand: 'left', reason: 'drip' }
  const right: RestrictedHand = { hand: 'right', reason: 'fistula' }
  it.each([
    ['refused while the other is free', withHands(left), 'left', 'finger-restricted'],
    ['the other hand', withHands(left), 'right', null],
    ['taken when both are restricted', withHands(left, right), 'left', null],
    ['none restricted', FACTS, 'left', null],
  ] as const)('%s', (_name, facts, hand, reason) => {
    expect(refusal({ site: { hand, finger: 'middle' } }, facts)).toBe(reason)
  })

  it('names the hand and the reason', () => {
    expect(recordReading(entry(112), withHands(left), NOW)).toMatchObject({ details: { hand: 'left', reason: 'drip' } })
  })
})

describe('doubts are charted and do not refuse the reading', () => {
  it.each([
    ['controlled that day', { meterId: 'meter1' }, []],
    ['never controlled', { meterId: 'meter2' }, ['meter-control-not-done']],
    ['control failed', { meterId: 'meter5' }, ['meter-control-not-done']],
    ['a meter of another ward', { meterId: 'meter4' }, ['meter-of-other-ward']],
    ['the lot’s last day', { stripLot: 'L1' }, []],
    ['the day after it', { stripLot: 'L0' }, ['strip-lot-expired']],
    ['both', { meterId: 'meter2', stripLot: 'L0' }, ['meter-control-not-done', 'strip-lot-expired']],
  ] as const)('%s', (_name, parts, doubts) => {
    expect(recorded(112, parts).doubts).toEqual(doubts)
  })

  it('is judged by the control that counted when it was taken, whenever it is charted', () => {
    const control = (atMs: number, passed: boolean) => {
      const meters = FACTS.meters.map((meter) => ({ ...meter, controlWhenTaken: { passed, atMs } }))
      return recorded(112, { takenAtMs: at('07:10'), lateReason: 'forgotten' }, { ...FACTS, meters }, at('08:50'))
        .doubts
    }
    expect(control(at('07:10'), true)).toEqual([])
    expect(control(at('00:00'), true)).toEqual([])
    expect(control(at('00:00') - 1, true)).toEqual(['meter-control-not-done'])
    expect(control(at('07:09'), false)).toEqual(['meter-control-not-done'])
  })
})

describe('late, after closing and on paper', () => {
  it('taken in the window and charted after it: counts for the check', () => {
    const nowMs = at('10:30')
    expect(recorded(112, { takenAtMs: at('08:59'), lateReason: 'forgotten' }, FACTS, nowMs).checkKey).toBe(
      'stay1.2026-03-10.before-breakfast',
    )
  })

  it('taken at or after closing: extra, and the check stays unaccounted for', () => {
    const nowMs = at('09:00')
    expect(recorded(112, { takenAtMs: nowMs }, FACTS, nowMs)).toMatchObject({
      checkKey: null,
      extraReason: 'after-closing',
    })
  })

  it('from paper: answers the check of its window, whoever took it', () => {
    expect(checkAt(at('07:40'), FACTS)?.key).toBe('stay1.2026-03-10.before-breakfast')
    expect(checkAt(at('03:00'), FACTS)).toBe(null)
    const done = {
      ...FACTS,
      outcomes: new Map<string, CheckOutcome>([
        ['stay1.2026-03-10.before-breakfast', { kind: 'done', readingId: 'r9', atMs: at('07:30') }],
      ]),
    }
    expect(checkAt(at('07:40'), done)).toBe(null)
    const decision = recordReading(
      entry(112, {
        checkKey: null,
        source: 'paper',
        site: null,
        meterId: null,
        stripLot: null,
        lateReason: 'charted-on-paper',
        byId: 'nurse-b',
        chartedById: 'nurse-a',
      }),
      FACTS,
      NOW,
    )
    expect(decision).toMatchObject({
      ok: true,
      value: [
        { actorId: 'nurse-a', body: { reading: { byId: 'nurse-b', source: 'paper', lateReason: 'charted-on-paper' } } },
      ],
    })
  })

  it('uses the ward’s date: 23:59 and 00:00 are two days', () => {
    const facts = { ...FACTS, stay: { ...FACTS.stay, admittedAtMs: 0 } }
    const parts = { checkKey: null, lateReason: 'other' } as const
    expect([
      recorded(112, { ...parts, takenAtMs: at('23:59', '2026-03-09') }, facts).wardDate,
      recorded(112, { ...parts, takenAtMs: at('00:00') }, facts).wardDate,
    ]).toEqual(['2026-03-09', '2026-03-10'])
  })
})

describe('low events', () => {
  function opens(value: Reading['glucose']['value'], facts = FACTS): unknown {
    const decision = recordReading(entry(value), facts, NOW)
    if (!decision.ok) throw new Error(decision.reason)
    return decision.value[1]?.body ?? null
  }

  it.each([
    [69, true],
    [70, false],
    [54, true],
    ['LO', true],
    ['HI', false],
    [112, false],
  ] as const)('%s opens one: %s', (value, does) => {
    expect(opens(value)).toEqual(does ? { lowId: 'newlow1', readingId: 'reading1', previousLowId: null } : null)
  })

  it('a low during an open event belongs to it; after closing it opens a new one, linked to the last', () => {
    const first = reading(60, at('06:00'))
    const open = lowEvent(first)
    const earlier = lowEvent(reading(58, at('01:00')), { lowId: 'low0', closedAtMs: at('03:00') })
    expect(opens(60, { ...FACTS, readings: [first], lows: [open] })).toBe(null)
    expect(opens(60, { ...FACTS, lows: [earlier, { ...open, closedAtMs: at('07:00') }] })).toEqual({
      lowId: 'newlow1',
      readingId: 'reading1',
      previousLowId: 'low1',
    })
  })

  it('a recheck is charted under its cycle; a future cycle is not found', () => {
    const first = reading(60, at('07:00'))
    const facts = { ...FACTS, readings: [first], lows: [lowEvent(first)] }
    expect([refusal({ checkKey: 'low.low1.1' }, facts), refusal({ checkKey: 'low.low1.2' }, facts)]).toEqual([
      null,
      'check-unknown',
    ])
    expect(findCheck('low.low1.1', facts, NOW)?.dueMs).toBe(at('07:15'))
  })

  it('property: below the limit exactly when an event is opened or open', () => {
    fc.assert(
      fc.property(fc.integer({ min: 20, max: 600 }), (value) => {
        expect(opens(value) !== null).toBe(value < POLICY.limits.low)
      }),
    )
  })
})

describe('correcting', () => {
  const wrong = reading(187, at('07:10'), {
    readingId: 'r1',
    checkKey: 'stay1.2026-03-10.before-breakfast',
    doubts: ['strip-lot-expired'],
  })
  const fix = (value: Reading['glucose']['value'], parts = {}): Parameters<typeof correctReading>[0] => ({
    readingId: 'r2',
    newLowId: 'newlow1',
    wristband: 'W100',
    glucose: glucose(value),
    reason: 'typed wrongly',
    byId: 'nurse-b',
    ...parts,
  })

  it('adds a reading with the same time, check, finger, meter and doubts, and names the old one', () => {
    const decision = correctReading(fix(178), wrong, FACTS, NOW)
    expect(decision).toMatchObject({
      ok: true,
      value: [
        {
          type: 'reading-recorded',
          actorId: 'nurse-b',
          happenedAtMs: at('07:10'),
          chartedAtMs: NOW,
          body: {
            reading: {
              ...wrong,
              readingId: 'r2',
              glucose: glucose(178),
              byId: 'nurse-b',
              chartedAtMs: NOW,
              supersedes: { readingId: 'r1', reason: 'typed wrongly' },
            },
          },
        },
      ],
    })
  })

  it('opens a low event when corrected to a low; from a low it opens and closes none', () => {
    const toLow = correctReading(fix(52), wrong, FACTS, NOW)
    expect(toLow).toMatchObject({ ok: true, value: [{}, { type: 'low-event-opened', body: { readingId: 'r2' } }] })
    const low = reading(52, at('07:10'), { readingId: 'r1' })
    const fromLow = correctReading(fix(152), low, { ...FACTS, readings: [low], lows: [lowEvent(low)] }, NOW)
    expect(fromLow.ok && fromLow.value.map(({ type }) => type)).toEqual(['reading-recorded'])
  })

  it.each([
    ['another wristband', fix(178, { wristband: 'W101' }), wrong, 'wristband-wrong'],
    ['the same value', fix(187), wrong, 'correction-same-value'],
    ['the other unit', fix(178, { glucose: glucose(99, 'mmol/L') }), wrong, 'reading-other-unit'],
    ['corrected already', fix(178), { ...wrong, supersededBy: 'r9' }, 'reading-already-corrected'],
    [
      'in error already',
      fix(178),
      { ...wrong, voided: { reason: 'x', byId: 'nurse-a', atMs: NOW } },
      'reading-already-in-error',
    ],
  ])('refuses %s', (_name, entered, of, reason) => {
    expect(correctReading(entered, of, FACTS, NOW)).toMatchObject({ ok: false, reason })
  })

  it('voiding is one event of the reading; a second is a conflict', () => {
    expect(voidReading({ reason: 'wrong patient', byId: 'nurse-b' }, wrong, NOW, FACTS)).toMatchObject({
      ok: true,
      value: [
        {
          type: 'reading-voided',
          actorId: 'nurse-b',
          happenedAtMs: NOW,
          body: { readingId: 'r1', reason: 'wrong patient' },
        },
      ],
    })
    expect(
      voidReading(
        { reason: 'x', byId: 'nurse-b' },
        { ...wrong, voided: { reason: 'x', byId: 'nurse-a', atMs: NOW } },
        NOW,
        FACTS,
      ),
    ).toMatchObject({ reason: 'reading-already-in-error' })
    expect(voidReading({ reason: 'x', byId: 'nurse-b' }, { ...wrong, supersededBy: 'r9' }, NOW, FACTS)).toMatchObject({
      reason: 'reading-already-corrected',
    })
  })
})

describe('resolving a flag', () => {
  const gone = reading(52, at('07:00'), { readingId: 'r1', supersededBy: 'r2' })
  const now = reading(152, at('07:00'), { readingId: 'r2', supersedes: { readingId: 'r1', reason: 'typo' } })
  const facts = {
    flagId: 'flag.low1',
    stayId: 'stay1',
    wardId: 'ward1',
    low: lowEvent(gone),
    readings: [gone, now],
    policy: POLICY,
  }
  const types = (closeLow: boolean, parts = {}): unknown => {
    const decision = resolveFlag({ note: 'no low', closeLow, byId: 'nurse-a' }, { ...facts, ...parts }, NOW)
    return decision.ok ? decision.value.map(({ type }) => type) : decision.reason
  }

  it.each([
    ['with a note', false, {}, ['flag-resolved']],
    ['and the low event closed as an error', true, {}, ['flag-resolved', 'low-event-closed']],
    [
      'not while a reading that counts is low',
      true,
      { readings: [gone, now, reading(60, at('07:15'))] },
      'flag-low-still-low',
    ],
    [
      'a low that is closed already stays as it is',
      true,
      { low: lowEvent(gone, { closedAtMs: at('07:10') }) },
      ['flag-resolved'],
    ],
  ])('%s', (_name, closeLow, parts, expected) => {
    expect(types(closeLow, parts)).toEqual(expected)
  })

  it('needs a note', () => {
    expect(resolveFlag({ note: '  ', closeLow: false, byId: 'nurse-a' }, facts, NOW)).toMatchObject({
      reason: 'flag-note-missing',
    })
  })
})

describe('excusing', () => {
  const check = findCheck('stay1.2026-03-10.before-breakfast', FACTS, NOW)
  if (check === null) throw new Error('the plan has this check')
  const excuse = (
    reason: Parameters<typeof excuseCheck>[0]['reason'],
    parts: { nowMs?: number; outcome?: CheckOutcome; note?: string; kind?: 'planned' | 'recheck' | 'extra' } = {},
  ): string | null => {
    const decision = excuseCheck(
      { reason, note: parts.note ?? '', byId: 'nurse-a' },
      { check: { ...check, kind: parts.kind ?? 'planned' }, outcome: parts.outcome, wardId: 'ward1' },
      parts.nowMs ?? NOW,
    )
    return decision.ok ? null : decision.reason
  }

  it.each([
    ['a reason for now', 'off-the-ward', {}, null],
    ['a reason for a missed one, too early', 'workload', {}, 'excuse-reason-wrong'],
    ['missed from its closing on', 'workload', { nowMs: at('09:00') }, null],
    ['a reason for now, when it is missed', 'order-changed', { nowMs: at('09:00') }, 'excuse-reason-wrong'],
    ['another reason without a note', 'other', { note: '  ' }, 'excuse-note-missing'],
    ['another reason with one', 'other', { note: 'at the hairdresser’s' }, null],
    ['a recheck', 'refused', { kind: 'recheck' }, 'excuse-recheck'],
    ['an extra check', 'refused', { kind: 'extra' }, 'excuse-extra'],
    ['done already', 'refused', { outcome: { kind: 'done', readingId: 'r1', atMs: NOW } }, 'excuse-already-done'],
    [
      'excused already',
      'refused',
      { outcome: { kind: 'excused', reason: 'refused', note: '', byId: 'n', atMs: NOW } },
      'excuse-already-excused',
    ],
  ] as const)('%s', (_name, reason, parts, expected) => {
    expect(excuse(reason, parts)).toBe(expected)
  })
})

describe('typed time of a reading', () => {
  it.each([
    ['', '07:20', NOW],
    ['07:05', '07:20', at('07:05')],
    ['7:05', '07:20', at('07:05')],
    ['0705', '07:20', at('07:05')],
    ['705', '07:20', at('07:05')],
    ['07:20', '07:20', NOW],
    // a slip stays in the future, to be refused; only times impossible for today are yesterday's
    ['07:50', '07:20', at('07:50')],
    ['23:55', '00:05', at('23:55', '2026-03-09')],
    ['12:05', '00:05', at('12:05')],
    ['12:06', '00:05', at('12:06', '2026-03-09')],
    ['2026-03-09T22:10', '07:20', at('22:10', '2026-03-09')],
    ['2026-03-09 22:10', '07:20', at('22:10', '2026-03-09')],
  ])('%j at %s', (typed, now, expected) => {
    expect(parseTakenAt(typed, ZONE, at(now))).toEqual({ ok: true, value: expected })
  })

  it.each(['25:00', '07:60', 'x', '7', '07:05:00:00', '2026-02-30T07:00', '-1:00', '١٢:٠٠'])('refuses %j', (typed) => {
    expect(parseTakenAt(typed, ZONE, NOW)).toMatchObject({ ok: false, reason: 'time-not-read' })
  })

  it('means the past occurrence in the repeated hour of autumn', () => {
    // 1 November 2026: 01:30 occurs twice in Chicago, at 06:30 and 07:30 UTC
    expect(parseTakenAt('01:30', ZONE, Date.UTC(2026, 10, 1, 6, 45))).toEqual({
      ok: true,
      value: Date.UTC(2026, 10, 1, 6, 30),
    })
    expect(parseTakenAt('01:30', ZONE, Date.UTC(2026, 10, 1, 7, 45))).toEqual({
      ok: true,
      value: Date.UTC(2026, 10, 1, 7, 30),
    })
  })
})

it('property: the same entry and facts give the same events, and inputs are not changed', () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 20, max: 600 }),
      fc.integer({ min: 0, max: 10_000 }),
      fc.constantFrom('meter1', 'meter2', 'meter3', 'none'),
      (value, backSeconds, meterId) => {
        const entered = Object.freeze(entry(value, { takenAtMs: NOW - backSeconds * 1000, meterId }))
        expect(recordReading(entered, FACTS, NOW)).toEqual(recordReading(entered, FACTS, NOW))
      },
    ),
  )
})
