/** A low event and its rechecks: when the next is due, and the effect on insulin. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { lowLevel } from '../../shared/low/level.ts'
import { lowCourse } from '../../shared/low/course.ts'
import { lowForDose, lowProgress, nextRecheck } from '../../shared/low/recheck.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { at, glucose, lowEvent, MINUTE, MMOL_POLICY, POLICY, reading, treatment } from '../support/readings.ts'

const first = reading(52, at('03:00'), { readingId: 'r0' })
const low = lowEvent(first)
const recheck = (
  value: Reading['glucose']['value'],
  time: string,
  cycle: number,
  parts: Partial<Reading> = {},
): Reading => reading(value, at(time), { checkKey: `low.low1.${String(cycle)}`, ...parts })

describe('levels (American Diabetes Association since 2019; S)', () => {
  it.each([
    [70, null],
    [69, 1],
    [54, 1],
    [53, 2],
    [40, 2],
    ['LO', 2],
    ['HI', null],
    [400, null],
  ] as const)('%s mg/dL: %s', (value, level) => {
    expect(lowLevel(glucose(value), POLICY)).toBe(level)
  })

  it.each([
    [39, null],
    [38, 1],
    [30, 1],
    [29, 2],
  ] as const)('%i tenths of mmol/L: %s', (value, level) => {
    expect(lowLevel(glucose(value, 'mmol/L'), MMOL_POLICY)).toBe(level)
  })

  it('below 4.0 mmol/L is low under a UK policy (JBDS / NHS formulary; R): 3.9 is low there', () => {
    const uk = { ...MMOL_POLICY, limits: { ...MMOL_POLICY.limits, low: 40 } }
    expect([lowLevel(glucose(39, 'mmol/L'), uk), lowLevel(glucose(40, 'mmol/L'), uk)]).toEqual([1, null])
  })
})

describe('next recheck (15 min, World J Diabetes 2021;12:2036 table 1; R. Follow-up at 60 min: common practice)', () => {
  it.each([
    ['no treatment charted: from the low', low, [first], { cycle: 1, dueMs: at('03:15') }],
    ['from the treatment', { ...low, treatments: [treatment(at('03:04'))] }, [first], { cycle: 1, dueMs: at('03:19') }],
    [
      'from the last of two treatments',
      { ...low, treatments: [treatment(at('03:04')), treatment(at('03:10'))] },
      [first],
      { cycle: 1, dueMs: at('03:25') },
    ],
    [
      'still low: the next cycle, from that value',
      low,
      [first, recheck(63, '03:15', 1)],
      { cycle: 2, dueMs: at('03:30') },
    ],
    [
      'still low, treated again',
      { ...low, treatments: [treatment(at('03:02')), treatment(at('03:18'))] },
      [first, recheck(63, '03:16', 1)],
      { cycle: 2, dueMs: at('03:33') },
    ],
    ['third cycle', low, [first, recheck(55, '03:15', 1), recheck(63, '03:30', 2)], { cycle: 3, dueMs: at('03:45') }],
    [
      'after the third it never stops by itself',
      low,
      [first, recheck(55, '03:15', 1), recheck(63, '03:30', 2), recheck(66, '03:45', 3)],
      { cycle: 4, dueMs: at('04:00') },
    ],
    ['recovered at exactly 70: the follow-up', low, [first, recheck(70, '03:15', 1)], { cycle: 2, dueMs: at('04:15') }],
    ['69 has not recovered', low, [first, recheck(69, '03:15', 1)], { cycle: 2, dueMs: at('03:30') }],
    ['HI shows no recovery', low, [first, recheck('HI', '03:15', 1)], { cycle: 2, dueMs: at('03:30') }],
    [
      'low again at the follow-up',
      low,
      [first, recheck(96, '03:15', 1), recheck(64, '04:15', 2)],
      { cycle: 3, dueMs: at('04:30') },
    ],
    ['followed up', low, [first, recheck(96, '03:15', 1), recheck(101, '04:15', 2)], null],
    [
      'a follow-up one recheck interval early counts',
      low,
      [first, recheck(96, '03:15', 1), recheck(101, '04:00', 2)],
      null,
    ],
    [
      'one a minute earlier does not, and has used its cycle',
      low,
      [first, recheck(96, '03:15', 1), recheck(101, '03:59', 2)],
      { cycle: 3, dueMs: at('04:15') },
    ],
    ['a planned check can show recovery', low, [first, reading(96, at('03:20'))], { cycle: 1, dueMs: at('04:20') }],
    ['closed', { ...low, closedAtMs: at('05:00') }, [first], null],
  ])('%s', (_name, event, readings, expected) => {
    expect(nextRecheck(event, readings, POLICY)).toEqual(expected)
  })

  it('an untreated repeat within 10 min moves no time limit, whatever its value', () => {
    for (const value of [49, 66, 120])
      expect(nextRecheck(low, [first, reading(value, at('03:10'))], POLICY)).toEqual({ cycle: 1, dueMs: at('03:15') })
    expect(nextRecheck(low, [first, reading(120, at('03:15'))], POLICY)?.dueMs).toBe(at('04:15'))
  })

  it('the same value is a recheck once treated, or when taken as the recheck', () => {
    expect(
      nextRecheck({ ...low, treatments: [treatment(at('03:01'))] }, [first, reading(120, at('03:10'))], POLICY),
    ).toEqual({ cycle: 1, dueMs: at('03:16') })
    expect(
      nextRecheck({ ...low, treatments: [treatment(at('03:01'))] }, [first, reading(120, at('03:11'))], POLICY),
    ).toEqual({ cycle: 1, dueMs: at('04:11') })
    expect(nextRecheck(low, [first, recheck(120, '03:15', 1)], POLICY)).toEqual({ cycle: 2, dueMs: at('04:15') })
  })

  it('no value shows recovery before 10 min after the treatment, or 15 after a low that was not treated', () => {
    const first45 = { ...first, glucose: { unit: 'mg/dL', value: 45 } as const }
    const treated = { ...low, treatments: [treatment(at('03:01'))] }
    expect(nextRecheck(treated, [first45, recheck(88, '03:03', 1)], POLICY)).toEqual({ cycle: 2, dueMs: at('03:16') })
    expect(lowForDose([treated], [first45, recheck(88, '03:03', 1)], POLICY, at('03:04'))).toBe('open')
    for (const [value, time, phase] of [
      [88, '03:10', 'open'],
      [88, '03:11', 'recovered'],
    ] as const)
      expect(lowProgress(treated, [first45, recheck(value, time, 1)], POLICY).phase).toBe(phase)
    expect(lowProgress(low, [first45, recheck(88, '03:14', 1)], POLICY).phase).toBe('open')
    expect(lowProgress(low, [first45, recheck(88, '03:15', 1)], POLICY).phase).toBe('recovered')
  })

  it('a value in doubt begins a low and never ends one', () => {
    const inDoubt = (value: number, time: string, cycle: number): Reading =>
      recheck(value, time, cycle, { doubts: ['meter-control-not-done'] })
    const treated = { ...low, treatments: [treatment(at('03:01'))] }
    const course = lowCourse(treated, [first, inDoubt(110, '03:16', 1)], POLICY)
    expect(course).toMatchObject({ phase: 'open', untreatedSinceMs: null, dueMs: at('03:16') })
    expect(course.parts.at(-1)?.part).toBe('doubtful')
    // a fit value after it recovers, and one in doubt is no follow-up either
    const fit = [first, inDoubt(110, '03:16', 1), recheck(96, '03:18', 2)]
    expect(lowProgress(treated, fit, POLICY)).toEqual({ phase: 'recovered', cycle: 3, dueMs: at('04:18') })
    expect(lowProgress(treated, [...fit, inDoubt(99, '04:18', 3)], POLICY).phase).toBe('recovered')
    // a low value in doubt is a low
    expect(lowProgress(treated, [...fit, inDoubt(60, '04:18', 3)], POLICY).phase).toBe('open')
  })

  it('a correction of the first reading is no later reading; a voided recheck frees its cycle', () => {
    const corrected = reading(58, at('03:00'), { readingId: 'r1', supersedes: { readingId: 'r0', reason: 'typo' } })
    expect(nextRecheck(low, [{ ...first, supersededBy: 'r1' }, corrected], POLICY)).toEqual({
      cycle: 1,
      dueMs: at('03:15'),
    })
    expect(
      nextRecheck(
        low,
        [first, recheck(96, '03:15', 1, { voided: { reason: 'wrong patient', byId: 'n', atMs: at('03:20') } })],
        POLICY,
      ),
    ).toEqual({ cycle: 1, dueMs: at('03:15') })
  })

  it('recovers at the policy’s limit: 100 mg/dL', () => {
    const policy = { ...POLICY, limits: { ...POLICY.limits, recovered: 100 } }
    expect(lowProgress(low, [first, recheck(96, '03:15', 1)], policy).phase).toBe('open')
    expect(lowProgress(low, [first, recheck(100, '03:15', 1)], policy).phase).toBe('recovered')
  })
})

describe('effect on insulin', () => {
  it.each([
    ['no event', [], [], 'none'],
    ['open', [low], [first], 'open'],
    ['recovered', [low], [first, recheck(96, '03:15', 1)], 'recovered-awaiting-follow-up'],
    ['followed up, paperwork open', [low], [first, recheck(96, '03:15', 1), recheck(99, '04:15', 2)], 'none'],
    ['closed', [{ ...low, closedAtMs: at('05:00') }], [first], 'none'],
    [
      'a followed-up one and an open one',
      [low, lowEvent(reading(60, at('05:00')), { lowId: 'low2' })],
      [first, recheck(96, '03:15', 1), recheck(99, '04:15', 2), reading(60, at('05:00'))],
      'open',
    ],
  ] as const)('%s', (_name, lows, readings, expected) => {
    expect(lowForDose(lows, readings, POLICY, at('06:00'))).toBe(expected)
  })

  it('uses the facts of the instant: before the recheck it was open', () => {
    const readings = [first, recheck(96, '03:15', 1), recheck(99, '04:15', 2)]
    expect(
      [at('02:00'), at('03:10'), at('03:15'), at('04:14'), at('04:15')].map((nowMs) =>
        lowForDose([low], readings, POLICY, nowMs),
      ),
    ).toEqual(['none', 'open', 'recovered-awaiting-follow-up', 'recovered-awaiting-follow-up', 'none'])
  })
})

describe('properties', () => {
  const sequence = fc.array(
    fc.record({
      after: fc.integer({ min: 1, max: 240 }),
      value: fc.oneof(fc.integer({ min: 20, max: 300 }), fc.constantFrom('LO' as const, 'HI' as const)),
      keyed: fc.boolean(),
    }),
    { maxLength: 8 },
  )
  const readingsOf = (
    steps: readonly { after: number; value: Reading['glucose']['value']; keyed: boolean }[],
  ): Reading[] => {
    let atMs = first.takenAtMs
    return [
      first,
      ...steps.map(({ after, value, keyed }, i) => {
        atMs += after * MINUTE
        return reading(value, atMs, {
          readingId: `s${String(i)}`,
          checkKey: keyed ? `low.low1.${String(i + 1)}` : null,
        })
      }),
    ]
  }

  it('do not depend on the order of arrival', () => {
    fc.assert(
      fc.property(sequence, fc.array(fc.integer({ min: 0, max: 300 }), { maxLength: 3 }), (steps, treated) => {
        const readings = readingsOf(steps)
        const event = { ...low, treatments: treated.map((minutes) => treatment(first.takenAtMs + minutes * MINUTE)) }
        expect(
          lowProgress({ ...event, treatments: [...event.treatments].reverse() }, [...readings].reverse(), POLICY),
        ).toEqual(lowProgress(event, readings, POLICY))
      }),
    )
  })

  it('give an open event a next recheck until the last counting value shows recovery', () => {
    fc.assert(
      fc.property(sequence, (steps) => {
        const readings = readingsOf(steps)
        if (nextRecheck(low, readings, POLICY) !== null) return
        const last = readings.at(-1)?.glucose.value
        expect(typeof last === 'number' && last >= POLICY.limits.recovered).toBe(true)
      }),
    )
  })

  it('never use a cycle twice', () => {
    fc.assert(
      fc.property(sequence, (steps) => {
        const readings = readingsOf(steps)
        const next = nextRecheck(low, readings, POLICY)
        expect(readings.some(({ checkKey }) => next !== null && checkKey === `low.low1.${String(next.cycle)}`)).toBe(
          false,
        )
      }),
    )
  })
})
