/** A laboratory's report is read in its own unit. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { inMgPerDl } from '../../shared/glucose/convert.ts'
import { readLaboratoryReport } from '../../shared/glucose/laboratory.ts'
import { isNumeric, type GlucoseUnit } from '../../shared/glucose/value.ts'

const read = (typed: string, unit: GlucoseUnit, wardUnit: GlucoseUnit = 'mg/dL', confirmed = false) =>
  readLaboratoryReport({ typed, unit, wardUnit, confirmed })

describe('a report', () => {
  // 180.156 g/mol (LOINC part LG7967-5): 3.9 mmol/L is 70.3 mg/dL, 11.1 mmol/L 200.0, 54.0 mmol/L 972.8; worked out here
  it.each<[string, GlucoseUnit, GlucoseUnit, number | 'LO' | 'HI']>([
    ['3.9', 'mmol/L', 'mg/dL', 70],
    ['3.8', 'mmol/L', 'mg/dL', 68],
    ['11.1', 'mmol/L', 'mg/dL', 200],
    ['70', 'mg/dL', 'mmol/L', 39],
    ['69', 'mg/dL', 'mmol/L', 38],
    ['742', 'mg/dL', 'mg/dL', 742],
    ['6.2', 'mmol/L', 'mmol/L', 62],
    ['hi', 'mmol/L', 'mg/dL', 'HI'],
    ['LO', 'mg/dL', 'mmol/L', 'LO'],
    ['1.0', 'mmol/L', 'mmol/L', 'LO'],
  ])('%s %s on a ward of %s counts %s', (typed, unit, wardUnit, value) => {
    expect(read(typed, unit, wardUnit)).toMatchObject({ ok: true, value: { glucose: { unit: wardUnit, value } } })
  })
  it.each<[string, GlucoseUnit]>([
    ['54.0', 'mmol/L'],
    ['33.4', 'mmol/L'],
    ['39', 'mg/dL'],
    ['6', 'mg/dL'],
  ])('asks once about %s %s and never refuses it', (typed, unit) => {
    expect(read(typed, unit)).toMatchObject({ ok: false, reason: 'laboratory-unusual' })
    expect(read(typed, unit, 'mg/dL', true).ok).toBe(true)
  })
  it.each<[string, GlucoseUnit, string]>([
    ['33.3', 'mmol/L', 'ok'],
    ['40', 'mg/dL', 'ok'],
    ['6.2', 'mg/dL', 'glucose-needs-whole-number'],
    ['6', 'mmol/L', 'glucose-needs-decimal-point'],
    ['2001', 'mg/dL', 'glucose-not-plausible'],
    ['111.1', 'mmol/L', 'glucose-not-plausible'],
    ['0', 'mg/dL', 'glucose-not-plausible'],
    ['', 'mg/dL', 'glucose-missing'],
    ['six', 'mg/dL', 'glucose-not-a-number'],
  ])('%s %s: %s', (typed, unit, reason) => {
    const got = read(typed, unit)
    expect(got.ok ? 'ok' : got.reason).toBe(reason)
  })
  it('property: what is reported prints back, and the ward’s count is at most half a count off', () => {
    fc.assert(
      fc.property(fc.integer({ min: 11, max: 1110 }), (tenths) => {
        const typed = (tenths / 10).toFixed(1)
        const got = read(typed, 'mmol/L', 'mg/dL', true)
        if (!got.ok) throw new Error(got.reason)
        const { glucose, reported } = got.value
        expect(reported).toEqual({ unit: 'mmol/L', value: tenths })
        if (!isNumeric(glucose) || !isNumeric(reported)) expect(tenths).toBeLessThan(12)
        else expect(Math.abs(glucose.value - inMgPerDl(reported))).toBeLessThanOrEqual(0.5)
      }),
    )
  })
})
