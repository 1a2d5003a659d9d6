/**
 * Antecedents of a low: everything charted for the 24 h before its first value, once each and in order, also if
 * charted late.
 */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  antecedentsOf,
  antecedentsIn,
  lastTrayAndInsulin,
  patientStateAt,
  summarizeBefore,
  type AntecedentFacts,
} from '../../shared/audit/antecedents.ts'
import type { Antecedent } from '../../shared/audit/antecedent.ts'
import { nilSpans } from '../../shared/audit/nil-spans.ts'
import type { Dose, OutsideDose, TrayFact } from '../../shared/dose/dose.ts'
import type { BedsideFacts, FactsVersion } from '../../shared/stay/stay.ts'
import { someFacts } from '../support/makers.ts'
import { at, doseOf, lowEvent, MINUTE, orderVersion, POLICY, reading } from '../support/readings.ts'

const FIRST_MS = at('09:50')
const EVENING = '2026-03-09'
const NOTHING: AntecedentFacts = {
  stay: { admittedAtMs: at('00:00', '2026-03-01'), dischargedAtMs: null },
  facts: [],
  beds: [],
  interruptions: [],
  plans: [],
  readings: [],
  doses: [],
  outsideDoses: [],
  trays: [],
  orders: [],
  orderStops: [],
  lows: [],
  criticalCalls: [],
  symptoms: [],
}
const found = (parts: Partial<AntecedentFacts>): readonly Antecedent[] =>
  antecedentsOf({ ...NOTHING, ...parts }, FIRST_MS, POLICY)
const kinds = (parts: Partial<AntecedentFacts>): readonly string[] => found(parts).map(({ fact }) => fact.kind)
const version = (number: number, atMs: number, facts: Partial<BedsideFacts>): FactsVersion => ({
  number,
  facts: someFacts(facts),
  atMs,
  byId: 'nurse-a',
})
const given = (time: string, parts: Partial<Dose> = {}, food: 'tray-coming' | 'tray-here' = 'tray-coming'): Dose => {
  const from = reading(215, at(time) - 10 * MINUTE)
  const made = doseOf(from, parts)
  return {
    ...made,
    inputs: { ...made.inputs, occasion: 'before-breakfast', readingTakenAtMs: from.takenAtMs, ...parts.inputs },
    outcome: { kind: 'given', byId: 'nurse-a', atMs: at(time), site: { area: 'abdomen', side: 'left' }, food },
  }
}
const tray = (parts: Partial<TrayFact> = {}): TrayFact => ({
  stayId: 'stay1',
  date: '2026-03-10',
  meal: 'breakfast',
  servedAtMs: null,
  shareEatenPercent: null,
  ...parts,
})

describe('period: 24 h up to the first value', () => {
  it.each([
    ['exactly 24 h before is in', at('09:50', EVENING), 1],
    ['a moment sooner is out', at('09:50', EVENING) - 1, 0],
    ['the last moment before is in', FIRST_MS - 1, 1],
    ['the first value itself is out', FIRST_MS, 0],
  ])('%s', (_name, atMs, count) => {
    expect(found({ readings: [reading(120, atMs)] })).toHaveLength(count)
  })
  it('uses the time of a fact, not the time of charting', () => {
    const paper: OutsideDose = {
      outsideDoseId: 'o1',
      stayId: 'stay1',
      insulin: 'insulin lispro',
      units: 8,
      givenAtMs: at('07:00'),
      chartedAtMs: at('14:00'),
      source: 'paper',
      givenBy: 'P. Ward',
      checkedBy: 'Q. Bell',
      byId: 'nurse-b',
    }
    expect(
      found({
        outsideDoses: [paper],
        readings: [reading(180, at('08:00'), { chartedAtMs: at('12:00'), source: 'paper' })],
      }).map(({ fact, atMs, chartedAtMs }) => [fact.kind, atMs, chartedAtMs]),
    ).toEqual([
      ['outside-dose', at('07:00'), at('14:00')],
      ['reading', at('08:00'), at('12:00')],
    ])
    expect(found({ outsideDoses: [{ ...paper, givenAtMs: at('10:00'), chartedAtMs: at('10:00') }] })).toEqual([])
  })
  it('includes readings that no longer count', () => {
    expect(
      found({
        readings: [
          reading(120, at('08:00'), { voided: { reason: 'x', byId: 'nurse-a', atMs: at('08:05') } }),
          reading(130, at('08:10'), { supersededBy: 'r2' }),
        ],
      }),
    ).toHaveLength(2)
  })
})

