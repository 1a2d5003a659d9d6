/**
 * The low event as a state machine: treatment path, next step and deadline, requirements to close, and charted
 * events.
 */
import { describe, expect, it } from 'vitest'
import { armFor, type ArmFacts } from '../../shared/low/arm.ts'
import {
  answerAtBedside,
  armKey,
  callEmergency,
  findLevelThree,
  giveFood,
  tellPrescriber,
  treatLow,
  type TreatmentEntry,
} from '../../shared/low/chart.ts'
import { closeLow } from '../../shared/low/close.ts'
import { lowState, type LowFacts } from '../../shared/low/event.ts'
import { answerInsulinQuestion } from '../../shared/low/insulin.ts'
import { lowLine, lowTimes } from '../../shared/low/line.ts'
import { NOTHING_CHARTED, type BedsideAnswers, type LowEvent } from '../../shared/low/low.ts'
import { treatSymptoms } from '../../shared/low/symptoms.ts'
import { at, glucose, lowEvent, MINUTE, POLICY, reading } from '../support/readings.ts'
import { by, factsOf, FIRST, fold, mouth, NURSE, recheckOf, SAFE, SIGNED, stateOf, withLow } from '../support/lows.ts'
import { someFacts } from '../support/makers.ts'

const told = (atMs: number) => ({ ...by(atMs), told: 'Dr. Vera Kim', ordered: '' })
const steps = (parts: Partial<LowFacts>): readonly string[] => stateOf(parts).steps.map(({ kind }) => kind)
const charted = (parts: Partial<LowEvent['charted']>): LowEvent['charted'] => ({ ...NOTHING_CHARTED, ...parts })
/** Refused with a reason, or the event after the accepted entry. */
const reasonOf = (outcome: { readonly ok: boolean; readonly reason?: string }): string | null =>
  outcome.ok ? null : (outcome.reason ?? '')

