/** Conversion against a public UCUM library and the pairs printed by the American Diabetes Association. */
import { UcumLhcUtils } from '@lhncbc/ucum-lhc'
import { describe, expect, it } from 'vitest'
import {
  inMgPerDl,
  inMmolPerL,
  MG_PER_DL_IN_ONE_MMOL_PER_L,
  mgPerDlToMmolPerL,
  mmolPerLToMgPerDl,
  printedIn,
} from '../../shared/glucose/convert.ts'

const library = UcumLhcUtils.getInstance()

/** The library's own answer, with the molar mass of glucose 180.156 g/mol (LOINC LG7967-5; R). */
function byLibrary(value: number, from: string, to: string): number {
  const answer = library.convertUnitTo(from, value, to, { molecularWeight: 180.156 })
  if (answer.status !== 'succeeded' || answer.toVal === null)
    throw new Error(`the library could not convert ${String(value)} ${from}`)
  return answer.toVal
}

/** Equal except for the last few bits of a double. */
function same(a: number, b: number): boolean {
  return Math.abs(a - b) <= 1e-12 * Math.abs(b)
}

describe('@lhncbc/ucum-lhc over a meter’s range', () => {
  it('agrees for every whole mg/dL from 20 to 600', () => {
    const differ = Array.from({ length: 581 }, (_, i) => 20 + i).filter(
      (mg) => !same(mgPerDlToMmolPerL(mg), byLibrary(mg, 'mg/dL', 'mmol/L')),
    )
    expect(differ).toEqual([])
  })

  it('agrees for every tenth of a mmol/L from 1.1 to 33.3', () => {
    const differ = Array.from({ length: 323 }, (_, i) => (11 + i) / 10).filter(
      (mmol) => !same(mmolPerLToMgPerDl(mmol), byLibrary(mmol, 'mmol/L', 'mg/dL')),
    )
    expect(differ).toEqual([])
  })
})

describe('printed pairs (American Diabetes Association; R)', () => {
  it.each([
    [54, '3.0'],
    [70, '3.9'],
    [100, '5.6'],
    [140, '7.8'],
    [180, '10.0'],
    [200, '11.1'],
    [250, '13.9'],
    [350, '19.4'],
    [400, '22.2'],
  ])('%i mg/dL = %s mmol/L', (mg, mmol) => {
    expect(printedIn({ unit: 'mg/dL', value: mg }, 'mmol/L')).toBe(`${mmol} mmol/L`)
  })
})

describe('traps (D)', () => {
  it('70 mg/dL is 3.885 mmol/L: below 3.9 although it is not below 70', () => {
    expect(mgPerDlToMmolPerL(70).toFixed(3)).toBe('3.886')
    expect(mgPerDlToMmolPerL(70)).toBeLessThan(3.9)
    expect(Math.floor(mgPerDlToMmolPerL(70) * 1000) / 1000).toBe(3.885)
  })

  it('39 and 40 mg/dL both print 2.2 mmol/L', () => {
    expect([39, 40].map((mg) => printedIn({ unit: 'mg/dL', value: mg }, 'mmol/L'))).toEqual([
      '2.2 mmol/L',
      '2.2 mmol/L',
    ])
  })

  it('100 mg/dL prints 5.6, and 5.5 with the factor 18.0182, which is not used', () => {
    expect([
      printedIn({ unit: 'mg/dL', value: 100 }, 'mmol/L'),
      (100 / 18.0182).toFixed(1),
      MG_PER_DL_IN_ONE_MMOL_PER_L,
    ]).toEqual(['5.6 mmol/L', '5.5', 18.0156])
  })

  it('a printed conversion does not convert back: values are compared before it', () => {
    const lost = Array.from({ length: 581 }, (_, i) => 20 + i).filter(
      (mg) => Math.round(mmolPerLToMgPerDl(Number(mgPerDlToMmolPerL(mg).toFixed(1)))) !== mg,
    )
    expect(lost.length).toBeGreaterThan(200)
  })

  it('returns the measured value unchanged in its own unit', () => {
    expect([
      inMgPerDl({ unit: 'mg/dL', value: 70 }),
      inMmolPerL({ unit: 'mmol/L', value: 39 }),
      printedIn({ unit: 'mmol/L', value: 39 }, 'mmol/L'),
    ]).toEqual([70, 3.9, '3.9 mmol/L'])
  })
})
