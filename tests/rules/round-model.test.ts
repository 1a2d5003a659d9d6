import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { CheckOutcome } from '../../shared/check/check.ts'
import { roundModel, type RoundFacts } from '../../shared/check/round-model.ts'
import { nextSlotChangeMs, scheduledSlots } from '../../shared/check/scheduled.ts'
import { NOTHING_CHARTED, type LowEvent } from '../../shared/low/low.ts'
import type { InsulinOrder, OrderVersion } from '../../shared/order/order.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { aDose } from '../support/makers.ts'

const ZONE = 'America/New_York'
const policy = defaultPolicy('mg/dL', ZONE)
const at = (time: string, date = '2026-11-24'): number => localToUtc(date, time, ZONE)
const MINUTE = 60_000

const stay = (stayId: string, bed: string): Stay => ({
  stayId,
  wardId: 'ward',
  bed,
  wristband: `W${bed}`,
  familyName: 'Name',
  givenName: bed,
  bornOn: '1950-01-01',
  admittedAtMs: 0,
  dischargedAtMs: null,
  facts: {
    diabetes: 'type-2',
    swallowsSafely: true,
    nilByMouth: null,
    feeding: 'oral',
    ivAccess: true,
    restrictedHands: [],
    isolation: 'none',
    renalImpairment: false,
    onSteroid: false,
    otherGlucoseLowering: [],
    weightKg: null,
  },
})
const reading = (stayId: string, value: number, takenAtMs: number, over: Partial<Reading> = {}): Reading => ({
  readingId: `r${String(takenAtMs)}`,
  stayId,
  wardId: 'ward',
  wardDate: '2026-11-24',
  checkKey: null,
  glucose: { unit: 'mg/dL', value },
  source: 'capillary',
  takenAtMs,
  chartedAtMs: takenAtMs,
  byId: 'n1',
  site: null,
  meterId: null,
  stripLot: null,
  doubts: [],
  lateReason: null,
  extraReason: null,
  supersedes: null,
  supersededBy: null,
  voided: null,
  ...over,
})
const facts = (over: Partial<RoundFacts> = {}): RoundFacts => ({
  beds: ['1', '2', '3', '4'],
  policy,
  trayDelays: [],
  stays: [stay('s1', '1'), stay('s2', '2'), stay('s3', '3')],
  plans: ['s1', 's2', 's3'].map((stayId) => ({
    stayId,
    version: 1,
    plan: { kind: 'ac-and-hs' } as const,
    fromMs: 0,
    untilMs: null,
    overlay: false,
  })),
  outcomes: new Map(),
  lastReadings: new Map(),
  orders: [],
  lows: [],
  openItems: [],
  openDoses: [],
  lastReadingDoses: [],
  unaccountedDoses: [],
  forLaboratory: [],
  trays: [],
  readingsOfLows: new Map(),
  settledSlots: new Set(),
  ...over,
})
const low = (stayId: string, openedAtMs: number, over: Partial<LowEvent> = {}): LowEvent => ({
  lowId: `low${stayId}`,
  stayId,
  wardId: 'ward',
  openedByReadingId: 'first',
  openedAtMs,
  treatments: [],
  charted: NOTHING_CHARTED,
  closedAtMs: null,
  previousLowId: null,
  previousClosedAtMs: null,
  ...over,
})
const ids = (over: Partial<RoundFacts>, nowMs: number): string[] =>
  roundModel(facts(over), nowMs).lines.map(({ id }) => id)
const breakfast = (stayId: string): string => `${stayId}.2026-11-24.before-breakfast`
/** Every check of the last day excused, so that only the tested item is left. */
const quietYesterday: [string, CheckOutcome][] = ['s1', 's2', 's3'].flatMap((id) =>
  ['2026-11-23', '2026-11-24'].flatMap((date) =>
    ['before-breakfast', 'before-lunch', 'before-supper', 'bedtime'].map((slot): [string, CheckOutcome] => [
      `${id}.${date}.${slot}`,
      { kind: 'excused', reason: 'refused', note: '', byId: 'n1', atMs: 1 },
    ]),
  ),
)