describe('the treatment path follows the present findings in this order', () => {
  const facts = (answers: Partial<BedsideAnswers>, parts: Partial<ArmFacts> = {}): ArmFacts => ({
    answers: { ...SAFE, ...answers },
    nilByMouth: false,
    levelThree: false,
    glucose: glucose(60),
    failedCycles: 0,
    policy: SIGNED,
    ...parts,
  })
  it.each([
    ['swallows safely', facts({}), 'by-mouth', false],
    ['nil by mouth, IV working', facts({ ivWorking: true }, { nilByMouth: true }), 'iv-dextrose', false],
    ['nil by mouth, no IV', facts({}, { nilByMouth: true }), 'glucagon', false],
    ['cannot swallow safely, IV working', facts({ swallowing: 'not-safely', ivWorking: true }), 'iv-dextrose', false],
    ['cannot swallow safely, no IV', facts({ swallowing: 'not-safely' }), 'glucagon', false],
    ['fed by tube', facts({ swallowing: 'not-safely', ivWorking: true, tubeUsable: true }), 'by-tube', false],
    [
      'fed by tube, tube not usable',
      facts({ swallowing: 'not-safely', ivWorking: true, tubeUsable: false }),
      'iv-dextrose',
      false,
    ],
    ['unresponsive, IV working', facts({ swallowing: 'unresponsive', ivWorking: true }), 'iv-dextrose', true],
    ['unresponsive: never by tube or mouth', facts({ swallowing: 'unresponsive', tubeUsable: true }), 'glucagon', true],
    ['level 3 found before, swallows safely', facts({}, { levelThree: true }), 'by-mouth', true],
    ...(
      [
        ['by mouth although the IV works', { ivWorking: true }, {}, 'by-mouth'],
        [
          'into the IV before the tube',
          { swallowing: 'not-safely', ivWorking: true, tubeUsable: true },
          {},
          'iv-dextrose',
        ],
        ['by tube without an IV', { swallowing: 'not-safely', tubeUsable: true }, {}, 'by-tube'],
        ['glucagon without IV or tube', { swallowing: 'not-safely', tubeUsable: false }, {}, 'glucagon'],
        [
          'by tube where no order covers the IV',
          { swallowing: 'not-safely', ivWorking: true, tubeUsable: true },
          { policy: POLICY },
          'by-tube',
        ],
        [
          'glucagon where only its order is signed',
          { swallowing: 'not-safely', ivWorking: true },
          { policy: withLow({ standingOrders: { dextrose: false, glucagon: true } }) },
          'glucagon',
        ],
        ['never by tube when unresponsive', { swallowing: 'unresponsive', tubeUsable: true }, {}, 'glucagon'],
      ] as const
    ).map(
      ([name, answers, parts, arm]) =>
        [`level 3: ${name}`, facts(answers, { levelThree: true, ...parts }), arm, true] as const,
    ),
    ['three cycles by tube', facts({ tubeUsable: true }, { failedCycles: 3 }), 'glucagon', false],
  ] as const)('%s', (_name, given, arm, emergency) => {
    expect(armFor(given)).toMatchObject({ kind: 'give', arm, emergency })
  })
  it('gives glucagon once: the second is the prescriber’s', () => {
    const given = facts({ swallowing: 'unresponsive' }, { glucagonGiven: true })
    expect(armFor(given)).toEqual({ kind: 'call', wouldBe: 'glucagon', emergency: true })
    expect(armFor({ ...given, answers: { ...given.answers, ivWorking: true } })).toMatchObject({ arm: 'iv-dextrose' })
  })
  it('calls for dextrose and glucagon without a signed standing order, each by its own order', () => {
    const policy = { ...POLICY, low: { ...POLICY.low, standingOrders: { dextrose: false, glucagon: true } } }
    expect(armFor(facts({ swallowing: 'unresponsive', ivWorking: true }, { policy }))).toEqual({
      kind: 'call',
      wouldBe: 'iv-dextrose',
      emergency: true,
    })
    expect(armFor(facts({ swallowing: 'unresponsive' }, { policy }))).toMatchObject({ kind: 'give', arm: 'glucagon' })
    expect(armFor(facts({ swallowing: 'not-safely' }, { policy: POLICY }))).toEqual({
      kind: 'call',
      wouldBe: 'glucagon',
      emergency: false,
    })
  })
  it('ignores stored facts: charted as unsafe but seen safe now, treatment is by mouth', () => {
    const low = lowEvent(FIRST, { charted: charted({ answers: [{ ...by(at('03:01')), ...SAFE }] }) })
    expect(
      stateOf({ low, bedside: someFacts({ swallowsSafely: false, ivAccess: true }), nowMs: at('03:01') }).arm,
    ).toMatchObject({ arm: 'by-mouth' })
    expect(stateOf({ bedside: someFacts({ swallowsSafely: true }), nowMs: at('03:01') }).arm).toBe(null)
  })
})

describe('level', () => {
  it.each([
    [69, 1],
    [54, 1],
    [53, 2],
    ['LO', 2],
  ] as const)('%s: level %s', (value, level) => {
    const first = reading(value, at('03:00'))
    expect(stateOf({ low: lowEvent(first), readings: [first] }).level).toBe(level)
  })
  it('follows the lowest value, whenever it came; a finding is 3 whatever the number', () => {
    const low = lowEvent(FIRST, { treatments: [mouth(at('03:01'))] })
    const mild = reading(66, at('03:00'), { readingId: 'r0' })
    expect(
      stateOf({ low: { ...low }, readings: [mild, recheckOf(50, at('03:16'), 1)], nowMs: at('03:17') }).level,
    ).toBe(2)
    expect(
      stateOf({
        low: { ...low, charted: charted({ findings: [{ ...by(at('03:02')), finding: 'confused-needs-help' }] }) },
        readings: [mild],
      }).level,
    ).toBe(3)
  })
})

