/**
 * Properties of low events over random nights: random actions, policies and clock steps, through the same decisions
 * that the pages use.
 */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  answerAtBedside,
  armKey,
  callEmergency,
  findLevelThree,
  giveFood,
  tellPrescriber,
  treatLow,
} from '../../shared/low/chart.ts'
import { closeLow } from '../../shared/low/close.ts'
import { lowState, type LowFacts } from '../../shared/low/event.ts'
import { lowLine } from '../../shared/low/line.ts'
import { NOTHING_CHARTED, type LowEvent } from '../../shared/low/low.ts'
import { lowForDose } from '../../shared/low/recheck.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { isEffective, type Reading } from '../../shared/reading/reading.ts'
import { proposeDose } from '../../shared/order/propose.ts'
import { at, lowEvent, MINUTE, POLICY, reading } from '../support/readings.ts'
import { factsOf, FIRST, fold, NURSE, withLow } from '../support/lows.ts'
import { reading as doseReading, version } from '../support/dose.ts'
import { someFacts, someInputs } from '../support/makers.ts'

type Value = Reading['glucose']['value']
type Action =
  | { readonly do: 'measure'; readonly value: Value; readonly keyed: boolean; readonly lateMin: number }
  | { readonly do: 'answer'; readonly swallowing: 'safely' | 'not-safely' | 'unresponsive'; readonly iv: boolean }
  | { readonly do: 'treat'; readonly asShown: boolean; readonly lateMin: number }
  | { readonly do: 'find' }
  | { readonly do: 'emergency' }
  | { readonly do: 'food' }
  | { readonly do: 'tell'; readonly lateMin: number }
  | { readonly do: 'void'; readonly pick: number }
  | { readonly do: 'close' }
type Step = { readonly afterMin: number; readonly action: Action }

const value = fc.oneof(
  { weight: 6, arbitrary: fc.integer({ min: 35, max: 140 }) },
  { weight: 1, arbitrary: fc.constantFrom<Value>('LO', 'HI', 300) },
)
const lateMin = fc.oneof(
  { weight: 3, arbitrary: fc.constant(0) },
  { weight: 1, arbitrary: fc.integer({ min: 1, max: 40 }) },
)
const action: fc.Arbitrary<Action> = fc.oneof(
  { weight: 5, arbitrary: fc.record({ do: fc.constant('measure' as const), value, keyed: fc.boolean(), lateMin }) },
  {
    weight: 3,
    arbitrary: fc.record({
      do: fc.constant('answer' as const),
      swallowing: fc.constantFrom('safely' as const, 'not-safely' as const, 'unresponsive' as const),
      iv: fc.boolean(),
    }),
  },
  { weight: 4, arbitrary: fc.record({ do: fc.constant('treat' as const), asShown: fc.boolean(), lateMin }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constant('tell' as const), lateMin }) },
  { weight: 3, arbitrary: fc.constant({ do: 'close' as const }) },
  { weight: 1, arbitrary: fc.constantFrom<Action>({ do: 'find' }, { do: 'emergency' }, { do: 'food' }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant('void' as const), pick: fc.nat({ max: 20 }) }) },
)
const night = fc.array(
  fc.record({ afterMin: fc.oneof(fc.integer({ min: 0, max: 20 }), fc.constantFrom(15, 60)), action }),
  { minLength: 1, maxLength: 18 },
)
const policies: fc.Arbitrary<WardPolicy> = fc
  .record({
    recovered: fc.constantFrom(70, 80, 100),
    maxCycles: fc.integer({ min: 1, max: 4 }),
    escalateAfterMin: fc.constantFrom(null, 45, 30),
    dextrose: fc.boolean(),
    glucagon: fc.boolean(),
    followUpMin: fc.constantFrom(60, 45),
  })
  .map(({ recovered, dextrose, glucagon, ...low }) =>
    withLow({ ...low, standingOrders: { dextrose, glucagon } }, { ...POLICY, limits: { ...POLICY.limits, recovered } }),
  )

