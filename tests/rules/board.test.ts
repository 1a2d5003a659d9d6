import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { assignBeds, assignmentSeen } from '../../shared/board/assign.ts'
import { boardOf, type BedState } from '../../shared/board/board.ts'
import type { BoardFacts } from '../../shared/board/facts.ts'
import { assignNeed } from '../../shared/board/hand.ts'
import { needsOf, type Need } from '../../shared/board/needs.ts'
import { bedNurses, shiftAt, type BedsTaken } from '../../shared/board/shift.ts'
import type { CheckOutcome } from '../../shared/check/check.ts'
import { plannedChecks } from '../../shared/check/plan.ts'
import { roundModel, type RoundFacts } from '../../shared/check/round-model.ts'
import { checkState } from '../../shared/check/state.ts'
import type { Dose } from '../../shared/dose/dose.ts'
import type { OrderVersion } from '../../shared/order/order.ts'
import { NOTHING_CHARTED, type LowEvent } from '../../shared/low/low.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { aDose, anOrder } from '../support/makers.ts'

const ZONE = 'America/New_York'
const policy = defaultPolicy('mg/dL', ZONE)
const DAY = '2026-11-24'
const at = (time: string, date = DAY): number => localToUtc(date, time, ZONE)
const MINUTE = 60_000
const BEDS = ['1', '2', '3', '4']
const IDS = ['s1', 's2', 's3']

