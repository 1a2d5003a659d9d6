/** The protocol's steps of a low, on time, late or missed; recurrence; a shift's totals; and shift times. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { auditLow, recurrenceOf, shiftTotals, verdictOn, type LowAudit } from '../../shared/audit/low-audit.ts'
import { auditedSteps, type AuditedStep, type LowMeals } from '../../shared/audit/low-steps.ts'
import { addAuditNote } from '../../shared/audit/note.ts'
import { lastShifts } from '../../shared/audit/shifts.ts'
import { lowCourse } from '../../shared/low/course.ts'
import { escalatesAtMs, lowState } from '../../shared/low/event.ts'
import type { LowEvent } from '../../shared/low/low.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { by, FIRST, mmol, mouth, NOTHING_CHARTED, recheckOf, UK } from '../support/lows.ts'
import { at, lowEvent, MINUTE, POLICY, reading, ZONE } from '../support/readings.ts'
import { someFacts } from '../support/makers.ts'

const NO_MEALS: LowMeals = { mealsMs: [], servedMs: [], nothingByMouth: false }
const told = (time: string) => ({ ...by(at(time)), told: 'Dr. Vera Kim', ordered: '' })
const food = (time: string) => ({ ...by(at(time)), grams: 20, what: 'toast' })
const finding = (time: string) => ({ ...by(at(time)), finding: 'unresponsive-or-seizing' as const })
const charted = (parts: Partial<LowEvent['charted']>): LowEvent['charted'] => ({ ...NOTHING_CHARTED, ...parts })
const closing = (time: string): LowEvent['charted']['closing'] => ({
  ...by(at(time)),
  cause: 'dose-too-high',
  note: '',
})

type Given = {
  readonly low?: Partial<LowEvent>
  readonly first?: Reading
  readonly then?: readonly Reading[]
  readonly meals?: Partial<LowMeals>
  readonly policy?: WardPolicy
  readonly now?: string
}
const stepsOf = ({
  low = {},
  first = FIRST,
  then = [],
  meals = {},
  policy = POLICY,
  now = '12:00',
}: Given): readonly AuditedStep[] =>
  auditedSteps(lowEvent(first, low), [first, ...then], { ...NO_MEALS, ...meals }, policy, at(now))
/** "treat 1 kept", "recheck 1 late 2" with minutes. */
const said = (given: Given): readonly string[] =>
  stepsOf(given).map(
    ({ kind, number, verdict, byMs }) =>
      `${kind} ${String(number)} ${verdict}${byMs === 0 ? '' : ` ${String(byMs / MINUTE)}`}`,
  )

