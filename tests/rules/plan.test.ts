import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Check, CheckPlan, PlanVersion, TrayDelay } from '../../shared/check/check.ts'
import {
  currentRound,
  extraCheck,
  parseCheckKey,
  plannedChecks,
  recheckCheck,
  roundOf,
  type PlanFacts,
} from '../../shared/check/plan.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import { localToUtc, wardTime } from '../../shared/time/zone.ts'

const ZONE = 'America/New_York'
const policy = defaultPolicy('mg/dL', ZONE)
const at = (time: string, date = '2026-11-24'): number => localToUtc(date, time, ZONE)
const clock = (ms: number): string => wardTime(ms, ZONE)
const MINUTE = 60_000

function version(plan: CheckPlan, over: Partial<PlanVersion> = {}): PlanVersion {
  return { stayId: 'stay1', version: 1, plan, fromMs: 0, untilMs: null, overlay: false, ...over }
}
function day(plans: readonly PlanVersion[], over: Partial<PlanFacts> = {}): Check[] {
  return plannedChecks({
    plans,
    policy,
    trayDelays: [],
    fromMs: at('00:00'),
    toMs: at('00:00', '2026-11-25'),
    stay: { stayId: 'stay1', admittedAtMs: 0, dischargedAtMs: null },
    ...over,
  })
}
const slots = (checks: readonly Check[]): string[] => checks.map(({ key }) => key.slice('stay1.2026-11-24.'.length))

describe('checks of each plan on an ordinary day', () => {
  it.each<[string, CheckPlan, string[]]>([
    [
      'before meals and at bedtime',
      { kind: 'ac-and-hs' },
      ['before-breakfast', 'before-lunch', 'before-supper', 'bedtime'],
    ],
    ['before meals', { kind: 'before-meals' }, ['before-breakfast', 'before-lunch', 'before-supper']],
    ['every 4 h', { kind: 'every-4-h' }, ['t0000', 't0400', 't0800', 't1200', 't1600', 't2000']],
    ['every 6 h', { kind: 'every-6-h' }, ['t0000', 't0600', 't1200', 't1800']],
    [
      'listed times, given twice and out of order',
      { kind: 'listed-times', times: ['14:00', '02:30', '14:00'] },
      ['t0230', 't1400'],
    ],
    ['once', { kind: 'once', atMs: at('15:10') }, ['t1510']],
  ])('%s', (_name, plan, expected) => {
    expect(slots(day([version(plan)]))).toEqual(expected)
  })

  it('once counts on its own day only', () => {
    expect(day([version({ kind: 'once', atMs: at('15:10', '2026-11-25') })])).toEqual([])
  })

  it('each check names its round', () => {
    expect(day([version({ kind: 'every-4-h' })]).map(({ occasion }) => occasion)).toEqual([
      'overnight',
      'overnight',
      'before-breakfast',
      'before-lunch',
      'before-supper',
      'bedtime',
    ])
    expect(day([version({ kind: 'ac-and-hs' })]).map(({ occasion }) => occasion)).toEqual([
      'before-breakfast',
      'before-lunch',
      'before-supper',
      'bedtime',
    ])
  })
})