describe('derived round', () => {
  it('has the checks of this round, done and to come too, and none of the next', () => {
    const outcomes = new Map<string, CheckOutcome>([
      [breakfast('s2'), { kind: 'done', readingId: 'r', atMs: at('07:10') }],
    ])
    const model = roundModel(facts({ outcomes }), at('07:20'))
    expect(model.round.occasion).toBe('before-breakfast')
    expect(model.lines.map(({ id, state }) => `${id} ${String(state)}`)).toEqual([
      `${breakfast('s1')} open`,
      `${breakfast('s3')} open`,
      `${breakfast('s2')} done`,
    ])
    expect(model.roundChecks.map(({ state }) => state).sort()).toEqual(['done', 'open', 'open'])
  })
  it('keeps an open check after its round, and moves a closed one to the missed list', () => {
    // lunch trays are 90 min late: their checks close at 14:45; supper's round begins at 15:00 and opens at 16:30
    const trayDelays = [{ date: '2026-11-24', meal: 'lunch' as const, minutes: 150 }]
    const during = roundModel(facts({ trayDelays }), at('15:10'))
    expect(during.round.occasion).toBe('before-supper')
    expect(during.lines.map(({ id, state }) => `${id} ${String(state)}`).slice(0, 3)).toEqual(
      ['s1', 's2', 's3'].map((id) => `${id}.2026-11-24.before-lunch late`),
    )
    const after = roundModel(facts({ trayDelays }), at('15:45'))
    expect(after.missed.map(({ check }) => check.key)).toContain('s1.2026-11-24.before-lunch')
    expect(after.lines.map(({ id }) => id)).not.toContain('s1.2026-11-24.before-lunch')
  })
  it('lists checks closed without a reading, oldest first, until they have a reason', () => {
    const model = roundModel(facts(), at('07:20'))
    expect(model.missed.map(({ check }) => check.key)).toEqual(
      ['before-breakfast', 'before-lunch', 'before-supper', 'bedtime'].flatMap((slot) =>
        ['s1', 's2', 's3'].map((id) => `${id}.2026-11-23.${slot}`),
      ),
    )
    expect(roundModel(facts({ outcomes: new Map(quietYesterday) }), at('07:20')).missed).toEqual([])
  })
  it('lists a low first, with the protocol’s recheck as its check', () => {
    const lows = [low('s3', at('07:15'))]
    const model = roundModel(
      facts({ lows, readingsOfLows: new Map([['s3', [reading('s3', 52, at('07:15'), { readingId: 'first' })]]]) }),
      at('07:20'),
    )
    expect(model.lines[0]).toMatchObject({
      id: 'low.lows3.1',
      stayId: 's3',
      state: 'open',
      standing: { kind: 'low', treated: false, recheckDueMs: at('07:30') },
    })
    expect(model.patients.get('s3')?.openLow).toMatchObject({
      lowId: 'lows3',
      phase: 'open',
      dueMs: at('07:30'),
      untreatedSinceMs: at('07:15'),
    })
    expect(roundModel(facts({ lows, readingsOfLows: new Map() }), at('07:31')).lines[0]?.state).toBe('late')
  })
  it('lists a recovered low as treated: its follow-up comes after what is due now', () => {
    const lows = [low('s3', at('07:15'))]
    const readings = [
      reading('s3', 96, at('07:31'), { checkKey: 'low.lows3.1' }),
      reading('s3', 52, at('07:15'), { readingId: 'first' }),
    ]
    const model = roundModel(facts({ lows, readingsOfLows: new Map([['s3', readings]]) }), at('07:40'))
    expect(model.lines[0]).toMatchObject({
      id: 'low.lows3.2',
      standing: { kind: 'low', treated: true, recheckDueMs: at('08:31') },
    })
  })
  it('names each open item of a low with its time limit: treat in 5 min, call in 30', () => {
    const lows = [low('s3', at('07:15'))]
    const steps = roundModel(
      facts({ lows, readingsOfLows: new Map([['s3', [reading('s3', 52, at('07:15'), { readingId: 'first' })]]]) }),
      at('07:20'),
    ).patients.get('s3')?.openLow?.steps
    expect(steps?.map(({ kind, deadlineMs }) => [kind, (deadlineMs - at('07:15')) / MINUTE])).toEqual([
      ['treat', 5],
      ['recheck', 15],
      ['tell-prescriber', 30],
    ])
  })
  it('a recovered low far from the next meal needs longer-acting carbohydrate in 15 min, until it or a tray is charted', () => {
    const lows = [
      low('s3', at('03:00'), {
        treatments: [
          {
            lowId: 'lows3',
            atMs: at('03:02'),
            chartedAtMs: at('03:02'),
            byId: 'n1',
            arm: 'by-mouth',
            amount: { kind: 'grams', grams: 20 },
            what: '',
            directedBy: null,
          },
        ],
      }),
    ]
    const readingsOfLows = new Map([
      [
        's3',
        [
          reading('s3', 96, at('03:17'), { checkKey: 'low.lows3.1' }),
          reading('s3', 52, at('03:00'), { readingId: 'first' }),
        ],
      ],
    ])
    const owed = (over: Partial<RoundFacts> = {}) =>
      roundModel(facts({ lows, readingsOfLows, ...over }), at('03:20'))
        .patients.get('s3')
        ?.openLow?.steps.find(({ kind }) => kind === 'lasting-food')
    expect(owed()).toEqual({ kind: 'lasting-food', grams: 20, deadlineMs: at('03:32') })
    expect(
      owed({
        lows: lows.map((one) => ({
          ...one,
          charted: {
            ...NOTHING_CHARTED,
            food: [{ atMs: at('03:19'), chartedAtMs: at('03:19'), byId: 'n1', grams: 20, what: 'toast' }],
          },
        })),
      }),
    ).toBeUndefined()
    expect(
      owed({
        trays: [
          { stayId: 's3', date: '2026-11-24', meal: 'breakfast', servedAtMs: at('03:18'), shareEatenPercent: null },
        ],
      }),
    ).toBeUndefined()
    expect(
      owed({
        trays: [
          { stayId: 's2', date: '2026-11-24', meal: 'breakfast', servedAtMs: at('03:18'), shareEatenPercent: null },
        ],
      }),
    ).toBeDefined()
  })
  it('keeps an expired signed dose until somebody accounts for it', () => {
    const signed = aDose({
      doseId: 'd1',
      stayId: 's2',
      voided: { reason: 'newer-reading', atMs: at('07:10') },
      product: {
        byId: 'n2',
        atMs: at('07:05'),
        insulin: 'insulin lispro',
        concentration: 'U-100',
        expiresOn: '2027-01-31',
        units: 2,
      },
    })
    const unaccounted = (over: Partial<RoundFacts>) =>
      roundModel(facts(over), at('07:20')).patients.get('s2')?.unaccounted
    expect(unaccounted({ unaccountedDoses: [signed] })).toEqual(['d1'])
    expect(unaccounted({ openDoses: [signed] })).toEqual(['d1'])
    expect(unaccounted({ openDoses: [{ ...signed, product: null }] })).toEqual([])
    expect(
      unaccounted({
        openDoses: [{ ...signed, outcome: { kind: 'withheld', byId: 'n1', atMs: at('07:15'), reason: 'x' } }],
      }),
    ).toEqual([])
  })
  it('has no line for a closed low', () => {
    expect(ids({ lows: [low('s3', at('03:00'), { closedAtMs: at('05:00') })] }, at('07:20'))).not.toContain(
      'low.lows3.1',
    )
  })
  it('lists insulin without a tray after the policy’s 15 minutes, and at once when trays are late', () => {
    const openItems = [
      {
        itemId: 'insulin-no-tray.d1',
        kind: 'insulin-no-tray' as const,
        stayId: 's2',
        sinceMs: at('07:40'),
        subjectId: 'd1',
      },
    ]
    expect(ids({ openItems }, at('07:55') - 1)).not.toContain('insulin-no-tray.d1')
    expect(ids({ openItems }, at('07:55'))[0]).toBe('insulin-no-tray.d1')
    expect(
      ids({ openItems, trayDelays: [{ date: '2026-11-24', meal: 'breakfast', minutes: 30 }] }, at('07:41'))[0],
    ).toBe('insulin-no-tray.d1')
  })
  it('keeps the open items of a discharged patient', () => {
    const openItems = [
      { itemId: 'critical.r1', kind: 'critical' as const, stayId: 'gone', sinceMs: 1, subjectId: 'r1' },
    ]
    expect(roundModel(facts({ openItems }), at('07:20')).leftBehind).toEqual(openItems)
  })
  it('property: nothing derived changes between now and validUntilMs; then something may', () => {
    const lows = [low('s3', at('07:15'))]
    const openItems = [
      {
        itemId: 'insulin-no-tray.d1',
        kind: 'insulin-no-tray' as const,
        stayId: 's2',
        sinceMs: at('07:40'),
        subjectId: 'd1',
      },
    ]
    const hi = reading('s2', 0, at('05:00'), { readingId: 'hi', glucose: { unit: 'mg/dL', value: 'HI' } })
    const given = facts({
      lows,
      openItems,
      forLaboratory: [hi],
      orders: [
        order([
          { time: '08:00', units: 10, holdBelow: null },
          { time: '21:00', units: 18, holdBelow: null },
        ]),
      ],
      trayDelays: [{ date: '2026-11-24', meal: 'lunch', minutes: 20 }],
    })
    const seen = (ms: number) => {
      const { validUntilMs: _, derived: __, ...model } = roundModel(given, ms)
      return { ...model, patients: [...model.patients] }
    }
    fc.assert(
      fc.property(
        fc.integer({ min: at('00:00'), max: at('23:59') }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (nowMs, part) => {
          const { validUntilMs } = roundModel(given, nowMs)
          expect(validUntilMs).toBeGreaterThan(nowMs)
          expect(seen(nowMs + Math.floor((validUntilMs - 1 - nowMs) * part))).toEqual(seen(nowMs))
        },
      ),
      { numRuns: 300 },
    )
  })
})

function order(
  scheduled: InsulinOrder['scheduled'],
  over: Partial<OrderVersion> = {},
  parts: Partial<InsulinOrder> = {},
): OrderVersion {
  return {
    orderId: 'o1',
    version: 1,
    stayId: 's1',
    writtenAtMs: 0,
    transcribedById: 'n1',
    verified: null,
    endedAtMs: null,
    order: {
      insulin: 'insulin glargine',
      concentration: 'U-100',
      route: 'subcutaneous',
      unit: 'mg/dL',
      occasions: [],
      correction: null,
      meal: null,
      mealTiming: 'before',
      bedtime: { kind: 'same' },
      scheduled,
      rounding: { to: 1, ties: 'down' },
      maxSingleDose: 30,
      correctionIntervalMin: null,
      stackingStopsAtOccasions: false,
      prescriber: 'P',
      received: 'written',
      startsAtMs: 0,
      stopsAtMs: null,
      ...parts,
    },
    ...over,
  }
}

describe('scheduled insulin', () => {
  const slotFacts = (settled: readonly string[] = []) => ({ zone: ZONE, lookBackHours: 24, settled: new Set(settled) })
  const nine = [{ time: '21:00', units: 18, holdBelow: null }]
  const states = (nowMs: number, version = order(nine), settled: readonly string[] = []): string[] =>
    scheduledSlots(version, slotFacts(['s1.2026-11-23.2100', ...settled]), nowMs).map(
      ({ slot, state }) => `${slot} ${state}`,
    )

  it.each([
    ['1 ms before its hour', at('20:00') - 1, []],
    ['60 min before', at('20:00'), ['2026-11-24.2100.o1 due']],
    ['at its time', at('21:00'), ['2026-11-24.2100.o1 due']],
    ['1 ms before the end of its hour', at('22:00') - 1, ['2026-11-24.2100.o1 due']],
    ['60 min after', at('22:00'), ['2026-11-24.2100.o1 late']],
    ['the next morning: never silently dropped', at('09:00', '2026-11-25'), ['2026-11-24.2100.o1 late']],
  ])('%s', (_name, nowMs, expected) => {
    expect(states(nowMs)).toEqual(expected)
  })
  it('a settled slot shows as settled through its hour, then leaves', () => {
    expect(states(at('21:30'), order(nine), ['s1.2026-11-24.2100'])).toEqual(['2026-11-24.2100.o1 settled'])
    expect(states(at('22:00'), order(nine), ['s1.2026-11-24.2100'])).toEqual([])
  })
  it('belongs to the version in force at its time, not to a later one', () => {
    expect(states(at('21:00'), order(nine, { endedAtMs: at('20:59') }))).toEqual([])
    expect(states(at('21:30'), order(nine, { endedAtMs: at('21:00') + 1 }))).toEqual(['2026-11-24.2100.o1 due'])
    expect(states(at('21:30'), order(nine, { writtenAtMs: at('21:10') }))).toEqual([])
    expect(states(at('21:30'), order(nine, {}, { startsAtMs: at('21:00') + 1 }))).toEqual([])
  })
  it('knows its next change by time', () => {
    expect(nextSlotChangeMs(order(nine), slotFacts(), at('12:00'))).toBe(at('20:00'))
    expect(nextSlotChangeMs(order(nine), slotFacts(), at('20:00'))).toBe(at('21:00')) // the day before leaves the look-back
    expect(nextSlotChangeMs(order(nine), slotFacts(), at('21:00'))).toBe(at('22:00'))
    expect(nextSlotChangeMs(order([]), slotFacts(), at('12:00'))).toBeNull()
    expect(nextSlotChangeMs(order(nine), slotFacts(), at('22:00'))).toBe(at('20:00') + 24 * 60 * MINUTE)
  })
})