describe('insulin and meals', () => {
  it('uses the time of giving; withheld, refused, zero and open doses are not insulin', () => {
    const withheld = {
      ...given('07:40', { doseId: 'd2' }),
      outcome: { kind: 'withheld', byId: 'nurse-a', atMs: at('07:40'), reason: 'nauseous' },
    } as const
    const zero = {
      ...given('07:45', { doseId: 'd3', units: 0 }),
      outcome: { kind: 'zero-charted', byId: 'nurse-a', atMs: at('07:45') },
    } as const
    const open = { ...given('07:46', { doseId: 'd4' }), outcome: null }
    expect(
      found({ doses: [given('07:35'), withheld, zero, open] }).map(({ fact, atMs, byId }) => [fact.kind, atMs, byId]),
    ).toEqual([
      ['dose', at('07:35'), 'nurse-a'],
      ['dose-not-given', at('07:40'), 'nurse-a'],
    ])
  })
  it.each([
    ['served 15 min after it: in time', at('07:50'), 'tray-coming', { afterMs: 15 * MINUTE, isLate: false }],
    ['16 min after it: too late', at('07:51'), 'tray-coming', { afterMs: 16 * MINUTE, isLate: true }],
    ['before it', at('07:30'), 'tray-coming', { afterMs: -5 * MINUTE, isLate: false }],
    ['never charted', null, 'tray-coming', { afterMs: null, isLate: true }],
    ['it was there when the insulin was given', null, 'tray-here', { afterMs: null, isLate: false }],
  ] as const)('a tray %s', (_name, servedAtMs, food, wanted) => {
    const dose = found({
      doses: [given('07:35', {}, food)],
      trays: servedAtMs === null ? [] : [tray({ servedAtMs })],
    }).find(({ fact }) => fact.kind === 'dose')
    expect(dose?.fact).toMatchObject({ tray: { meal: 'breakfast', ...wanted } })
  })
  it('links no meal to a bedtime or scheduled dose, and no dose to another day’s or meal’s tray', () => {
    const bedtime = given('07:35')
    expect(
      found({ doses: [{ ...bedtime, inputs: { ...bedtime.inputs, occasion: 'bedtime' } }] })[0]?.fact,
    ).toMatchObject({ tray: null })
    const other = found({
      doses: [given('07:35')],
      trays: [tray({ date: EVENING, servedAtMs: at('07:50') }), tray({ meal: 'lunch', servedAtMs: at('07:51') })],
    })
    expect(
      other
        .filter(({ fact }) => fact.kind === 'tray')
        .every(({ fact }) => fact.kind === 'tray' && fact.doses.length === 0),
    ).toBe(true)
  })
  it('shows a tray’s share eaten and insulin, at its planned time when not served', () => {
    const served = found({
      doses: [given('07:35')],
      trays: [tray({ servedAtMs: at('08:20'), shareEatenPercent: 25 })],
    }).find(({ fact }) => fact.kind === 'tray')
    expect(served).toMatchObject({
      atMs: at('08:20'),
      fact: { isTimed: true, tray: { shareEatenPercent: 25 }, doses: [{ beforeMs: 45 * MINUTE }] },
    })
    const untimed = found({ doses: [given('07:35')], trays: [tray({ shareEatenPercent: 0 })] }).find(
      ({ fact }) => fact.kind === 'tray',
    )
    expect(untimed).toMatchObject({
      atMs: at(POLICY.mealTimes.breakfast),
      fact: { isTimed: false, doses: [{ beforeMs: null }] },
    })
  })
})