describe('default windows, to the minute', () => {
  const windowsOf = (plan: CheckPlan, over: Partial<PlanFacts> = {}) =>
    day([version(plan)], over).map((c) =>
      [clock(c.opensMs), clock(c.dueMs), clock(c.lateAfterMs), clock(c.closesMs)].join(' '),
    )

  it('before a meal: opens 60 before the tray, due 30 before, late from the tray, closes 60 after', () => {
    expect(windowsOf({ kind: 'before-meals' })).toEqual([
      '07:00 07:30 08:00 09:00',
      '11:15 11:45 12:15 13:15',
      '16:30 17:00 17:30 18:30',
    ])
  })
  it('every 4 h: closes at half the interval', () => {
    expect(windowsOf({ kind: 'every-4-h' })[2]).toBe('07:30 08:00 08:30 10:00')
  })
  it('every 6 h: closes at half the interval', () => {
    expect(windowsOf({ kind: 'every-6-h' })[1]).toBe('05:30 06:00 06:30 09:00')
  })
  it('lunch 45 min late moves that round only', () => {
    const trayDelays: TrayDelay[] = [
      { date: '2026-11-24', meal: 'lunch', minutes: 20 },
      { date: '2026-11-24', meal: 'lunch', minutes: 45 },
      { date: '2026-11-25', meal: 'supper', minutes: 30 },
    ]
    expect(windowsOf({ kind: 'ac-and-hs' }, { trayDelays })).toEqual([
      '07:00 07:30 08:00 09:00',
      '12:00 12:30 13:00 14:00',
      '16:30 17:00 17:30 18:30',
      '20:30 21:30 22:00 23:00',
    ])
    expect(windowsOf({ kind: 'every-4-h' }, { trayDelays })[3]).toBe('11:30 12:00 12:30 14:00')
  })
  it('windows keep their minutes over a clock change', () => {
    const spring = day([version({ kind: 'listed-times', times: ['02:30'] })], {
      fromMs: at('00:00', '2026-03-08'),
      toMs: at('00:00', '2026-03-09'),
    })
    expect(spring.map((c) => [clock(c.dueMs), c.dueMs - c.opensMs, c.closesMs - c.dueMs])).toEqual([
      ['03:30', 30 * MINUTE, 60 * MINUTE],
    ])
  })
})

describe('existing checks', () => {
  const acAndHs = version({ kind: 'ac-and-hs' })
  it.each([
    ['admitted at the very due time', at('07:30'), ['before-breakfast', 'before-lunch', 'before-supper', 'bedtime']],
    ['admitted 1 ms after it', at('07:30') + 1, ['before-lunch', 'before-supper', 'bedtime']],
  ])('%s', (_name, admittedAtMs, expected) => {
    expect(slots(day([acAndHs], { stay: { stayId: 'stay1', admittedAtMs, dischargedAtMs: null } }))).toEqual(expected)
  })
  it.each([
    ['discharged at the very due time', at('17:00'), ['before-breakfast', 'before-lunch']],
    ['discharged 1 ms after it', at('17:00') + 1, ['before-breakfast', 'before-lunch', 'before-supper']],
  ])('%s', (_name, dischargedAtMs, expected) => {
    expect(slots(day([acAndHs], { stay: { stayId: 'stay1', admittedAtMs: 0, dischargedAtMs } }))).toEqual(expected)
  })
  it.each([
    [
      'the change at the due time belongs to the new version',
      at('11:45'),
      ['before-breakfast', 't1200', 't1600', 't2000'],
    ],
    [
      '1 ms later it still belongs to the old one',
      at('11:45') + 1,
      ['before-breakfast', 'before-lunch', 't1200', 't1600', 't2000'],
    ],
  ])('%s', (_name, changeMs, expected) => {
    const plans = [
      version({ kind: 'ac-and-hs' }, { untilMs: changeMs }),
      version({ kind: 'every-4-h' }, { version: 2, fromMs: changeMs }),
    ]
    expect(slots(day(plans))).toEqual(expected)
    // also when the older version was left open: the newer one in force counts, in any order
    expect(slots(day([plans[1] as PlanVersion, acAndHs]))).toEqual(expected)
  })
  it('once is an addition and hides no other plan', () => {
    expect(
      slots(day([acAndHs, version({ kind: 'once', atMs: at('15:00') }, { version: 2, fromMs: at('09:00') })])),
    ).toEqual(['before-breakfast', 'before-lunch', 't1500', 'before-supper', 'bedtime'])
  })
  it('two plans of once on one date are two checks', () => {
    expect(
      slots(
        day([
          version({ kind: 'once', atMs: at('10:00') }),
          version({ kind: 'once', atMs: at('15:00') }, { version: 2 }),
        ]),
      ),
    ).toEqual(['t1000', 't1500'])
  })
})