describe('next step and deadline during one night', () => {
  const treated = lowEvent(FIRST, { treatments: [mouth(at('03:04'))] })
  const twice = lowEvent(FIRST, { treatments: [mouth(at('03:04')), mouth(at('03:21'))] })
  const readings = [FIRST, recheckOf(63, at('03:19'), 1), recheckOf(96, at('03:36'), 2), recheckOf(104, at('04:36'), 3)]
  it.each([
    ['low', lowEvent(FIRST), 1, '03:01', 'treat', '03:05', ['treat', 'recheck', 'tell-prescriber']],
    ['treated', treated, 1, '03:05', 'recheck', '03:19', ['recheck', 'tell-prescriber']],
    ['63 at the recheck: again', treated, 2, '03:19', 'treat', '03:24', ['treat', 'tell-prescriber', 'recheck']],
    [
      'treated again: the call comes first now',
      twice,
      2,
      '03:22',
      'tell-prescriber',
      '03:30',
      ['tell-prescriber', 'recheck'],
    ],
    ['96: recovered', twice, 3, '03:36', 'tell-prescriber', '03:30', ['tell-prescriber', 'lasting-food', 'follow-up']],
    [
      'told',
      { ...twice, charted: charted({ prescriberCalls: [told(at('03:40'))] }) },
      3,
      '03:41',
      'lasting-food',
      '03:51',
      ['lasting-food', 'follow-up'],
    ],
    [
      'food given',
      {
        ...twice,
        charted: charted({
          prescriberCalls: [told(at('03:40'))],
          food: [{ ...by(at('03:42')), grams: 20, what: 'toast' }],
        }),
      },
      3,
      '03:43',
      'follow-up',
      '04:36',
      ['follow-up'],
    ],
    ['followed up, not told', twice, 4, '04:37', 'tell-prescriber', '03:30', ['tell-prescriber']],
    [
      'followed up, told: only the paper is left, an hour for it',
      { ...twice, charted: charted({ prescriberCalls: [told(at('03:40'))] }) },
      4,
      '04:37',
      'close',
      '05:36',
      ['close'],
    ],
  ] as const)('%s', (_name, low, count, now, kind, deadline, all) => {
    const state = stateOf({ low, readings: readings.slice(0, count), nowMs: at(now) })
    expect([state.next?.kind, state.next?.deadlineMs]).toEqual([kind, at(deadline)])
    expect(state.steps.map((step) => step.kind)).toEqual(all)
  })
  it('is none when closed', () => {
    expect(stateOf({ low: { ...twice, closedAtMs: at('05:00') }, readings, nowMs: at('06:00') })).toMatchObject({
      phase: 'closed',
      next: null,
      missing: [],
    })
  })
  it('puts the emergency call before all else for an unresponsive patient, once for the run', () => {
    const finding = { ...by(at('03:01')), finding: 'unresponsive-or-seizing' } as const
    const found = lowEvent(FIRST, { charted: charted({ findings: [finding] }) })
    expect(stateOf({ low: found, nowMs: at('03:01') }).next).toEqual({
      kind: 'call-emergency',
      deadlineMs: at('03:01'),
    })
    const called = {
      ...found,
      charted: {
        ...found.charted,
        emergencyCalls: [by(at('03:02'))],
        findings: [finding, { ...by(at('03:05')), finding: 'confused-needs-help' as const }],
      },
    }
    expect(steps({ low: called, nowMs: at('03:06') })[0]).toBe('treat')
    expect(steps({ low: found, readings: [FIRST, recheckOf(90, at('03:20'), 1)], nowMs: at('03:20') })).not.toContain(
      'call-emergency',
    )
    const relapse = {
      ...called,
      charted: {
        ...called.charted,
        findings: [finding, { ...by(at('04:10')), finding: 'unresponsive-or-seizing' as const }],
      },
    }
    expect(
      steps({
        low: relapse,
        readings: [FIRST, recheckOf(90, at('03:20'), 1), recheckOf(48, at('04:09'), 2)],
        nowMs: at('04:11'),
      })[0],
    ).toBe('call-emergency')
  })
  it('requires escalation until the prescriber is called, and again after another round', () => {
    const times = ['03:15', '03:30', '03:45', '04:00', '04:15', '04:30']
    const low = lowEvent(FIRST, { treatments: ['03:00', ...times].map((time) => mouth(at(time))) })
    const rechecks = times.map((time, index) => recheckOf(60, at(time), index + 1))
    const state = (count: number, calls: readonly string[]): readonly string[] =>
      steps({
        low: {
          ...low,
          treatments: low.treatments.slice(0, count + 1),
          charted: charted({ prescriberCalls: calls.map((time) => told(at(time))) }),
        },
        readings: [FIRST, ...rechecks.slice(0, count)],
        nowMs: at('05:00'),
      })
    expect(state(3, ['03:20'])).toContain('escalate')
    expect(state(3, ['03:46'])).not.toContain('escalate')
    expect(state(5, ['03:46'])).not.toContain('escalate')
    expect(state(6, ['03:46'])).toContain('escalate')
  })
})

