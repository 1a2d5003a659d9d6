/**
 * Real logs replayed through the whole service over HTTP, as `npm run replay` does with the full sets: the licensed
 * samples beside this file. Every dose, and every absence of one, is compared with a table look-up and a count that
 * do not use the rules (tests/replay/expect.ts). The figures here were counted from the samples' own lines (mark D);
 * scale 2a: Umpierrez et al., Diabetes Care 2007;30:2181 (R/S).
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { verifyStore } from '../../server/store/verify.ts'
import { replay, type ReplayResult } from '../replay/drive.ts'
import { Expectation } from '../replay/expect.ts'
import { unaccounted } from '../replay/known.ts'
import { ratesDiffer, straightFrom } from '../replay/rates.ts'
import { rawLines } from '../replay/raw.ts'
import { tableOf } from '../replay/report.ts'
import { readSet } from '../replay/sets.ts'
import { lookUp, USUAL_MG_PER_DL, USUAL_MMOL_PER_L } from '../replay/table.ts'
import type { ReplaySet } from '../replay/ward.ts'

async function run(
  set: ReplaySet,
): Promise<{ readonly result: ReplayResult; readonly differences: readonly string[] }> {
  const folder = mkdtempSync(join(tmpdir(), 'replay-sample-'))
  const [file, headFile] = [join(folder, 'replay.sqlite'), join(folder, 'head.json')]
  try {
    const result = await replay(set, { file, headFile, progress: () => undefined })
    return { result, differences: verifyStore({ file, headFile }).flatMap((line) => line.differences) }
  } finally {
    rmSync(folder, { recursive: true })
  }
}

describe('independent table', () => {
  it.each([
    ['0', 0],
    ['140', 0],
    ['141', 4],
    ['180', 4],
    ['181', 6],
    ['220', 6],
    ['221', 8],
    ['260', 8],
    ['261', 10],
    ['300', 10],
    ['301', 12],
    ['350', 12],
    ['351', 14],
    ['400', 14],
    ['401', 16],
    ['600', 16],
  ])('%s mg/dL: %d units (2a, usual column)', (typed, units) => {
    expect(lookUp(USUAL_MG_PER_DL, typed)).toBe(units)
  })

  it.each([
    ['1.1', 0],
    ['7.8', 0],
    ['7.9', 4],
    ['10.0', 4],
    ['10.1', 6],
    ['12.2', 6],
    ['12.3', 8],
    ['14.4', 8],
    ['14.5', 10],
    ['16.7', 10],
    ['16.8', 12],
    ['19.4', 12],
    ['19.5', 14],
    ['22.2', 14],
    ['22.3', 16],
    ['33.3', 16],
  ])('%s mmol/L: %d units (2a in tenths)', (typed, units) => {
    expect(lookUp(USUAL_MMOL_PER_L, typed)).toBe(units)
  })

  it('answers every value that a meter can show', () => {
    for (let value = 20; value <= 600; value++) expect(lookUp(USUAL_MG_PER_DL, String(value))).toBeGreaterThanOrEqual(0)
    for (let tenths = 11; tenths <= 333; tenths++)
      expect(lookUp(USUAL_MMOL_PER_L, (tenths / 10).toFixed(1))).toBeGreaterThanOrEqual(0)
  })
})

describe('expected result of a value', () => {
  const entry = (date: string, time: string, typed: string, more: { readonly onPaper?: boolean } = {}) => ({
    stay: 'a',
    source: 'a:1',
    date,
    time,
    typed,
    occasion: 'unspecified' as const,
    repairs: [],
    onPaper: false,
    ...more,
  })
  const at = (time: string): number => Date.parse(`1990-01-01T${time}:00Z`)
  const course = (
    values: readonly (readonly [time: string, typed: string, planned: 'before-breakfast' | 'before-lunch' | null])[],
  ): readonly (number | null)[] => {
    const expectation = new Expectation({ unit: 'mg/dL', rows: USUAL_MG_PER_DL })
    return values.map(
      ([time, typed, planned]) => expectation.take(entry('1990-01-01', time, typed), planned, at(time)).units,
    )
  }

  it('is a dose at an own occasion, also inside the interval, and none between', () => {
    expect(
      course([
        ['07:30', '200', 'before-breakfast'],
        ['09:00', '250', null],
        ['11:00', '250', 'before-lunch'],
      ]),
    ).toEqual([6, null, 8])
  })
  it('is none at a low and until its follow-up, 45 min after recovery at the earliest', () => {
    expect(
      course([
        ['07:30', '60', 'before-breakfast'],
        ['08:00', '150', null],
        ['08:44', '160', null],
        ['08:45', '160', null],
      ]),
    ).toEqual([null, null, null, 4])
  })
  it("is none after an unconfirmed critical high, and the repeat's own after a confirmed one", () => {
    expect(
      course([
        ['07:30', '461', 'before-breakfast'],
        ['07:31', '455', null],
      ]),
    ).toEqual([null, 16])
    expect(
      course([
        ['07:30', '500', 'before-breakfast'],
        ['07:40', '399', null],
        ['08:31', '200', null],
      ]),
    ).toEqual([null, null, 6])
  })
  it('is none overnight, from paper, and for HI', () => {
    expect(
      course([
        ['02:00', '300', null],
        ['07:30', 'HI', 'before-breakfast'],
      ]),
    ).toEqual([null, null])
    expect(
      new Expectation({ unit: 'mg/dL', rows: USUAL_MG_PER_DL }).take(
        entry('1990-01-01', '08:00', '300', { onPaper: true }),
        null,
        at('08:00'),
      ).units,
    ).toBeNull()
  })
})

describe('sample of the AIM-94 logs', () => {
  it(
    "every irregular line is refused or repaired by name, and every dose equals the table's",
    { timeout: 300_000 },
    async () => {
      const set = readSet('tests/standards/uci-sample')
      const { result, differences } = await run(set)
      expect(result.faults).toEqual([])
      expect(differences).toEqual([])
      expect(unaccounted(set)).toBe(0)
      // 121 values reach the service; a meter in mg/dL cannot show the 0, the 15 and the 19
      expect(set.log.entries).toHaveLength(121)
      expect(Object.values(result.refusedByService).toSorted()).toEqual([1, 2])
      expect(result.counts).toMatchObject({
        accepted: 118,
        fromPaper: 32,
        lows: 12,
        criticals: 13,
        criticalsTold: 13,
        compared: 118,
        dosesGiven: 41,
        dosesZero: 21,
        unitsGiven: 284,
      })
      expect(result.counts.planned + result.counts.extra + result.counts.fromPaper).toBe(118)
      const raw = rawLines('tests/standards/uci-sample', result.charted)
      // the sample has split records, words and the code for above the ceiling
      expect(raw).toEqual(result.charted.map(({ stay, date, typed }) => ({ stay, date, typed })))
      expect(ratesDiffer(result.sums, raw, set.unit)).toEqual([])
      // a difference is found: one value fewer in the independent computation
      expect(ratesDiffer(result.sums, raw.slice(1), set.unit)).not.toEqual([])
      expect(
        result.counts.dosesGiven +
          result.counts.dosesZero +
          Object.values(result.dosesStopped).reduce((a, b) => a + b, 0),
      ).toBe(118)
      const table = tableOf(set, raw, result)
      for (const words of [
        'no-such-date',
        'no-such-time',
        'undocumented-code',
        'duplicate-line',
        'two-values-at-one-minute',
        'value-is-no-number',
        'split-record-joined',
        'out-of-range-word',
        'ceiling-code-501-as-HI',
        'paper record',
        '(implausible)',
        'time order',
      ])
        expect(table).toContain(words)
    },
  )
})

describe('sample of the Shanghai finger sticks', () => {
  it('runs on a mmol/L ward and refuses the typing error 113.6', { timeout: 300_000 }, async () => {
    const set = readSet('tests/standards/shanghai-sample/fingersticks.csv')
    const { result, differences } = await run(set)
    expect(result.faults).toEqual([])
    expect(differences).toEqual([])
    expect(Object.entries(result.refusedByService)).toEqual([[expect.stringContaining('looks like mg/dL'), 1]])
    const raw = rawLines('tests/standards/shanghai-sample/fingersticks.csv', result.charted)
    expect(ratesDiffer(result.sums, raw, set.unit)).toEqual([])
    expect(straightFrom(raw, set.unit).get('below70 by readings')).toMatch(/^5 of 132, 3\.8 %/)
    expect(result.counts).toMatchObject({
      accepted: 132,
      fromPaper: 0,
      lows: 5,
      criticals: 5,
      criticalsTold: 5,
      compared: 132,
      dosesGiven: 62,
      dosesZero: 27,
      unitsGiven: 406,
    })
  })
})
