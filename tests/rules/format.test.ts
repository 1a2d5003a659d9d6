import { describe, expect, it } from 'vitest'
import {
  formatAgo,
  formatDate,
  formatDateTime,
  formatInsulin,
  formatMinutes,
  formatNumber,
  formatUnits,
  formatWhen,
} from '../../views/format.ts'

describe('amounts have no trailing zero, and the unit beside the number', () => {
  it.each([
    [0, '0 units'],
    [1, '1 unit'],
    [1.5, '1.5 units'],
    [7.5, '7.5 units'],
    [10, '10 units'],
    [0.5, '0.5 units'],
    [0.1 + 0.2, '0.3 units'],
    [100, '100 units'],
  ])('%d', (units, text) => {
    expect(formatUnits(units)).toBe(text)
  })
  it('names the insulin', () => {
    expect(formatInsulin(4, 'insulin lispro')).toBe('4 units of insulin lispro')
  })
  it.each([Number.NaN, Number.POSITIVE_INFINITY])('refuses to show %d', (n) => {
    expect(() => formatNumber(n)).toThrow(TypeError)
  })
})

describe('times', () => {
  it.each([
    [0, '0 min'],
    [0.99, '0 min'],
    [59, '59 min'],
    [60, '1 h'],
    [200, '3 h 20 min'],
    [2879, '47 h 59 min'],
    [2880, '2 d'],
    [3120, '2 d 4 h'],
    [-5, '0 min'],
  ])('%d min', (minutes, text) => {
    expect(formatMinutes(minutes)).toBe(text)
  })
  it('says how long ago', () => {
    expect([0, 0.9, 1, 200].map(formatAgo)).toEqual(['just now', 'just now', '1 min ago', '3 h 20 min ago'])
  })
  it('dates have one unambiguous form', () => {
    const ms = Date.parse('2026-11-24T05:20:00Z')
    expect(formatDate('1951-02-04')).toBe('4 Feb 1951')
    expect(formatDateTime(ms, 'Europe/Helsinki')).toBe('Tue 24 Nov 2026, 07:20')
    expect(formatWhen(ms, ms + 3_600_000, 'Europe/Helsinki')).toBe('07:20')
    expect(formatWhen(ms, ms + 86_400_000, 'Europe/Helsinki')).toBe('Tue 24 Nov, 07:20')
    expect(formatWhen(ms, ms + 200 * 86_400_000, 'Europe/Helsinki')).toBe('Tue 24 Nov 2026, 07:20')
  })
})
