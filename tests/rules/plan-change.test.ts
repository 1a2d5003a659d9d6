/**
 * Changes of a check plan, additions, and temporary plans for nil by mouth: by cases and as properties of any
 * sequence.
 */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  additionsLeft,
  basePlanAt,
  changePlan,
  endAddition,
  overlayAt,
  PLAN_AHEAD_DAYS,
  type PlanChangeFacts,
  type PlanEntry,
} from '../../shared/check/change-plan.ts'
import type { Check, CheckPlan, PlanVersion } from '../../shared/check/check.ts'
import { isAddition, plannedChecks } from '../../shared/check/plan.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { someFacts } from '../support/makers.ts'

const ZONE = 'America/New_York'
const policy = defaultPolicy('mg/dL', ZONE)
const at = (time: string, date = '2026-11-24'): number => localToUtc(date, time, ZONE)
const MINUTE = 60_000
const HOUR = 60 * MINUTE
const stay = { stayId: 'stay1', wardId: 'ward1', admittedAtMs: 0, dischargedAtMs: null, facts: someFacts() }
const AC: CheckPlan = { kind: 'ac-and-hs' }

function version(plan: CheckPlan, over: Partial<PlanVersion> = {}): PlanVersion {
  return { stayId: 'stay1', version: 1, plan, fromMs: 0, untilMs: null, overlay: false, ...over }
}
const facts = (plans: readonly PlanVersion[], over: Partial<PlanChangeFacts> = {}): PlanChangeFacts => ({
  stay,
  plans,
  policy,
  nowMs: at('07:20'),
  ...over,
})
const entry = (plan: CheckPlan, over: Partial<PlanEntry> = {}): PlanEntry => ({
  plan,
  fromMs: null,
  untilMs: null,
  whileNil: null,
  byId: 'nurse',
  ...over,
})

/** The store's result of the events, written a second time for the tests. */
function fold(plans: readonly PlanVersion[], events: readonly LedgerEvent[]): PlanVersion[] {
  let all = [...plans]
  for (const event of events) {
    if (event.type === 'plan-set') {
      const from = event.happenedAtMs
      all = all.map((one) =>
        isAddition(event.body.plan) ||
        isAddition(one.plan) ||
        one.overlay ||
        (one.untilMs !== null && one.untilMs <= from)
          ? one
          : { ...one, untilMs: Math.max(one.fromMs, from) },
      )
      all.push(version(event.body.plan, { version: event.body.version, fromMs: from, untilMs: event.body.untilMs }))
    } else if (event.type === 'plan-laid-over')
      all.push(
        version(event.body.plan, {
          version: event.body.version,
          fromMs: event.body.fromMs,
          untilMs: event.body.untilMs,
          overlay: true,
        }),
      )
    else if (event.type === 'plan-end-set') {
      const { version: number, untilMs } = event.body
      all = all.map((one) =>
        one.version === number ? { ...one, untilMs: untilMs === null ? null : Math.max(one.fromMs, untilMs) } : one,
      )
    }
  }
  return all
}
function accepted<T>(
  outcome: { readonly ok: true; readonly value: T } | { readonly ok: false; readonly reason: string },
): T {
  if (!outcome.ok) throw new Error(outcome.reason)
  return outcome.value
}
function day(
  plans: readonly PlanVersion[],
  outcomes: ReadonlyMap<string, unknown> = new Map(),
  span: { readonly fromMs: number; readonly toMs: number } = { fromMs: at('00:00'), toMs: at('00:00', '2026-11-25') },
): Check[] {
  return plannedChecks({ plans, policy, trayDelays: [], outcomes, stay, ...span })
}
const slots = (checks: readonly Check[]): string[] => checks.map(({ key }) => key.slice('stay1.2026-11-24.'.length))
const done = (...names: readonly string[]): ReadonlyMap<string, unknown> =>
  new Map(names.map((slot) => [`stay1.2026-11-24.${slot}`, 'done']))