describe('properties of the plan', () => {
  const plan: fc.Arbitrary<CheckPlan> = fc.oneof(
    fc.constantFrom<CheckPlan>(
      { kind: 'ac-and-hs' },
      { kind: 'before-meals' },
      { kind: 'every-4-h' },
      { kind: 'every-6-h' },
    ),
    fc.integer({ min: 0, max: 1439 }).map((m): CheckPlan => ({ kind: 'once', atMs: at('00:00') + m * MINUTE })),
  )
  const plans = fc
    .array(
      fc.record({
        plan,
        fromMin: fc.integer({ min: -1440, max: 1440 }),
        length: fc.option(fc.integer({ min: 1, max: 2000 })),
      }),
      { minLength: 1, maxLength: 4 },
    )
    .map((list) =>
      list.map(({ plan: p, fromMin, length }, i) =>
        version(p, {
          version: i + 1,
          fromMs: at('00:00') + fromMin * MINUTE,
          untilMs: length === null ? null : at('00:00') + (fromMin + length) * MINUTE,
        }),
      ),
    )
  const delay = fc.record({
    date: fc.constantFrom('2026-11-24'),
    meal: fc.constantFrom('breakfast' as const, 'lunch' as const, 'supper' as const),
    minutes: fc.integer({ min: -30, max: 180 }),
  })
  const wide = { fromMs: at('00:00', '2026-11-22'), toMs: at('00:00', '2026-11-27') }

  it('a tray delay moves windows and adds or removes no check', () => {
    fc.assert(
      fc.property(plans, fc.array(delay, { maxLength: 5 }), (versions, trayDelays) => {
        const without = day(versions, wide)
        const moved = day(versions, { ...wide, trayDelays })
        expect(moved.map(({ key }) => key).sort()).toEqual(without.map(({ key }) => key).sort())
        for (const check of moved) {
          const planned = without.find(({ key }) => key === check.key)
          expect([check.occasion, check.date]).toEqual([planned?.occasion, planned?.date])
          expect(
            check.opensMs < check.lateAfterMs &&
              check.lateAfterMs < check.closesMs &&
              check.opensMs <= check.dueMs &&
              check.dueMs <= check.lateAfterMs,
          ).toBe(true)
        }
      }),
    )
  })
  it('the same facts in any order give the same checks, each once', () => {
    fc.assert(
      fc.property(plans, fc.integer(), (versions, seed) => {
        const shuffled = [...versions].sort(
          (a, b) => ((a.version * 7919 + seed) % 13) - ((b.version * 7919 + seed) % 13),
        )
        expect(day(shuffled, wide)).toEqual(day(versions, wide))
        expect(new Set(day(versions, wide).map(({ key }) => key)).size).toBe(day(versions, wide).length)
      }),
    )
  })
})

