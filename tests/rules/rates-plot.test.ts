/** Where shares stand in a drawing of months or hours: a place each, and no bar where few stand behind it. */
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
  it('have a place each, at one distance from the next, whatever was measured', () => {
    const xs = plot?.counts?.each.map(({ x }) => x) ?? []
    expect(xs).toHaveLength(24)
    const steps = xs.slice(1).map((x, index) => Math.round(x - (xs[index] ?? 0)))
    expect(new Set(steps).size).toBeLessThanOrEqual(2)
    expect(Math.max(...steps) - Math.min(...steps)).toBeLessThanOrEqual(1)
  })
  it('say under each how many stand behind it', () => {
    expect(plot?.counts?.each.map(({ text }) => text).filter((text) => text !== '0')).toEqual(['1', '40', '29', '30'])
  })
  it('have a mark from 30 on, and none below', () => {
    const places = plot?.counts?.each ?? []
    expect(plot?.marks.map(({ x }) => x)).toEqual([places[7]?.x, places[17]?.x])
    expect(plot?.marks.some(({ small }) => small)).toBe(false)
  })
  it('are scaled by what is drawn: 29 of 29 does not flatten the rest', () => {
    const all = plotAcross(day({ '07': [3, 40], '08': [29, 29] }), { ...what, counts: false })
    expect(plot?.marks[0]?.y ?? 0).toBeLessThan(all?.marks.find(({ x }) => x === plot?.marks[0]?.x)?.y ?? 0)
  })
  it('with no reading at all are no drawing', () => {
    expect(plotAcross(day({}), what)).toBeNull()
  })
})

describe('months', () => {
  const months = { ...what, counts: false }
  it('of few have a ring, and no counts under them', () => {
    const plot = plotAcross([hour('2026-02', 1, 12), hour('2026-03', 4, 60)], months)
    expect(plot?.counts).toBeNull()
    expect(plot?.marks.map(({ small }) => small)).toEqual([true, false])
  })
  it('one alone is no trend, and no drawing', () => {
    expect(plotAcross([hour('2026-03', 4, 60)], months)).toBeNull()
  })
})
