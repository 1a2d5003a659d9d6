/**
 * The two US hospital-harm measures against the published cases in measure-cases/, against worked examples from the
 * published specifications (R), and at the boundaries that the published cases leave open (derived from the published
 * logic, D).
 */
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import type { DrugGiven, Encounter, GlucoseResult, MeasureFacts, MeasurePeriod } from '../../shared/measure/facts.ts'
import { ageOn, qualifyingStays } from '../../shared/measure/hospitalization.ts'
import { severeHighMeasure, type SevereHighStay } from '../../shared/measure/severe-high.ts'
import { severeLowMeasure, type SevereLowStay } from '../../shared/measure/severe-low.ts'
import { ROOT } from '../support/house.ts'

const CASES = join(ROOT, 'tests', 'standards', 'measure-cases')

type PublishedEncounter = {
  id: string
  kind: string
  status: string
  start: string
  end?: string
  reasonIsDiabetes: boolean
  hospice: boolean
}
type PublishedCase = {
  measure: 'CMS816' | 'CMS871'
  case: string
  birthDate: string
  measurementPeriod: { start: string; end: string }
  encounters: PublishedEncounter[]
  glucose: {
    id: string
    time?: string
    start?: string
    value?: number
    unit?: string
    status: string
    inValueSet: boolean
  }[]
  meds: { start: string; end?: string; status: string; valueSets: string[] }[]
  conditions: { isDiabetes: boolean; verificationStatus?: string; onset?: string; start?: string }[]
  comfort: { time: string; status: string; kind: string; isComfort: boolean }[]
  expected: {
    initialPopulation: number
    denominator: number
    denominatorExclusion?: number
    numerator: number
    numeratorExclusion?: number
    denominatorObservations?: number[]
    numeratorObservations?: number[]
  }
}

const at = (text: string): number => Date.parse(text)
const KINDS: Readonly<Record<string, Encounter['kind']>> = {
  inpatient: 'inpatient',
  ed: 'emergency',
  observation: 'observation',
}

/** The published case as the measures' own facts. Its times and dates are in UTC. */
function factsOf(published: PublishedCase): MeasureFacts {
  return {
    bornOn: published.birthDate,
    encounters: published.encounters.map((one) => ({
      encounterId: one.id,
      kind: KINDS[one.kind] ?? 'other',
      finished: one.status === 'finished',
      startMs: at(one.start),
      endMs: one.end === undefined ? null : at(one.end),
      startDate: one.start.slice(0, 10),
      endDate: one.end?.slice(0, 10) ?? null,
      diabetesDiagnosis: one.reasonIsDiabetes,
      toHospice: one.hospice,
    })),
    results: published.glucose
      .filter(({ inValueSet }) => inValueSet)
      .map((one) => ({
        resultId: one.id,
        atMs: at(one.time ?? one.start ?? ''),
        mgPerDl: one.unit === 'mg/dL' ? (one.value ?? null) : null,
        outOfRange: null,
        accepted: ['final', 'amended', 'corrected'].includes(one.status),
      })),
    drugs: published.meds.map((one) => ({
      startMs: at(one.start),
      endMs: one.end === undefined ? null : at(one.end),
      status: one.status === 'completed' || one.status === 'in-progress' ? one.status : 'other',
      canCauseSevereLow: one.valueSets.includes('hypo816'),
      lowersGlucose: one.valueSets.includes('hypo871'),
    })),
    listed: published.conditions
      .filter(({ isDiabetes }) => isDiabetes)
      .map((one) => ({
        credible: !['refuted', 'entered-in-error'].includes(one.verificationStatus ?? ''),
        fromMs: at(one.onset ?? one.start ?? ''),
      })),
    comfort: published.comfort
      .filter(({ isComfort }) => isComfort)
      .map((one) => ({
        atMs: at(one.time),
        counts: one.status === 'completed' || (one.kind !== 'procedure' && one.status === 'active'),
      })),
  }
}

const files = readdirSync(CASES)
  .filter((name) => name.endsWith('.json'))
  .sort()
