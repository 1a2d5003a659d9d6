/** The plot of a stay and its table: joined readings, gaps, omitted readings, and nights with a clock change. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { PlanVersion } from '../../shared/check/check.ts'
import { slotsAhead } from '../../shared/check/scheduled.ts'
import type { Dose, DoseOutcome } from '../../shared/dose/dose.ts'
import { isNumeric } from '../../shared/glucose/value.ts'
import { NOTHING_CHARTED, type LowEvent } from '../../shared/low/low.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import {
  courseOf,
  GAP_WITHOUT_PLAN_MS,
  longestGapMs,
  runsOf,
  type Course,
  type CourseOptions,
  type CourseFacts,
  type CourseReading,
} from '../../shared/stay/course.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { dayTicks } from '../../views/plot/day-ticks.ts'
import { orderShort } from '../../views/words/order-short.ts'
import { aDose, anOrder, aReading, HOUR, idOf, mgPerDl, MINUTE, NOW, STAY, ZONE } from '../support/makers.ts'

const policy = defaultPolicy('mg/dL', ZONE)
const plan = (kind: 'ac-and-hs' | 'every-4-h' | 'every-6-h', over: Partial<PlanVersion> = {}): PlanVersion => ({
  stayId: STAY,
  version: 1,
  plan: { kind },
  fromMs: NOW - 200 * HOUR,
  untilMs: null,
  overlay: false,
  ...over,
})
const at = (hoursAgo: number, value: number | 'LO' | 'HI', over: Partial<Reading> = {}): Reading =>
  aReading({
    readingId: idOf(`r${String(hoursAgo).replace('.', 'p')}x`),
    takenAtMs: NOW - hoursAgo * HOUR,
    glucose: mgPerDl(value),
    ...over,
  })
const facts = (over: Partial<CourseFacts> = {}): CourseFacts => ({
  stay: { stayId: STAY, admittedAtMs: NOW - 200 * HOUR, dischargedAtMs: null },
  policy,
  plans: [plan('ac-and-hs')],
  trayDelays: [],
  outcomes: new Map(),
  readings: [],
  doses: [],
  insulinGiven: [],
  lows: [],
  trays: [],
  ...over,
})
const asked = (over: Partial<CourseOptions> = {}): CourseOptions => ({
  fromMs: NOW - 72 * HOUR,
  toMs: NOW,
  hidesReading: () => false,
  hidesDose: () => false,
  ...over,
})
const values = ({ readings }: Course): readonly unknown[] => readings.map(({ glucose }) => glucose?.value ?? null)
const runs = (course: Course): readonly (readonly unknown[])[] =>
  course.runs.map((run) => run.map(({ glucose }) => glucose?.value))

describe('line', () => {
  it('joins readings by time, in any order of input', () => {
    expect(runs(courseOf(facts({ readings: [at(1, 120), at(9, 180), at(5, 150)] }), asked()))).toEqual([
      [180, 150, 120],
    ])
  })
  it('breaks above the plan’s longest gap: 6 h 30 min for every 4 h, opening to next closing', () => {
    const gap = longestGapMs(facts({ plans: [plan('every-4-h')] }), asked())
    expect(gap).toBe(6.5 * HOUR)
    const readings = [at(20, 100), at(20 - 6.5, 110), at(2, 120)]
    expect(runs(courseOf(facts({ plans: [plan('every-4-h')], readings }), asked()))).toEqual([[100, 110], [120]])
    expect(
      runs(
        courseOf(facts({ plans: [plan('every-4-h')], readings: [at(20, 100), at(20 - 6.5 - 1 / 60, 110)] }), asked()),
      ),
    ).toEqual([[100], [110]])
  })
  it('breaks above bedtime opening (20:30) to breakfast closing (09:00) for meal plans', () => {
    expect(longestGapMs(facts(), asked())).toBe(12.5 * HOUR)
  })
  it('joins readings up to 12 h apart without a plan', () => {
    expect(longestGapMs(facts({ plans: [] }), asked())).toBe(GAP_WITHOUT_PLAN_MS)
    expect(runs(courseOf(facts({ plans: [], readings: [at(30, 100), at(18, 110), at(5.9, 120)] }), asked()))).toEqual([
      [100, 110],
      [120],
    ])
  })
  it('counts a temporary plan too', () => {
    const over = plan('every-6-h', { version: 2, overlay: true, fromMs: NOW - 40 * HOUR, untilMs: NOW - 10 * HOUR })
    expect(longestGapMs(facts({ plans: [plan('every-4-h'), over] }), asked())).toBe(9.5 * HOUR)
  })
  it.each(['LO', 'HI'] as const)('breaks at %s, which is shown without a number', (word) => {
    const course = courseOf(facts({ readings: [at(9, 180), at(6, word), at(5, 150), at(2, 140)] }), asked())
    expect(values(course)).toEqual([180, word, 150, 140])
    expect(runs(course)).toEqual([[180], [150, 140]])
  })
  it('breaks at a masked reading, which keeps its position without its value', () => {
    const course = courseOf(
      facts({ readings: [at(9, 180), at(5, 333), at(2, 140)] }),
      asked({ hidesReading: ({ glucose }) => glucose.value === 333 }),
    )
    expect(values(course)).toEqual([180, null, 140])
    expect(runs(course)).toEqual([[180], [140]])
    expect(JSON.stringify(course)).not.toContain('333')
  })
  it('leaves out corrected and voided readings, and those outside the period', () => {
    const readings = [
      at(73, 300),
      at(72, 100),
      at(6, 250, { supersededBy: idOf('other') }),
      at(5, 350, { voided: { reason: 'wrong patient', byId: 'x', atMs: NOW } }),
      at(4, 150, { supersedes: { readingId: idOf('r6x'), reason: 'mistyped' } }),
      at(0, 110),
      at(-1, 90),
    ]
    expect(values(courseOf(facts({ readings }), asked()))).toEqual([100, 150, 110])
  })
  it('distinguishes a laboratory value and a meter in doubt', () => {
    const readings = [at(3, 100, { source: 'venous' }), at(2, 110, { doubts: ['strip-lot-expired'] }), at(1, 120)]
    expect(courseOf(facts({ readings }), asked()).readings.map(({ kind }) => kind)).toEqual([
      'laboratory',
      'in-doubt',
      'meter',
    ])
  })
  it('property: each shown number is in exactly one run, by time, within the gap', () => {
    const reading = fc.record({
      hours: fc.integer({ min: 0, max: 72 * 60 }),
      value: fc.oneof(fc.integer({ min: 20, max: 600 }), fc.constantFrom('LO' as const, 'HI' as const, null)),
    })
    fc.assert(
      fc.property(fc.array(reading, { maxLength: 40 }), fc.integer({ min: 1, max: 24 * 60 }), (all, gapMin) => {
        const readings = all
          .map(({ hours, value }, index): CourseReading => ({
            readingId: String(index),
            atMs: NOW - hours * MINUTE,
            kind: 'meter',
            glucose: value === null ? null : mgPerDl(value),
            hasDose: false,
          }))
          .sort((a, b) => a.atMs - b.atMs)
        const found = runsOf(readings, gapMin * MINUTE)
        expect(found.flat()).toEqual(readings.filter(({ glucose }) => glucose !== null && isNumeric(glucose)))
        for (const run of found) {
          expect(run.length).toBeGreaterThan(0)
          run.slice(1).forEach((one, index) => {
            const before = run[index] ?? one
            expect(one.atMs - before.atMs).toBeLessThanOrEqual(gapMin * MINUTE)
            expect(readings.slice(readings.indexOf(before) + 1, readings.indexOf(one))).toEqual([])
          })
        }
      }),
    )
  })
})

describe('insulin', () => {
  const given = (hoursAgo: number, over: Partial<Dose> = {}): Dose =>
    aDose({
      doseId: idOf(`d${String(hoursAgo)}x`),
      proposedAtMs: NOW - hoursAgo * HOUR - 10 * MINUTE,
      outcome: {
        kind: 'given',
        byId: 'n',
        atMs: NOW - hoursAgo * HOUR,
        site: { area: 'abdomen', side: 'left' },
        food: 'tray-here',
      },
      ...over,
    })
  const outcome = (kind: 'withheld' | 'refused'): DoseOutcome => ({
    kind,
    byId: 'n',
    atMs: NOW - HOUR,
    reason: 'not eating',
  })
  const signed = {
    byId: 'n',
    atMs: NOW - 3 * HOUR,
    insulin: 'insulin lispro',
    concentration: 'U-100',
    expiresOn: '2027-01-01',
    units: 2,
  } as const

  it('is plotted at giving time, also from elsewhere; withheld, refused and zero are not insulin', () => {
    const course = courseOf(
      facts({
        doses: [
          given(4),
          given(80),
          aDose({ doseId: idOf('w'), outcome: outcome('withheld') }),
          aDose({ doseId: idOf('f'), outcome: outcome('refused') }),
          aDose({ doseId: idOf('z'), units: 0, outcome: { kind: 'zero-charted', byId: 'n', atMs: NOW - HOUR } }),
        ],
        insulinGiven: [
          { doseId: idOf('o'), insulin: 'regular insulin', units: 3, givenAtMs: NOW - 2 * HOUR, source: 'elsewhere' },
          { doseId: idOf('d4x'), insulin: 'insulin lispro', units: 2, givenAtMs: NOW - 4 * HOUR, source: 'here' },
        ],
      }),
      asked(),
    )
    expect(course.doses).toEqual([
      { doseId: idOf('d4x'), atMs: NOW - 4 * HOUR, standing: 'given', what: { insulin: 'insulin lispro', units: 2 } },
      { doseId: idOf('o'), atMs: NOW - 2 * HOUR, standing: 'outside', what: { insulin: 'regular insulin', units: 3 } },
    ])
  })
  it('is shown as not yet given while it waits; a masked one as position only', () => {
    const waiting = aDose({ proposedAtMs: NOW - 5 * MINUTE, units: 7 })
    expect(courseOf(facts({ doses: [waiting] }), asked()).doses).toMatchObject([
      { standing: 'not-yet', what: { units: 7 } },
    ])
    expect(courseOf(facts({ doses: [waiting] }), asked({ hidesDose: () => true })).doses).toMatchObject([
      { atMs: NOW - 5 * MINUTE, what: null },
    ])
  })
  it('keeps an expired signed dose until somebody charts whether it was given', () => {
    const overtaken = aDose({
      proposedAtMs: NOW - 3 * HOUR,
      product: signed,
      voided: { reason: 'newer-reading', atMs: NOW - 2 * HOUR },
    })
    expect(courseOf(facts({ doses: [overtaken] }), asked()).doses).toMatchObject([{ standing: 'uncertain' }])
    expect(courseOf(facts({ doses: [{ ...overtaken, product: null }] }), asked()).doses).toEqual([])
  })
})

describe('lows and meals', () => {
  const low = (over: Partial<LowEvent> = {}): LowEvent => ({
    lowId: idOf('low'),
    stayId: STAY,
    wardId: idOf('ward'),
    openedByReadingId: idOf('r5x'),
    openedAtMs: NOW - 5 * HOUR,
    treatments: [],
    charted: NOTHING_CHARTED,
    closedAtMs: null,
    previousLowId: null,
    previousClosedAtMs: null,
    ...over,
  })
  const closing = (cause: 'renal' | 'entered-in-error') => ({
    ...NOTHING_CHARTED,
    closing: { atMs: NOW - HOUR, chartedAtMs: NOW - HOUR, byId: 'n', cause, note: '' },
  })

  it('span from the first low value to recovery, with lowest value and level', () => {
    const readings = [at(5, 61), at(4.6, 48), at(4.2, 90)]
    expect(courseOf(facts({ readings, lows: [low()] }), asked()).lows).toEqual([
      {
        lowId: idOf('low'),
        fromMs: NOW - 5 * HOUR,
        toMs: NOW - 4.2 * HOUR,
        level: 2,
        lowest: mgPerDl(48),
        closed: false,
        cause: null,
      },
    ])
  })
  it('continue until recovery; a finding is level 3; LO is the lowest', () => {
    const found = low({
      charted: {
        ...NOTHING_CHARTED,
        findings: [{ atMs: NOW - 5 * HOUR, chartedAtMs: NOW - 5 * HOUR, byId: 'n', finding: 'confused-needs-help' }],
      },
    })
    expect(courseOf(facts({ readings: [at(5, 'LO'), at(4.6, 60)], lows: [found] }), asked()).lows).toMatchObject([
      { toMs: null, level: 3, lowest: mgPerDl('LO'), closed: false },
    ])
  })
  it('leave out one entered in error, and one that ended before the period', () => {
    const readings = [at(5, 61), at(4.2, 90)]
    expect(
      courseOf(
        facts({ readings, lows: [low({ closedAtMs: NOW - HOUR, charted: closing('entered-in-error') })] }),
        asked(),
      ).lows,
    ).toEqual([])
    expect(
      courseOf(facts({ readings, lows: [low({ closedAtMs: NOW - HOUR, charted: closing('renal') })] }), asked()).lows,
    ).toMatchObject([{ closed: true, cause: 'renal' }])
    expect(
      courseOf(
        facts({ readings, lows: [low({ closedAtMs: NOW - HOUR, charted: closing('renal') })] }),
        asked({ fromMs: NOW - 2 * HOUR }),
      ).lows,
    ).toEqual([])
  })
  it('a value in the other unit is not compared with this ward’s limits', () => {
    const readings = [at(5, 61), at(6, 62, { glucose: { unit: 'mmol/L', value: 62 } }), at(4.2, 90)]
    expect(courseOf(facts({ readings, lows: [low()] }), asked()).lows).toMatchObject([
      { fromMs: NOW - 5 * HOUR, lowest: mgPerDl(61) },
    ])
  })
  it('a meal is plotted when served, else at its planned time; an uncharted tray is no meal', () => {
    const served = NOW - 24 * HOUR
    const tray = { stayId: STAY, date: '2026-03-01', meal: 'lunch', servedAtMs: null, shareEatenPercent: null } as const
    const { meals } = courseOf(
      facts({
        trays: [
          { ...tray, meal: 'breakfast', servedAtMs: served },
          { ...tray, shareEatenPercent: 75 },
          { ...tray, meal: 'supper' },
        ],
      }),
      asked(),
    )
    expect(meals).toEqual([
      { meal: 'breakfast', atMs: served, atServing: true, sharePercent: null },
      { meal: 'lunch', atMs: localToUtc('2026-03-01', '12:15', ZONE), atServing: false, sharePercent: 75 },
    ])
  })
})

describe('axis in the ward’s time', () => {
  it.each([
    ['spring: 23 h', '2026-03-08', 23],
    ['autumn: 25 h', '2026-11-01', 25],
    ['any other day: 24 h', '2026-03-02', 24],
  ])('%s', (_name, date, hours) => {
    const [fromMs, toMs] = [localToUtc(date, '00:00', ZONE), localToUtc(date, '00:00', ZONE) + 36 * HOUR]
    const { hours: ticks, boundaries, days } = dayTicks(fromMs, toMs, ZONE, 6)
    expect(boundaries).toEqual([fromMs + hours * HOUR])
    expect(ticks.slice(0, 5).map(({ text }) => text)).toEqual(['00', '06', '12', '18', '00'])
    expect((ticks[1]?.ms ?? 0) - (ticks[0]?.ms ?? 0)).toBe((6 - (24 - hours)) * HOUR)
    expect(days.map(({ fromMs: from, toMs: to }) => to - from)).toEqual([hours * HOUR, (36 - hours) * HOUR])
  })
  it('property: days follow one another without a gap in any period', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 365 * 24 * 60 }), fc.integer({ min: 1, max: 96 * 60 }), (from, length) => {
        const fromMs = Date.UTC(2026, 0, 1) + from * MINUTE
        const { days, hours } = dayTicks(fromMs, fromMs + length * MINUTE, ZONE, 6)
        expect(days[0]?.fromMs).toBe(fromMs)
        expect(days.at(-1)?.toMs).toBe(fromMs + length * MINUTE)
        days.slice(1).forEach((day, index) => {
          expect(day.fromMs).toBe(days[index]?.toMs)
        })
        expect(hours.map(({ ms }) => ms)).toEqual([...hours.map(({ ms }) => ms)].sort((a, b) => a - b))
      }),
    )
  })
})

describe('the next shift', () => {
  const scheduled = {
    orderId: idOf('order'),
    version: 1,
    stayId: STAY,
    writtenAtMs: NOW - 48 * HOUR,
    transcribedById: 'n',
    verified: null,
    endedAtMs: null,
    order: anOrder({
      startsAtMs: NOW - 48 * HOUR,
      scheduled: [
        { time: '21:00', units: 18, holdBelow: null },
        { time: '07:00', units: 6, holdBelow: 100 },
      ],
    }),
  }
  const span = { fromMs: NOW, toMs: NOW + 24 * HOUR }
  it('lists each open scheduled dose once, by time, until the order ends', () => {
    const [evening, morning] = [localToUtc('2026-03-02', '21:00', ZONE), localToUtc('2026-03-03', '07:00', ZONE)]
    expect(slotsAhead(scheduled, { zone: ZONE, settled: new Set() }, span)).toEqual([
      { dueMs: evening, units: 18, holdBelow: null },
      { dueMs: morning, units: 6, holdBelow: 100 },
    ])
    expect(
      slotsAhead(scheduled, { zone: ZONE, settled: new Set([`${STAY}.2026-03-02.2100`]) }, span).map(
        ({ dueMs }) => dueMs,
      ),
    ).toEqual([morning])
    expect(slotsAhead({ ...scheduled, endedAtMs: evening }, { zone: ZONE, settled: new Set() }, span)).toEqual([])
  })
  it('shows an order in short: where its scale doses and where it does not', () => {
    expect(orderShort(anOrder())).toBe(
      'insulin lispro U-100, before breakfast, before lunch, before supper, bedtime: correction by scale, 2 to 4 units, from 150 mg/dL, “no dose, call” from 351 mg/dL',
    )
    expect(
      orderShort(anOrder({ correction: null, occasions: [], scheduled: [{ time: '21:00', units: 1, holdBelow: 80 }] })),
    ).toBe('insulin lispro U-100: every day at 21:00 1 unit, held below 80 mg/dL')
    expect(
      orderShort(
        anOrder({
          correction: { kind: 'factor', target: 120, perUnit: 30, belowTargetSubtracts: false },
          meal: { kind: 'ratio', gramsPerUnit: 12.5 },
          bedtime: { kind: 'half' },
        }),
      ),
    ).toContain(
      'correction 1 unit for each 30 mg/dL above 120 mg/dL; meal part 1 unit for each 12.5 g of carbohydrate; half the correction at bedtime',
    )
  })
})
