/**
 * The short audit of a low: the step shown for each kind, repeated lows, the summary, and who did what with the
 * insulin.
 */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { antecedentsOf } from '../../shared/audit/antecedents.ts'
import { auditLevel, lowRun, stepShown, verdictOn } from '../../shared/audit/low-audit.ts'
import type { AuditedStep } from '../../shared/audit/low-steps.ts'
import type { LineFact } from '../../shared/low/line.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import { formatShortName } from '../../views/format.ts'
import { ordinal, stepClock, stepsSummary, storyText } from '../../views/words/audit.ts'
import { happenedText, type HappenedContext } from '../../views/words/happened.ts'
import { by, FIRST, NOTHING_CHARTED } from '../support/lows.ts'
import { at, doseOf, lowEvent, MINUTE, POLICY, reading, ZONE } from '../support/readings.ts'

const step = (parts: Partial<AuditedStep>): AuditedStep => ({
  kind: 'recheck',
  number: 1,
  fromMs: 0,
  dueMs: 15 * MINUTE,
  doneMs: 15 * MINUTE,
  verdict: 'kept',
  byMs: 0,
  ...parts,
})

describe('step shown for each kind', () => {
  const kept = step({ doneMs: 14 * MINUTE })
  const slower = step({ number: 2, doneMs: 15 * MINUTE })
  const late = step({ number: 3, doneMs: 16 * MINUTE, verdict: 'late', byMs: MINUTE })
  const later = step({ number: 4, doneMs: 19 * MINUTE, verdict: 'late', byMs: 4 * MINUTE })
  const waiting = step({ number: 5, doneMs: null, verdict: 'waiting' })
  it.each([
    ['all kept: the slowest', [kept, slower], 2],
    ['one late among kept ones', [slower, late, kept], 3],
    ['several late: the one by most', [late, later, kept], 4],
    ['one missed is worse than one late', [later, step({ number: 6, doneMs: null, verdict: 'missed', byMs: 0 })], 6],
    ['waiting only when nothing else is known', [waiting, kept], 1],
  ] as const)('%s', (_name, steps, number) => {
    expect(stepShown(steps, 'recheck')?.number).toBe(number)
  })
  it('is none when none was due', () => {
    expect(stepShown([kept], 'treat')).toBeNull()
  })
  it('has a time that agrees with its verdict, in any list', () => {
    const any = fc.array(fc.record({ number: fc.integer({ min: 1, max: 9 }), took: fc.integer({ min: 0, max: 60 }) }), {
      minLength: 1,
      maxLength: 8,
    })
    fc.assert(
      fc.property(any, (drawn) => {
        const steps = drawn.map(({ number, took }) =>
          step({
            number,
            doneMs: took * MINUTE,
            verdict: took <= 15 ? 'kept' : 'late',
            byMs: Math.max(0, took - 15) * MINUTE,
          }),
        )
        const shown = stepShown(steps, 'recheck')
        expect(shown?.verdict).toBe(verdictOn(steps, 'recheck'))
        expect(shown?.doneMs).toBe(Math.max(...drawn.map(({ took }) => took)) * MINUTE)
      }),
    )
  })
  it('names the start of its time limit', () => {
    expect(stepClock(late, '16 min', '15 min')).toBe('16 min after treatment (limit 15 min)')
    expect(stepClock({ kind: 'treat', number: 1 }, '7 min', '5 min')).toBe('7 min after the first value (limit 5 min)')
    expect(stepClock({ kind: 'treat', number: 2 }, '7 min', '5 min')).toBe(
      '7 min after the value that asked for it (limit 5 min)',
    )
  })
})

it.each([
  [['kept'], 'The one step kept.'],
  [['kept', 'kept'], 'All 2 steps kept.'],
  [['kept', 'waiting'], 'The one step kept. 1 not due yet.'],
  [['waiting'], '1 not due yet.'],
  [['kept', 'late', 'late'], '2 of 3 steps late.'],
  [['missed', 'kept'], '1 of 2 steps missed.'],
  [['late', 'missed', 'kept', 'waiting'], '1 of 3 steps late, 1 missed. 1 not due yet.'],
  [[], ''],
] as const)('summarises steps %j in a sentence', (verdicts, wanted) => {
  expect(stepsSummary(verdicts.map((verdict) => ({ verdict })))).toBe(wanted)
})