const count = (stays: readonly unknown[]): number => stays.length

describe('every published case (CMS816 and CMS871, FHIR 0.3.000 of 2025; R)', () => {
  it('finds all 19', () => {
    expect(files).toHaveLength(19)
  })

  it.each(files)('%s', (name) => {
    const published = JSON.parse(readFileSync(join(CASES, name), 'utf8')) as PublishedCase
    const { expected } = published
    const period = {
      from: published.measurementPeriod.start.slice(0, 10),
      to: published.measurementPeriod.end.slice(0, 10),
    }
    const facts = factsOf(published)
    if (published.measure === 'CMS816') {
      const stays = severeLowMeasure(facts, period, 'published')
      expect(count(stays.filter(({ denominator }) => denominator))).toBe(expected.denominator)
      expect(expected.initialPopulation).toBe(expected.denominator)
      expect(count(stays.filter(({ numerator }) => numerator))).toBe(expected.numerator)
      return
    }
    const stays = severeHighMeasure(facts, period, 'published').filter(({ denominator }) => denominator)
    expect(count(stays)).toBe(expected.denominator)
    expect(count(stays.filter(({ excluded }) => excluded.length > 0))).toBe(expected.denominatorExclusion ?? 0)
    expect(count(stays.filter(({ numerator }) => numerator))).toBe(expected.numerator)
    expect(count(stays.filter(({ numerator, excluded }) => numerator && excluded.length > 0))).toBe(
      expected.numeratorExclusion ?? 0,
    )
    if (expected.denominatorObservations !== undefined)
      expect(stays.map(({ eligibleDays }) => eligibleDays)).toEqual(expected.denominatorObservations)
    if (expected.numeratorObservations !== undefined)
      expect(stays.map(({ eventDays }) => eventDays)).toEqual(expected.numeratorObservations)
  })
})

const PERIOD: MeasurePeriod = { from: '2026-01-01', to: '2026-12-31' }
const inpatient = (start: string, end: string, parts: Partial<Encounter> = {}): Encounter => ({
  encounterId: 'stay',
  kind: 'inpatient',
  finished: true,
  startMs: at(start),
  endMs: at(end),
  startDate: start.slice(0, 10),
  endDate: end.slice(0, 10),
  diabetesDiagnosis: false,
  toHospice: false,
  ...parts,
})
let numbered = 0
const result = (time: string, mgPerDl: number | null, parts: Partial<GlucoseResult> = {}): GlucoseResult => ({
  resultId: `result${String(++numbered)}`,
  atMs: at(time),
  mgPerDl,
  outOfRange: null,
  accepted: true,
  ...parts,
})
const insulin = (start: string, end: string | null = start, parts: Partial<DrugGiven> = {}): DrugGiven => ({
  startMs: at(start),
  endMs: end === null ? null : at(end),
  status: 'completed',
  canCauseSevereLow: true,
  lowersGlucose: true,
  ...parts,
})
const facts = (parts: Partial<MeasureFacts>): MeasureFacts => ({
  bornOn: '1960-05-05',
  encounters: [inpatient('2026-07-11T08:00:00Z', '2026-07-16T21:00:00Z')],
  results: [],
  drugs: [],
  listed: [],
  comfort: [],
  ...parts,
})

const low = (parts: Partial<MeasureFacts>, rule: 'published' | 'classed' = 'published'): SevereLowStay | undefined =>
  severeLowMeasure(facts(parts), PERIOD, rule)[0]
const harmed = (
  results: readonly GlucoseResult[],
  drugs: readonly DrugGiven[] = [insulin('2026-07-12T08:00:00Z')],
): boolean | undefined => low({ results, drugs })?.numerator