describe('a change of plan', () => {
  it('from now: later checks follow the new plan, earlier ones stay', () => {
    const events = accepted(changePlan(entry({ kind: 'every-4-h' }), facts([version(AC)], { nowMs: at('12:00') })))
    expect(events).toMatchObject([
      {
        type: 'plan-set',
        happenedAtMs: at('12:00'),
        chartedAtMs: at('12:00'),
        actorId: 'nurse',
        body: { version: 2, untilMs: null },
      },
    ])
    expect(slots(day(fold([version(AC)], events)))).toEqual([
      'before-breakfast',
      'before-lunch',
      't1200',
      't1600',
      't2000',
    ])
  })
  it('from later: the old plan continues until then', () => {
    const events = accepted(changePlan(entry({ kind: 'every-6-h' }, { fromMs: at('17:30') }), facts([version(AC)])))
    expect(slots(day(fold([version(AC)], events)))).toEqual([
      'before-breakfast',
      'before-lunch',
      'before-supper',
      't1800',
    ])
  })
  it('a plan set now replaces one that was set for later', () => {
    const later = fold(
      [version(AC)],
      accepted(changePlan(entry({ kind: 'every-6-h' }, { fromMs: at('17:30') }), facts([version(AC)]))),
    )
    const now = fold(later, accepted(changePlan(entry({ kind: 'every-4-h' }), facts(later, { nowMs: at('10:00') }))))
    expect(slots(day(now))).toEqual(['before-breakfast', 't1200', 't1600', 't2000'])
    // also for the plan in force: setting it again removes the later change
    expect(slots(day(fold(later, accepted(changePlan(entry(AC), facts(later, { nowMs: at('10:00') }))))))).toEqual([
      'before-breakfast',
      'before-lunch',
      'before-supper',
      'bedtime',
    ])
  })
  it('a check done before its due time keeps its identity, though the plan no longer has it', () => {
    const plans = fold([version(AC)], accepted(changePlan(entry({ kind: 'every-6-h' }), facts([version(AC)]))))
    expect(slots(day(plans))).toEqual(['t1200', 't1800'])
    expect(slots(day(plans, done('before-breakfast')))).toEqual(['before-breakfast', 't1200', 't1800'])
    const [before] = day([version(AC)])
    expect(day(plans, done('before-breakfast'))[0]).toEqual(before)
  })
  it('an outcome of another stay or day adds no check', () => {
    expect(
      slots(
        day(
          [version({ kind: 'every-6-h' })],
          new Map([
            ['stay2.2026-11-24.bedtime', 'done'],
            ['stay1.2026-11-23.bedtime', 'done'],
          ]),
        ),
      ),
    ).toEqual(['t0000', 't0600', 't1200', 't1800'])
  })
  it('an own end leaves no plan after it', () => {
    const plans = fold(
      [version(AC)],
      accepted(changePlan(entry({ kind: 'every-4-h' }, { untilMs: at('16:00') }), facts([version(AC)]))),
    )
    expect(slots(day(plans))).toEqual(['t0800', 't1200'])
    expect(basePlanAt(plans, at('16:00'))).toBeNull()
  })
  it.each<[string, Partial<PlanEntry>, Partial<PlanChangeFacts>, string]>([
    ['a discharged stay', {}, { stay: { ...stay, dischargedAtMs: 1 } }, 'plan-stay-discharged'],
    ['from a minute ago', { fromMs: at('07:20') - MINUTE }, {}, 'plan-from-past'],
    ['from too far ahead', { fromMs: at('07:20') + PLAN_AHEAD_DAYS * 24 * HOUR + 1 }, {}, 'plan-too-far'],
    ['until its own start', { fromMs: at('09:00'), untilMs: at('09:00') }, {}, 'plan-until-not-after-from'],
    ['no times', { plan: { kind: 'listed-times', times: [] } }, {}, 'plan-times-missing'],
    ['once, at this very instant', { plan: { kind: 'once', atMs: at('07:20') } }, {}, 'plan-once-past'],
    [
      'once, too far ahead',
      { plan: { kind: 'once', atMs: at('07:20') + PLAN_AHEAD_DAYS * 24 * HOUR + 1 } },
      {},
      'plan-too-far',
    ],
    ['the plan in force', { plan: AC }, {}, 'plan-same'],
    [
      'a second overnight check',
      { plan: { kind: 'overnight' } },
      { plans: [version({ kind: 'overnight' })] },
      'plan-same',
    ],
    [
      'nil by mouth, not said when it counts',
      {},
      { plans: [version(AC), version({ kind: 'every-6-h' }, { version: 2, overlay: true })] },
      'plan-while-nil-missing',
    ],
  ])('refuses %s', (_name, over, known, reason) => {
    expect(changePlan(entry({ kind: 'every-4-h' }, over), facts([version(AC)], known))).toMatchObject({
      ok: false,
      reason,
    })
  })
  it.each<[string, Partial<PlanEntry>]>([
    ['the last minute is now', { fromMs: at('07:20') - MINUTE + 1 }],
    ['exactly as far ahead as may be', { fromMs: at('07:20') + PLAN_AHEAD_DAYS * 24 * HOUR }],
    ['once, a moment from now', { plan: { kind: 'once', atMs: at('07:20') + 1 } }],
    ['an end just after its start', { untilMs: at('07:20') + 1 }],
  ])('accepts %s', (_name, over) => {
    expect(changePlan(entry({ kind: 'every-4-h' }, over), facts([version(AC)]))).toMatchObject({ ok: true })
  })
})

