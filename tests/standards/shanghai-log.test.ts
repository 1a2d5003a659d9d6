/** The reader of the Shanghai finger sticks. */
import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { parseShanghai } from '../replay/shanghai.ts'

const HEADER = 'cohort,admission,datetime,cbg_mgdl,cbg_mmoll'
const parse = (...lines: readonly string[]) =>
  parseShanghai({ name: 'fingersticks.csv', text: [HEADER, ...lines].join('\r\n') })

describe('a line of the Shanghai set', () => {
  it('gives the mmol/L column as text, with its decimal', () => {
    expect(parse('Shanghai_T2DM,2044_0_20211101,2021-11-05 11:06,180,10.0').entries).toEqual([
      {
        stay: '2044_0_20211101',
        source: 'fingersticks.csv:2',
        date: '2021-11-05',
        time: '11:06',
        typed: '10.0',
        occasion: 'unspecified',
        repairs: [],
        onPaper: false,
      },
    ])
  })

  it('keeps the typing error: the service refuses it', () => {
    expect(parse('Shanghai_T2DM,2044_0_20211101,2021-11-03 15:06,2044.8,113.6').entries).toMatchObject([
      { typed: '113.6' },
    ])
  })

  it.each([
    ['a,b,2021-11-31 15:06,90,5.0', 'no-such-date'],
    ['a,b,2021-11-03 25:06,90,5.0', 'no-such-time'],
    ['a,b,2021-11-03 15:06,90,5', 'value-is-no-number'],
    ['a,b,2021-11-03 15:06,90,5.05', 'value-is-no-number'],
    ['a,b,2021-11-03 15:06,,5.0', 'value-is-no-number'],
    ['a,b,2021-11-03 15:06,91,5.0', 'units-disagree'],
    ['a,b,2021-11-03 15:06,90', 'wrong-number-of-fields'],
  ])('refuses %s', (line, reason) => {
    expect(parse(line).refused.map((refused) => refused.reason)).toEqual([reason])
  })

  it('refuses another file', () => {
    expect(() => parseShanghai({ name: 'x.csv', text: 'a,b\n' })).toThrow('does not begin with')
  })

  it('counts the same line twice once, and two values at one minute not at all', () => {
    expect(parse('a,b,2021-11-03 15:06,90,5.0', 'a,b,2021-11-03 15:06,90,5.0').entries).toHaveLength(1)
    expect(parse('a,b,2021-11-03 15:06,90,5.0', 'a,b,2021-11-03 15:06,108,6.0')).toMatchObject({
      entries: [],
      refused: [{ reason: 'two-values-at-one-minute' }, { reason: 'two-values-at-one-minute' }],
    })
  })

  it('has a value in every line of the sample', () => {
    const log = parseShanghai({
      name: 'fingersticks.csv',
      text: readFileSync('tests/standards/shanghai-sample/fingersticks.csv', 'utf8'),
    })
    expect(log).toMatchObject({ linesRead: 133, refused: [], putInOrder: 0 })
    expect(log.entries).toHaveLength(133)
    expect(new Set(log.entries.map(({ stay }) => stay)).size).toBe(4)
  })
})
