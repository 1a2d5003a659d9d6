/** "Give as ordered" after a low: when it counts, what it releases, and what it never releases. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Dose, LowAnswer } from '../../shared/dose/dose.ts'
import { asOrderedAnswer } from '../../shared/low/insulin.ts'
import { NOTHING_CHARTED, type InsulinDecision, type LowEvent } from '../../shared/low/low.ts'
import { doseKind } from '../../shared/order/parts.ts'
import { recomputeDose } from '../../shared/order/recompute.ts'
import { foundText, releaseText } from '../../views/words/guards.ts'
import { facts, minutes, NOW_MS, propose, unitsOf, type Given } from '../support/dose.ts'
import { at, lowEvent, MINUTE, POLICY, reading } from '../support/readings.ts'
import { aDose } from '../support/makers.ts'

const FIRST = reading(52, at('06:40'))
const BACK = reading(96, at('07:00'), { checkKey: 'low.low1.1' })
const FOLLOWED = reading(104, at('08:00'), { checkKey: 'low.low1.2' })
const answered = (time: string, decision: InsulinDecision = 'as-ordered'): LowEvent['charted'] => ({
  ...NOTHING_CHARTED,
  insulinAnswers: [
    { atMs: at(time), chartedAtMs: at(time), byId: 'nurse-a', told: 'Dr. Vera Kim', ordered: '', decision },
  ],
})
const standing = (
  time: string,
  parts: {
    readonly charted?: LowEvent['charted']
    readonly readings?: readonly ReturnType<typeof reading>[]
    readonly directions?: readonly string[]
    readonly low?: Partial<LowEvent>
  } = {},
): string | null =>
  asOrderedAnswer({
    lows: [lowEvent(FIRST, { charted: parts.charted ?? answered('06:50'), ...parts.low })],
    readings: parts.readings ?? [FIRST, BACK],
    directions: (parts.directions ?? []).map((one) => ({ atMs: at(one) })),
    policy: POLICY,
    nowMs: at(time),
  })?.standing ?? null

describe('when the answer counts', () => {
  it.each([
    ['before any value shows recovery', standing('06:55'), 'not-recovered'],
    ['from the recovery on', standing('07:00'), 'releases'],
    ['up to the time of the follow-up, in', standing('08:00'), 'releases'],
    [
      'past it: the follow-up comes first',
      asOrderedAnswer({
        lows: [lowEvent(FIRST, { charted: answered('06:50') })],
        readings: [FIRST, BACK],
        directions: [],
        policy: POLICY,
        nowMs: at('08:00') + 1,
      })?.standing,
      'follow-up-due',
    ],
    ['once followed up nothing has to be released', standing('08:05', { readings: [FIRST, BACK, FOLLOWED] }), null],
    [
      'the low came back after it',
      standing('07:20', { readings: [FIRST, BACK, reading(61, at('07:10'))] }),
      'came-back',
    ],
    [
      'also once it has recovered again',
      standing('07:40', { readings: [FIRST, BACK, reading(61, at('07:10')), reading(99, at('07:30'))] }),
      'came-back',
    ],
    [
      'a value that is no number after recovery',
      standing('07:20', { readings: [FIRST, BACK, reading('HI', at('07:10'))] }),
      'came-back',
    ],
    [
      'answered after it had come back',
      standing('07:40', {
        charted: answered('07:12'),
        readings: [FIRST, BACK, reading(61, at('07:10')), reading(99, at('07:30'))],
      }),
      'releases',
    ],
    ['a direction after it', standing('07:20', { directions: ['07:10'] }), 'direction-since'],
    ['a direction before it', standing('07:20', { directions: ['06:45'] }), 'releases'],
    ['hold', standing('07:20', { charted: answered('06:50', 'hold') }), null],
    ['another dose', standing('07:20', { charted: answered('06:50', 'changed') }), null],
    ['no answer', standing('07:20', { charted: NOTHING_CHARTED }), null],
    ['the event is closed', standing('09:00', { low: { closedAtMs: at('08:30') } }), null],
    [
      'the recovering value was entered in error',
      standing('07:20', {
        readings: [FIRST, { ...BACK, voided: { reason: 'wrong patient', byId: 'n', atMs: at('07:05') } }],
      }),
      'not-recovered',
    ],
  ] as const)('%s', (_name, found, expected) => {
    expect(found ?? null).toBe(expected)
  })

  it('counts the last answer, whichever arrived first', () => {
    const [as, hold] = [answered('06:50').insulinAnswers[0], answered('06:52', 'hold').insulinAnswers[0]]
    if (as === undefined || hold === undefined) throw new Error('an answer is missing')
    for (const insulinAnswers of [
      [as, hold],
      [hold, as],
    ])
      expect(standing('07:20', { charted: { ...NOTHING_CHARTED, insulinAnswers } })).toBeNull()
  })
  it('counts for its own low only: a later low needs its own answer', () => {
    const lows = [
      lowEvent(FIRST, { charted: answered('06:50'), closedAtMs: at('08:30') }),
      lowEvent(reading(60, at('09:00')), { lowId: 'low2', previousLowId: 'low1', previousClosedAtMs: at('08:30') }),
    ]
    expect(
      asOrderedAnswer({
        lows,
        readings: [FIRST, BACK, FOLLOWED, reading(60, at('09:00')), reading(95, at('09:20'))],
        directions: [],
        policy: POLICY,
        nowMs: at('09:30'),
      }),
    ).toBeNull()
  })
})

const answer = (standingNow: LowAnswer['standing'] = 'releases'): LowAnswer => ({
  lowId: 'low0000000000001',
  told: 'Dr. Vera Kim',
  atMs: NOW_MS - minutes(30),
  standing: standingNow,
})
const FOLLOWING = { low: 'recovered-awaiting-follow-up', lowAnswer: answer() } as const
const MEAL = { meal: { kind: 'fixed' as const, units: { 'before-breakfast': 5 } } }
const scheduled = (parts: Given = {}): Given => ({
  ...parts,
  order: {
    insulin: 'insulin glargine',
    correction: null,
    occasions: [],
    scheduled: [{ time: '21:00', units: 18, holdBelow: null }],
    ...parts.order,
  },
  inputs: {
    occasion: null,
    scheduledTime: '21:00',
    scheduledDueMs: NOW_MS,
    trayExpectedAtMs: null,
    meal: null,
    ...parts.inputs,
  },
})
const guardOf = (given: Given) => {
  const proposal = propose(given)
  return (proposal.kind === 'dose' ? proposal.working.guards : proposal.guards).find(
    ({ guard }) => guard === 'low-event-open',
  )
}
const FACTOR = { kind: 'factor' as const, target: 120, perUnit: 20 }

/** 200 mg/dL on the usual column of 2a is 6 units of correction; the meal part is 5. The rule is our own. */
describe("the answer's effect", () => {
  it.each<[string, Given, number | string]>([
    ['the meal part, without its correction', { glucose: 200, order: MEAL, inputs: FOLLOWING }, 5],
    ['the same with no correction to hold', { glucose: 120, order: MEAL, inputs: FOLLOWING }, 5],
    [
      'a correction that takes off stays: 100 is 20 below the target of 120, so 5 - 1',
      { glucose: 100, order: { ...MEAL, correction: { ...FACTOR, belowTargetSubtracts: true } }, inputs: FOLLOWING },
      4,
    ],
    [
      'one that adds is held: 5 and not 5 + 4',
      { glucose: 200, order: { ...MEAL, correction: { ...FACTOR, belowTargetSubtracts: true } }, inputs: FOLLOWING },
      5,
    ],
    ['a scheduled dose', scheduled({ inputs: FOLLOWING }), 18],
    ['no correction alone', { glucose: 200, inputs: FOLLOWING }, 'low-event-open'],
    [
      'no meal part at another occasion than the order’s',
      { glucose: 200, order: MEAL, inputs: { ...FOLLOWING, atOrderOccasion: false } },
      'low-event-open',
    ],
    [
      'not before recovery',
      { glucose: 200, order: MEAL, inputs: { low: 'open', lowAnswer: answer('not-recovered') } },
      'low-event-open',
    ],
    [
      'no scheduled dose before recovery',
      scheduled({ inputs: { low: 'open', lowAnswer: answer('not-recovered') } }),
      'low-event-open',
    ],
    [
      'not once the low came back',
      scheduled({ inputs: { ...FOLLOWING, lowAnswer: answer('came-back') } }),
      'low-event-open',
    ],
    [
      'not once the follow-up is due',
      scheduled({ inputs: { ...FOLLOWING, lowAnswer: answer('follow-up-due') } }),
      'low-event-open',
    ],
    [
      'not after a direction',
      scheduled({ inputs: { ...FOLLOWING, lowAnswer: answer('direction-since') } }),
      'low-event-open',
    ],
    ['never from a low value', { glucose: 62, order: MEAL, inputs: FOLLOWING }, 'low-glucose'],
    [
      'nor a scheduled dose while the newest value is low',
      scheduled({ glucose: 62, inputs: FOLLOWING }),
      'low-glucose',
    ],
    [
      'the order’s own hold stands',
      scheduled({
        glucose: 96,
        order: { scheduled: [{ time: '21:00', units: 18, holdBelow: 100 }] },
        inputs: FOLLOWING,
      }),
      'scheduled-hold',
    ],
    [
      '“no dose, call” stands',
      {
        glucose: 400,
        order: {
          ...MEAL,
          correction: {
            kind: 'scale',
            scale: {
              unit: 'mg/dL',
              steps: [
                { atLeast: 150, answer: 2, also: null },
                { atLeast: 351, answer: 'call', also: null },
              ],
            },
          },
        },
        inputs: { ...FOLLOWING, criticalConfirmed: null },
      },
      'scale-says-call',
    ],
  ])('%s', (_name, given, expected) => {
    expect(unitsOf(given)).toBe(expected)
  })

  it('names the prescriber in the working, with the held parts', () => {
    expect(guardOf({ glucose: 200, order: MEAL, inputs: FOLLOWING })).toMatchObject({
      outcome: 'holds-correction',
      details: { answer: 'releases', told: 'Dr. Vera Kim' },
    })
    expect(guardOf(scheduled({ inputs: FOLLOWING }))?.outcome).toBe('warns')
    for (const one of ['releases', 'not-recovered', 'came-back', 'direction-since', 'follow-up-due'] as const) {
      const found = guardOf(scheduled({ inputs: { ...FOLLOWING, lowAnswer: answer(one) } }))
      if (found === undefined || found.outcome === 'passed') throw new Error('nothing was found')
      expect(foundText(found, 'America/Chicago')).toMatch(
        /^A low has recovered; its follow-up is still to come\. “Give as ordered”: Dr\. Vera Kim, 07:15, read back[;.] \S/,
      )
      expect(releaseText(found, 'America/Chicago')).toMatch(/\w\.$/)
    }
  })
  it('has no effect without a low, and by direction', () => {
    expect(propose({ order: MEAL, inputs: { lowAnswer: answer() } })).toEqual(propose({ order: MEAL }))
    const directed = { directionId: 'direction0000001', directedUnits: 4, low: 'open' } as const
    expect(propose({ inputs: { ...directed, lowAnswer: answer('not-recovered') } })).toEqual(
      propose({ inputs: directed }),
    )
  })
  it('property: adds no correction while a low is followed, whatever the answer', () => {
    const anything = fc.record({
      glucose: fc.integer({ min: 20, max: 600 }),
      low: fc.constantFrom('open' as const, 'recovered-awaiting-follow-up' as const),
      meal: fc.boolean(),
      factor: fc.boolean(),
      subtracts: fc.boolean(),
      own: fc.boolean(),
      standing: fc.constantFrom(
        'releases' as const,
        'not-recovered' as const,
        'came-back' as const,
        'direction-since' as const,
        'follow-up-due' as const,
        null,
      ),
    })
    let doses = 0
    fc.assert(
      fc.property(anything, ({ glucose, low, meal, factor, subtracts, own, standing: stands }) => {
        const proposal = propose({
          glucose,
          order: {
            ...(meal ? MEAL : {}),
            ...(factor ? { correction: { ...FACTOR, belowTargetSubtracts: subtracts } } : {}),
          },
          inputs: {
            low,
            atOrderOccasion: own,
            criticalConfirmed: glucose > 400 ? true : null,
            ...(stands === null ? {} : { lowAnswer: answer(stands) }),
          },
        })
        if (proposal.kind !== 'dose') return
        doses += 1
        expect([meal, own, stands]).toEqual([true, true, 'releases'])
        const added = proposal.working.terms.filter(
          ({ part, held, amount }) => part.startsWith('correction') && !held && amount.numerator > 0,
        )
        expect(added).toEqual([])
        expect(proposal.working.units).toBeLessThanOrEqual(5)
      }),
      { numRuns: 1000 },
    )
    expect(doses).toBeGreaterThan(10)
  })
})

