/**
 * Stays of this service's record in the two harm measures: units, LO and HI by both rules, voided readings, ages by
 * the ward's own date. Limits: CMS816 and CMS871 (R). Conversions with 18.0156: molar mass 180.156 g/mol, LOINC
 * LG7967-5 (R).
 */
import { describe, expect, it } from 'vitest'
import { measureFactsOf, type EndedRecord } from '../../shared/measure/from-record.ts'
import { qualifyingStays } from '../../shared/measure/hospitalization.ts'
import { severeHighMeasure } from '../../shared/measure/severe-high.ts'
import { severeLowMeasure } from '../../shared/measure/severe-low.ts'
import type { OutOfRangeRule } from '../../shared/measure/facts.ts'
import type { Glucose } from '../../shared/glucose/value.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { DiabetesType, Stay } from '../../shared/stay/stay.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { aDose, aReading, HOUR, mgPerDl, MINUTE, NOW, someFacts, STAY, WARD, ZONE } from '../support/makers.ts'

const PERIOD = { from: '2026-03-01', to: '2026-03-31' }
const START = NOW
const mmol = (tenths: number): Glucose => ({ unit: 'mmol/L', value: tenths })
const stay = (over: Partial<Stay> = {}, diabetes: DiabetesType = 'none-known'): Stay => ({
  stayId: STAY,
  wardId: WARD,
  bed: '1',
  wristband: 'W1',
  familyName: 'A',
  givenName: 'B',
  bornOn: '1950-01-01',
  admittedAtMs: START,
  dischargedAtMs: START + 72 * HOUR,
  facts: someFacts({ diabetes }),
  ...over,
})
const at = (hours: number, glucose: Glucose, over: Partial<Reading> = {}): Reading =>
  aReading({ readingId: `r${String(hours)}`, takenAtMs: START + hours * HOUR, glucose, ...over })
const insulin = (hours: number) =>
  aDose({
    doseId: `d${String(hours)}`,
    outcome: {
      kind: 'given',
      byId: 'n',
      atMs: START + hours * HOUR,
      site: { area: 'abdomen', side: 'left' },
      food: 'tray-here',
    },
  })
const record = (readings: readonly Reading[], over: Partial<EndedRecord> = {}): EndedRecord => ({
  stay: stay(),
  readings,
  doses: [insulin(8)],
  outsideDoses: [],
  ...over,
})
const low = (one: EndedRecord, rule: OutOfRangeRule = 'published') =>
  severeLowMeasure(measureFactsOf(one, ZONE), PERIOD, rule)[0]
const high = (one: EndedRecord, rule: OutOfRangeRule = 'published') =>
  severeHighMeasure(measureFactsOf(one, ZONE), PERIOD, rule)[0]

describe('severe lows', () => {
  it.each([
    ['39 mg/dL after insulin', at(9, mgPerDl(39)), true],
    ['40 mg/dL is none', at(9, mgPerDl(40)), false],
    ['2.2 mmol/L is 39.63 mg/dL', at(9, mmol(22)), true],
    ['2.3 mmol/L is 41.44 mg/dL', at(9, mmol(23)), false],
    ['before the insulin', at(7, mgPerDl(39)), false],
    ['at the very time of the injection', at(8, mgPerDl(39)), true],
    ['entered in error', at(9, mgPerDl(39), { voided: { reason: 'wrong patient', byId: 'n', atMs: START } }), false],
    ['corrected by another', at(9, mgPerDl(39), { supersededBy: 'other' }), false],
  ])('%s', (_name, reading, harm) => {
    expect(low(record([reading]))).toMatchObject({ denominator: true, numerator: harm })
  })
  it('LO: no number by the published rule, below every limit when classed', () => {
    const one = record([at(9, mgPerDl('LO'))])
    expect([low(one)?.numerator, low(one, 'classed')?.numerator]).toEqual([false, true])
  })
  it('a repeat above 80 within 5 min cancels it: 4.5 mmol/L is 81.07 mg/dL, 4.4 is 79.27', () => {
    const repeated = (tenths: number) =>
      record([at(9, mmol(21)), at(9, mmol(tenths), { readingId: 'again', takenAtMs: START + 9 * HOUR + 5 * MINUTE })])
    expect([low(repeated(45))?.numerator, low(repeated(44))?.numerator]).toEqual([false, true])
  })
  it('insulin charted as given elsewhere counts only inside the stay', () => {
    const outside = (hours: number): EndedRecord =>
      record([at(9, mgPerDl(39))], {
        doses: [],
        outsideDoses: [
          {
            outsideDoseId: 'o',
            stayId: STAY,
            insulin: 'insulin lispro',
            units: 4,
            givenAtMs: START + hours * HOUR,
            chartedAtMs: START + 10 * HOUR,
            source: 'elsewhere',
            givenBy: 'x',
            checkedBy: null,
            byId: 'n',
          },
        ],
      })
    expect(low(outside(1))).toMatchObject({ denominator: true, numerator: true })
    expect(low(outside(-1))).toMatchObject({ denominator: false })
  })
  it('a withheld dose does not count', () => {
    expect(
      low(
        record([at(9, mgPerDl(39))], {
          doses: [aDose({ outcome: { kind: 'withheld', byId: 'n', atMs: START + 8 * HOUR, reason: 'x' } })],
        }),
      ),
    ).toMatchObject({ denominator: false })
  })
})