describe('severe hypoglycemia, worked examples (CMS816; R)', () => {
  const T = '2026-07-12T09:00:00Z'
  const plus = (time: string): string => `2026-07-12T${time}Z`
  it.each([
    ['39.9 then 80.1 at + 1:00', [result(T, 39.9), result(plus('09:01:00'), 80.1)], false],
    ['35 then 80 at + 5:00', [result(T, 35), result(plus('09:05:00'), 80)], true],
    ['35 then 80.1 at + 5:00', [result(T, 35), result(plus('09:05:00'), 80.1)], false],
    ['35 then 81 at + 5:00', [result(T, 35), result(plus('09:05:00'), 81)], false],
    ['39.9 then 70 at + 5:00', [result(T, 39.9), result(plus('09:05:00'), 70)], true],
    // edges of the published logic of CMS816 (D)
    ['exactly 40', [result(T, 40)], false],
    ['35 then 81 a thousandth of a second after + 5:00', [result(T, 35), result(plus('09:05:00.001'), 81)], true],
    ['35 and 81 at the same instant', [result(T, 35), result(T, 81)], true],
    ['81 before 35', [result(plus('08:59:00'), 81), result(T, 35)], true],
    ['35 entered in error', [result(T, 35, { accepted: false })], false],
    ['a repeat entered in error', [result(T, 35), result(plus('09:02:00'), 90, { accepted: false })], true],
    ['a result with no number', [result(T, null)], false],
    ['a result with only a date', [result(T, 35, { atMs: null })], false],
  ])('%s: %s', (_name, results, expected) => {
    expect(harmed(results)).toBe(expected)
  })

  it('35 at 20:58, discharged 21:00, 81 at 21:01: harm', () => {
    expect(
      harmed(
        [result('2026-07-16T20:58:00Z', 35), result('2026-07-16T21:01:00Z', 81)],
        [insulin('2026-07-16T08:00:00Z')],
      ),
    ).toBe(true)
  })
  it('39 at 08:19 counts with the drug at 08:19, not at 08:20', () => {
    expect(harmed([result('2026-07-12T08:19:00Z', 39)], [insulin('2026-07-12T08:20:00Z')])).toBe(false)
    expect(harmed([result('2026-07-12T08:19:00Z', 39)], [insulin('2026-07-12T08:19:00Z')])).toBe(true)
  })
  it('39, 30, 30 in one stay count once', () => {
    const stay = low({
      results: ['09', '10', '11'].map((hour, index) => result(`2026-07-12T${hour}:00:00Z`, [39, 30, 30][index] ?? 0)),
      drugs: [insulin('2026-07-12T08:00:00Z')],
    })
    expect(stay?.numerator).toBe(true)
    expect(stay?.lows.map(({ kind }) => kind)).toEqual(['harm', 'harm', 'harm'])
  })
})

describe('severe hypoglycemia, look-back and denominator (D)', () => {
  const T = '2026-07-13T09:00:00Z'
  it.each([
    ['exactly 24 h before', [insulin('2026-07-12T09:00:00Z')], true],
    ['24 h and a thousandth before', [insulin('2026-07-12T08:59:59.999Z')], false],
    ['started 30 h before and still running', [insulin('2026-07-12T03:00:00Z', null)], false],
    ['not completed', [insulin('2026-07-13T08:00:00Z', null, { status: 'in-progress' })], undefined],
    [
      'a drug that causes no severe low',
      [insulin('2026-07-13T08:00:00Z', undefined, { canCauseSevereLow: false })],
      undefined,
    ],
  ])('%s', (_name, drugs, expected) => {
    const stay = low({ results: [result(T, 35)], drugs })
    expect(stay?.denominator === true ? stay.numerator : undefined).toBe(expected)
  })
  it('a drug just before arrival counts for the look-back, not for the denominator', () => {
    const before = insulin('2026-07-11T07:30:00Z')
    const early = [result('2026-07-11T08:30:00Z', 35)]
    expect(low({ results: early, drugs: [before] })?.denominator).toBe(false)
    expect(low({ results: early, drugs: [before, insulin('2026-07-14T08:00:00Z')] })?.numerator).toBe(true)
  })
  it('a drug at the instant of discharge puts the stay in the denominator; a millisecond later does not', () => {
    expect(low({ drugs: [insulin('2026-07-16T21:00:00Z')] })?.denominator).toBe(true)
    expect(low({ drugs: [insulin('2026-07-16T21:00:00.001Z')] })?.denominator).toBe(false)
  })
  it('a meter’s LO matches nothing as published and is a severe low when classed', () => {
    const lo = { results: [result(T, null, { outOfRange: 'LO' })], drugs: [insulin('2026-07-13T08:00:00Z')] }
    expect(low(lo)?.numerator).toBe(false)
    expect(low(lo, 'classed')?.numerator).toBe(true)
    const rescued = { ...lo, results: [...lo.results, result('2026-07-13T09:03:00Z', null, { outOfRange: 'HI' })] }
    expect(low(rescued, 'classed')?.numerator).toBe(false)
  })
})