type Night = { readonly low: LowEvent; readonly readings: readonly Reading[]; readonly nowMs: number }
/** Plays the steps; `look` gets the facts after each. A refused decision changes nothing. */
function live(steps: readonly Step[], policy: WardPolicy, look: (facts: LowFacts, closedNow: boolean) => void): Night {
  let low = lowEvent(FIRST)
  let readings: Reading[] = [FIRST]
  let nowMs = FIRST.takenAtMs
  const facts = (): LowFacts => factsOf({ low, readings, policy, nowMs, bedside: someFacts() })
  look(facts(), false)
  for (const [index, { afterMin, action: act }] of steps.entries()) {
    nowMs += afterMin * MINUTE
    const before = low
    const outcome = decide(act)
    if (outcome?.ok === true) low = fold(low, outcome.value)
    if (act.do === 'measure' && low.closedAtMs === null) {
      const cycle = lowState(facts()).course.cycle
      const takenAtMs = Math.max(FIRST.takenAtMs, nowMs - act.lateMin * MINUTE)
      readings = [
        ...readings,
        reading(act.value, takenAtMs, {
          readingId: `n${String(index)}`,
          chartedAtMs: nowMs,
          checkKey: act.keyed ? `low.low1.${String(cycle)}` : null,
        }),
      ]
    }
    if (act.do === 'void' && low.closedAtMs === null)
      readings = readings.map((one, at_) =>
        at_ === act.pick % readings.length && one.voided === null
          ? { ...one, voided: { reason: 'x', byId: NURSE, atMs: nowMs } }
          : one,
      )
    look(facts(), before.closedAtMs === null && low.closedAtMs !== null)
  }
  return { low, readings, nowMs }

  function decide(act: Action): ReturnType<typeof treatLow> | ReturnType<typeof closeLow> | null {
    const now = facts()
    const lateMs = (minutes: number): number | null => (minutes === 0 ? null : nowMs - minutes * MINUTE)
    switch (act.do) {
      case 'answer':
        return answerAtBedside(
          { byId: NURSE, answers: { swallowing: act.swallowing, ivWorking: act.iv, tubeUsable: null } },
          now,
        )
      case 'treat': {
        const { arm } = lowState(now)
        const shown = act.asShown && arm?.kind === 'give' ? arm : null
        return treatLow(
          {
            byId: NURSE,
            shown: shown === null ? null : armKey(shown),
            arm: shown?.arm ?? 'by-mouth',
            what: 'juice',
            directedBy: '',
            readBack: false,
            atMs: lateMs(act.lateMin),
          },
          now,
        )
      }
      case 'find':
        return findLevelThree({ byId: NURSE, finding: 'confused-needs-help' }, now)
      case 'emergency':
        return callEmergency({ byId: NURSE }, now)
      case 'food':
        return giveFood({ byId: NURSE, grams: 20, what: 'toast', atMs: null }, now, lowState(now))
      case 'tell':
        return tellPrescriber(
          { byId: NURSE, told: 'Dr. Vera Kim', readBack: true, ordered: '', atMs: lateMs(act.lateMin) },
          now,
          [],
        )
      case 'close':
        return closeLow({ cause: 'dose-too-high', note: '', byId: NURSE }, now)
      default:
        return null
    }
  }
}

/** A night without deviations, so that some of the nights reach closing. */
const GOOD: readonly Step[] = [
  { afterMin: 1, action: { do: 'answer', swallowing: 'safely', iv: false } },
  { afterMin: 1, action: { do: 'treat', asShown: true, lateMin: 0 } },
  { afterMin: 15, action: { do: 'measure', value: 120, keyed: true, lateMin: 0 } },
  { afterMin: 5, action: { do: 'tell', lateMin: 0 } },
  { afterMin: 60, action: { do: 'measure', value: 125, keyed: true, lateMin: 0 } },
]
/** A normal night with random actions inserted at one point. */
const woven = fc
  .tuple(fc.nat({ max: GOOD.length }), night)
  .map(([place, steps]) => [
    ...GOOD.slice(0, place),
    ...steps,
    ...GOOD.slice(place),
    { afterMin: 1, action: { do: 'close' } } as const,
  ])
const nights = fc.oneof(night, woven)

/**
 * Recovery and follow-up, written a second time in a simple form: after the last value that is below recovery or no
 * number, the first one at or above recovery, and one at least (follow-up less a recheck interval) later. Repeats
 * before any treatment and early values move nothing in the rule, so only nights without them are compared.
 */
function plainlyFollowedUp(readings: readonly Reading[], policy: WardPolicy): boolean {
  const inOrder = readings.filter(isEffective).sort((a, b) => a.takenAtMs - b.takenAtMs)
  const lastBelow = inOrder.findLastIndex(
    ({ glucose }) => typeof glucose.value !== 'number' || glucose.value < policy.limits.recovered,
  )
  const above = inOrder.slice(lastBelow + 1)
  const [first, last] = [above[0], above.at(-1)]
  return (
    first !== undefined &&
    last !== undefined &&
    last.takenAtMs - first.takenAtMs >= (policy.low.followUpMin - policy.low.recheckMin) * MINUTE
  )
}

