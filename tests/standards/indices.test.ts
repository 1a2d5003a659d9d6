/**
 * Low and high blood glucose index against worked figures (Kovatchev, Diabetes Care 1997;20:1655; constants M, worked
 * figures D). A published page that also multiplies by 22.77 is wrong: r(20) is about 100.
 */
import { describe, expect, it } from 'vitest'
import { patientDay } from '../../shared/audit/patient-day.ts'
import { ratesOf, sumsOf } from '../../shared/audit/rates.ts'
import { riskOf } from '../../shared/audit/risk.ts'
import { aReading, mgPerDl } from '../support/makers.ts'

describe('risk of one value', () => {
  it.each([
    [20, 100.042, 'low'],
    [40, 36.418, 'low'],
    [54, 18.461, 'low'],
    [70, 7.755, 'low'],
    [180, 7.729, 'high'],
    [250, 22.436, 'high'],
    [400, 57.046, 'high'],
    [600, 99.948, 'high'],
  ] as const)('%i mg/dL: %f for %s, none for the other', (value, risk, side) => {
    const found = riskOf({ unit: 'mg/dL', value })
    expect(found[side]).toBeCloseTo(risk, 3)
    expect(found[side === 'low' ? 'high' : 'low']).toBe(0)
  })
  it('112.5 mg/dL, the midpoint: none', () => {
    const { low, high } = riskOf({ unit: 'mg/dL', value: 112.5 })
    expect(low + high).toBeCloseTo(0, 3)
  })
})

describe('indices of a set', () => {
  it.each([
    [[45, 62, 110, 180, 250], 8.176, 6.033],
    [[65, 90, 120, 150, 200, 300], 2.013, 8.098],
  ])('%j: LBGI %f, HBGI %f', (values, lbgi, hbgi) => {
    const figure = patientDay(
      { stayId: 's', wardId: 'w', wardDate: '2026-03-01', unit: 'mg/dL' },
      values.map((value, at) => aReading({ readingId: `r${String(at)}`, glucose: mgPerDl(value) })),
    )
    const rates = ratesOf(sumsOf([figure]))
    expect(rates.lbgi).toBeCloseTo(lbgi, 3)
    expect(rates.hbgi).toBeCloseTo(hbgi, 3)
  })
})