describe('qualifying stays (published logic of both measures)', () => {
  const emergency = (start: string, end: string): Encounter =>
    inpatient(start, end, { encounterId: 'ed', kind: 'emergency' })
  const observation = (start: string, end: string): Encounter =>
    inpatient(start, end, { encounterId: 'obs', kind: 'observation' })
  const startOf = (...encounters: readonly Encounter[]): number | undefined =>
    qualifyingStays(
      facts({ encounters: [inpatient('2026-07-11T08:00:00Z', '2026-07-16T21:00:00Z'), ...encounters] }),
      PERIOD,
    )[0]?.hospitalization.startMs

  it('a gap of exactly 60 min joins, 61 min does not (CMS816 case 14; R)', () => {
    expect(startOf(emergency('2026-07-11T02:00:00Z', '2026-07-11T07:00:00Z'))).toBe(at('2026-07-11T02:00:00Z'))
    expect(startOf(emergency('2026-07-11T02:00:00Z', '2026-07-11T06:59:00Z'))).toBe(at('2026-07-11T08:00:00Z'))
  })
  it('emergency, observation, inpatient: joins one of each, in that order', () => {
    expect(
      startOf(
        emergency('2026-07-10T20:00:00Z', '2026-07-11T01:30:00Z'),
        observation('2026-07-11T02:00:00Z', '2026-07-11T07:30:00Z'),
      ),
    ).toBe(at('2026-07-10T20:00:00Z'))
    expect(
      startOf(
        observation('2026-07-10T20:00:00Z', '2026-07-11T01:30:00Z'),
        emergency('2026-07-11T02:00:00Z', '2026-07-11T07:30:00Z'),
      ),
    ).toBe(at('2026-07-11T02:00:00Z'))
  })
  it('the end decides the period, by day; an admission in the year before counts', () => {
    const dated = (start: string, end: string): number =>
      qualifyingStays(facts({ encounters: [inpatient(start, end)] }), PERIOD).length
    expect(dated('2025-12-30T08:00:00Z', '2026-01-01T00:10:00Z')).toBe(1)
    expect(dated('2026-12-30T08:00:00Z', '2026-12-31T23:59:00Z')).toBe(1)
    expect(dated('2026-12-30T08:00:00Z', '2027-01-01T00:00:00Z')).toBe(0)
    expect(dated('2025-12-20T08:00:00Z', '2025-12-31T23:59:00Z')).toBe(0)
  })
  it('uses the age of 18 on the day of the inpatient start, whatever the emergency visit', () => {
    expect(ageOn('2008-07-11', '2026-07-11')).toBe(18)
    expect(ageOn('2008-07-12', '2026-07-11')).toBe(17)
    expect(ageOn('2008-02-29', '2026-02-28')).toBe(17)
    expect(qualifyingStays({ ...facts({}), bornOn: '2008-07-11' }, PERIOD)).toHaveLength(1)
    expect(qualifyingStays({ ...facts({}), bornOn: '2008-07-12' }, PERIOD)).toHaveLength(0)
  })
  it('a stay that is running or not finished does not qualify', () => {
    expect(
      qualifyingStays(
        facts({
          encounters: [inpatient('2026-07-11T08:00:00Z', '2026-07-16T21:00:00Z', { endMs: null, endDate: null })],
        }),
        PERIOD,
      ),
    ).toHaveLength(0)
    expect(
      qualifyingStays(
        facts({ encounters: [inpatient('2026-07-11T08:00:00Z', '2026-07-16T21:00:00Z', { finished: false })] }),
        PERIOD,
      ),
    ).toHaveLength(0)
  })
})