it.each([
  [1, '1st'],
  [2, '2nd'],
  [3, '3rd'],
  [4, '4th'],
  [11, '11th'],
  [12, '12th'],
  [13, '13th'],
  [21, '21st'],
  [112, '112th'],
])('%i is %s', (n, wanted) => {
  expect(ordinal(n)).toBe(wanted)
})

it.each([
  ['Marguerite Olsen', 'M. Olsen'],
  ['Inês  Carvalho', 'I. Carvalho'],
  ['Ana Maria de Sá', 'A. Sá'],
  ['Tomasz', 'Tomasz'],
  ['–', '–'],
])('%s is short %s', (name, wanted) => {
  expect(formatShortName(name)).toBe(wanted)
})

describe('repeated lows of one stay', () => {
  const low = (id: string, time: string, date: string, inError = false): LowEvent =>
    lowEvent(reading(60, at(time, date)), {
      lowId: id,
      charted: inError
        ? { ...NOTHING_CHARTED, closing: { ...by(at(time, date)), cause: 'entered-in-error', note: '' } }
        : NOTHING_CHARTED,
    })
  const last = low('z', '03:00', '2026-03-10')
  const runOf = (others: readonly LowEvent[]): unknown => lowRun(last, [...others, last], ZONE)
  it.each([
    ['alone', [], null],
    ['another of the same day', [low('a', '00:10', '2026-03-10')], { count: 2, days: 1 }],
    ['over four days', [low('a', '09:00', '2026-03-07'), low('b', '09:00', '2026-03-09')], { count: 3, days: 4 }],
    ['the first day of a week counts', [low('a', '23:50', '2026-03-04')], { count: 2, days: 7 }],
    ['the day before it does not', [low('a', '23:50', '2026-03-03')], null],
    ['one that was entered in error does not', [low('a', '01:00', '2026-03-10', true)], null],
    ['one that came later does not', [low('a', '04:00', '2026-03-10')], null],
  ] as const)('%s', (_name, others, wanted) => {
    expect(runOf(others)).toEqual(wanted)
  })
  it('use days of the ward’s calendar, across a clock change', () => {
    // 8 March 2026 has 23 hours in Chicago
    expect(
      lowRun(low('z', '00:05', '2026-03-09'), [low('a', '23:55', '2026-03-07'), low('z', '00:05', '2026-03-09')], ZONE),
    ).toEqual({ count: 2, days: 3 })
  })
})

it('level 3 is a nurse’s finding whatever the number; without a low value there is none', () => {
  const found = lowEvent(FIRST, {
    charted: { ...NOTHING_CHARTED, findings: [{ ...by(at('03:01')), finding: 'confused-needs-help' }] },
  })
  expect([
    auditLevel(found, FIRST.glucose, POLICY),
    auditLevel(lowEvent(FIRST), FIRST.glucose, POLICY),
    auditLevel(found, null, POLICY),
  ]).toEqual([3, 2, null])
})