const stay = (stayId: string, bed: string): Stay => ({
  stayId,
  wardId: 'ward',
  bed,
  wristband: `W${bed}`,
  familyName: `Name${bed}`,
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
const reading = (stayId: string, value: number | 'HI', takenAtMs: number, over: Partial<Reading> = {}): Reading => ({
  readingId: `r${stayId}`,
  stayId,
  wardId: 'ward',
  wardDate: DAY,
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
const low = (stayId: string, openedAtMs: number, over: Partial<LowEvent> = {}): LowEvent => ({
  lowId: `low${stayId}`,
  stayId,
  wardId: 'ward',
  openedByReadingId: `r${stayId}`,
  openedAtMs,
  treatments: [],
  charted: NOTHING_CHARTED,
  closedAtMs: null,
  previousLowId: null,
  previousClosedAtMs: null,
  ...over,
})
/** Everything of the last day accounted for, so that only the tested item is left. */
const quiet = new Map<string, CheckOutcome>(
  IDS.flatMap((id) =>
    ['2026-11-23', DAY].flatMap((date) =>
      ['before-breakfast', 'before-lunch', 'before-supper', 'bedtime'].map((slot): [string, CheckOutcome] => [
        `${id}.${date}.${slot}`,
        { kind: 'excused', reason: 'refused', note: '', byId: 'n1', atMs: 1 },
      ]),
    ),
  ),
)
const taken = (staffId: string, beds: readonly string[], atMs = at('06:50')): BedsTaken => ({
  staffId,
  name: `Nurse ${staffId}`,
  beds,
  atMs,
})
const NURSES = new Map([
  ['n1', 'Nurse n1'],
  ['n2', 'Nurse n2'],
])

type Given = Partial<RoundFacts> &
  Partial<Pick<BoardFacts, 'meters' | 'bedsTaken' | 'handed' | 'lastReadingDoses' | 'staysWithOrder'>>
function inputs(over: Given, nowMs: number): Parameters<typeof boardOf>[0] & { readonly facts: RoundFacts } {
  const facts: RoundFacts & BoardFacts = {
    beds: BEDS,
    policy,
    trayDelays: [],
    stays: IDS.map((id, index) => stay(id, String(index + 1))),
    plans: IDS.map((stayId) => ({
      stayId,
      version: 1,
      plan: { kind: 'ac-and-hs' } as const,
      fromMs: 0,
      untilMs: null,
      overlay: false,
    })),
    outcomes: quiet,
    lastReadings: new Map(),
    orders: [],
    lows: [],
    openItems: [],
    openDoses: [],
    unaccountedDoses: [],
    forLaboratory: [],
    trays: [],
    readingsOfLows: new Map(),
    settledSlots: new Set(),
    meters: [],
    bedsTaken: [taken('n1', ['1', '2', '3', '4'])],
    handed: new Map(),
    lastReadingDoses: [],
    staysWithOrder: new Set(IDS),
    nurses: NURSES,
    ...over,
  }
  return { facts, model: roundModel(facts, nowMs), nowMs }
}
const kinds = (over: Given, nowMs: number): readonly string[] =>
  needsOf(inputs(over, nowMs)).map(({ kind, beds }) => `${kind} ${beds.join(',')}`.trim())
const only = (over: Given, nowMs: number, kind: Need['kind']): Need => {
  const [need, ...more] = needsOf(inputs(over, nowMs)).filter((one) => one.kind === kind)
  expect(more).toEqual([])
  if (need === undefined) throw new Error(`no ${kind} among ${kinds(over, nowMs).join('; ')}`)
  return need
}
const dose = (over: Partial<Dose>): Dose =>
  aDose({ doseId: 'd1', stayId: 's2', wardId: 'ward', readingId: 'rs2', ...over })

describe('what needs a person', () => {
  it('has none on a quiet ward with all beds assigned', () => {
    expect(kinds({}, at('07:20'))).toEqual([])
  })
  it('lists an untreated low since its value, an overdue recheck, and an uncalled prescriber', () => {
    const given: Given = {
      lows: [low('s3', at('07:15'))],
      readingsOfLows: new Map([['s3', [reading('s3', 52, at('07:15'))]]]),
    }
    expect(kinds(given, at('07:20'))).toEqual(['low-treat 3', 'low-tell-prescriber 3'])
    expect(only(given, at('07:20'), 'low-treat')).toMatchObject({
      key: 'low.lows3.treat.1',
      subjectId: 'lows3',
      sinceMs: at('07:15'),
      dueMs: at('07:20'),
      owner: { kind: 'bed', staffId: 'n1' },
    })
    expect(kinds(given, at('07:30') - 1)).not.toContain('low-recheck 3')
    expect(only(given, at('07:30'), 'low-recheck')).toMatchObject({
      key: 'low.lows3.recheck.1',
      subjectId: 'low.lows3.1',
      sinceMs: at('07:30'),
    })
  })
  it('lists insulin without a tray after the policy’s 15 minutes', () => {
    const openItems = [
      {
        itemId: 'insulin-no-tray.d1',
        kind: 'insulin-no-tray' as const,
        stayId: 's2',
        sinceMs: at('07:40'),
        subjectId: 'd1',
      },
    ]
    expect(kinds({ openItems }, at('07:55') - 1)).toEqual([])
    expect(only({ openItems }, at('07:55'), 'insulin-no-tray')).toMatchObject({ sinceMs: at('07:40'), beds: ['2'] })
  })
  it('lists an uncalled critical result at once, masked or not', () => {
    const item = {
      itemId: 'critical.rs2',
      kind: 'critical' as const,
      stayId: 's2',
      sinceMs: at('07:20'),
      subjectId: 'rs2',
    }
    const masked: Given = { openItems: [item], lastReadings: new Map([['s2', reading('s2', 480, at('07:20'))]]) }
    const callByMs = at('07:20') + policy.critical.callWithinMin * MINUTE
    for (const nowMs of [at('07:20'), callByMs, callByMs + 1])
      expect(only(masked, nowMs, 'critical-untold')).toMatchObject({
        subjectId: 'rs2',
        detail: null,
        sinceMs: at('07:20'),
        dueMs: callByMs,
      })
    expect(
      kinds({ openItems: [item], lastReadings: new Map([['s2', reading('s2', 45, at('07:20'))]]) }, at('07:21')),
    ).toEqual(['critical-untold 2'])
  })
  it('lists a check past its late time, and a closed one without its reason', () => {
    const outcomes = new Map([...quiet].filter(([key]) => key !== `s1.${DAY}.before-breakfast`))
    expect(kinds({ outcomes }, at('08:00'))).toEqual([])
    expect(only({ outcomes }, at('08:00') + 1, 'check-late')).toMatchObject({
      key: `check.s1.${DAY}.before-breakfast`,
      beds: ['1'],
      sinceMs: at('08:00'),
    })
    expect(only({ outcomes }, at('09:00'), 'check-missed')).toMatchObject({
      key: `missed.s1.${DAY}.before-breakfast`,
      sinceMs: at('09:00'),
    })
  })
  it('lists a verified dose not given once its tray is out, by clock or charted', () => {
    const agreed = {
      byId: 'n2',
      atMs: at('07:42'),
      agreed: true,
      glucose: { unit: 'mg/dL' as const, value: 215 },
      units: 4,
    }
    const openDoses = [
      dose({
        proposedAtMs: at('07:40'),
        answers: [agreed],
        product: {
          byId: 'n2',
          atMs: at('07:50'),
          insulin: 'insulin lispro',
          concentration: 'U-100',
          expiresOn: '2027-01-31',
          units: 4,
        },
      }),
    ]
    expect(kinds({ openDoses }, at('08:00') - 1)).toEqual([])
    expect(only({ openDoses }, at('08:00'), 'dose-not-given')).toMatchObject({ subjectId: 'd1', sinceMs: at('08:00') })
    const trays = [
      { stayId: 's2', date: DAY, meal: 'breakfast' as const, servedAtMs: at('07:48'), shareEatenPercent: null },
    ]
    expect(only({ openDoses, trays }, at('07:52'), 'dose-not-given')).toMatchObject({ sinceMs: at('07:50') })
  })
  it('lists a waiting second check and one that differed', () => {
    const waiting = dose({
      proposedAtMs: at('07:40'),
      inputs: { ...aDose({}).inputs, readingTakenAtMs: at('07:35') },
      units: 4,
      secondCheckRequired: true,
      answers: [],
    })
    expect(kinds({ openDoses: [waiting] }, at('07:45'))).toEqual(['second-check-waiting 2'])
    const answer = {
      byId: 'n2',
      atMs: at('07:43'),
      agreed: false,
      glucose: { unit: 'mg/dL' as const, value: 251 },
      units: 6,
    }
    expect(
      only({ openDoses: [{ ...waiting, answers: [answer] }] }, at('07:45'), 'second-check-differed'),
    ).toMatchObject({ sinceMs: at('07:43') })
  })
  it('lists a meter without today’s controls, each day again, but not one of the other unit', () => {
    const meter = {
      meterId: 'm1',
      serial: 'M-1',
      unit: 'mg/dL' as const,
      lastControl: { passed: true, atMs: at('06:00') },
    }
    expect(kinds({ meters: [meter] }, at('18:59'))).toEqual([])
    expect(only({ meters: [meter] }, at('00:00', '2026-11-25'), 'meter-not-controlled')).toMatchObject({
      key: 'meter.m1.2026-11-25',
      sinceMs: at('00:00', '2026-11-25'),
      detail: 'M-1',
    })
    expect(
      only(
        { meters: [{ ...meter, lastControl: { passed: false, atMs: at('06:00') } }] },
        at('07:00'),
        'meter-not-controlled',
      ),
    ).toMatchObject({ sinceMs: at('06:00') })
    expect(kinds({ meters: [{ ...meter, unit: 'mmol/L', lastControl: null }] }, at('07:20'))).toEqual([])
  })
  it('lists patients without a nurse in this shift as one need, and no empty bed', () => {
    expect(only({ bedsTaken: [taken('n1', ['2'])] }, at('07:20'), 'beds-without-nurse')).toMatchObject({
      beds: ['1', '3'],
      sinceMs: at('07:00'),
      owner: { kind: 'nobody' },
    })
    expect(kinds({ bedsTaken: [taken('n1', ['1', '2', '3'])] }, at('07:20'))).toEqual([])
    // the day's assignments do not count at night
    expect(only({ bedsTaken: [taken('n1', ['1', '2', '3'])] }, at('19:00'), 'beds-without-nurse').beds).toEqual([
      '1',
      '2',
      '3',
    ])
  })
  describe('a reading without its worked-out dose', () => {
    const key = `s2.${DAY}.before-breakfast`
    const order: OrderVersion = {
      orderId: 'o2',
      stayId: 's2',
      version: 1,
      order: anOrder(),
      writtenAtMs: 0,
      transcribedById: 'n1',
      verified: { byId: 'n2', atMs: 1 },
      endedAtMs: null,
    }
    const read = (value: number | 'HI', over: Given = {}, of: Partial<Reading> = {}): Given => ({
      outcomes: new Map([...quiet, [key, { kind: 'done', readingId: 'rs2', atMs: at('07:10') }]]),
      orders: [order],
      lastReadings: new Map([['s2', reading('s2', value, at('07:10'), { checkKey: key, byId: 'n2', ...of })]]),
      ...over,
    })
    const tileOf = (over: Given, nowMs: number) => boardOf(inputs(over, nowMs)).beds[1]
    it('is a need, by tray time, of the nurse who took it; its bed is not done', () => {
      expect(kinds(read(215), at('07:20'))).toEqual(['dose-to-work-out 2'])
      expect(only(read(215), at('07:20'), 'dose-to-work-out')).toMatchObject({
        key: 'reading.rs2.dose',
        subjectId: 'rs2',
        detail: null,
        sinceMs: at('07:10'),
        dueMs: at('08:00'),
        owner: { kind: 'taker', staffId: 'n2' },
      })
      expect(tileOf(read(215), at('07:20'))).toMatchObject({
        state: 'dose-to-work-out',
        atMs: at('07:10'),
        masked: true,
        doseWaits: false,
        waiting: 1,
      })
    })
    it('reveals nothing of the value: the board is the same for every number that is not a low', () => {
      const drawn = (value: number): unknown => {
        const { needs, beds } = boardOf(inputs(read(value), at('07:20')))
        return [needs, beds.map(({ patient: _, ...rest }) => rest)]
      }
      fc.assert(
        fc.property(fc.integer({ min: 70, max: 600 }), fc.integer({ min: 70, max: 600 }), (one, other) => {
          expect(drawn(one)).toEqual(drawn(other))
        }),
      )
    })
    it('ends with a dose, also of 0 units, and returns when the dose is voided', () => {
      const worked = dose({ units: 0, secondCheckRequired: false })
      expect(kinds(read(112, { lastReadingDoses: [worked] }), at('07:20'))).toEqual([])
      expect(tileOf(read(112, { lastReadingDoses: [worked] }), at('07:20'))).toMatchObject({
        state: 'done',
        masked: false,
        doseWaits: true,
      })
      const voided = { ...worked, voided: { atMs: at('07:15'), reason: 'order-changed' as const } }
      expect(kinds(read(112, { lastReadingDoses: [voided] }), at('07:20'))).toEqual(['dose-to-work-out 2'])
    })
    it('needs a new reading past the age limit, until the check closes', () => {
      expect(only(read(215), at('08:10'), 'dose-to-work-out').detail).toBeNull()
      expect(only(read(215), at('08:10') + 1, 'dose-to-work-out').detail).toBe('too-old')
      expect(kinds(read(215), at('09:00') - 1)).toEqual(['dose-to-work-out 2'])
      expect(kinds(read(215), at('09:00'))).toEqual([])
    })
    it('the Round’s model expires when its text about the dose changes', () => {
      expect(
        inputs(read(215, { orders: [{ ...order, order: anOrder({ stopsAtMs: at('07:33') }) }] }), at('07:20')).model
          .validUntilMs,
      ).toBe(at('07:33'))
      expect(inputs(read(215, {}, { takenAtMs: at('07:11') }), at('08:05')).model.validUntilMs).toBe(at('08:11') + 1)
    })
    it('is no need while a signed dose is unaccounted for', () => {
      const overtaken = dose({
        voided: { atMs: at('07:15'), reason: 'order-changed' },
        product: {
          byId: 'n2',
          atMs: at('07:14'),
          insulin: 'insulin lispro',
          concentration: 'U-100',
          expiresOn: '2027-01-31',
          units: 4,
        },
        outcome: null,
      })
      expect(kinds(read(215, { unaccountedDoses: [overtaken], lastReadingDoses: [overtaken] }), at('07:20'))).toEqual([
        'dose-unaccounted 2',
      ])
    })
    it('uses another nurse’s repeat inside the window', () => {
      expect(
        only(
          read(447, {}, { readingId: 'again', checkKey: null, takenAtMs: at('07:25'), byId: 'n1' }),
          at('07:30'),
          'dose-to-work-out',
        ),
      ).toMatchObject({ subjectId: 'again', owner: { kind: 'taker', staffId: 'n1' } })
    })
    it('passes to the bed’s nurse from an earlier shift’s nurse or one who left', () => {
      const early = read(
        215,
        { bedsTaken: [taken('n1', ['2'], at('06:50'))] },
        { takenAtMs: at('07:10'), byId: 'gone' },
      )
      expect(only(early, at('07:20'), 'dose-to-work-out').owner).toMatchObject({ kind: 'bed', staffId: 'n1' })
    })
    it.each([
      ['a low', read(65)],
      ['HI', read('HI')],
      ['a meter in doubt', read(215, {}, { doubts: ['meter-control-not-done'] })],
      ['no order', read(215, { orders: [] })],
      [
        'an order that lists no breakfast',
        read(215, { orders: [{ ...order, order: anOrder({ occasions: ['bedtime'] }) }] }),
      ],
      ['an order that has ended', read(215, { orders: [{ ...order, endedAtMs: at('07:15') }] })],
      [
        'an order of long-acting insulin alone',
        read(215, { orders: [{ ...order, order: anOrder({ correction: null, meal: null }) }] }),
      ],
    ])('%s is no need', (_name, given) => {
      expect(kinds(given, at('07:20'))).not.toContain('dose-to-work-out 2')
      expect(tileOf(given, at('07:20'))?.state).toBe('done')
    })
  })
  it('belongs to the nurse it was handed to while on the ward, then to the bed’s nurse', () => {
    const given: Given = {
      lows: [low('s3', at('07:15'))],
      readingsOfLows: new Map([['s3', [reading('s3', 52, at('07:15'))]]]),
    }
    const ownerOf = (staffId: string) =>
      only(
        { ...given, handed: new Map([['low.lows3.treat.1', { toStaffId: staffId, atMs: at('07:18') }]]) },
        at('07:20'),
        'low-treat',
      ).owner
    expect(ownerOf('n2')).toEqual({ kind: 'handed', staffId: 'n2', name: 'Nurse n2' })
    expect(ownerOf('gone')).toEqual({ kind: 'bed', staffId: 'n1', name: 'Nurse n1' })
  })
  it('sorts harm first, whatever waits longer', () => {
    const outcomes = new Map([...quiet].filter(([key]) => !key.startsWith(`s1.${DAY}`)))
    const openItems = [
      {
        itemId: 'insulin-no-tray.d1',
        kind: 'insulin-no-tray' as const,
        stayId: 's2',
        sinceMs: at('07:40'),
        subjectId: 'd1',
      },
    ]
    const given: Given = {
      outcomes,
      openItems,
      lows: [low('s3', at('08:09'))],
      readingsOfLows: new Map([['s3', [reading('s3', 52, at('08:09'))]]]),
      meters: [{ meterId: 'm1', serial: 'M-1', unit: 'mg/dL', lastControl: null }],
      bedsTaken: [],
    }
    expect(kinds(given, at('08:10'))).toEqual([
      'low-treat 3',
      'insulin-no-tray 2',
      'low-tell-prescriber 3',
      'check-late 1',
      'beds-without-nurse 1,2,3',
      'meter-not-controlled',
    ])
  })
})

describe('beds', () => {
  const states = (over: Given, nowMs: number): Record<string, BedState> =>
    Object.fromEntries(boardOf(inputs(over, nowMs)).beds.map(({ bed, state }) => [bed, state]))
  it('are listed in walking order, empty ones too', () => {
    expect(boardOf(inputs({}, at('07:20'))).beds.map(({ bed, state }) => `${bed} ${state}`)).toEqual([
      '1 excused',
      '2 excused',
      '3 excused',
      '4 empty',
    ])
  })
  it('show no number that a possible second checker must not see, and every low', () => {
    const masked = (value: number, nowMs: number, over: Given = {}) =>
      boardOf(inputs({ lastReadings: new Map([['s2', reading('s2', value, at('07:20'))]]), ...over }, nowMs)).beds[1]
        ?.masked
    expect(masked(215, at('07:21'))).toBe(true)
    expect(masked(65, at('07:21'))).toBe(false)
    expect(masked(215, at('07:20') + policy.dose.readingAgeMaxMin * MINUTE)).toBe(true)
    expect(masked(215, at('07:20') + policy.dose.readingAgeMaxMin * MINUTE + 1)).toBe(false)
    expect(masked(215, at('07:21'), { staysWithOrder: new Set() })).toBe(false)
  })
  it('keep a closed low for 12 hours, and the board expires by then', () => {
    const began = at('21:10', '2026-11-23')
    const board = (nowMs: number, closedAtMs: number | null = at('23:00', '2026-11-23')) =>
      boardOf(inputs({ lows: [low('s3', began, { closedAtMs })], readingsOfLows: new Map() }, nowMs))
    expect(board(at('09:05')).beds[2]?.closedLowAtMs).toBe(began)
    expect(board(at('09:05')).validUntilMs).toBe(at('09:10'))
    expect(board(at('09:10')).beds[2]?.closedLowAtMs).toBeNull()
    // an open one is the bed's state
    expect(board(at('09:05'), null).beds[2]).toMatchObject({ closedLowAtMs: null, state: 'low-untreated' })
  })
  it('show when a late check was due and since when it is late', () => {
    const outcomes = new Map([...quiet].filter(([key]) => key !== `s1.${DAY}.before-breakfast`))
    expect(boardOf(inputs({ outcomes }, at('08:05'))).beds[0]).toMatchObject({
      state: 'late',
      atMs: at('07:30'),
      lateSinceMs: at('08:00'),
    })
    expect(only({ outcomes }, at('08:05'), 'check-late')).toMatchObject({ sinceMs: at('08:00'), dueMs: at('07:30') })
    expect(boardOf(inputs({ outcomes }, at('07:55'))).beds[0]).toMatchObject({ state: 'open', lateSinceMs: null })
  })
  it('property: board and Round derive the same state for one check at one instant', () => {
    const slots = ['before-breakfast', 'before-lunch', 'before-supper', 'bedtime']
    const outcome = fc.constantFrom<CheckOutcome | null>(
      null,
      { kind: 'done', readingId: 'r', atMs: at('07:00') },
      { kind: 'excused', reason: 'refused', note: '', byId: 'n1', atMs: at('07:00') },
    )
    const world = fc.record({
      nowMs: fc.integer({ min: at('00:00'), max: at('23:59') }),
      outcomes: fc.array(outcome, { minLength: 24, maxLength: 24 }),
      delay: fc.constantFrom(0, 20, 150),
      lowAt: fc.option(fc.integer({ min: at('00:00'), max: at('23:00') })),
      treated: fc.boolean(),
      ordered: fc.subarray(IDS),
    })
    fc.assert(
      fc.property(world, ({ nowMs, outcomes, delay, lowAt, treated, ordered }) => {
        const known = new Map(
          IDS.flatMap((id, i) =>
            ['2026-11-23', DAY].flatMap((date, d) =>
              slots.flatMap((slot, s): [string, CheckOutcome][] => {
                const one = outcomes[i * 8 + d * 4 + s]
                return one === null || one === undefined ? [] : [[`${id}.${date}.${slot}`, one]]
              }),
            ),
          ),
        )
        const opened =
          lowAt === null || lowAt > nowMs
            ? []
            : [
                low('s3', lowAt, {
                  treatments: treated
                    ? [
                        {
                          lowId: 'lows3',
                          atMs: lowAt + MINUTE,
                          chartedAtMs: lowAt + MINUTE,
                          byId: 'n1',
                          arm: 'by-mouth',
                          amount: { kind: 'grams', grams: 15 },
                          what: '',
                          directedBy: null,
                        },
                      ]
                    : [],
                }),
              ]
        const given = inputs(
          {
            outcomes: known,
            trayDelays: delay === 0 ? [] : [{ date: DAY, meal: 'lunch', minutes: delay }],
            lows: opened,
            readingsOfLows: new Map([['s3', opened.map(({ openedAtMs }) => reading('s3', 52, openedAtMs))]]),
            orders: ordered.map((stayId) => ({
              orderId: `o${stayId}`,
              stayId,
              version: 1,
              order: anOrder(),
              writtenAtMs: 0,
              transcribedById: 'n1',
              verified: null,
              endedAtMs: null,
            })),
            lastReadings: new Map(
              IDS.map((id) => [id, reading(id, 215, at('07:00'), { checkKey: `${id}.${DAY}.before-breakfast` })]),
            ),
          },
          nowMs,
        )
        const board = boardOf(given)
        const { facts } = given
        for (const { stayId, bed } of facts.stays) {
          // each check's state by its own rule, without the Round's model
          const checks = plannedChecks({
            plans: facts.plans.filter((plan) => plan.stayId === stayId),
            policy,
            trayDelays: facts.trayDelays,
            outcomes: known,
            fromMs: nowMs - policy.missedLookBackHours * 60 * MINUTE,
            toMs: nowMs + 12 * 60 * MINUTE,
            stay: { stayId, admittedAtMs: 0, dischargedAtMs: null },
          })
          const of = (state: string): readonly string[] =>
            checks
              .filter((check) => checkState(check, known.get(check.key), nowMs) === state)
              .map(({ key }) => key)
              .sort()
          const needs = (kind: Need['kind'], prefix: string): readonly string[] =>
            board.needs
              .filter((need) => need.kind === kind && need.stayId === stayId)
              .map(({ key }) => key.slice(prefix.length))
              .sort()
          expect(needs('check-late', 'check.')).toEqual(of('late'))
          const missed = checks
            .filter((check) => checkState(check, known.get(check.key), nowMs) === 'missed')
            .sort((a, b) => a.dueMs - b.dueMs)
          expect(
            board.needs
              .filter(({ kind, stayId: id }) => kind === 'check-missed' && id === stayId)
              .map(({ subjectId, detail }) => [subjectId, detail]),
          ).toEqual(missed.length === 0 ? [] : [[missed[0]?.key, String(missed.length)]])
          const tile = board.beds.find((one) => one.bed === bed)?.state
          if (stayId !== 's3' || opened.length === 0) {
            if (of('late').length > 0) expect(tile).toBe('late')
            else if (of('open').length > 0) expect(tile).toBe('open')
            else if (of('missed').length > 0) expect(['missed', 'dose-to-work-out']).toContain(tile)
            else expect(['upcoming', 'done', 'excused', 'no-check', 'dose-to-work-out']).toContain(tile)
          }
          // and by the Round's first line
          const line = given.model.lines.find((one) => one.stayId === stayId)
          if (line?.standing.kind === 'low')
            expect(tile).toBe(
              !line.standing.treated
                ? 'low-untreated'
                : nowMs >= line.standing.recheckDueMs
                  ? 'low-recheck-due'
                  : 'low-recheck-running',
            )
          else if (line !== undefined && tile !== 'missed')
            expect(tile).toBe(line.doseToWorkOut === null ? line.state : 'dose-to-work-out')
          expect(board.needs.some(({ kind, stayId: id }) => kind === 'dose-to-work-out' && id === stayId)).toBe(
            given.model.patients.get(stayId)?.doseToWorkOut !== null,
          )
        }
      }),
      { numRuns: 300 },
    )
  })
  it('property: time alone changes nothing on the board between now and validUntilMs', () => {
    const given = (nowMs: number): Parameters<typeof boardOf>[0] =>
      inputs(
        {
          outcomes: new Map([
            ...[...quiet].filter(([key]) => !key.startsWith(`s1.${DAY}`)),
            [`s2.${DAY}.before-breakfast`, { kind: 'done', readingId: 'rs2', atMs: at('07:20') }],
          ]),
          lows: [low('s3', at('07:15')), low('s1', at('01:40'), { lowId: 'early', closedAtMs: at('03:00') })],
          readingsOfLows: new Map([['s3', [reading('s3', 52, at('07:15'))]]]),
          openItems: [
            { itemId: 'critical.rs2', kind: 'critical', stayId: 's2', sinceMs: at('07:20'), subjectId: 'rs2' },
          ],
          lastReadings: new Map([['s2', reading('s2', 480, at('07:20'), { checkKey: `s2.${DAY}.before-breakfast` })]]),
          meters: [{ meterId: 'm1', serial: 'M-1', unit: 'mg/dL', lastControl: { passed: true, atMs: at('06:00') } }],
          orders: [
            {
              orderId: 'o2',
              stayId: 's2',
              version: 1,
              order: anOrder({ startsAtMs: at('07:30') }),
              writtenAtMs: 0,
              transcribedById: 'n1',
              verified: null,
              endedAtMs: null,
            },
          ],
        },
        nowMs,
      )
    const seen = (nowMs: number) => {
      const { validUntilMs: _, ...board } = boardOf(given(nowMs))
      return board
    }
    fc.assert(
      fc.property(
        fc.integer({ min: at('07:21'), max: at('23:59') }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (nowMs, part) => {
          const { validUntilMs } = boardOf(given(nowMs))
          expect(validUntilMs).toBeGreaterThan(nowMs)
          expect(seen(nowMs + Math.floor((validUntilMs - 1 - nowMs) * part))).toEqual(seen(nowMs))
        },
      ),
      { numRuns: 100 },
    )
    expect(states({}, at('07:20'))).toMatchObject({ 1: 'excused' })
  })
})

describe('bed assignment', () => {
  it('finds the shift of an instant, also over midnight', () => {
    expect(shiftAt(policy, at('07:00'))).toEqual({ name: 'Day', startsMs: at('07:00'), endsMs: at('19:00') })
    expect(shiftAt(policy, at('07:00') - 1)).toEqual({
      name: 'Night',
      startsMs: at('19:00', '2026-11-23'),
      endsMs: at('07:00'),
    })
    expect(shiftAt(policy, at('03:00')).name).toBe('Night')
    expect(shiftAt({ zone: ZONE, shifts: [{ name: 'All day', starts: '08:00' }] }, at('03:00'))).toEqual({
      name: 'All day',
      startsMs: at('08:00', '2026-11-23'),
      endsMs: at('08:00'),
    })
  })
  it('counts a list of the last hour before the shift, and names an older one', () => {
    const shift = shiftAt(policy, at('07:20'))
    expect(bedNurses([taken('n1', ['1'], at('06:00')), taken('n2', ['2'], at('06:00') - 1)], shift)).toEqual({
      now: new Map([['1', { staffId: 'n1', name: 'Nurse n1' }]]),
      earlier: new Map([['2', { staffId: 'n2', name: 'Nurse n2' }]]),
    })
  })
  it('gives a bed taken twice to the newer nurse', () => {
    const { now } = bedNurses(
      [taken('n2', ['1', '2'], at('07:10')), taken('n1', ['1'], at('07:05'))],
      shiftAt(policy, at('07:20')),
    )
    expect([...now].map(([bed, { staffId }]) => `${bed} ${staffId}`).sort()).toEqual(['1 n2', '2 n2'])
  })

  const facts = (over: Partial<Parameters<typeof assignBeds>[1]> = {}): Parameters<typeof assignBeds>[1] => ({
    wardId: 'ward',
    beds: BEDS,
    nurses: [{ staffId: 'n1' }, { staffId: 'n2' }],
    taken: [taken('n1', ['1', '2'])],
    shift: shiftAt(policy, at('07:20')),
    ...over,
  })
  const assign = (choices: Readonly<Record<string, string>>, over: Partial<Parameters<typeof assignBeds>[1]> = {}) =>
    assignBeds(
      { choices: new Map(Object.entries(choices)), seen: assignmentSeen(over.taken ?? facts().taken), byId: 'c1' },
      facts(over),
      at('07:20'),
    )
  const sets = (outcome: ReturnType<typeof assign>): unknown =>
    outcome.ok ? outcome.value.map(({ body }) => body) : outcome.reason
  it('charts only nurses whose beds change', () => {
    expect(sets(assign({ 1: 'n1', 2: 'n2', 3: 'n2', 4: '' }))).toEqual([
      { staffId: 'n1', beds: ['1'] },
      { staffId: 'n2', beds: ['2', '3'] },
    ])
    expect(sets(assign({ 1: 'n1', 2: 'n1', 3: 'n2' }))).toEqual([{ staffId: 'n2', beds: ['3'] }])
    expect(sets(assign({}))).toEqual([{ staffId: 'n1', beds: [] }])
  })
  it('charts the same beds again when they were of an earlier shift', () => {
    expect(sets(assign({ 1: 'n1', 2: 'n1' }, { taken: [taken('n1', ['1', '2'], at('19:10', '2026-11-23'))] }))).toEqual(
      [{ staffId: 'n1', beds: ['1', '2'] }],
    )
  })
  it('refuses an unknown bed or nurse, a conflict, and no change', () => {
    expect(sets(assign({ 9: 'n1' }))).toBe('bed-not-on-ward')
    expect(sets(assign({ 1: 'x' }))).toBe('nurse-not-of-ward')
    expect(sets(assign({ 1: 'n1', 2: 'n1' }))).toBe('nothing-changed')
    expect(
      sets(
        assignBeds(
          { choices: new Map([['1', 'n2']]), seen: assignmentSeen([taken('n1', ['1'], at('07:19'))]), byId: 'c1' },
          facts(),
          at('07:20'),
        ),
      ),
    ).toBe('assigned-meanwhile')
  })
})

describe('handing over a need', () => {
  const needs = needsOf(
    inputs(
      {
        lows: [low('s3', at('07:15'))],
        readingsOfLows: new Map([['s3', [reading('s3', 52, at('07:15'))]]]),
        handed: new Map([['low.lows3.tell-prescriber', { toStaffId: 'n2', atMs: 1 }]]),
      },
      at('07:20'),
    ),
  )
  const hand = (needKey: string, toStaffId: string) =>
    assignNeed({ needKey, toStaffId, byId: 'n1' }, { wardId: 'ward', needs, nurses: NURSES }, at('07:20'))
  it('is charted with its patient', () => {
    expect(hand('low.lows3.treat.1', 'n2')).toMatchObject({
      ok: true,
      value: [
        { type: 'need-handed', stayId: 's3', actorId: 'n1', body: { needKey: 'low.lows3.treat.1', toStaffId: 'n2' } },
      ],
    })
  })
  it.each([
    ['gone', 'n2', 'need-gone'],
    ['low.lows3.treat.1', '', 'hand-to-nobody'],
    ['low.lows3.treat.1', 'x', 'hand-not-of-ward'],
    ['low.lows3.tell-prescriber', 'n2', 'hand-same'],
  ])('refuses %s to "%s": %s', (needKey, to, reason) => {
    expect(hand(needKey, to)).toMatchObject({ ok: false, reason })
  })
})
