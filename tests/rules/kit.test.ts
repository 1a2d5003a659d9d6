import { describe, expect, it } from 'vitest'
import { kitList, meterFitness } from '../../shared/check/kit.ts'

const lines = (checks: number, patientsWithOrder: number): string[] =>
  kitList({ checks, patientsWithOrder }).map(({ item, needed, spare }) => `${item} ${String(needed)}+${String(spare)}`)

describe('the kit list (amounts of spares: common practice)', () => {
  it.each([
    [
      18,
      7,
      ['test-strips 18+4', 'lancets 18+4', 'skin-wipes 18+4', 'gauze 18+4', 'meter-wipes 18+4', 'insulin-syringes 7+2'],
    ],
    [
      1,
      0,
      ['test-strips 1+2', 'lancets 1+2', 'skin-wipes 1+2', 'gauze 1+2', 'meter-wipes 1+1', 'insulin-syringes 0+0'],
    ],
    [
      0,
      0,
      ['test-strips 0+0', 'lancets 0+0', 'skin-wipes 0+0', 'gauze 0+0', 'meter-wipes 0+0', 'insulin-syringes 0+0'],
    ],
  ])('%i checks left, %i patients with an order', (checks, orders, expected) => {
    expect(lines(checks, orders)).toEqual(expected)
  })
})

describe('meters that may be used', () => {
  const midnight = Date.parse('2026-11-24T05:00:00Z')
  const ward = { unit: 'mg/dL' as const, zone: 'America/New_York', nowMs: midnight + 3_600_000 }
  it.each([
    [
      'passed today, from the first ms of the ward’s day on',
      { unit: 'mg/dL' as const, lastControl: { passed: true, atMs: midnight } },
      'usable',
    ],
    [
      'passed 1 ms before midnight',
      { unit: 'mg/dL' as const, lastControl: { passed: true, atMs: midnight - 1 } },
      'control-not-done',
    ],
    ['failed today', { unit: 'mg/dL' as const, lastControl: { passed: false, atMs: midnight } }, 'control-failed'],
    ['never controlled', { unit: 'mg/dL' as const, lastControl: null }, 'control-not-done'],
    ['shows the other unit', { unit: 'mmol/L' as const, lastControl: { passed: true, atMs: midnight } }, 'other-unit'],
  ])('%s', (_name, meter, expected) => {
    expect(meterFitness(meter, ward)).toBe(expected)
  })
})