describe('bedside findings hold for one treatment and some minutes', () => {
  const answered = (answeredMs: number, treatments: LowEvent['treatments'] = []): LowEvent =>
    lowEvent(FIRST, { treatments, charted: charted({ answers: [{ ...by(answeredMs), ...SAFE }] }) })
  const armAt = (low: LowEvent, nowMs: number, readings = [FIRST]): boolean =>
    stateOf({ low, readings, nowMs }).arm !== null
  it('expire after 10 min by time alone', () => {
    expect([armAt(answered(at('03:01')), at('03:11')), armAt(answered(at('03:01')), at('03:11') + 1)]).toEqual([
      true,
      false,
    ])
    expect(stateOf({ low: answered(at('03:01')), nowMs: at('03:05') }).changesAtMs).toBe(at('03:11') + 1)
  })
  it('are used up by the treatment, and do not count for the next value', () => {
    const low = answered(at('03:01'), [mouth(at('03:02'))])
    expect(armAt(low, at('03:03'))).toBe(false)
    expect(
      armAt(answered(at('03:15'), [mouth(at('03:02'))]), at('03:18'), [FIRST, recheckOf(60, at('03:17'), 1)]),
    ).toBe(false)
    expect(
      armAt(answered(at('03:18'), [mouth(at('03:02'))]), at('03:18'), [FIRST, recheckOf(60, at('03:17'), 1)]),
    ).toBe(true)
  })
  it('treats the lower of a first value and its repeat, then the value at the next cycle', () => {
    const low = answered(at('03:09'))
    expect(stateOf({ low, readings: [FIRST, reading(60, at('03:08'))], nowMs: at('03:09') }).arm).toMatchObject({
      amount: { grams: 20 },
    })
    const second = answered(at('03:18'), [mouth(at('03:02'))])
    expect(
      stateOf({ low: second, readings: [FIRST, recheckOf(60, at('03:17'), 1)], nowMs: at('03:18') }).arm,
    ).toMatchObject({ amount: { grams: 15 } })
  })
})

describe('a value too soon after the treatment', () => {
  const low = lowEvent(FIRST, { treatments: [mouth(at('03:02'))] })
  it('moves no time limit and requires nothing, unless the level is worse', () => {
    const mild = reading(60, at('03:00'), { readingId: 'r0' })
    expect(stateOf({ low, readings: [mild, reading(58, at('03:07'))], nowMs: at('03:08') }).next).toEqual({
      kind: 'recheck',
      cycle: 1,
      deadlineMs: at('03:17'),
    })
    expect(stateOf({ low, readings: [mild, reading(50, at('03:07'))], nowMs: at('03:08') }).next).toMatchObject({
      kind: 'treat',
      deadlineMs: at('03:12'),
    })
  })
  it('shows no recovery either, and asks for no second treatment', () => {
    const state = stateOf({ low, readings: [FIRST, reading(96, at('03:07'))], nowMs: at('03:08') })
    expect(state).toMatchObject({
      phase: 'open',
      arm: null,
      next: { kind: 'recheck', cycle: 1, deadlineMs: at('03:17') },
    })
  })
})

it('HI shows no recovery and needs no treatment: repeat on a washed finger', () => {
  const state = stateOf({
    low: lowEvent(FIRST, { treatments: [mouth(at('03:01'))] }),
    readings: [FIRST, recheckOf('HI', at('03:16'), 1)],
    nowMs: at('03:17'),
  })
  expect([state.phase, state.steps.map(({ kind }) => kind)]).toEqual(['open', ['tell-prescriber', 'recheck']])
})

describe('a first value that no longer counts', () => {
  const voided = { ...FIRST, voided: { reason: 'wrong patient', byId: 'n', atMs: at('03:10') } }
  it('flags the event for a person, and it cannot be closed as a low', () => {
    const facts = factsOf({ readings: [voided], nowMs: at('03:11') })
    expect(lowState(facts)).toMatchObject({ level: null, next: { kind: 'look-again', deadlineMs: at('03:05') } })
    expect(reasonOf(closeLow({ cause: 'other', note: 'x', byId: NURSE }, facts))).toBe('close-not-recovered')
  })
})

