/** Positions of shares in a plot of months or hours: one place each, and no bar for small counts. */
import { describe, expect, it } from 'vitest'
import { plotAcross, type PlottedShare } from '../../server/audit/rates-plot.ts'
import { HOURS } from '../../shared/audit/by-hour.ts'
import { shareOf, SMALL_DENOMINATOR } from '../../shared/audit/rates.ts'

const hour = (key: string, count: number, of: number): PlottedShare => ({
  key,
  name: `${key}:00`,
  share: shareOf(count, of),
})
const day = (known: Readonly<Record<string, readonly [number, number]>>): readonly PlottedShare[] =>
  HOURS.map((key) => {
    const [count, of] = known[key] ?? [0, 0]
    return hour(key, count, of)
  })
const what = { label: 'Lows by hour', yName: 'share', xName: 'From', counts: true }

describe('hours of the day', () => {
  const plot = plotAcross(day({ '07': [3, 40], '08': [29, 29], '17': [0, SMALL_DENOMINATOR], '03': [1, 1] }), what)
  it('have one evenly spaced place each, whatever was measured', () => {
    const xs = plot?.counts?.each.map(({ x }) => x) ?? []
    expect(xs).toHaveLength(24)
    const steps = xs.slice(1).map((x, index) => Math.round(x - (xs[index] ?? 0)))
    expect(new Set(steps).size).toBeLessThanOrEqual(2)
    expect(Math.max(...steps) - Math.min(...steps)).toBeLessThanOrEqual(1)
  })
  it('show their count below', () => {
    expect(plot?.counts?.each.map(({ text }) => text).filter((text) => text !== '0')).toEqual(['1', '40', '29', '30'])
  })
  it('have a mark from 30 on, and none below', () => {
    const places = plot?.counts?.each ?? []
    expect(plot?.marks.map(({ x }) => x)).toEqual([places[7]?.x, places[17]?.x])
    expect(plot?.marks.some(({ small }) => small)).toBe(false)
  })
  it('are scaled by what is plotted: 29 of 29 does not flatten the rest', () => {
    const all = plotAcross(day({ '07': [3, 40], '08': [29, 29] }), { ...what, counts: false })
    expect(plot?.marks[0]?.y ?? 0).toBeLessThan(all?.marks.find(({ x }) => x === plot?.marks[0]?.x)?.y ?? 0)
  })
  it('without any reading give no plot', () => {
    expect(plotAcross(day({}), what)).toBeNull()
  })
})

describe('months', () => {
  const months = { ...what, counts: false }
  it('with small counts have a ring and no counts below', () => {
    const plot = plotAcross([hour('2026-02', 1, 12), hour('2026-03', 4, 60)], months)
    expect(plot?.counts).toBeNull()
    expect(plot?.marks.map(({ small }) => small)).toEqual([true, false])
  })
  it('give no plot for one month alone', () => {
    expect(plotAcross([hour('2026-03', 4, 60)], months)).toBeNull()
  })
})