describe('severe hyperglycemia', () => {
  const days = (
    parts: Partial<MeasureFacts>,
    rule: 'published' | 'classed' = 'published',
  ): SevereHighStay | undefined =>
    severeHighMeasure(facts({ drugs: [insulin('2026-04-07T09:00:00Z')], ...parts }), PERIOD, rule)[0]
  const stay = [inpatient('2026-04-07T08:00:00Z', '2026-04-11T08:15:00Z')]
  const counts = (measured: SevereHighStay | undefined): readonly (number | undefined)[] => [
    measured?.eligibleDays,
    measured?.eventDays,
  ]
  const fiveDays = [inpatient('2026-04-07T08:00:00Z', '2026-04-12T08:15:00Z')]

  it('worked examples (CMS871; R)', () => {
    expect(counts(days({ encounters: stay, results: [result('2026-04-09T12:00:00Z', 320)] }))).toEqual([3, 1])
    const twoHigh = [
      result('2026-04-08T12:00:00Z', 201),
      result('2026-04-09T12:00:00Z', 200),
      result('2026-04-11T12:00:00Z', 120),
    ]
    expect(counts(days({ encounters: fiveDays, results: twoHigh }))).toEqual([4, 1])
    expect(counts(days({ encounters: fiveDays, results: [...twoHigh, result('2026-04-10T12:00:00Z', 0)] }))).toEqual([
      4, 0,
    ])
    expect(
      counts(
        days({
          encounters: [inpatient('2026-04-07T08:00:00Z', '2026-04-20T09:00:00Z')],
          results: [result('2026-04-09T12:00:00Z', 320)],
        }),
      ),
    ).toEqual([9, 1])
    const late = [result('2026-04-07T08:30:00Z', 600), result('2026-04-07T09:30:00Z', 601)]
    expect(days({ encounters: stay, results: late })?.excluded).toEqual([])
    expect(
      counts(
        days({
          encounters: [inpatient('2026-04-07T08:00:00Z', '2026-04-07T22:00:00Z')],
          results: [result('2026-04-07T12:00:00Z', 301)],
        }),
      ),
    ).toEqual([0, 0])
    const long = [inpatient('2026-04-07T08:00:00Z', '2026-04-14T08:15:00Z')]
    const run = [
      result('2026-04-07T06:59:00Z', 1001),
      result('2026-04-08T12:00:00Z', 301),
      result('2026-04-09T12:00:00Z', 350),
      result('2026-04-11T12:00:00Z', 400),
      result('2026-04-12T12:00:00Z', 150),
      result('2026-04-13T12:00:00Z', 150),
    ]
    expect(counts(days({ encounters: long, results: run }))).toEqual([6, 4])
  })

  it('exactly 300 is no event; 24-hour blocks start at the stay’s start, not at midnight (D)', () => {
    expect(counts(days({ encounters: stay, results: [result('2026-04-09T12:00:00Z', 300)] }))).toEqual([3, 0])
    expect(counts(days({ encounters: stay, results: [result('2026-04-08T08:00:00Z', 301)] }))).toEqual([3, 1])
    expect(counts(days({ encounters: stay, results: [result('2026-04-08T07:59:59.999Z', 301)] }))).toEqual([3, 0])
  })
  it('day 1 is a look-back day; a day without a test cannot continue a chain (D)', () => {
    const run = [result('2026-04-07T12:00:00Z', 200), result('2026-04-08T12:00:00Z', 200)]
    const measured = days({ encounters: fiveDays, results: run })
    expect(measured?.days.map(({ event }) => event)).toEqual([null, null, 'untested-after-two-high', null, null])
    expect(
      counts(
        days({
          encounters: fiveDays,
          results: [result('2026-04-07T12:00:00Z', 199), result('2026-04-08T12:00:00Z', 200)],
        }),
      ),
    ).toEqual([4, 0])
  })
  it('a test without a number makes a tested day; one entered in error does not (D)', () => {
    const run = [
      result('2026-04-08T12:00:00Z', 200),
      result('2026-04-09T12:00:00Z', 200),
      result('2026-04-11T12:00:00Z', 100),
    ]
    expect(counts(days({ encounters: fiveDays, results: [...run, result('2026-04-10T12:00:00Z', null)] }))).toEqual([
      4, 0,
    ])
    expect(
      counts(
        days({ encounters: fiveDays, results: [...run, result('2026-04-10T12:00:00Z', 120, { accepted: false })] }),
      ),
    ).toEqual([4, 1])
  })
  it.each([
    ['601 at exactly 6 h', [result('2026-04-07T14:00:00Z', 601)], true],
    ['601 a thousandth after 6 h', [result('2026-04-07T14:00:00.001Z', 601)], false],
    ['601 an hour before', [result('2026-04-07T07:00:00Z', 601)], true],
    ['601 more than an hour before', [result('2026-04-07T06:59:59.999Z', 601)], false],
    ['exactly 600', [result('2026-04-07T09:00:00Z', 600)], false],
    [
      '601 after one without a value',
      [result('2026-04-07T08:10:00Z', null), result('2026-04-07T09:00:00Z', 601)],
      false,
    ],
    [
      '601 after one entered in error',
      [result('2026-04-07T08:10:00Z', 100, { accepted: false }), result('2026-04-07T09:00:00Z', 601)],
      false,
    ],
    [
      '601 beside another of the same instant',
      [result('2026-04-07T09:00:00Z', 100), result('2026-04-07T09:00:00Z', 601)],
      true,
    ],
  ])('%s excludes: %s (D)', (_name, results, expected) => {
    const measured = days({ encounters: stay, results })
    expect(measured?.excluded.includes('first-result-above-600')).toBe(expected)
    if (expected) expect(counts(measured)).toEqual([0, 0])
  })
  it('a drug must be inside the stay; a diagnosis begins before discharge; 200 alone is enough (D)', () => {
    const denominator = (parts: Partial<MeasureFacts>): readonly string[] =>
      days({ encounters: stay, drugs: [], ...parts })?.because ?? []
    expect(denominator({ drugs: [insulin('2026-04-08T08:00:00Z', null)] })).toEqual([])
    expect(denominator({ drugs: [insulin('2026-04-08T08:00:00Z', '2026-04-11T08:15:00.001Z')] })).toEqual([])
    expect(
      denominator({ drugs: [insulin('2026-04-08T08:00:00Z', '2026-04-08T09:00:00Z', { status: 'in-progress' })] }),
    ).toEqual(['drug'])
    expect(denominator({ listed: [{ credible: true, fromMs: at('2026-04-11T08:15:00Z') }] })).toEqual([])
    expect(denominator({ listed: [{ credible: true, fromMs: at('2026-04-11T08:14:59Z') }] })).toEqual(['diabetes'])
    expect(denominator({ listed: [{ credible: false, fromMs: at('2020-01-01T00:00:00Z') }] })).toEqual([])
    expect(denominator({ results: [result('2026-04-07T09:00:00Z', 200)] })).toEqual(['glucose-200'])
    expect(denominator({ results: [result('2026-04-07T09:00:00Z', 199.9)] })).toEqual([])
  })
  it('a meter’s HI is an event of its day when classed, and only a test as published', () => {
    const hi = { encounters: stay, results: [result('2026-04-09T12:00:00Z', null, { outOfRange: 'HI' as const })] }
    expect(counts(days(hi))).toEqual([3, 0])
    expect(counts(days(hi, 'classed'))).toEqual([3, 1])
  })
})