describe('late entries', () => {
  it('a treatment charted 20 min afterwards moves the recheck back and is marked late', () => {
    const before = stateOf({ nowMs: at('03:25') })
    expect(before.next).toEqual({ kind: 'treat', number: 1, deadlineMs: at('03:05') })
    const low = lowEvent(FIRST, { treatments: [mouth(at('03:04'), by(at('03:04'), at('03:25')))] })
    expect(stateOf({ low, nowMs: at('03:25') }).next).toEqual({ kind: 'recheck', cycle: 1, deadlineMs: at('03:19') })
    expect(lowLine(low, [FIRST], POLICY).map(({ fact, late, afterMs }) => [fact.kind, late, afterMs])).toEqual([
      ['reading', false, 0],
      ['treatment', true, 4 * MINUTE],
    ])
  })
  it('a treatment charted 15 min afterwards is not late', () => {
    const low = lowEvent(FIRST, { treatments: [mouth(at('03:04'), by(at('03:04'), at('03:19')))] })
    expect(lowLine(low, [FIRST], POLICY)[1]?.late).toBe(false)
  })
  it('an earlier low value charted after opening starts the event', () => {
    const earlier = reading(58, at('02:50'), { chartedAtMs: at('03:20'), lateReason: 'charted-on-paper' })
    const state = stateOf({ readings: [FIRST, earlier], low: lowEvent(FIRST), nowMs: at('03:20') })
    expect([state.course.startMs, state.next?.deadlineMs]).toEqual([at('02:50'), at('02:55')])
  })
  it('a value from before the last closing does not', () => {
    const earlier = reading(58, at('02:50'))
    expect(
      stateOf({
        readings: [FIRST, earlier],
        low: lowEvent(FIRST, { previousLowId: 'low0', previousClosedAtMs: at('02:55') }),
      }).course.startMs,
    ).toBe(at('03:00'))
    expect(
      stateOf({
        readings: [FIRST],
        low: lowEvent(FIRST, { previousLowId: 'low0', previousClosedAtMs: at('03:05') }),
        nowMs: at('03:10'),
      }).next?.kind,
    ).toBe('treat')
  })
})

describe('longer-acting carbohydrate', () => {
  const low = lowEvent(FIRST, { treatments: [mouth(at('03:01'))] })
  const readings = [FIRST, recheckOf(96, at('03:16'), 1)]
  const lasting = (parts: Partial<LowFacts>): unknown =>
    stateOf({ low, readings, nowMs: at('03:20'), ...parts }).lasting
  it.each([
    ['no meal in sight', {}, { kind: 'grams', grams: 20 }],
    ['a meal exactly 60 min after recovery', { mealsMs: [at('04:16')] }, { kind: 'meal', atMs: at('04:16') }],
    ['a meal a minute later', { mealsMs: [at('04:17')] }, { kind: 'grams', grams: 20 }],
    ['a meal before the recovery is over', { mealsMs: [at('03:00')] }, { kind: 'grams', grams: 20 }],
    ['the tray was served since the low', { servedMs: [at('03:10')] }, { kind: 'meal', atMs: at('03:10') }],
    ['nil by mouth', { bedside: someFacts({ nilByMouth: { fromMs: at('00:00'), untilMs: null } }) }, { kind: 'ask' }],
    ['fed by tube', { bedside: someFacts({ feeding: 'tube' }) }, { kind: 'ask' }],
  ] as const)('%s', (_name, parts, expected) => {
    expect(lasting(parts)).toEqual(expected)
  })
  it('is given once, after recovery', () => {
    expect(
      lasting({ low: { ...low, charted: charted({ food: [{ ...by(at('03:18')), grams: 20, what: 'toast' }] }) } }),
    ).toBe(null)
    expect(lasting({ readings: [FIRST] })).toBe(null)
  })
})