describe('working it out again later', () => {
  const stored = (given: Given): Dose => {
    const proposal = propose(given)
    if (proposal.kind !== 'dose') throw new Error('stopped')
    const from = facts(given)
    return aDose({
      kind: doseKind(from.order?.order ?? null, from.inputs),
      units: proposal.working.units,
      working: proposal.working,
      inputs: from.inputs,
      insulin: from.insulin,
      readingId: proposal.working.readingId,
    })
  }
  const again = (dose: Dose, given: Given) => {
    const from = facts(given)
    return recomputeDose(dose, {
      order: from.order ?? undefined,
      policy: from.policy,
      reading: from.reading ?? undefined,
    })
  }
  it.each<[string, Given, number]>([
    ['a released meal part', { glucose: 200, order: MEAL, inputs: FOLLOWING }, 5],
    ['a released scheduled dose', scheduled({ inputs: FOLLOWING }), 18],
    ['a dose of before this could be said', { glucose: 200, order: MEAL }, 11],
  ])('%s', (_name, given, units) => {
    const dose = JSON.parse(JSON.stringify(stored(given))) as Dose
    expect(dose.working.rules).toBe(3)
    expect(again(dose, given)).toEqual({ units })
  })
  it('reports a release that was removed from the stored inputs', () => {
    const dose = stored({ glucose: 200, order: MEAL, inputs: FOLLOWING })
    const { lowAnswer: _answer, ...without } = dose.inputs
    expect(again({ ...dose, inputs: without }, { glucose: 200, order: MEAL })).toEqual({
      difference: 'now stopped by low-event-open',
    })
  })
  it('older doses have no such field', () => {
    expect(JSON.stringify(stored({ glucose: 200, order: MEAL }))).not.toContain('lowAnswer')
  })
})

it('these cases recover at 07:00 and have their follow-up at 08:00', () => {
  expect(FOLLOWED.takenAtMs - BACK.takenAtMs).toBe(POLICY.low.followUpMin * MINUTE)
})
