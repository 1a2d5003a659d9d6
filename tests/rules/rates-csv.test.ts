/** CSV files that no spreadsheet runs as formulas and any RFC 4180 reader parses. */
import { parse } from 'csv-parse/sync'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { csvCell, csvText } from '../../server/http/csv.ts'

describe('a cell', () => {
  it.each([
    ['plain', 'plain'],
    ['=1+1', "'=1+1"],
    ['+1', "'+1"],
    ['-1', "'-1"],
    ['@SUM(A1)', "'@SUM(A1)"],
    ['\t=1', "'\t=1"],
    ['\r=1', '"\'\r=1"'],
    ['a,b', '"a,b"'],
    ['say "x"', '"say ""x"""'],
    ['a\nb', '"a\nb"'],
    ['a=b', 'a=b'],
    ['', ''],
  ])('%j becomes %j', (value, expected) => {
    expect(csvCell(value)).toBe(expected)
  })
  it('keeps numbers, writes null as an empty cell, and refuses NaN', () => {
    expect([csvCell(-7.5), csvCell(0), csvCell(null)]).toEqual(['-7.5', '0', ''])
    expect(() => csvCell(Number.NaN)).toThrow('not finite')
  })
})

it('property: parses back to the input, with an apostrophe before what would run', () => {
  const cell = fc.oneof(fc.string(), fc.constantFrom('=cmd', '"', ',', '\r\n', '-2', 'ö', 'a"b,c\nd'))
  fc.assert(
    fc.property(fc.array(fc.tuple(cell, cell, fc.integer()), { minLength: 1, maxLength: 8 }), (rows) => {
      const text = csvText(['a', 'b', 'c'], rows)
      const read: string[][] = parse(text, { record_delimiter: '\r\n', relax_column_count: false })
      const shown = (value: string): string => (/^[=+\-@\t\r\n]/.test(value) ? `'${value}` : value)
      expect(read).toEqual([
        ['a', 'b', 'c'],
        ...rows.map(([one, two, three]) => [shown(one), shown(two), String(three)]),
      ])
      for (const record of read.slice(1))
        for (const text of record.slice(0, 2)) expect(text).not.toMatch(/^[=+\-@\t\r\n]/)
    }),
  )
})