describe('charting', () => {
  const answers = (nowMs: number, of: Partial<BedsideAnswers> = {}, low = lowEvent(FIRST)): LowEvent => {
    const outcome = answerAtBedside({ byId: NURSE, answers: { ...SAFE, ...of } }, factsOf({ low, nowMs }))
    if (!outcome.ok) throw new Error(outcome.reason)
    return fold(low, outcome.value)
  }
  const given: TreatmentEntry = {
    byId: NURSE,
    shown: 'by-mouth.20',
    arm: 'by-mouth',
    what: '',
    directedBy: '',
    readBack: false,
    atMs: null,
  }
  const treat = (
    entry: Partial<TreatmentEntry>,
    low: LowEvent,
    nowMs = at('03:02'),
    policy = SIGNED,
  ): ReturnType<typeof treatLow> => treatLow({ ...given, ...entry }, factsOf({ low, nowMs, policy }))

  it('one tap charts the shown treatment, now', () => {
    const outcome = treat({}, answers(at('03:01')))
    expect(outcome.ok && outcome.value).toEqual([
      {
        wardId: 'ward1',
        stayId: 'stay1',
        actorId: NURSE,
        happenedAtMs: at('03:02'),
        chartedAtMs: at('03:02'),
        type: 'low-treated',
        body: { lowId: 'low1', arm: 'by-mouth', amount: { kind: 'grams', grams: 20 }, what: '', directedBy: null },
      },
    ])
  })
  it.each([
    ['nobody looked', {}, lowEvent(FIRST), at('03:02'), 'low-answers-missing'],
    ['looked 11 min ago', {}, answers(at('03:01')), at('03:12'), 'low-answers-missing'],
    ['another amount by now', { shown: 'by-mouth.15' }, answers(at('03:01')), at('03:02'), 'low-arm-changed'],
    ['another arm than shown', { arm: 'glucagon' }, answers(at('03:01')), at('03:02'), 'low-arm-changed'],
    ['something else, not said what', { shown: null }, answers(at('03:01')), at('03:02'), 'low-what-missing'],
    [
      'by direction, of whom?',
      { shown: null, arm: 'by-direction', what: '10 g by vein' },
      answers(at('03:01')),
      at('03:02'),
      'low-direction-missing',
    ],
    [
      'by direction, not read back',
      { shown: null, arm: 'by-direction', what: '10 g by vein', directedBy: 'Dr. Vera Kim' },
      answers(at('03:01')),
      at('03:02'),
      'low-direction-not-read-back',
    ],
    ['in the future', { atMs: at('03:03') }, answers(at('03:01')), at('03:02'), 'low-time-in-future'],
    ['before the low', { atMs: at('02:59') }, answers(at('03:01')), at('03:02'), 'low-time-before-low'],
    ['closed', {}, lowEvent(FIRST, { closedAtMs: at('03:01') }), at('03:02'), 'low-closed'],
  ] as const)('refuses: %s', (_name, entry, low, nowMs, reason) => {
    expect(reasonOf(treat(entry, low, nowMs))).toBe(reason)
  })
  it('needs the directing person for dextrose without a standing order', () => {
    const entry = { shown: null, arm: 'iv-dextrose', what: '25 g' } as const
    expect([
      reasonOf(treat(entry, lowEvent(FIRST), at('03:02'), POLICY)),
      reasonOf(treat(entry, lowEvent(FIRST))),
    ]).toEqual(['low-direction-missing', null])
    expect(
      reasonOf(treat({ ...entry, directedBy: 'Dr. Vera Kim', readBack: true }, lowEvent(FIRST), at('03:02'), POLICY)),
    ).toBe(null)
  })
  it('counts a time in the value’s own minute as after it', () => {
    const first = reading(52, at('03:00') + 40_000, { readingId: 'r0' })
    const low = lowEvent(first)
    const outcome = treatLow(
      { ...given, shown: null, what: 'juice', atMs: at('03:00') },
      factsOf({ low, readings: [first], nowMs: at('03:10') }),
    )
    expect(outcome.ok && outcome.value[0]?.happenedAtMs).toBe(first.takenAtMs)
    expect(
      outcome.ok &&
        lowState(factsOf({ low: fold(low, outcome.value), readings: [first], nowMs: at('03:10') })).next?.kind,
    ).toBe('recheck')
  })
  it('counts unresponsive as a level 3 finding', () => {
    const low = answers(at('03:01'), { swallowing: 'unresponsive' })
    expect(low.charted.findings).toEqual([{ ...by(at('03:01')), finding: 'unresponsive-or-seizing' }])
    expect(answers(at('03:01'), { swallowing: 'not-safely' }).charted.findings).toEqual([])
  })
  it('asks about the tube for a patient fed by tube', () => {
    const facts = factsOf({ bedside: someFacts({ feeding: 'tube' }), nowMs: at('03:01') })
    expect(reasonOf(answerAtBedside({ byId: NURSE, answers: SAFE }, facts))).toBe('low-tube-not-asked')
    expect(reasonOf(answerAtBedside({ byId: NURSE, answers: { ...SAFE, tubeUsable: false } }, facts))).toBe(null)
  })
  it('keeps in a call: recipient, read-back, and the critical results told', () => {
    const facts = factsOf({ nowMs: at('03:12') })
    const entry = { byId: NURSE, told: ' Dr. Vera Kim ', readBack: true, ordered: ' as before ', atMs: null }
    const outcome = tellPrescriber(entry, facts, ['r0'])
    expect(outcome.ok && outcome.value.map(({ type, body }) => [type, body])).toEqual([
      ['low-told', { lowId: 'low1', told: 'Dr. Vera Kim', readBack: true, ordered: 'as before' }],
      ['critical-told', { readingId: 'r0', told: 'Dr. Vera Kim', readBack: true, ordered: 'as before' }],
    ])
    expect([
      reasonOf(tellPrescriber({ ...entry, told: ' ' }, facts, [])),
      reasonOf(tellPrescriber({ ...entry, readBack: false }, facts, [])),
    ]).toEqual(['low-told-missing', 'low-not-read-back'])
  })
  it('accepts food only after recovery, in whole grams', () => {
    const recovered = factsOf({
      low: lowEvent(FIRST, { treatments: [mouth(at('03:01'))] }),
      readings: [FIRST, recheckOf(96, at('03:16'), 1)],
      nowMs: at('03:17'),
    })
    const food = (grams: number, facts: LowFacts): string | null =>
      reasonOf(giveFood({ byId: NURSE, grams, what: 'toast', atMs: null }, facts, lowState(facts)))
    expect([food(20, recovered), food(0, recovered), food(101, recovered), food(20, factsOf())]).toEqual([
      null,
      'low-food-grams',
      'low-food-grams',
      'low-food-before-recovery',
    ])
  })
  it('accepts only the call about a late answer after closing', () => {
    const facts = factsOf({ low: lowEvent(FIRST, { closedAtMs: at('04:00') }), nowMs: at('05:00') })
    expect(
      [
        callEmergency({ byId: NURSE }, facts),
        findLevelThree({ byId: NURSE, finding: 'confused-needs-help' }, facts),
        answerAtBedside({ byId: NURSE, answers: SAFE }, facts),
      ].map(reasonOf),
    ).toEqual(['low-closed', 'low-closed', 'low-closed'])
  })
  it('compares the shown treatment by path, amount and volume', () => {
    const keys = [
      { kind: 'grams', grams: 15 },
      { kind: 'grams', grams: 20 },
      { kind: 'glucagon', milligrams: 1 },
      { kind: 'intravenous', grams: 25, millilitres: 50, percent: 50, overMin: null },
      { kind: 'intravenous', grams: 20, millilitres: 200, percent: 10, overMin: 15 },
    ] as const
    expect(
      new Set(keys.map((amount) => armKey({ kind: 'give', arm: 'iv-dextrose', amount, how: null, emergency: false })))
        .size,
    ).toBe(keys.length)
  })
})

