/** Nil by mouth and the check plan: the temporary plan and the return to the own plan. */
import { describe, expect, it } from 'vitest'
import {
  changePlan,
  nilByMouthChange,
  overlayOfAdmission,
  type PlanChangeFacts,
} from '../../shared/check/change-plan.ts'
import type { CheckPlan, PlanVersion } from '../../shared/check/check.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import { changedFacts, setFacts } from '../../shared/stay/facts.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { someFacts } from '../support/makers.ts'

const ZONE = 'America/New_York'
const policy = defaultPolicy('mg/dL', ZONE)
const at = (time: string, date = '2026-11-24'): number => localToUtc(date, time, ZONE)
const NOW = at('09:00')
const stay: Stay = {
  stayId: 'stay1',
  wardId: 'ward1',
  bed: '1',
  wristband: 'W1',
  familyName: 'Okafor',
  givenName: 'Ines',
  bornOn: '1951-07-14',
  admittedAtMs: 0,
  dischargedAtMs: null,
  facts: someFacts(),
}
const version = (plan: CheckPlan, over: Partial<PlanVersion> = {}): PlanVersion => ({
  stayId: 'stay1',
  version: 1,
  plan,
  fromMs: 0,
  untilMs: null,
  overlay: false,
  ...over,
})
const AC = version({ kind: 'ac-and-hs' })
const laid = (over: Partial<PlanVersion> = {}): PlanVersion =>
  version({ kind: 'every-6-h' }, { version: 2, overlay: true, fromMs: at('08:00'), ...over })
const facts = (plans: readonly PlanVersion[], over: Partial<PlanChangeFacts> = {}): PlanChangeFacts => ({
  stay,
  plans,
  policy,
  nowMs: NOW,
  ...over,
})
const change = (
  nil: Parameters<typeof nilByMouthChange>[0],
  plans: readonly PlanVersion[] = [AC],
  over: Partial<PlanChangeFacts> = {},
) => nilByMouthChange(nil, 'nurse', facts(plans, over)).map(({ type, body }) => ({ type, ...body }))
const lay = (fromMs: number, untilMs: number | null, number = 2) => ({
  type: 'plan-laid-over',
  version: number,
  plan: { kind: 'every-6-h' },
  fromMs,
  untilMs,
})
const end = (untilMs: number | null, number = 2) => ({ type: 'plan-end-set', version: number, untilMs })

describe('nil by mouth overrides a meal plan with the ward’s plan', () => {
  it.each([
    ['from now, open', { fromMs: NOW, untilMs: null }, [lay(NOW, null)]],
    [
      'from later until later',
      { fromMs: at('22:00'), untilMs: at('12:00', '2026-11-25') },
      [lay(at('22:00'), at('12:00', '2026-11-25'))],
    ],
    ['charted late: never from before now', { fromMs: at('06:00'), untilMs: null }, [lay(NOW, null)]],
    ['over already', { fromMs: at('06:00'), untilMs: NOW }, []],
    ['over in a moment', { fromMs: at('06:00'), untilMs: NOW + 1 }, [lay(NOW, NOW + 1)]],
    ['eats, and ate before', null, []],
  ])('%s', (_name, nil, events) => {
    expect(change(nil)).toEqual(events)
  })
  it.each<[string, CheckPlan, number]>([
    ['before meals', { kind: 'before-meals' }, 1],
    ['every 4 h stays every 4 h', { kind: 'every-4-h' }, 0],
    ['every 6 h', { kind: 'every-6-h' }, 0],
    ['listed times', { kind: 'listed-times', times: ['02:00'] }, 0],
    ['a single check is no plan', { kind: 'once', atMs: at('15:00') }, 0],
  ])('own plan: %s', (_name, plan, count) => {
    expect(change({ fromMs: NOW, untilMs: null }, [version(plan)]).length).toBe(count)
  })
  it('follows the ward’s policy, which may be no plan', () => {
    expect(change({ fromMs: NOW, untilMs: null }, [AC], { policy: { nilByMouthPlan: 'every-4-h' } })).toMatchObject([
      { plan: { kind: 'every-4-h' } },
    ])
    expect(change({ fromMs: NOW, untilMs: null }, [AC], { policy: { nilByMouthPlan: null } })).toEqual([])
    expect(change({ fromMs: NOW, untilMs: null }, [])).toEqual([])
  })
})

describe('end of nil by mouth', () => {
  it.each([
    ['eats again', null, laid(), [end(NOW)]],
    ['eats again, before it began', null, laid({ fromMs: at('22:00') }), [end(at('22:00'))]],
    ['its end is set', { fromMs: at('08:00'), untilMs: at('14:00') }, laid(), [end(at('14:00'))]],
    ['its end is taken away', { fromMs: at('08:00'), untilMs: null }, laid({ untilMs: at('14:00') }), [end(null)]],
    ['the same span', { fromMs: at('08:00'), untilMs: at('14:00') }, laid({ untilMs: at('14:00') }), []],
    ['the start put right, both in the past', { fromMs: at('07:00'), untilMs: null }, laid(), []],
    ['put off until tonight', { fromMs: at('22:00'), untilMs: null }, laid(), [end(NOW), lay(at('22:00'), null, 3)]],
    [
      'the start to come moved',
      { fromMs: at('23:00'), untilMs: null },
      laid({ fromMs: at('22:00') }),
      [end(at('22:00')), lay(at('23:00'), null, 3)],
    ],
    [
      'an older one is over: a new one',
      { fromMs: NOW, untilMs: null },
      laid({ untilMs: at('08:30') }),
      [lay(NOW, null, 3)],
    ],
  ])('%s', (_name, nil, overlay, events) => {
    expect(change(nil, [AC, overlay])).toEqual(events)
  })
})