describe('orders', () => {
  const old = orderVersion({
    writtenAtMs: at('06:00', EVENING),
    verified: { byId: 'nurse-b', atMs: at('06:10', EVENING) },
  })
  it('are listed when written, verified, replaced, stopped (by whom and why) and expired', () => {
    const first = {
      ...old,
      writtenAtMs: at('12:00', EVENING),
      verified: { byId: 'nurse-b', atMs: at('12:10', EVENING) },
      endedAtMs: at('18:00', EVENING),
    }
    const second = { ...first, version: 2, writtenAtMs: at('18:00', EVENING), verified: null, endedAtMs: at('07:00') }
    const stop = {
      orderId: 'order1',
      reason: 'ate nothing',
      orderedBy: 'Dr. Vera Kim',
      received: 'written',
      byId: 'nurse-a',
      atMs: at('07:00'),
    } as const
    expect(
      found({ orders: [second, first], orderStops: [stop] }).map(({ fact, byId }) => [
        fact.kind,
        'how' in fact ? fact.how : '',
        byId,
      ]),
    ).toEqual([
      ['order-written', '', 'nurse-a'],
      ['order-verified', '', 'nurse-b'],
      ['order-ended', 'replaced', null],
      ['order-written', '', 'nurse-a'],
      ['order-ended', 'stopped', 'nurse-a'],
    ])
  })
  it('that expired before a stop end once', () => {
    const expired = { ...old, order: { ...old.order, stopsAtMs: at('06:00') }, endedAtMs: at('07:00') }
    expect(found({ orders: [expired] }).map(({ fact, atMs }) => ['how' in fact ? fact.how : '', atMs])).toEqual([
      ['expired', at('06:00')],
    ])
    expect(kinds({ orders: [old] })).toEqual([])
  })
})

describe('facts at the bedside', () => {
  it('are listed by name when changed; the first version is not a change', () => {
    const changed = found({
      facts: [
        version(1, at('12:00', EVENING), {}),
        version(2, at('20:00', EVENING), { onSteroid: true, otherGlucoseLowering: ['gliclazide'] }),
      ],
    })
    expect(changed.map(({ fact }) => (fact.kind === 'facts-changed' ? fact.names : fact.kind))).toEqual([
      ['onSteroid', 'otherGlucoseLowering'],
    ])
  })
  it('feed stops, plans, beds, calls, symptoms and other lows are listed', () => {
    const early = at('22:00', EVENING)
    expect(
      kinds({
        interruptions: [
          {
            interruptionId: 'i1',
            stayId: 'stay1',
            reason: 'tube blocked',
            fromMs: at('05:00'),
            untilMs: at('06:00'),
            byId: 'nurse-a',
          },
        ],
        plans: [
          {
            stayId: 'stay1',
            version: 1,
            plan: { kind: 'every-4-h' },
            fromMs: at('04:00'),
            untilMs: null,
            overlay: false,
          },
          {
            stayId: 'stay1',
            version: 2,
            plan: { kind: 'every-6-h' },
            fromMs: at('04:30'),
            untilMs: at('04:30'),
            overlay: false,
          },
        ],
        beds: [{ number: 1, wardId: 'ward1', bed: '1', fromMs: early, toMs: null }],
        criticalCalls: [
          {
            readingId: 'r1',
            atMs: at('03:00'),
            chartedAtMs: at('03:00'),
            byId: 'nurse-a',
            told: 'Dr. Vera Kim',
            ordered: '',
          },
        ],
        symptoms: [
          {
            symptomsId: 's1',
            atMs: at('02:00'),
            chartedAtMs: at('02:00'),
            byId: 'nurse-a',
            symptoms: 'shaky',
            what: 'milk',
            readingId: null,
          },
        ],
        lows: [
          { ...lowEvent(reading(60, at('00:30')), { lowId: 'low0' }), closedAtMs: at('02:30') },
          lowEvent(reading(52, FIRST_MS)),
        ],
      }),
    ).toEqual(['bed', 'low', 'symptoms', 'low', 'critical-told', 'plan', 'feed', 'feed'])
  })
  it('state of the patient at that time, by what had been charted', () => {
    const facts = [
      version(1, at('12:00', EVENING), {}),
      version(2, at('20:00', EVENING), { renalImpairment: true, nilByMouth: { fromMs: at('00:00'), untilMs: null } }),
      version(3, at('11:00'), { onSteroid: true }),
    ]
    const interruption = {
      interruptionId: 'i1',
      stayId: 'stay1',
      reason: 'theatre',
      fromMs: at('09:00'),
      untilMs: null,
      byId: 'nurse-a',
    }
    expect(patientStateAt({ facts, interruptions: [interruption] }, FIRST_MS)).toMatchObject({
      facts: { renalImpairment: true, onSteroid: false },
      nilByMouth: true,
      feedStopped: { reason: 'theatre' },
    })
    expect(patientStateAt({ facts, interruptions: [] }, at('11:00', EVENING))).toEqual({
      facts: null,
      nilByMouth: false,
      feedStopped: null,
    })
  })
})