describe('steps of one low by minutes', () => {
  // 52 at 03:00; the policy gives 5 min to treat, 15 to recheck, 30 to tell, 15 for food, 60 to follow up, 60 to close
  const good: Given = {
    low: {
      treatments: [mouth(at('03:04'))],
      closedAtMs: at('04:40'),
      charted: charted({ prescriberCalls: [told('03:20')], food: [food('03:30')], closing: closing('04:40') }),
    },
    then: [recheckOf(96, at('03:19'), 1), recheckOf(104, at('04:19'), 2)],
  }
  it('has every step in time', () => {
    expect(said(good)).toEqual([
      'treat 1 kept',
      'recheck 1 kept',
      'tell-prescriber 1 kept',
      'lasting-food 1 kept',
      'follow-up 1 kept',
      'close 1 kept',
    ])
  })
  it.each([
    ['treated at the very minute', '03:05', 'treat 1 kept'],
    ['a minute later', '03:06', 'treat 1 late 1'],
    ['twelve minutes late', '03:17', 'treat 1 late 12'],
  ])('%s', (_name, time, wanted) => {
    expect(said({ low: { treatments: [mouth(at(time))] } })[0]).toBe(wanted)
  })
  it.each([
    ['nothing done, in time', '03:05', ['treat 1 waiting', 'tell-prescriber 1 waiting']],
    ['nothing done, treatment missed by 7 min', '03:12', ['treat 1 missed 7', 'tell-prescriber 1 waiting']],
    ['nothing done for an hour', '04:00', ['treat 1 missed 55', 'tell-prescriber 1 missed 30']],
  ] as const)('%s', (_name, now, wanted) => {
    expect(said({ now })).toEqual(wanted)
  })
  it('counts a recheck 4 min late, and a second treatment and recheck after it', () => {
    expect(
      said({
        low: { treatments: [mouth(at('03:02')), mouth(at('03:22'))] },
        then: [recheckOf(61, at('03:21'), 1), recheckOf(88, at('03:36'), 2)],
        now: '03:40',
      }),
    ).toEqual([
      'treat 1 kept',
      'recheck 1 late 4',
      'treat 2 kept',
      'tell-prescriber 1 missed 10',
      'recheck 2 kept',
      'lasting-food 1 waiting',
      'follow-up 1 waiting',
    ])
  })
  it('rejects a value 6 min after treatment as too early for its recheck', () => {
    expect(
      said({ low: { treatments: [mouth(at('03:02'))] }, then: [recheckOf(58, at('03:08'), 1)], now: '03:25' }),
    ).toContain('recheck 1 missed 8')
  })
  it('counts recovery without treatment as missed while it was due', () => {
    expect(said({ then: [reading(82, at('03:30'))], now: '09:00' })).toContain('treat 1 missed 25')
    // three minutes after the low it shows no recovery
    expect(said({ then: [recheckOf(82, at('03:03'), 1)], now: '09:00' })).toContain('treat 1 missed 355')
  })
  it('requires a treatment for a relapse, and counts follow-up from the lasting recovery', () => {
    const steps = stepsOf({
      low: { treatments: [mouth(at('03:03')), mouth(at('04:01'))] },
      then: [recheckOf(90, at('03:18'), 1), recheckOf(64, at('03:50'), 2), recheckOf(95, at('04:15'), 3)],
      now: '05:00',
    })
    expect(
      steps.filter(({ kind }) => kind === 'treat').map(({ fromMs, verdict, byMs }) => [fromMs, verdict, byMs]),
    ).toEqual([
      [at('03:00'), 'kept', 0],
      [at('03:50'), 'late', 6 * MINUTE],
    ])
    expect(steps.filter(({ kind }) => kind === 'follow-up').map(({ fromMs }) => fromMs)).toEqual([at('04:15')])
  })
  it('uses event times for late entries: a paper value before the first moves every time limit', () => {
    const paper = reading(48, at('02:50'), { chartedAtMs: at('05:00'), source: 'paper' })
    expect(
      said({
        low: { treatments: [mouth(at('03:04'), { chartedAtMs: at('04:30') })] },
        then: [paper, recheckOf(96, at('03:19'), 1)],
        now: '03:25',
      }).slice(0, 3),
    ).toEqual(['treat 1 late 9', 'recheck 1 kept', 'tell-prescriber 1 missed 5'])
  })
  it('does not depend on the order of charting', () => {
    const { low = {}, then = [] } = good
    const event = lowEvent(FIRST, low)
    const straight = auditedSteps(event, [FIRST, ...then], NO_MEALS, POLICY, at('12:00'))
    expect(auditedSteps(event, [...then].reverse().concat(FIRST), NO_MEALS, POLICY, at('12:00'))).toEqual(straight)
  })
  it('requires nothing when closed as an error', () => {
    const voided = { ...FIRST, voided: { reason: 'other patient', byId: 'nurse-a', atMs: at('03:10') } }
    expect(
      stepsOf({
        first: voided,
        low: {
          closedAtMs: at('03:12'),
          charted: charted({ closing: { ...by(at('03:12')), cause: 'entered-in-error', note: 'wrong bed' } }),
        },
      }),
    ).toEqual([])
  })
  it('requires closing once followed up and called, whichever was last', () => {
    const late = {
      ...good,
      low: {
        ...good.low,
        charted: charted({ prescriberCalls: [told('05:00')], food: [food('03:30')], closing: closing('05:30') }),
        closedAtMs: at('05:30'),
      },
    }
    expect(stepsOf(late).find(({ kind }) => kind === 'close')).toMatchObject({ fromMs: at('05:00'), verdict: 'kept' })
    expect(
      stepsOf({ ...good, low: { ...good.low, closedAtMs: null, charted: charted({}) } }).some(
        ({ kind }) => kind === 'close',
      ),
    ).toBe(false)
  })
})