describe('a plan change while nil by mouth', () => {
  const during = (plan: CheckPlan, whileNil: 'after' | 'now') => {
    const outcome = changePlan(
      { plan, fromMs: null, untilMs: null, whileNil, byId: 'nurse' },
      facts([AC, laid()], {
        stay: { ...stay, facts: someFacts({ nilByMouth: { fromMs: at('08:00'), untilMs: null } }) },
      }),
    )
    return outcome.ok ? outcome.value.map(({ type, body }) => ({ type, ...body })) : outcome
  }
  it('is kept for later or counts at once, as the nurse says', () => {
    expect(during({ kind: 'before-meals' }, 'after')).toMatchObject([{ type: 'plan-set', version: 3 }])
    expect(during({ kind: 'every-4-h' }, 'now')).toMatchObject([{ type: 'plan-set', version: 3 }, end(NOW)])
  })
  it('to a meal plan is overridden by the ward’s plan', () => {
    const nil = { ...stay, facts: someFacts({ nilByMouth: { fromMs: at('08:00'), untilMs: at('14:00') } }) }
    const outcome = changePlan(
      { plan: { kind: 'ac-and-hs' }, fromMs: null, untilMs: null, whileNil: null, byId: 'nurse' },
      facts([version({ kind: 'every-4-h' })], { stay: nil }),
    )
    expect(outcome.ok && outcome.value.map(({ type, body }) => ({ type, ...body }))).toMatchObject([
      { type: 'plan-set', version: 2 },
      lay(NOW, at('14:00'), 3),
    ])
  })
})

describe('at admission', () => {
  it.each([
    ['from before it', { kind: 'ac-and-hs' } as const, { fromMs: at('01:00'), untilMs: null }, at('08:00')],
    ['from after it', { kind: 'before-meals' } as const, { fromMs: at('22:00'), untilMs: null }, at('22:00')],
    ['by the clock', { kind: 'every-4-h' } as const, { fromMs: at('01:00'), untilMs: null }, null],
    ['may eat', { kind: 'ac-and-hs' } as const, null, null],
  ])('%s', (_name, plan, nil, fromMs) => {
    expect(overlayOfAdmission(plan, nil, { policy, admittedAtMs: at('08:00'), nowMs: NOW })?.fromMs ?? null).toBe(
      fromMs,
    )
  })
})

describe('facts at the bedside', () => {
  const known = { ...facts([AC]), stay, latest: 3 }
  const set = (over: Parameters<typeof someFacts>[0], basedOn = 3, more: Partial<typeof known> = {}) =>
    setFacts({ facts: someFacts(over), basedOn, byId: 'nurse' }, { ...known, ...more })

  it('charts nil by mouth together with its plan; other facts do not change the plan', () => {
    expect(set({ nilByMouth: { fromMs: NOW, untilMs: null } })).toMatchObject({
      value: [{ type: 'facts-set' }, { type: 'plan-laid-over' }],
    })
    expect(set({ onSteroid: true })).toMatchObject({
      value: [{ type: 'facts-set', actorId: 'nurse', happenedAtMs: NOW }],
    })
    const nil = { ...stay, facts: someFacts({ nilByMouth: { fromMs: at('08:00'), untilMs: null } }) }
    const kept = setFacts(
      { facts: { ...nil.facts, ivAccess: true }, basedOn: 3, byId: 'nurse' },
      { ...known, stay: nil, plans: [version({ kind: 'every-4-h' })] },
    )
    expect(kept.ok && kept.value.length).toBe(1)
  })
  it.each<[string, ReturnType<typeof set>, string]>([
    ['nothing changed', set({}), 'facts-unchanged'],
    ['a newer version in between', set({ onSteroid: true }, 2), 'facts-changed-meanwhile'],
    ['discharged', set({ onSteroid: true }, 3, { stay: { ...stay, dischargedAtMs: 1 } }), 'facts-stay-discharged'],
    [
      'until before from',
      set({ nilByMouth: { fromMs: at('12:00'), untilMs: at('12:00') } }),
      'nil-until-not-after-from',
    ],
    ['over already', set({ nilByMouth: { fromMs: at('06:00'), untilMs: NOW } }), 'nil-over'],
    ['too light', set({ weightKg: 0.3 }), 'weight-not-plausible'],
    ['too heavy', set({ weightKg: 500.1 }), 'weight-not-plausible'],
    [
      'eleven drugs',
      set({ otherGlucoseLowering: Array.from({ length: 11 }, (_, n) => `drug ${String(n)}`) }),
      'other-drugs-too-many',
    ],
  ])('refuses %s', (_name, outcome, reason) => {
    expect(outcome).toMatchObject({ ok: false, reason })
  })
  it('restricted hands in another order are no change', () => {
    const hands = [
      { hand: 'left', reason: 'drip' },
      { hand: 'right', reason: 'injury' },
    ] as const
    expect(
      changedFacts(someFacts({ restrictedHands: hands }), someFacts({ restrictedHands: [...hands].reverse() })),
    ).toEqual([])
    expect(
      changedFacts(
        someFacts({ restrictedHands: hands }),
        someFacts({ restrictedHands: hands.slice(1), weightKg: null }),
      ),
    ).toEqual(['restrictedHands', 'weightKg'])
  })
})