describe('over random nights', () => {
  it('an event never closes without recovery, follow-up, call and cause', () => {
    let closings = 0
    fc.assert(
      fc.property(nights, policies, (steps, policy) => {
        live(steps, policy, ({ low, readings }, closedNow) => {
          if (!closedNow) return
          closings += 1
          const { closing, prescriberCalls } = low.charted
          expect(closing?.cause).toBe('dose-too-high')
          expect(prescriberCalls.length).toBeGreaterThan(0)
          const numbers = readings.filter(
            (one) =>
              isEffective(one) && typeof one.glucose.value === 'number' && one.glucose.value >= policy.limits.recovered,
          )
          expect(numbers.length).toBeGreaterThanOrEqual(2)
          const newest = readings
            .filter(isEffective)
            .sort((a, b) => a.takenAtMs - b.takenAtMs)
            .at(-1)?.glucose.value
          expect(typeof newest === 'number' && newest >= policy.limits.recovered).toBe(true)
        })
      }),
      { numRuns: 600 },
    )
    // the property proves nothing if no night closes
    expect(closings).toBeGreaterThan(50)
  })

  it('an open event always has a next step and a deadline, and the most urgent comes first', () => {
    fc.assert(
      fc.property(nights, policies, (steps, policy) => {
        live(steps, policy, (facts) => {
          const state = lowState(facts)
          if (facts.low.closedAtMs !== null) {
            expect(state.next).toBe(null)
            return
          }
          expect(Number.isFinite(state.next?.deadlineMs)).toBe(true)
          expect(state.missing).toContain('cause')
          const kinds = state.steps.map(({ kind }) => kind)
          if (kinds.includes('call-emergency')) expect(kinds[0]).toBe('call-emergency')
          else if (kinds.includes('treat')) expect(kinds[0]).toBe('treat')
          // closing is offered only as the last step
          if (kinds.includes('close')) expect(kinds).toEqual(['close'])
          if (state.phase === 'open' || state.phase === 'recovered')
            expect(kinds.some((kind) => kind === 'recheck' || kind === 'follow-up')).toBe(true)
        })
      }),
      { numRuns: 500 },
    )
  })

  it('time alone changes nothing before the instant that the state names', () => {
    fc.assert(
      fc.property(nights, policies, fc.nat({ max: 120 }), (steps, policy, minutes) => {
        const { low, readings, nowMs } = live(steps, policy, () => undefined)
        const state = lowState(factsOf({ low, readings, policy, nowMs }))
        const laterMs = nowMs + minutes * MINUTE
        const later = lowState(
          factsOf({ low, readings, policy, nowMs: Math.min(laterMs, (state.changesAtMs ?? Infinity) - 1) }),
        )
        expect({ ...later, changesAtMs: null }).toEqual({ ...state, changesAtMs: null })
      }),
      { numRuns: 300 },
    )
  })

  it('correction insulin is proposed only after recovery and follow-up, and always then', () => {
    const proposals = { yes: 0, no: 0 }
    fc.assert(
      fc.property(
        fc.array(fc.record({ afterMin: fc.integer({ min: 15, max: 70 }), value }), { minLength: 1, maxLength: 8 }),
        (values) => {
          let nowMs = FIRST.takenAtMs
          const readings = [
            FIRST,
            ...values.map((one, index) => {
              nowMs += one.afterMin * MINUTE
              return reading(one.value, nowMs, {
                readingId: `v${String(index)}`,
                checkKey: `low.low1.${String(index + 1)}`,
              })
            }),
          ]
          const low = lowForDose([lowEvent(FIRST)], readings, POLICY, nowMs)
          const proposal = proposeDose({
            order: version(),
            insulin: 'insulin lispro',
            policy: POLICY,
            policyVersion: 1,
            reading: doseReading(250),
            inputs: someInputs({ low, earlierDoses: [] }),
          })
          const guards = proposal.kind === 'stopped' ? proposal.guards : proposal.working.guards
          const stopped = guards.some(({ guard, outcome }) => guard === 'low-event-open' && outcome === 'stops')
          const allowed = plainlyFollowedUp(readings, POLICY)
          proposals[allowed ? 'yes' : 'no'] += 1
          expect(stopped).toBe(!allowed)
          if (!allowed) expect(proposal.kind).toBe('stopped')
        },
      ),
      { numRuns: 500 },
    )
    expect(Math.min(proposals.yes, proposals.no)).toBeGreaterThan(20)
  })

  it('facts in any order of arrival give the same event', () => {
    let moved = 0
    fc.assert(
      fc.property(nights, policies, fc.infiniteStream(fc.nat({ max: 1000 })), (steps, policy, chance) => {
        const { low, readings, nowMs } = live(
          steps.filter(({ action: { do: what } }) => what !== 'close' && what !== 'void'),
          policy,
          () => undefined,
        )
        const shuffled = <T>(all: readonly T[]): T[] =>
          all
            .map((one) => ({ one, key: chance.next().value }))
            .sort((a, b) => a.key - b.key)
            .map(({ one }) => one)
        const arrived = shuffled(readings)
        // whichever low value comes first opens the event
        const opener =
          arrived.find(
            (one) =>
              one.glucose.value === 'LO' ||
              (typeof one.glucose.value === 'number' && one.glucose.value < policy.limits.low),
          ) ?? FIRST
        if (opener.readingId !== FIRST.readingId) moved += 1
        const { charted } = low
        const other: LowEvent = {
          ...low,
          openedByReadingId: opener.readingId,
          openedAtMs: opener.takenAtMs,
          treatments: shuffled(low.treatments),
          charted: {
            ...charted,
            answers: shuffled(charted.answers),
            findings: shuffled(charted.findings),
            emergencyCalls: shuffled(charted.emergencyCalls),
            prescriberCalls: shuffled(charted.prescriberCalls),
            food: shuffled(charted.food),
          },
        }
        expect(lowState(factsOf({ low: other, readings: arrived, policy, nowMs }))).toEqual(
          lowState(factsOf({ low, readings, policy, nowMs })),
        )
        expect(lowLine(other, arrived, policy)).toEqual(lowLine(low, readings, policy))
      }),
      { numRuns: 500 },
    )
    expect(moved).toBeGreaterThan(50)
  })

  it('of two answers at one instant the more cautious counts, whichever arrived first', () => {
    const at = {
      atMs: FIRST.takenAtMs + MINUTE,
      chartedAtMs: FIRST.takenAtMs + MINUTE,
      byId: NURSE,
      ivWorking: true,
      tubeUsable: null,
    }
    const [safe, unsafe] = [
      { ...at, swallowing: 'safely' as const },
      { ...at, swallowing: 'not-safely' as const },
    ]
    for (const answers of [
      [safe, unsafe],
      [unsafe, safe],
    ]) {
      const low = lowEvent(FIRST, { charted: { ...NOTHING_CHARTED, answers } })
      expect(lowState(factsOf({ low, nowMs: at.atMs + MINUTE })).answers?.swallowing).toBe('not-safely')
    }
  })

  it('a late entry sets the deadlines of an immediate one, and is marked late', () => {
    fc.assert(
      fc.property(fc.integer({ min: 16, max: 120 }), fc.integer({ min: 0, max: 14 }), (lateMinutes, afterMin) => {
        const atMs = FIRST.takenAtMs + afterMin * MINUTE
        const nowMs = atMs + lateMinutes * MINUTE
        const treated = (chartedAtMs: number): LowEvent =>
          lowEvent(FIRST, {
            treatments: [
              {
                lowId: 'low1',
                atMs,
                chartedAtMs,
                byId: NURSE,
                arm: 'by-mouth',
                amount: null,
                what: 'juice',
                directedBy: null,
              },
            ],
          })
        expect(lowState(factsOf({ low: treated(nowMs), nowMs })).steps).toEqual(
          lowState(factsOf({ low: treated(atMs), nowMs })).steps,
        )
        expect(
          lowState(factsOf({ low: treated(nowMs), nowMs })).steps.find(({ kind }) => kind === 'recheck')?.deadlineMs,
        ).toBe(atMs + 15 * MINUTE)
        expect(lowLine(treated(nowMs), [FIRST], POLICY).find(({ fact }) => fact.kind === 'treatment')?.late).toBe(true)
      }),
    )
  })
})

it('the first value of these nights is a low of 52 at 03:00', () => {
  expect([FIRST.glucose.value, FIRST.takenAtMs]).toEqual([52, at('03:00')])
})