describe('longer-acting carbohydrate', () => {
  const recovered: Given = { low: { treatments: [mouth(at('03:04'))] }, then: [recheckOf(96, at('03:19'), 1)] }
  const foodStep = (meals: Partial<LowMeals>, low: Partial<LowEvent> = {}): string | undefined =>
    said({ ...recovered, low: { ...recovered.low, ...low }, meals, now: '04:00' }).find((step) =>
      step.startsWith('lasting-food'),
    )
  it('is missed when no meal is near', () => {
    expect(foodStep({})).toBe('lasting-food 1 missed 26')
  })
  it('is not required with a tray planned exactly 60 min after recovery', () => {
    expect(foodStep({ mealsMs: [at('04:19')] })).toBeUndefined()
    expect(foodStep({ mealsMs: [at('04:20')] })).toBe('lasting-food 1 missed 26')
  })
  it('is not required with a tray served since the low; a much later tray does not count', () => {
    expect(foodStep({ servedMs: [at('03:15')] })).toBeUndefined()
    expect(foodStep({ servedMs: [at('06:00')] })).toBe('lasting-food 1 missed 26')
  })
  it('is not required of a patient who is nil by mouth', () => {
    expect(foodStep({ nothingByMouth: true })).toBeUndefined()
  })
  it('counts as late', () => {
    expect(foodStep({}, { charted: charted({ food: [food('03:40')] }) })).toBe('lasting-food 1 late 6')
  })
})

describe('level 3', () => {
  it('requires an emergency call within a minute; one call covers findings until the next recovery', () => {
    expect(
      said({
        low: { charted: charted({ findings: [finding('03:01')], emergencyCalls: [by(at('03:02'))] }) },
        now: '03:03',
      }),
    ).toContain('emergency-call 1 kept')
    expect(
      said({
        low: { charted: charted({ findings: [finding('03:01')], emergencyCalls: [by(at('03:05'))] }) },
        now: '03:06',
      }),
    ).toContain('emergency-call 1 late 3')
    expect(said({ low: { charted: charted({ findings: [finding('03:01')] }) }, now: '03:06' })).toContain(
      'emergency-call 1 missed 4',
    )
    const again = said({
      low: { charted: charted({ findings: [finding('03:01'), finding('03:25')], emergencyCalls: [by(at('03:01'))] }) },
      now: '03:40',
    }).filter((step) => step.startsWith('emergency'))
    expect(again).toEqual(['emergency-call 1 kept'])
  })
  it('requires another call for a relapse with a finding', () => {
    const steps = said({
      low: {
        treatments: [mouth(at('03:03'))],
        charted: charted({ findings: [finding('03:01'), finding('03:51')], emergencyCalls: [by(at('03:01'))] }),
      },
      then: [recheckOf(90, at('03:18'), 1), recheckOf(44, at('03:50'), 2)],
      now: '04:00',
    })
    expect(steps.filter((step) => step.startsWith('emergency'))).toEqual([
      'emergency-call 1 kept',
      'emergency-call 2 missed 8',
    ])
  })
})