describe('severe highs', () => {
  const bare = (readings: readonly Reading[], diabetes: DiabetesType = 'none-known'): EndedRecord =>
    record(readings, { doses: [], stay: stay({}, diabetes) })
  it.each([
    ['16.6 mmol/L is 299.06 mg/dL', mmol(166), 0],
    ['16.7 mmol/L is 300.86 mg/dL', mmol(167), 1],
    ['300 mg/dL is none', mgPerDl(300), 0],
    ['301 mg/dL', mgPerDl(301), 1],
  ])('%s', (_name, glucose, events) => {
    expect(high(bare([at(30, glucose)], 'type-2'))).toMatchObject({
      denominator: true,
      eligibleDays: 2,
      eventDays: events,
    })
  })
  it('HI: no number by the published rule, an event when classed, and still a test that day', () => {
    const one = bare([at(30, mgPerDl('HI'))], 'type-2')
    expect([high(one)?.eventDays, high(one, 'classed')?.eventDays]).toEqual([0, 1])
    expect(high(one)?.days[1]).toMatchObject({ tests: 1, most: null })
  })
  it('11.1 mmol/L is 199.97 mg/dL and does not qualify; 11.2 does', () => {
    expect([high(bare([at(5, mmol(111))]))?.denominator, high(bare([at(5, mmol(112))]))?.denominator]).toEqual([
      false,
      true,
    ])
  })
  it.each([
    ['type-1', true],
    ['type-2', true],
    ['other', true],
    ['gestational', false],
    ['steroid-induced', false],
    ['none-known', false],
  ] as const)('diabetes charted as %s: in the denominator %s', (diabetes, isIn) => {
    expect(high(bare([], diabetes))?.denominator).toBe(isIn)
  })
})

describe('dates are ward dates', () => {
  // 23:30 in New York is the next day in UTC
  const evening = localToUtc('2026-03-09', '23:30', ZONE)
  it('uses the age of 18 on the ward’s date of admission', () => {
    const born = (bornOn: string): number =>
      qualifyingStays(
        measureFactsOf(
          record([], { stay: stay({ bornOn, admittedAtMs: evening, dischargedAtMs: evening + HOUR }) }),
          ZONE,
        ),
        PERIOD,
      ).length
    expect([born('2008-03-09'), born('2008-03-10')]).toEqual([1, 0])
  })
  it('uses the ward’s date of discharge for the period', () => {
    const ends = localToUtc('2026-03-31', '23:30', ZONE)
    expect(
      qualifyingStays(measureFactsOf(record([], { stay: stay({ dischargedAtMs: ends }) }), ZONE), PERIOD),
    ).toHaveLength(1)
    expect(
      qualifyingStays(measureFactsOf(record([], { stay: stay({ dischargedAtMs: ends + HOUR }) }), ZONE), PERIOD),
    ).toHaveLength(0)
  })
  it('does not count a stay that has not ended', () => {
    expect(
      qualifyingStays(measureFactsOf(record([], { stay: stay({ dischargedAtMs: null }) }), ZONE), PERIOD),
    ).toHaveLength(0)
  })
})