describe('summary', () => {
  const value: LineFact = { kind: 'reading', readingId: 'r1', glucose: { unit: 'mg/dL', value: 84 }, part: 'recovery' }
  const answers = { ivWorking: true, tubeUsable: null } as const
  it.each<[LineFact, string | null, string | null]>([
    [{ ...value, part: 'first' }, '57 mg/dL', '57 mg/dL, recheck'],
    [value, '84 mg/dL', '84 mg/dL, recheck: recovered'],
    [value, null, 'recheck, value awaiting second check'],
    [{ kind: 'answers', answers: { ...answers, swallowing: 'safely' } }, null, null],
    [
      { kind: 'answers', answers: { ...answers, swallowing: 'unresponsive' } },
      null,
      'Cannot swallow safely, seen by M. Olsen',
    ],
    [
      { kind: 'finding', finding: 'confused-needs-help' },
      null,
      'Level 3 found: confused or weak, needs another person’s help',
    ],
    [{ kind: 'emergency-call' }, null, 'Emergency call, M. Olsen'],
    [
      { kind: 'treatment', arm: 'by-mouth', amount: { kind: 'grams', grams: 15 }, what: 'Juice', directedBy: null },
      null,
      'Treated: 15 g juice, M. Olsen',
    ],
    [
      { kind: 'treatment', arm: 'glucagon', amount: { kind: 'glucagon', milligrams: 1 }, what: '', directedBy: null },
      null,
      'Treated: 1 mg glucagon into the muscle, M. Olsen',
    ],
    [
      { kind: 'treatment', arm: 'by-direction', amount: null, what: 'Dextrose', directedBy: 'Dr. Kim' },
      null,
      'Treated: dextrose, M. Olsen',
    ],
    [{ kind: 'food', grams: 20, what: 'Toast' }, null, 'Toast, 20 g, M. Olsen'],
    [{ kind: 'told', told: 'Dr. Kim', ordered: '' }, null, 'Dr. Kim told'],
    [{ kind: 'told', told: 'Dr. Kim', ordered: 'no change' }, null, 'Dr. Kim told: no change'],
    [{ kind: 'insulin-answer', told: 'Dr. Kim', decision: 'hold', ordered: '' }, null, 'Insulin: hold it (Dr. Kim)'],
    [{ kind: 'closed', cause: 'renal', note: '' }, null, 'Closed, M. Olsen'],
  ])('%j', (fact, shown, wanted) => {
    expect(storyText(fact, shown, 'recheck', 'M. Olsen')).toBe(wanted)
  })
})

describe('nurses who worked out, gave and checked a dose', () => {
  const NAMES: Readonly<Record<string, string>> = {
    'nurse-a': 'M. Olsen',
    'nurse-b': 'R. Achebe',
    'nurse-c': 'T. Wilk',
  }
  const context: HappenedContext = {
    policy: POLICY,
    nowMs: at('12:00'),
    nameOf: (id) => NAMES[id] ?? id,
    wardName: (id) => id,
    valueOf: () => '215 mg/dL',
    doseText: () => '4 units of insulin lispro',
    lowText: () => '',
    partOf: () => null,
    isListed: () => true,
  }
  const from = reading(215, at('07:20'))
  const checked = { byId: 'nurse-b', atMs: at('07:24'), glucose: from.glucose, units: 4, agreed: true }
  const said = (giver: string, reader: string): readonly string[] => {
    const dose = {
      ...doseOf(from, {
        secondCheckRequired: true,
        answers: [checked],
        product: {
          byId: reader,
          atMs: at('07:30'),
          insulin: 'insulin lispro',
          concentration: 'U-100',
          expiresOn: '2027-01-31',
          units: 4,
        },
      }),
      outcome: {
        kind: 'given',
        byId: giver,
        atMs: at('07:35'),
        site: { area: 'abdomen', side: 'left' },
        food: 'tray-here',
      },
    } as const
    const facts = {
      stay: { admittedAtMs: 0, dischargedAtMs: null },
      facts: [],
      beds: [],
      interruptions: [],
      plans: [],
      readings: [],
      doses: [dose],
      outsideDoses: [],
      trays: [],
      orders: [],
      orderStops: [],
      lows: [],
      criticalCalls: [],
      symptoms: [],
    }
    const [one] = antecedentsOf(facts, at('09:50'), POLICY)
    return one === undefined ? [] : happenedText(one, context).detail
  }
  it('one nurse works it out and gives it, another checks', () => {
    expect(said('nurse-a', 'nurse-b')).toEqual(
      expect.arrayContaining(['worked out and given by M. Olsen', 'second check by R. Achebe at 07:24']),
    )
    expect(said('nurse-a', 'nurse-b').join(' ')).not.toContain('product')
  })
  it('given by somebody else, the product read by a third', () => {
    expect(said('nurse-c', 'nurse-c')).toEqual(
      expect.arrayContaining([
        'worked out by M. Olsen, given by T. Wilk',
        'second check by R. Achebe at 07:24',
        'product read by T. Wilk',
      ]),
    )
  })
})
