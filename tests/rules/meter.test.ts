/** Meters and strips: meters, controls, and pairs with the laboratory. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { meterFitness } from '../../shared/check/kit.ts'
import type { Glucose } from '../../shared/glucose/value.ts'
import { COMPARISON_APART_MOST_MIN, recordComparison } from '../../shared/meter/compare.ts'
import {
  chartControl,
  controlOccasions,
  isInControlRange,
  isLotExpired,
  meterFailedSince,
  type ControlFacts,
} from '../../shared/meter/control.ts'
import { addMeter, moveMeter, retireMeter } from '../../shared/meter/keep.ts'
import type { Comparison, ControlMeasurement, ControlRange } from '../../shared/meter/meter.ts'
import { enterStripLot, LOT_DAYS_MOST, type StripLotEntry, type StripLotFacts } from '../../shared/meter/strips.ts'
import { addDays } from '../../shared/time/zone.ts'
import { at, glucose, MINUTE, ZONE } from '../support/readings.ts'

const NOW = at('07:20')
const MG_WARD = { wardId: 'ward1', unit: 'mg/dL' as const, zone: ZONE }
const MMOL_WARD = { wardId: 'ward2', unit: 'mmol/L' as const, zone: 'Europe/London' }
const METER = { meterId: 'meter1', wardId: 'ward1', unit: 'mg/dL' as const, retired: null }
const RETIRED = { ...METER, retired: { reason: 'display broken' } }
const range = (from: number, to: number, unit: ControlRange['unit'] = 'mg/dL'): ControlRange => ({ unit, from, to })
const reasonOf = (outcome: { readonly ok: boolean; readonly reason?: string }): string =>
  outcome.ok ? 'accepted' : (outcome.reason ?? '–')

describe('meters', () => {
  const entry = { meterId: 'meter9', serial: 'M-9001', unit: 'mg/dL' as const, wardId: 'ward1', byId: 'charge' }
  it('charts a new one on its ward, without a control yet', () => {
    expect(addMeter(entry, { ward: MG_WARD, sameSerial: undefined }, NOW)).toEqual({
      ok: true,
      value: [
        {
          type: 'meter-added',
          wardId: 'ward1',
          stayId: null,
          actorId: 'charge',
          happenedAtMs: NOW,
          chartedAtMs: NOW,
          body: { meterId: 'meter9', serial: 'M-9001', unit: 'mg/dL' },
        },
      ],
    })
  })
  it.each([
    [
      'a serial number that any ward has',
      addMeter(entry, { ward: MG_WARD, sameSerial: { wardId: 'ward2' } }, NOW),
      'meter-serial-taken',
    ],
    [
      'the other unit than the ward’s',
      addMeter({ ...entry, unit: 'mmol/L' }, { ward: MG_WARD, sameSerial: undefined }, NOW),
      'meter-unit-differs',
    ],
    [
      'a ward that is not the person’s',
      addMeter(entry, { ward: undefined, sameSerial: undefined }, NOW),
      'meter-ward-unknown',
    ],
    [
      'a move to a ward of the other unit',
      moveMeter({ byId: 'x' }, { meter: METER, toWard: MMOL_WARD }, NOW),
      'meter-unit-differs',
    ],
    ['a move to where it is', moveMeter({ byId: 'x' }, { meter: METER, toWard: MG_WARD }, NOW), 'meter-same-ward'],
    ['a move to nowhere', moveMeter({ byId: 'x' }, { meter: METER, toWard: undefined }, NOW), 'meter-ward-unknown'],
    [
      'a move of a retired one',
      moveMeter({ byId: 'x' }, { meter: RETIRED, toWard: { ...MG_WARD, wardId: 'ward3' } }, NOW),
      'meter-retired',
    ],
    ['retired twice', retireMeter({ reason: 'again', byId: 'x' }, RETIRED, NOW), 'meter-retired'],
    ['retired for blanks', retireMeter({ reason: '  ', byId: 'x' }, METER, NOW), 'meter-reason-missing'],
  ])('refuses: %s', (_name, outcome, reason) => {
    expect(reasonOf(outcome)).toBe(reason)
  })
  it('charts a move with the new ward and nothing about controls', () => {
    expect(moveMeter({ byId: 'x' }, { meter: METER, toWard: { ...MG_WARD, wardId: 'ward3' } }, NOW)).toMatchObject({
      ok: true,
      value: [{ type: 'meter-moved', wardId: 'ward1', body: { meterId: 'meter1', toWardId: 'ward3' } }],
    })
  })
})

describe('controls', () => {
  const facts = (parts: Partial<ControlFacts> = {}): ControlFacts => ({
    meter: METER,
    lot: { lot: 'L1', expiresOn: '2026-03-10', ranges: { level1: range(36, 54), level2: range(100, 140) } },
    ward: MG_WARD,
    ...parts,
  })
  const chart = (one: Glucose['value'], two: Glucose['value'], parts: Partial<ControlFacts> = {}) =>
    chartControl({ lot: 'L1', level1: glucose(one), level2: glucose(two), byId: 'nurse-a' }, facts(parts), NOW)
  const verdict = (one: Glucose['value'], two: Glucose['value']): readonly unknown[] => {
    const outcome = chart(one, two)
    return outcome.ok
      ? outcome.value.map(({ body }) => ('inRange' in body ? body.inRange : 'passed' in body ? body.passed : '–'))
      : [outcome.reason]
  }
  it.each([
    ['both at their lower ends', 36, 100, [true, true, true]],
    ['both at their upper ends', 54, 140, [true, true, true]],
    ['level 1 one below', 35, 120, [false, true, false]],
    ['level 1 one above', 55, 120, [false, true, false]],
    ['level 2 one below', 45, 99, [true, false, false]],
    ['level 2 one above', 45, 141, [true, false, false]],
    ['LO at level 1', 'LO', 120, [false, true, false]],
    ['HI at level 2', 45, 'HI', [true, false, false]],
    ['the levels the wrong way round', 120, 45, [false, false, false]],
  ] as const)('%s', (_name, one, two, expected) => {
    expect(verdict(one, two)).toEqual(expected)
  })
  it("keep the meter's values in the order level 1, level 2, verdict", () => {
    const outcome = chart(45, 141)
    expect(outcome).toMatchObject({
      ok: true,
      value: [
        {
          type: 'control-measured',
          stayId: null,
          wardId: 'ward1',
          actorId: 'nurse-a',
          happenedAtMs: NOW,
          body: { meterId: 'meter1', lot: 'L1', level: 1, value: glucose(45), inRange: true },
        },
        { type: 'control-measured', body: { level: 2, value: glucose(141), inRange: false } },
        { type: 'meter-controlled', body: { meterId: 'meter1', passed: false } },
      ],
    })
  })
  it.each([
    ['a retired meter', { meter: RETIRED }, 'control-meter-retired'],
    ['a meter in the other unit', { meter: { ...METER, unit: 'mmol/L' } }, 'control-meter-other-unit'],
    ['a lot that is not the ward’s', { lot: undefined }, 'control-lot-unknown'],
    [
      'a lot one day past its last',
      { lot: { lot: 'L1', expiresOn: '2026-03-09', ranges: { level1: range(36, 54), level2: range(100, 140) } } },
      'control-lot-expired',
    ],
    ['a lot without ranges', { lot: { lot: 'L1', expiresOn: '2026-03-10', ranges: null } }, 'control-ranges-missing'],
    [
      'ranges in the other unit',
      {
        lot: {
          lot: 'L1',
          expiresOn: '2026-03-10',
          ranges: { level1: range(20, 30, 'mmol/L'), level2: range(56, 78, 'mmol/L') },
        },
      },
      'control-ranges-other-unit',
    ],
  ] as const)('refuse: %s', (_name, parts, reason) => {
    expect(reasonOf(chart(45, 120, parts))).toBe(reason)
  })
  it('accept a lot through its last day, in ward time to the last millisecond', () => {
    const midnight = at('00:00', '2026-03-11')
    expect([midnight - 1, midnight].map((ms) => isLotExpired({ expiresOn: '2026-03-10' }, ZONE, ms))).toEqual([
      false,
      true,
    ])
  })
  it('pass exactly when each level is within its own range', () => {
    const value = fc.oneof(fc.integer({ min: 20, max: 600 }), fc.constantFrom('LO' as const, 'HI' as const))
    fc.assert(
      fc.property(value, value, (one, two) => {
        const isIn = (shown: typeof one, from: number, to: number): boolean =>
          typeof shown === 'number' && shown >= from && shown <= to
        expect(verdict(one, two)[2]).toBe(isIn(one, 36, 54) && isIn(two, 100, 140))
      }),
    )
  })
  it('throw for a value and a range in two units, which is a bug', () => {
    expect(() => isInControlRange(glucose(50, 'mmol/L'), range(36, 54))).toThrow(/two units/)
  })
  it('are logged with both levels, newest first, and one level alone never passes', () => {
    const measured = (level: 1 | 2, atMs: number, inRange = true): ControlMeasurement => ({
      meterId: 'meter1',
      lot: 'L1',
      level,
      value: glucose(45),
      inRange,
      atMs,
      byId: 'nurse-a',
    })
    const occasions = controlOccasions([
      measured(1, NOW),
      measured(2, NOW),
      measured(1, NOW + MINUTE),
      measured(1, NOW - MINUTE),
      measured(2, NOW - MINUTE, false),
    ])
    expect(
      occasions.map(({ atMs, passed, level2 }) => [(atMs - NOW) / MINUTE, passed, level2?.inRange ?? null]),
    ).toEqual([
      [1, false, null],
      [0, true, true],
      [-1, false, false],
    ])
  })
})

describe('readings covered by a control', () => {
  const fitness = (lastControl: { passed: boolean; atMs: number }, nowMs: number): string =>
    meterFitness({ unit: 'mg/dL', lastControl }, { ...MG_WARD, nowMs })
  it.each([
    ['passed at the very instant', true, NOW, 'usable'],
    ['passed 1 ms later', true, NOW + 1, 'control-not-done'],
    ['passed later the same day', true, at('20:00'), 'control-not-done'],
    ['failed later the same day', false, at('20:00'), 'control-failed'],
    ['passed at the ward’s midnight before', true, at('00:00'), 'usable'],
    ['passed 1 ms before that midnight', true, at('00:00') - 1, 'control-not-done'],
  ] as const)('%s', (_name, passed, atMs, expected) => {
    expect(fitness({ passed, atMs }, NOW)).toBe(expected)
  })
})

describe('a strip lot', () => {
  const good: StripLotEntry = {
    lot: 'L2',
    expiresOn: '2026-12-31',
    level1: range(36, 54),
    level2: range(100, 140),
    knownExpired: false,
    byId: 'nurse-a',
  }
  const facts = (existing?: StripLotFacts['existing'], ward: StripLotFacts['ward'] = MG_WARD): StripLotFacts => ({
    ward,
    existing,
  })
  const types = (entry: Partial<StripLotEntry>, known: StripLotFacts = facts()): readonly string[] => {
    const outcome = enterStripLot({ ...good, ...entry }, known, NOW)
    return outcome.ok ? outcome.value.map(({ type }) => type) : [outcome.reason]
  }
  it.each([
    ['a new lot', {}, facts(), ['strip-lot-added', 'strip-lot-ranges-set']],
    ['good on this very day', { expiresOn: '2026-03-10' }, facts(), ['strip-lot-added', 'strip-lot-ranges-set']],
    ['past its last day', { expiresOn: '2026-03-09' }, facts(), ['lot-expired']],
    [
      'past its last day, and known to be',
      { expiresOn: '2026-03-09', knownExpired: true },
      facts(),
      ['strip-lot-added', 'strip-lot-ranges-set'],
    ],
    [
      'as far off as strips may keep',
      { expiresOn: addDays('2026-03-10', LOT_DAYS_MOST) },
      facts(),
      ['strip-lot-added', 'strip-lot-ranges-set'],
    ],
    ['a day further off', { expiresOn: addDays('2026-03-10', LOT_DAYS_MOST + 1) }, facts(), ['lot-date-far-off']],
    ['a day that no calendar has', { expiresOn: '2026-02-30' }, facts(), ['lot-date-wrong']],
    ['there without ranges', {}, facts({ expiresOn: '2026-12-31', ranges: null }), ['strip-lot-ranges-set']],
    ['there with ranges', {}, facts({ expiresOn: '2026-12-31', ranges: {} }), ['lot-already-there']],
    ['there with another last day', {}, facts({ expiresOn: '2026-11-30', ranges: null }), ['lot-other-date']],
    ['no ward of the person’s', {}, { ward: undefined, existing: undefined }, ['lot-ward-unknown']],
    ['ranges in the other unit', {}, facts(undefined, MMOL_WARD), ['ranges-other-unit']],
    ['level 1 turned round', { level1: range(54, 36) }, facts(), ['level1-turned-round']],
    ['level 1 of one value', { level1: range(45, 45) }, facts(), ['level1-turned-round']],
    ['level 2 turned round', { level2: range(140, 100) }, facts(), ['level2-turned-round']],
    ['level 2 where level 1 ends', { level2: range(54, 140) }, facts(), ['level2-not-above']],
    [
      'level 2 one above the end of level 1',
      { level2: range(55, 140) },
      facts(),
      ['strip-lot-added', 'strip-lot-ranges-set'],
    ],
    ['level 1 from 20', { level1: range(20, 54) }, facts(), ['strip-lot-added', 'strip-lot-ranges-set']],
    ['level 1 from 19', { level1: range(19, 54) }, facts(), ['level1-out-of-range']],
    ['level 2 to 600', { level2: range(100, 600) }, facts(), ['strip-lot-added', 'strip-lot-ranges-set']],
    ['level 2 to 601', { level2: range(100, 601) }, facts(), ['level2-out-of-range']],
    ['a half', { level2: range(100, 120.5) }, facts(), ['level2-out-of-range']],
    [
      '1.1 to 33.3 on a mmol/L ward',
      { level1: range(11, 20, 'mmol/L'), level2: range(21, 333, 'mmol/L') },
      facts(undefined, MMOL_WARD),
      ['strip-lot-added', 'strip-lot-ranges-set'],
    ],
    [
      '33.4 on a mmol/L ward',
      { level1: range(11, 20, 'mmol/L'), level2: range(21, 334, 'mmol/L') },
      facts(undefined, MMOL_WARD),
      ['level2-out-of-range'],
    ],
  ] as const)('%s', (_name, entry, known, expected) => {
    expect(types(entry, known)).toEqual(expected)
  })
  it('accepts four whole numbers only if they rise within the meter’s range', () => {
    const end = fc.integer({ min: 0, max: 700 })
    fc.assert(
      fc.property(end, end, end, end, (a, b, c, d) => {
        const accepted = enterStripLot({ ...good, level1: range(a, b), level2: range(c, d) }, facts(), NOW).ok
        expect(accepted).toBe(a >= 20 && a < b && b < c && c < d && d <= 600)
      }),
    )
  })
})

describe('pairs with the laboratory', () => {
  const pair = (parts: Partial<Comparison> = {}): Comparison => ({
    comparisonId: 'c1',
    meterId: 'meter1',
    lot: 'L1',
    meterValue: { unit: 'mg/dL', value: 108 },
    laboratoryValue: { unit: 'mg/dL', value: 100 },
    meterAtMs: NOW - 20 * MINUTE,
    laboratoryAtMs: NOW - 15 * MINUTE,
    note: '',
    byId: 'charge',
    ...parts,
  })
  const record = (comparison: Comparison, comparisons: readonly Comparison[] = []): string =>
    reasonOf(recordComparison(comparison, { meter: METER, lots: ['L1'], comparisons }, NOW))
  const LEAST = NOW - 40 * MINUTE
  it.each([
    ['5 min apart', pair(), 'accepted'],
    [
      'exactly the most apart',
      pair({ meterAtMs: LEAST, laboratoryAtMs: LEAST + COMPARISON_APART_MOST_MIN * MINUTE }),
      'accepted',
    ],
    [
      '1 ms more',
      pair({ meterAtMs: LEAST, laboratoryAtMs: LEAST + COMPARISON_APART_MOST_MIN * MINUTE + 1 }),
      'comparison-too-far-apart',
    ],
    [
      'the laboratory first, 1 ms more',
      pair({ laboratoryAtMs: LEAST, meterAtMs: LEAST + COMPARISON_APART_MOST_MIN * MINUTE + 1 }),
      'comparison-too-far-apart',
    ],
    ['now', pair({ meterAtMs: NOW, laboratoryAtMs: NOW }), 'accepted'],
    [
      'a finger stick still to come',
      pair({ meterAtMs: NOW + 1, laboratoryAtMs: NOW }),
      'comparison-meter-time-in-future',
    ],
    [
      'a sample still to come',
      pair({ meterAtMs: NOW, laboratoryAtMs: NOW + 1 }),
      'comparison-laboratory-time-in-future',
    ],
    ['no lot', pair({ lot: null }), 'accepted'],
    ['a lot of nobody’s', pair({ lot: 'L9' }), 'comparison-lot-unknown'],
    ['the other unit', pair({ laboratoryValue: { unit: 'mmol/L', value: 56 } }), 'comparison-other-unit'],
  ])('%s', (_name, comparison, expected) => {
    expect(record(comparison)).toBe(expected)
  })
  it('are the same pair for the same two times', () => {
    expect(record(pair({ comparisonId: 'c2' }), [pair()])).toBe('comparison-already-there')
    expect(record(pair({ comparisonId: 'c2', meterAtMs: NOW - 19 * MINUTE }), [pair()])).toBe('accepted')
  })
})

/** A meter without a passed control never leads to insulin. Its readings before a failed control are in doubt too. */
describe('a control that fails after a reading', () => {
  const failed = new Map([['meter1', NOW]])
  it.each([
    ['a reading before it', { meterId: 'meter1', takenAtMs: NOW - 1 }, NOW],
    ['a reading of that very instant', { meterId: 'meter1', takenAtMs: NOW }, NOW],
    ['a reading after it, whose doubt was charted with it', { meterId: 'meter1', takenAtMs: NOW + 1 }, null],
    ['a reading with another meter', { meterId: 'meter2', takenAtMs: NOW - 1 }, null],
    ['a laboratory value', { meterId: null, takenAtMs: NOW - 1 }, null],
  ] as const)('%s', (_name, reading, expected) => {
    expect(meterFailedSince(reading, failed)).toBe(expected)
  })
  it('is cleared by a later passed control', () => {
    expect(meterFailedSince({ meterId: 'meter1', takenAtMs: NOW - 1 }, new Map())).toBeNull()
  })
})