describe('closing', () => {
  const recovered = lowEvent(FIRST, { treatments: [mouth(at('03:01'))] })
  const called = { ...recovered, charted: charted({ prescriberCalls: [told(at('03:20'))] }) }
  const readings = [FIRST, recheckOf(96, at('03:16'), 1), recheckOf(104, at('04:16'), 2)]
  it.each([
    ['not recovered', called, 1, 'other', 'x', 'close-not-recovered', ['recovery', 'follow-up', 'cause']],
    ['no follow-up', called, 2, 'other', 'x', 'close-follow-up-missing', ['follow-up', 'cause']],
    ['nobody told', recovered, 3, 'other', 'x', 'close-not-told', ['prescriber-told', 'cause']],
    ['no cause', called, 3, null, 'x', 'close-cause-missing', ['cause']],
    ['other without a note', called, 3, 'other', ' ', 'close-note-missing', ['cause']],
    ['all there', called, 3, 'dose-too-high', '', null, ['cause']],
    ['closed already', { ...called, closedAtMs: at('04:20') }, 3, 'renal', '', 'close-already', []],
  ] as const)('%s', (_name, low, count, cause, note, reason, missing) => {
    const facts = factsOf({ low, readings: readings.slice(0, count), nowMs: at('04:30') })
    expect(reasonOf(closeLow({ cause, note, byId: NURSE }, facts))).toBe(reason)
    expect(lowState(facts).missing).toEqual(missing)
  })
  it('does not count a call from before the low', () => {
    const low = { ...recovered, charted: charted({ prescriberCalls: [told(at('02:00'))] }) }
    expect(
      reasonOf(closeLow({ cause: 'renal', note: '', byId: NURSE }, factsOf({ low, readings, nowMs: at('04:30') }))),
    ).toBe('close-not-told')
  })
})