describe('escalation', () => {
  const cycles = (minutes: readonly number[]): { treatments: LowEvent['treatments']; then: readonly Reading[] } => ({
    treatments: minutes.map((minute) => mouth(at('03:00') + minute * MINUTE)),
    then: minutes.map((minute, index) => recheckOf(60, at('03:00') + (minute + 15) * MINUTE, index + 1)),
  })
  it('is due after the third treated value that is still low', () => {
    const { treatments, then } = cycles([2, 18, 34])
    const steps = stepsOf({ low: { treatments }, then, now: '03:52' })
    expect(steps.filter(({ kind }) => kind === 'escalate').map(({ fromMs, verdict }) => [fromMs, verdict])).toEqual([
      [at('03:49'), 'waiting'],
    ])
    expect(
      stepsOf({ low: { treatments: treatments.slice(0, 2) }, then: then.slice(0, 2), now: '03:52' }).some(
        ({ kind }) => kind === 'escalate',
      ),
    ).toBe(false)
  })
  it('UK ward: is due at 45 min with slow cycles, at the third cycle with quick ones', () => {
    const first = mmol(35, at('03:00'), { readingId: 'u0' })
    const value = (minute: number, index: number): Reading =>
      recheckOf(36, at('03:00') + minute * MINUTE, index + 1, 'mmol/L')
    const of = (treated: readonly number[], taken: readonly number[], now: string): readonly number[] =>
      stepsOf({
        first,
        policy: UK,
        low: { treatments: treated.map((minute) => mouth(at('03:00') + minute * MINUTE)) },
        then: taken.map(value),
        now,
      })
        .filter(({ kind }) => kind === 'escalate')
        .map(({ fromMs }) => (fromMs - at('03:00')) / MINUTE)
    expect(of([2, 22], [20, 40], '03:44')).toEqual([])
    expect(of([2, 22], [20, 40], '03:45')).toEqual([45])
    expect(of([2, 14, 26], [13, 25, 37], '03:50')).toEqual([37])
    expect(of([2, 22, 42], [20, 40, 58], '04:10')).toEqual([45])
  })
  it('is kept by a call in time, not by a call before it', () => {
    const { treatments, then } = cycles([2, 18, 34])
    const verdict = (time: string): string | undefined =>
      said({ low: { treatments, charted: charted({ prescriberCalls: [told(time)] }) }, then, now: '04:30' }).find(
        (step) => step.startsWith('escalate'),
      )
    expect(verdict('03:50')).toBe('escalate 1 kept')
    expect(verdict('03:10')).toBe('escalate 1 missed 36')
    expect(verdict('04:00')).toBe('escalate 1 late 6')
  })
})

/** Any course: values and treatments at whole minutes of five hours. */
const anyCourse = fc.record({
  values: fc.array(
    fc.record({
      minute: fc.integer({ min: 1, max: 300 }),
      value: fc.constantFrom(45, 60, 68, 72, 95, 110, 'LO' as const, 'HI' as const),
      recheck: fc.boolean(),
    }),
    { maxLength: 12 },
  ),
  treated: fc.array(fc.integer({ min: 0, max: 300 }), { maxLength: 8 }),
  calls: fc.array(fc.integer({ min: 0, max: 300 }), { maxLength: 3 }),
  findings: fc.array(fc.integer({ min: 0, max: 300 }), { maxLength: 2 }),
  timed: fc.boolean(),
})
type Course = { readonly low: LowEvent; readonly readings: readonly Reading[]; readonly policy: WardPolicy }
function courseOf({
  values,
  treated,
  calls,
  findings,
  timed,
}: typeof anyCourse extends fc.Arbitrary<infer T> ? T : never): Course {
  const minute = (count: number): number => at('03:00') + count * MINUTE
  const readings = [
    FIRST,
    ...values.map((one, index) =>
      reading(one.value, minute(one.minute), {
        readingId: `v${String(index)}`,
        checkKey: one.recheck ? `low.low1.${String(index + 1)}` : null,
      }),
    ),
  ]
  const low = lowEvent(FIRST, {
    treatments: treated.map((count) => mouth(minute(count))),
    charted: charted({
      prescriberCalls: calls.map((count) => ({ ...by(minute(count)), told: 'Dr. Vera Kim', ordered: '' })),
      findings: findings.map((count) => ({ ...by(minute(count)), finding: 'confused-needs-help' as const })),
    }),
  })
  return { low, readings, policy: timed ? { ...POLICY, low: { ...POLICY.low, escalateAfterMin: 45 } } : POLICY }
}