describe('rounds', () => {
  it.each([
    ['00:00', 'overnight', null],
    ['04:59', 'overnight', null],
    ['05:00', 'before-breakfast', '08:00'],
    ['09:59', 'before-breakfast', '08:00'],
    ['10:00', 'before-lunch', '12:15'],
    ['15:00', 'before-supper', '17:30'],
    ['20:00', 'bedtime', null],
    ['23:59', 'bedtime', null],
  ])('%s is in %s', (time, occasion, tray) => {
    const round = roundOf(at(time), policy)
    expect([round.occasion, round.date, round.trayMs === null ? null : clock(round.trayMs)]).toEqual([
      occasion,
      '2026-11-24',
      tray,
    ])
    expect(round.startsMs <= at(time) && at(time) < round.endsMs).toBe(true)
  })
  it('a round that begins before midnight keeps its date after it', () => {
    const late = { ...policy, roundStarts: { ...policy.roundStarts, overnight: '23:00' } }
    expect(roundOf(at('01:00'), late)).toMatchObject({
      occasion: 'overnight',
      date: '2026-11-23',
      startsMs: at('23:00', '2026-11-23'),
      endsMs: at('05:00'),
    })
  })
  it('the present round’s tray moves with its delay', () => {
    expect(currentRound(at('07:20'), policy, [{ date: '2026-11-24', meal: 'breakfast', minutes: 40 }]).trayMs).toBe(
      at('08:40'),
    )
  })
  it('a round with delayed trays continues until they come', () => {
    const delays: TrayDelay[] = [{ date: '2026-11-24', meal: 'lunch', minutes: 180 }]
    expect(currentRound(at('15:14'), policy, delays)).toMatchObject({
      occasion: 'before-lunch',
      trayMs: at('15:15'),
      endsMs: at('15:15'),
    })
    expect(currentRound(at('15:15'), policy, delays).occasion).toBe('before-supper')
  })
  it('property: rounds tile the year', () => {
    fc.assert(
      fc.property(fc.integer({ min: at('00:00', '2026-01-01'), max: at('00:00', '2027-01-01') }), (ms) => {
        const round = roundOf(ms, policy)
        expect(round.startsMs <= ms && ms < round.endsMs).toBe(true)
        expect(roundOf(round.endsMs, policy).startsMs).toBe(round.endsMs)
        expect(roundOf(round.startsMs - 1, policy).endsMs).toBe(round.startsMs)
      }),
    )
  })
})

describe('rechecks, extra checks and keys', () => {
  it('a recheck is open from the low on, due and late at its time, and never closes by time', () => {
    const check = recheckCheck({ lowId: 'low1', stayId: 'stay1', openedAtMs: at('07:22') }, 1, at('07:37'), policy)
    expect(check).toMatchObject({
      key: 'low.low1.1',
      stayId: 'stay1',
      kind: 'recheck',
      occasion: 'before-breakfast',
      date: '2026-11-24',
      opensMs: at('07:22'),
      dueMs: at('07:37'),
      lateAfterMs: at('07:37'),
    })
    expect(check.closesMs).toBeGreaterThan(at('07:37', '2126-11-24'))
  })
  it('an extra check is open and due now', () => {
    expect(extraCheck('stay1', 'x9', at('03:10'), policy)).toMatchObject({
      key: 'extra.stay1.x9',
      kind: 'extra',
      occasion: 'overnight',
      opensMs: at('03:10'),
      dueMs: at('03:10'),
      lateAfterMs: at('03:40'),
      closesMs: at('04:10'),
    })
  })
  it.each([
    ['stay1.2026-11-24.before-lunch', { kind: 'planned', stayId: 'stay1', date: '2026-11-24', slot: 'before-lunch' }],
    ['stay1.2026-11-24.t0400', { kind: 'planned', stayId: 'stay1', date: '2026-11-24', slot: 't0400' }],
    ['low.low1.2', { kind: 'recheck', lowId: 'low1', cycle: 2 }],
    ['extra.stay1.x9', { kind: 'extra', stayId: 'stay1', id: 'x9' }],
  ])('%s', (key, expected) => {
    expect(parseCheckKey(key)).toEqual(expected)
  })
  it.each([
    '',
    'stay1',
    'stay1.2026-11-24',
    'stay1.2026-02-30.bedtime',
    'stay1.2026-11-24.t2400',
    'stay1.2026-11-24.breakfast',
    'stay1.2026-11-24.bedtime.x',
    'low.low1.0',
    'low.low1.x',
    'low..1',
    'extra.stay1.',
    'extra.stay1.<b>',
    'Stay.2026-11-24.bedtime',
    "s'1.2026-11-24.bedtime",
    '../x.2026-11-24.bedtime',
  ])('%s is not a key', (key) => {
    expect(parseCheckKey(key)).toBeNull()
  })
  it('property: every planned check has a key that parses back', () => {
    for (const kind of ['ac-and-hs', 'every-4-h', 'every-6-h'] as const) {
      for (const check of day([version({ kind })]))
        expect(parseCheckKey(check.key)).toMatchObject({ kind: 'planned', stayId: 'stay1', date: check.date })
    }
  })
})