describe('nil by mouth periods', () => {
  const nil = (from: string, until: string | null) => ({
    nilByMouth: { fromMs: at(from), untilMs: until === null ? null : at(until) },
  })
  it.each([
    ['to its own end', [version(1, at('00:00'), nil('02:00', '06:00'))], [['02:00', '06:00']]],
    [
      'taken back before it began: never',
      [version(1, at('00:00'), nil('06:00', null)), version(2, at('05:00'), {})],
      [],
    ],
    [
      'ended by a later version',
      [version(1, at('00:00'), nil('02:00', null)), version(2, at('04:00'), {})],
      [['02:00', '04:00']],
    ],
    [
      'carried on by a later version: one stretch',
      [version(1, at('00:00'), nil('02:00', '06:00')), version(2, at('04:00'), nil('02:00', '08:00'))],
      [['02:00', '08:00']],
    ],
    [
      'charted afterwards counts from when it began',
      [version(1, at('05:00'), nil('02:00', '06:00'))],
      [['02:00', '06:00']],
    ],
    [
      'eating in between: two',
      [version(1, at('00:00'), nil('02:00', '03:00')), version(2, at('04:00'), nil('05:00', '06:00'))],
      [
        ['02:00', '03:00'],
        ['05:00', '06:00'],
      ],
    ],
  ] as const)('%s', (_name, versions, wanted) => {
    expect(nilSpans(versions)).toEqual(wanted.map(([from, to]) => ({ fromMs: at(from), toMs: at(to) })))
  })
  it('continue until something ends them', () => {
    expect(nilSpans([version(1, at('00:00'), nil('02:00', null))])).toEqual([
      { fromMs: at('02:00'), toMs: Number.POSITIVE_INFINITY },
    ])
    expect(
      kinds({ facts: [version(1, at('12:00', EVENING), {}), version(2, at('01:00'), nil('02:00', '04:00'))] }),
    ).toEqual(['facts-changed', 'nil-by-mouth', 'nil-by-mouth'])
  })
})

describe('short list and omitted items', () => {
  const doses = ['06:00', '07:00', '08:00'].map((time, index) => given(time, { doseId: `d${String(index)}` }))
  const long = { ...given('05:00', { doseId: 'long' }), insulin: 'insulin glargine' as const }
  const earlier = {
    ...lowEvent(reading(60, at('22:00', EVENING)), { lowId: 'low0' }),
    closedAtMs: at('23:30', EVENING),
  }
  const all = found({
    doses: [...doses, long],
    readings: [
      reading(120, at('08:30'), { readingId: 'last' }),
      reading(131, at('08:40'), { voided: { reason: 'x', byId: 'nurse-a', atMs: at('08:45') } }),
      reading(180, at('05:30')),
    ],
    trays: [tray({ servedAtMs: at('08:20') })],
    plans: [
      { stayId: 'stay1', version: 1, plan: { kind: 'every-4-h' }, fromMs: at('04:00'), untilMs: null, overlay: false },
    ],
    lows: [earlier],
  })
  const idOf = ({ fact }: Antecedent): string =>
    fact.kind === 'dose' ? fact.dose.doseId : fact.kind === 'reading' ? fact.reading.readingId : fact.kind
  it('has, closest first: last counting reading, doses of each insulin, meals, earlier low', () => {
    expect(summarizeBefore(all).told.map(idOf)).toEqual(['last', 'tray', 'd2', 'd1', 'd0', 'long', 'low'])
  })
  it('omits other readings, check plans and the closing of an earlier low, and says so', () => {
    expect(
      summarizeBefore(all).left.map(({ fact }) =>
        fact.kind === 'low' ? `low opened ${String(fact.opened)}` : fact.kind,
      ),
    ).toEqual(['low opened false', 'plan', 'reading', 'reading'])
  })
  it('compares the cause with the last tray and the last dose of each insulin', () => {
    const { meal, insulin } = lastTrayAndInsulin(all)
    expect([meal?.atMs, insulin.map(idOf)]).toEqual([at('08:20'), ['d2', 'long']])
    expect(lastTrayAndInsulin([])).toEqual({ meal: null, insulin: [] })
  })
})

