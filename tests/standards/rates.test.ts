/**
 * Rates by three denominators against a worked split (definitions of Goldberg et al., Diabetes Technol Ther
 * 2006;8:560, read in Munoz 2012, PMC3697928 table 2; R; the figures D), and mean, SD and quartiles against
 * simple-statistics.
 */
import { mean, median, quantile, sampleStandardDeviation } from 'simple-statistics'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { patientDay, type PatientDay } from '../../shared/audit/patient-day.ts'
import { ratesOf, sumsOf, type Rates } from '../../shared/audit/rates.ts'
import { quartilesOf } from '../../shared/audit/rates-minutes.ts'
import { percentText, glucoseText } from '../../server/audit/rates-view.ts'
import { aReading, mgPerDl } from '../support/makers.ts'

let numbered = 0
const day = (stayId: string, wardDate: string, values: readonly (number | 'LO' | 'HI')[]): PatientDay =>
  patientDay(
    { stayId, wardId: 'w', wardDate, unit: 'mg/dL' },
    values.map((value) => aReading({ readingId: `r${String(++numbered)}`, stayId, wardDate, glucose: mgPerDl(value) })),
  )
const split = [
  day('a', '2026-03-01', [65, 150, 210, 180]),
  day('a', '2026-03-02', [140]),
  day('b', '2026-03-01', [55, 60]),
  day('b', '2026-03-02', [300, 320]),
]

describe('the worked split (D)', () => {
  const rates = ratesOf(sumsOf(split))
  it.each([
    ['readings', 'below70', 3, 9, '33.3 %'],
    ['days', 'below70', 2, 4, '50 %'],
    ['stays', 'below70', 2, 2, '100 %'],
  ] as const)('%s %s: %i of %i = %s', (denominator, band, count, of, text) => {
    const share = rates[denominator].bands[band]
    expect([share.count, share.of, percentText(share.share ?? Number.NaN)]).toEqual([count, of, text])
  })
  it('mean of readings 164.4, of day means 164.7, of plain stay means 166.4', () => {
    const { ofReadings, ofDays, ofStays } = rates.mean
    expect([ofReadings, ofDays, ofStays].map((value) => glucoseText(value, 'mg/dL'))).toEqual([
      '164.4 mg/dL',
      '164.7 mg/dL',
      '166.4 mg/dL',
    ])
  })
  it('marks every denominator as small', () => {
    expect([rates.readings, rates.days, rates.stays].every(({ bands }) => bands.below70.small)).toBe(true)
  })
})

describe('against simple-statistics', () => {
  const figuresOf = (values: readonly number[]): Rates => ratesOf(sumsOf([day('s', '2026-03-01', values)]))
  const numbers = fc.array(fc.integer({ min: 20, max: 600 }), { minLength: 2, maxLength: 60 })

  it('mean, SD and CV of any list of values', () => {
    fc.assert(
      fc.property(numbers, (values) => {
        const { mean: means, sd, cv } = figuresOf(values)
        expect(means.ofReadings).toBeCloseTo(mean([...values]), 9)
        expect(sd).toBeCloseTo(sampleStandardDeviation([...values]), 6)
        expect(cv).toBeCloseTo(sampleStandardDeviation([...values]) / mean([...values]), 8)
      }),
    )
  })
  it('median and quartiles of any list', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -120, max: 400 }), { minLength: 1, maxLength: 60 }), (values) => {
        const list = [...values]
        const { n, lower, median: middle, upper } = quartilesOf(values)
        expect(n).toBe(values.length)
        expect(lower).toBeCloseTo(quantile(list, 0.25), 9)
        expect(middle).toBeCloseTo(median(list), 9)
        expect(upper).toBeCloseTo(quantile(list, 0.75), 9)
      }),
    )
  })
  it('gives no quartiles for an empty list, and no SD for one value', () => {
    expect(quartilesOf([])).toEqual({ n: 0, lower: null, median: null, upper: null })
    expect(figuresOf([100])).toMatchObject({ sd: null, cv: null, mean: { ofReadings: 100 } })
    expect(figuresOf([])).toMatchObject({ sd: null, lbgi: null, hbgi: null, mean: { ofReadings: null } })
  })
})