describe('any course', () => {
  const END = at('03:00') + 301 * MINUTE
  it('has verdicts that agree with their times, numbered from 1', () => {
    fc.assert(
      fc.property(anyCourse, (drawn) => {
        const { low, readings, policy } = courseOf(drawn)
        const steps = auditedSteps(low, readings, NO_MEALS, policy, END)
        expect(verdictOn(steps, 'treat')).not.toBeNull()
        for (const { doneMs, dueMs, verdict, byMs, fromMs } of steps) {
          expect(dueMs).toBeGreaterThan(fromMs)
          expect(byMs).toBeGreaterThanOrEqual(0)
          if (doneMs === null) expect(['missed', 'waiting']).toContain(verdict)
          else expect([verdict, byMs]).toEqual(doneMs <= dueMs ? ['kept', 0] : ['late', doneMs - dueMs])
          if (verdict === 'waiting') expect(END).toBeLessThanOrEqual(dueMs)
        }
        for (const kind of new Set(steps.map((step) => step.kind))) {
          const own = steps.filter((step) => step.kind === kind).map(({ number }) => number)
          expect(own).toEqual(own.map((_, index) => index + 1))
        }
      }),
    )
  })
  it('finds not done exactly what the treatment page asks for now', () => {
    fc.assert(
      fc.property(anyCourse, fc.integer({ min: 0, max: 300 }), (drawn, minutes) => {
        const { low, readings, policy } = courseOf(drawn)
        const nowMs = at('03:00') + minutes * MINUTE
        // both read the same record: what was charted up to now
        const until = <T extends { readonly atMs: number }>(all: readonly T[]): readonly T[] =>
          all.filter(({ atMs }) => atMs <= nowMs)
        const so = {
          ...low,
          treatments: until(low.treatments),
          charted: {
            ...low.charted,
            prescriberCalls: until(low.charted.prescriberCalls),
            findings: until(low.charted.findings),
          },
        }
        const known = readings.filter(({ takenAtMs }) => takenAtMs <= nowMs)
        const state = lowState({
          low: so,
          readings: known,
          bedside: someFacts(),
          policy,
          mealsMs: [],
          servedMs: [],
          nowMs,
        })
        const open = auditedSteps(so, known, NO_MEALS, policy, nowMs).filter(
          ({ doneMs, verdict, fromMs, kind }) =>
            doneMs === null && (verdict === 'waiting' || nowMs > fromMs || kind === 'treat'),
        )
        const owed = new Set(state.steps.map(({ kind }) => kind))
        // a gap before the follow-up stays missed in the audit and is no longer due
        const kinds = [
          'tell-prescriber',
          'follow-up',
          'close',
          ...(state.phase === 'followed-up' ? [] : ['lasting-food']),
        ]
        for (const kind of kinds)
          expect(
            open.some((step) => step.kind === kind),
            kind,
          ).toBe(state.steps.some((step) => step.kind === kind))
        if (owed.has('treat')) expect(open.some((step) => step.kind === 'treat')).toBe(true)
        if (owed.has('escalate'))
          expect(
            auditedSteps(so, known, NO_MEALS, policy, nowMs).some(
              (step) => step.kind === 'escalate' && step.doneMs === null,
            ),
          ).toBe(true)
        if (owed.has('call-emergency'))
          expect(open.some((step) => step.kind === 'emergency-call') || nowMs === state.steps[0]?.deadlineMs).toBe(true)
      }),
    )
  })
  it('escalates the present run at the instant that the treatment page names', () => {
    fc.assert(
      fc.property(anyCourse, (drawn) => {
        const { low, readings, policy } = courseOf(drawn)
        const course = lowCourse(low, readings, policy)
        const wanted = escalatesAtMs(course, policy)
        const found = auditedSteps(low, readings, NO_MEALS, policy, END)
          .filter(({ kind, fromMs }) => kind === 'escalate' && fromMs >= course.runStartMs)
          .map(({ fromMs }) => fromMs)
        if (course.phase === 'open') expect(found.at(-1) ?? null).toBe(wanted !== null && wanted <= END ? wanted : null)
      }),
    )
  })
})