describe('additions', () => {
  it('overnight adds a check each night at the policy’s time and hides none', () => {
    const plans = fold(
      [version(AC)],
      accepted(changePlan(entry({ kind: 'overnight' }), facts([version(AC)], { nowMs: at('00:00') }))),
    )
    expect(slots(day(plans))).toEqual(['overnight', 'before-breakfast', 'before-lunch', 'before-supper', 'bedtime'])
    const [night] = day(plans)
    expect(night).toMatchObject({ dueMs: at(policy.overnight), occasion: 'overnight' })
    expect(
      day(plans, new Map(), { fromMs: at('00:00'), toMs: at('00:00', '2026-11-27') }).filter(
        ({ occasion }) => occasion === 'overnight',
      ).length,
    ).toBe(3)
  })
  it('are not hidden by a temporary plan, and not ended by a plan change', () => {
    const plans = [
      version(AC),
      version({ kind: 'overnight' }, { version: 2 }),
      version({ kind: 'once', atMs: at('15:00') }, { version: 3 }),
      version({ kind: 'every-6-h' }, { version: 4, overlay: true }),
    ]
    expect(slots(day(plans))).toEqual(['t0000', 'overnight', 't0600', 't1200', 't1500', 't1800'])
    const changed = fold(
      plans,
      accepted(changePlan(entry({ kind: 'every-4-h' }, { whileNil: 'now' }), facts(plans, { nowMs: at('00:30') }))),
    )
    expect(slots(day(changed))).toEqual(['t0000', 'overnight', 't0400', 't0800', 't1200', 't1500', 't1600', 't2000'])
  })
  it('can be ended from now on, once; a plan cannot', () => {
    const plans = [
      version(AC),
      version({ kind: 'overnight' }, { version: 2 }),
      version({ kind: 'once', atMs: at('15:00') }, { version: 3 }),
      version({ kind: 'once', atMs: at('07:00') }, { version: 4 }),
    ]
    expect(additionsLeft(plans, at('07:20')).map((one) => one.version)).toEqual([2, 3])
    const ended = fold(plans, [
      ...accepted(endAddition(2, 'nurse', facts(plans))),
      ...accepted(endAddition(3, 'nurse', facts(plans))),
    ])
    expect(slots(day(ended))).toEqual([
      'overnight',
      't0700',
      'before-breakfast',
      'before-lunch',
      'before-supper',
      'bedtime',
    ])
    expect(endAddition(1, 'nurse', facts(plans))).toMatchObject({ reason: 'plan-not-addition' })
    expect(endAddition(9, 'nurse', facts(plans))).toMatchObject({ reason: 'plan-not-addition' })
    expect(endAddition(4, 'nurse', facts(plans))).toMatchObject({ reason: 'plan-already-ended' })
    expect(endAddition(2, 'nurse', facts(ended, { nowMs: at('07:21') }))).toMatchObject({
      reason: 'plan-already-ended',
    })
    expect(endAddition(2, 'nurse', facts(plans, { stay: { ...stay, dischargedAtMs: 1 } }))).toMatchObject({
      reason: 'plan-stay-discharged',
    })
  })
  it('one check of both a plan and an addition is one check, with the plan’s window', () => {
    const plan = version({ kind: 'every-4-h' })
    const once = version({ kind: 'once', atMs: at('12:00') }, { version: 2 })
    for (const plans of [
      [plan, once],
      [once, plan],
    ]) {
      const noon = day(plans).filter(({ key }) => key.endsWith('t1200'))
      expect(noon.map(({ closesMs }) => closesMs)).toEqual([at('14:00')])
    }
  })
})