describe('any record', () => {
  const minutes = fc.integer({ min: -30 * 60, max: 60 })
  const record = fc.record({
    readings: fc.array(minutes, { maxLength: 12 }),
    doses: fc.array(minutes, { maxLength: 6 }),
    trays: fc.array(minutes, { maxLength: 4 }),
    facts: fc.array(minutes, { maxLength: 4 }),
  })
  const factsOf = (drawn: {
    readonly readings: readonly number[]
    readonly doses: readonly number[]
    readonly trays: readonly number[]
    readonly facts: readonly number[]
  }): AntecedentFacts => {
    const when = (count: number): number => FIRST_MS + count * MINUTE
    return {
      ...NOTHING,
      readings: drawn.readings.map((count, index) =>
        reading(100 + index, when(count), { readingId: `r${String(index)}` }),
      ),
      doses: drawn.doses.map((count, index) => {
        const dose = given('07:35', { doseId: `d${String(index)}` })
        return {
          ...dose,
          outcome: {
            kind: 'given',
            byId: 'nurse-a',
            atMs: when(count),
            site: { area: 'thigh', side: 'left' },
            food: 'tray-here',
          },
        } as const
      }),
      trays: drawn.trays.map((count, index) =>
        tray({ date: `2026-03-${String(10 - index).padStart(2, '0')}`, servedAtMs: when(count) }),
      ),
      facts: [...drawn.facts]
        .sort((a, b) => a - b)
        .map((count, index) => version(index + 1, when(count), { weightKg: 60 + index })),
    }
  }
  it('property: lists each event of the period once, in order; two periods make the whole', () => {
    fc.assert(
      fc.property(record, minutes, (drawn, cut) => {
        const facts = factsOf(drawn)
        const all = antecedentsOf(facts, FIRST_MS, POLICY)
        const turned = Object.fromEntries(
          Object.entries(facts).map(([name, value]) => [name, Array.isArray(value) ? [...value].reverse() : value]),
        ) as AntecedentFacts
        expect(antecedentsOf(turned, FIRST_MS, POLICY)).toEqual(all)
        const times = all.map(({ atMs }) => atMs)
        expect(times).toEqual([...times].sort((a, b) => a - b))
        const [fromMs, toMs] = [FIRST_MS - 24 * 60 * MINUTE, FIRST_MS]
        expect(times.every((ms) => ms >= fromMs && ms < toMs)).toBe(true)
        expect(all.filter(({ fact }) => fact.kind === 'reading')).toHaveLength(
          drawn.readings.filter((count) => count >= -24 * 60 && count < 0).length,
        )
        expect(all.filter(({ fact }) => fact.kind === 'dose')).toHaveLength(
          drawn.doses.filter((count) => count >= -24 * 60 && count < 0).length,
        )
        const cutMs = Math.min(Math.max(FIRST_MS + cut * MINUTE, fromMs), toMs)
        expect([
          ...antecedentsIn(facts, { fromMs, toMs: cutMs }, POLICY),
          ...antecedentsIn(facts, { fromMs: cutMs, toMs }, POLICY),
        ]).toEqual(all)
        const { told, left } = summarizeBefore(all)
        expect(new Set([...told, ...left])).toEqual(new Set(all))
        expect(told.length + left.length).toBe(all.length)
        expect(told.map(({ atMs }) => atMs)).toEqual(told.map(({ atMs }) => atMs).sort((a, b) => b - a))
      }),
    )
  })
})