describe('recurrence from first value to first value', () => {
  const startMs = at('12:00')
  const other = (id: string, minutesBefore: number, error = false): LowEvent => ({
    ...lowEvent(FIRST, { lowId: id }),
    openedAtMs: startMs - minutesBefore * MINUTE,
    charted: charted(error ? { closing: { ...by(startMs), cause: 'entered-in-error', note: '' } } : {}),
  })
  it.each([
    [9, null, 0],
    [10, 10, 1],
    [24 * 60, 1440, 1],
    [24 * 60 + 1, null, 1],
    [-30, null, 0],
  ] as const)('a low %s min before', (minutes, after, inStay) => {
    const { within24h, earlierInStay } = recurrenceOf({ lowId: 'low1' }, startMs, [
      other('low0', minutes),
      other('low1', 0),
    ])
    expect([within24h === null ? null : within24h.afterMs / MINUTE, earlierInStay]).toEqual([after, inStay])
  })
  it('counts the nearest for 24 h, all for the stay, and errors for neither', () => {
    expect(
      recurrenceOf({ lowId: 'low1' }, startMs, [
        other('a', 3000),
        other('b', 600),
        other('c', 90),
        other('d', 60, true),
      ]),
    ).toEqual({ within24h: { lowId: 'c', afterMs: 90 * MINUTE }, earlierInStay: 3 })
  })
})

describe('one low and a shift of lows', () => {
  const audit = (low: LowEvent, readings: readonly Reading[], now = '12:00'): LowAudit =>
    auditLow({ low, readings, lows: [low], meals: NO_MEALS, policy: POLICY, nowMs: at(now) })
  const mild = reading(66, at('03:00'), { readingId: 'r0' })
  it('takes the level from the lowest value or finding, counts relapses, and ignores later values', () => {
    const low = lowEvent(mild, { treatments: [mouth(at('03:02')), mouth(at('03:40'))] })
    const all = [mild, recheckOf(90, at('03:17'), 1), recheckOf(50, at('03:38'), 2), recheckOf(88, at('03:55'), 3)]
    expect(audit(low, all)).toMatchObject({
      isLow: true,
      level: 2,
      relapses: 1,
      recoveredAtMs: at('03:55'),
      times: { toTreatment: 2 * MINUTE, toRecheck: 17 * MINUTE, toRecovery: 55 * MINUTE, toTold: null },
    })
    expect(audit(low, all, '03:20')).toMatchObject({ level: 1, relapses: 0, recoveredAtMs: at('03:17') })
    expect(audit({ ...low, charted: charted({ findings: [finding('03:01')] }) }, [mild]).level).toBe(3)
  })
  it('totals each low once by its worst step; waiting steps are not judged, errors are separate', () => {
    const kept = audit(
      lowEvent(mild, { treatments: [mouth(at('03:02'))], charted: charted({ prescriberCalls: [told('03:10')] }) }),
      [mild, recheckOf(90, at('03:17'), 1)],
      '03:25',
    )
    const late = audit(
      lowEvent(FIRST, { treatments: [mouth(at('03:02')), mouth(at('03:40'))] }),
      [FIRST, recheckOf(60, at('03:17'), 1)],
      '03:45',
    )
    const waiting = audit(lowEvent(FIRST), [FIRST], '03:02')
    const error = audit(lowEvent(FIRST), [
      { ...FIRST, voided: { reason: 'other patient', byId: 'nurse-a', atMs: at('03:10') } },
    ])
    const three = {
      ...kept,
      level: 3 as const,
      recurrence: { within24h: { lowId: 'low0', afterMs: 1 }, earlierInStay: 2 },
    }
    expect(shiftTotals([kept, late, waiting, error, three])).toEqual({
      lows: 4,
      byLevel: { 1: 1, 2: 2, 3: 1 },
      treated: { kept: 2, of: 3 },
      rechecked: { kept: 3, of: 3 },
      told: { kept: 2, of: 3 },
      recurrences24h: 1,
      recurrencesInStay: 1,
      relapses: 0,
      inError: 1,
    })
    expect(verdictOn(late.steps, 'treat')).toBe('late')
    expect(verdictOn(error.steps, 'treat')).toBeNull()
  })
})