describe('any sequence of plan changes, temporary plans and ends', () => {
  const plan: fc.Arbitrary<CheckPlan> = fc.oneof(
    fc.constantFrom<CheckPlan>(
      AC,
      { kind: 'before-meals' },
      { kind: 'every-4-h' },
      { kind: 'every-6-h' },
      { kind: 'overnight' },
      { kind: 'listed-times', times: ['02:00', '08:00', '21:30'] },
    ),
    fc
      .integer({ min: 1, max: 2000 })
      .map((minute): CheckPlan => ({ kind: 'once', atMs: at('00:00') + minute * MINUTE })),
  )
  const minute = fc.integer({ min: 0, max: 1440 })
  const step = fc.oneof(
    fc.record({
      kind: fc.constant('change' as const),
      plan,
      gap: fc.integer({ min: 0, max: 300 }),
      ahead: fc.option(minute),
      whileNil: fc.constantFrom('after' as const, 'now' as const),
    }),
    fc.record({
      kind: fc.constant('lay' as const),
      gap: fc.integer({ min: 0, max: 300 }),
      length: fc.option(fc.integer({ min: 1, max: 900 })),
    }),
    fc.record({ kind: fc.constant('end' as const), gap: fc.integer({ min: 0, max: 300 }) }),
  )
  const week = { fromMs: at('00:00', '2026-11-23'), toMs: at('00:00', '2026-11-29') }
  type Step = typeof step extends fc.Arbitrary<infer S> ? S : never

  function take(plans: readonly PlanVersion[], nowMs: number, one: Step): PlanVersion[] {
    const head = { wardId: 'ward1', stayId: 'stay1', actorId: 'nurse', happenedAtMs: nowMs, chartedAtMs: nowMs }
    const next = Math.max(0, ...plans.map((each) => each.version)) + 1
    if (one.kind === 'lay')
      return fold(plans, [
        {
          ...head,
          type: 'plan-laid-over',
          body: {
            version: next,
            plan: { kind: 'every-6-h' },
            fromMs: nowMs,
            untilMs: one.length === null ? null : nowMs + one.length * MINUTE,
          },
        },
      ])
    if (one.kind === 'end') {
      const laid = overlayAt(plans, nowMs)
      return laid === null
        ? [...plans]
        : fold(plans, [{ ...head, type: 'plan-end-set', body: { version: laid.version, untilMs: nowMs } }])
    }
    const outcome = changePlan(
      {
        plan: one.plan,
        fromMs: one.ahead === null ? null : nowMs + one.ahead * MINUTE,
        untilMs: null,
        whileNil: one.whileNil,
        byId: 'nurse',
      },
      facts(plans, { nowMs }),
    )
    return outcome.ok ? fold(plans, outcome.value) : [...plans]
  }

  it('has each check once at most, and keeps those due before a step', () => {
    fc.assert(
      fc.property(fc.array(step, { minLength: 1, maxLength: 8 }), (steps) => {
        let plans = [version(AC)]
        let nowMs = at('00:00')
        for (const one of steps) {
          nowMs += one.gap * MINUTE
          const before = day(plans, new Map(), week)
          plans = take(plans, nowMs, one)
          const after = day(plans, new Map(), week)
          expect(new Set(after.map(({ key }) => key)).size).toBe(after.length)
          const dueBefore = (checks: readonly Check[]): readonly Check[] => checks.filter(({ dueMs }) => dueMs < nowMs)
          expect(dueBefore(after)).toEqual(dueBefore(before))
        }
      }),
    )
  })
  it('keeps done and excused checks with their due time', () => {
    fc.assert(
      fc.property(
        fc.array(step, { minLength: 1, maxLength: 8 }),
        fc.array(fc.nat({ max: 30 }), { maxLength: 8 }),
        (steps, picks) => {
          let plans = [version(AC)]
          let nowMs = at('00:00')
          const outcomes = new Map<string, unknown>()
          const dueOf = new Map<string, number>()
          for (const [index, one] of steps.entries()) {
            nowMs += one.gap * MINUTE
            // one that is open now is done before the change
            const open = day(plans, outcomes, week).filter((check) => check.opensMs <= nowMs && nowMs < check.closesMs)
            const chosen = open[(picks[index] ?? 0) % Math.max(1, open.length)]
            if (chosen !== undefined && !outcomes.has(chosen.key)) {
              outcomes.set(chosen.key, 'done')
              dueOf.set(chosen.key, chosen.dueMs)
            }
            plans = take(plans, nowMs, one)
            const after = new Map(day(plans, outcomes, week).map((check) => [check.key, check]))
            for (const [key, dueMs] of dueOf) expect(after.get(key)?.dueMs).toBe(dueMs)
          }
        },
      ),
    )
  })
  it('restores exactly the later checks of the own plan when a temporary plan ends', () => {
    fc.assert(
      fc.property(
        fc.array(
          step.filter(({ kind }) => kind === 'change'),
          { maxLength: 4 },
        ),
        minute,
        fc.integer({ min: 1, max: 900 }),
        (steps, from, length) => {
          let plans = [version(AC)]
          let nowMs = at('00:00')
          for (const one of steps) {
            nowMs += one.gap * MINUTE
            plans = take(plans, nowMs, one)
          }
          const [fromMs, endMs] = [nowMs + from * MINUTE, nowMs + (from + length) * MINUTE]
          const laid = [
            ...plans,
            version({ kind: 'every-6-h' }, { version: 99, fromMs, untilMs: endMs, overlay: true }),
          ]
          const outside = (checks: readonly Check[]): readonly Check[] =>
            checks.filter(({ dueMs }) => dueMs < fromMs || dueMs >= endMs)
          expect(outside(day(laid, new Map(), week))).toEqual(outside(day(plans, new Map(), week)))
          const inside = day(laid, new Map(), week).filter(({ dueMs }) => dueMs >= fromMs && dueMs < endMs)
          const below = new Set(
            day(
              plans.filter(({ plan: one }) => isAddition(one)),
              new Map(),
              week,
            ).map(({ key }) => key),
          )
          expect(
            inside.filter(({ key }) => !below.has(key)).every(({ key }) => /\.t(0000|0600|1200|1800)$/.test(key)),
          ).toBe(true)
        },
      ),
    )
  })
  it('does not depend on the order in which versions are read', () => {
    fc.assert(
      fc.property(fc.array(step, { minLength: 2, maxLength: 8 }), fc.infiniteStream(fc.nat()), (steps, chances) => {
        let plans = [version(AC)]
        let nowMs = at('00:00')
        for (const one of steps) {
          nowMs += one.gap * MINUTE
          plans = take(plans, nowMs, one)
        }
        const shuffled = plans
          .map((one) => [chances.next().value, one] as const)
          .sort(([a], [b]) => a - b)
          .map(([, one]) => one)
        expect(day(shuffled, new Map(), week)).toEqual(day(plans, new Map(), week))
      }),
    )
  })
})