it('keeps each time to the second', () => {
  const low = lowEvent(FIRST, {
    treatments: [mouth(at('03:04') + 7000)],
    charted: charted({ prescriberCalls: [told(at('03:29') + 1000)] }),
  })
  expect(lowTimes(low, [FIRST], POLICY)).toEqual({
    toTreatment: 247_000,
    toRecheck: null,
    toRecovery: null,
    toTold: 1_741_000,
  })
  expect(lowTimes(low, [FIRST, recheckOf(96, at('03:19') + 30_000, 1)], POLICY)).toMatchObject({
    toRecheck: 1_170_000,
    toRecovery: 1_170_000,
  })
})

describe('question about meal and long-acting insulin', () => {
  const entry = { byId: NURSE, told: 'Dr. Vera Kim', readBack: true, decision: 'hold', ordered: '' } as const
  const facts = { low: lowEvent(FIRST), isOpen: true, nowMs: at('03:10') }
  it.each([
    [{}, {}, null],
    [{}, { isOpen: false }, 'insulin-question-not-open'],
    [{ decision: null }, {}, 'insulin-decision-missing'],
    [{ decision: 'changed' }, {}, 'insulin-ordered-missing'],
    [{ told: ' ' }, {}, 'insulin-told-missing'],
    [{ readBack: false }, {}, 'insulin-not-read-back'],
  ] as const)('%j %j: %s', (change, given, reason) => {
    expect(reasonOf(answerInsulinQuestion({ ...entry, ...change }, { ...facts, ...given }))).toBe(reason)
  })
})

describe('symptoms without a low value', () => {
  const stay = { stayId: 'stay1', wardId: 'ward1', dischargedAtMs: null }
  const treat = (readings: readonly ReturnType<typeof reading>[], change = {}, given = {}): string | null =>
    reasonOf(
      treatSymptoms(
        { symptomsId: 'symptoms1', symptoms: 'shaky', what: 'two biscuits', byId: NURSE, ...change },
        { stay, readings, policy: POLICY, nowMs: at('03:10'), ...given },
      ),
    )
  it.each([
    ['measured just now', [reading(74, at('03:05'))], {}, {}, null],
    ['not measured', [], {}, {}, 'symptoms-not-measured'],
    ['measured 16 min ago', [reading(74, at('02:54'))], {}, {}, 'symptoms-not-measured'],
    ['low: the protocol instead', [reading(69, at('03:05'))], {}, {}, 'symptoms-value-low'],
    ['which symptoms', [reading(74, at('03:05'))], { symptoms: ' ' }, {}, 'symptoms-missing'],
    ['what was given', [reading(74, at('03:05'))], { what: '' }, {}, 'symptoms-what-missing'],
    [
      'discharged',
      [reading(74, at('03:05'))],
      {},
      { stay: { ...stay, dischargedAtMs: at('03:00') } },
      'symptoms-stay-discharged',
    ],
  ] as const)('%s', (_name, readings, change, given, reason) => {
    expect(treat(readings, change, given)).toBe(reason)
  })
})