describe('shifts in the ward’s time', () => {
  it('lists the last seven, the present one first, each up to the next', () => {
    const found = lastShifts(POLICY, at('09:15'), 7)
    expect(found.map(({ name, date }) => `${name} ${date}`)).toEqual([
      'Day 2026-03-10',
      'Night 2026-03-09',
      'Day 2026-03-09',
      'Night 2026-03-08',
      'Day 2026-03-08',
      'Night 2026-03-07',
      'Day 2026-03-07',
    ])
    expect(found[0]).toEqual({ name: 'Day', date: '2026-03-10', fromMs: at('07:00'), toMs: at('19:00') })
    for (const [index, shift] of found.entries()) if (index > 0) expect(shift.toMs).toBe(found[index - 1]?.fromMs)
  })
  it('start at their boundary; the spring night is an hour shorter, the autumn night longer', () => {
    expect(lastShifts(POLICY, at('19:00'), 1)[0]?.name).toBe('Night')
    expect(lastShifts(POLICY, at('19:00') - 1, 1)[0]?.name).toBe('Day')
    const hours = (date: string): number => {
      const [night] = lastShifts(POLICY, localToUtc(date, '03:30', ZONE), 1)
      return night === undefined ? 0 : (night.toMs - night.fromMs) / (60 * MINUTE)
    }
    expect([hours('2026-03-08'), hours('2026-11-01'), hours('2026-03-10')]).toEqual([11, 13, 12])
  })
  it('can be one or four a day', () => {
    expect(
      lastShifts({ ...POLICY, shifts: [{ name: 'Whole day', starts: '06:00' }] }, at('05:00'), 3).map(
        ({ date }) => date,
      ),
    ).toEqual(['2026-03-09', '2026-03-08', '2026-03-07'])
    const four = ['00:00', '06:00', '12:00', '18:00'].map((starts) => ({ name: starts, starts }))
    expect(lastShifts({ ...POLICY, shifts: four }, at('13:00'), 7).map(({ name }) => name)).toEqual([
      '12:00',
      '06:00',
      '00:00',
      '18:00',
      '12:00',
      '06:00',
      '00:00',
    ])
  })
})

describe('educator’s note', () => {
  const low = lowEvent(FIRST)
  it('is one event beside the low; blank text is not a note', () => {
    expect(addAuditNote({ noteId: 'n1', finding: ' Tray late ', followUp: '', byId: 'edda' }, low, 5)).toEqual({
      ok: true,
      value: [
        {
          wardId: 'ward1',
          stayId: 'stay1',
          actorId: 'edda',
          happenedAtMs: 5,
          chartedAtMs: 5,
          type: 'audit-note-added',
          body: { noteId: 'n1', lowId: 'low1', finding: 'Tray late', followUp: '' },
        },
      ],
    })
    expect(addAuditNote({ noteId: 'n1', finding: '  ', followUp: '\t', byId: 'edda' }, low, 5)).toMatchObject({
      ok: false,
      reason: 'note-empty',
    })
  })
})
