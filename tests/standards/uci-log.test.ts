/**
 * The reader of the AIM-94 diabetes logs, with lines of every kind in the set. Figures of the sample were counted by
 * hand from its files. `npm run replay` compares the whole set with its README.
 */
import { readdirSync, readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { type ParsedLog } from '../replay/log.ts'
import { parseUci, stayOfFile, type LogFile } from '../replay/uci.ts'

const one = (text: string, name = 'data-01'): ParsedLog => parseUci([{ name, text }])
const filesIn = (folder: string): LogFile[] =>
  readdirSync(folder)
    .filter((name) => /^data-\d\d$/.test(name))
    .sort()
    .map((name) => ({ name, text: readFileSync(`${folder}/${name}`, 'latin1') }))
const counts = (names: readonly string[]): Record<string, number> => {
  const found: Record<string, number> = {}
  for (const name of names) found[name] = (found[name] ?? 0) + 1
  return found
}
/** Every line is counted in exactly one place. */
const accounted = (log: ParsedLog): number =>
  log.entries.length + log.refused.length + log.joinedHalves + Object.values(log.otherLines).reduce((a, b) => a + b, 0)

describe('one line', () => {
  it('gives a capillary value with its occasion and without padding', () => {
    expect(one('04-21-1991\t9:09\t58\t063\n').entries).toEqual([
      {
        stay: '01',
        source: 'data-01:1',
        date: '1991-04-21',
        time: '09:09',
        typed: '63',
        occasion: 'before-breakfast',
        repairs: [],
        onPaper: false,
      },
    ])
  })

  it.each([
    ['48', 'unspecified'],
    ['57', 'unspecified'],
    ['58', 'before-breakfast'],
    ['59', 'after-a-meal'],
    ['60', 'before-lunch'],
    ['61', 'after-a-meal'],
    ['62', 'before-supper'],
    ['63', 'after-a-meal'],
    ['64', 'snack'],
  ])('code %s is a glucose %s', (code, occasion) => {
    expect(one(`04-21-1991\t09:09\t${code}\t100`).entries[0]?.occasion).toBe(occasion)
  })

  it.each(['0', '4', '36', '56', '73', 'x', ''])('code "%s" is undocumented and refused by that name', (code) => {
    const { entries, refused } = one(`04-21-1991\t09:09\t${code}\t100`)
    expect(entries).toEqual([])
    expect(refused.map(({ reason }) => reason)).toEqual(['undocumented-code'])
  })

  it.each([
    ['06-31-1991', 'June has 30 days'],
    ['02-29-1990', 'no leap year'],
    ['13-01-1990', 'no such month'],
    ['00-10-1990', 'no such month'],
    ['04-00-1990', 'no such day'],
    ['4-21-1991', 'not as printed'],
  ])('the date %s is refused: %s', (date) => {
    expect(one(`${date}\t09:09\t58\t100`).refused.map(({ reason }) => reason)).toEqual(['no-such-date'])
  })

  it('29 February of a leap year is a date', () => {
    expect(one('02-29-1988\t09:09\t58\t100').entries[0]?.date).toBe('1988-02-29')
  })

  it.each(['56:35', '188:00', '11:0', '24:00', '12:60', '1130', ''])('the time "%s" is refused', (time) => {
    expect(one(`04-21-1991\t${time}\t58\t100`).refused.map(({ reason }) => reason)).toEqual(['no-such-time'])
  })

  it.each(["0''", '', '10a', '-5', '6.5', 'Hi'])('the value "%s" is not a number and is refused', (value) => {
    expect(one(`04-21-1991\t09:09\t58\t${value}`).refused.map(({ reason }) => reason)).toEqual(['value-is-no-number'])
  })

  it.each([
    ['0Hi', 'HI', 'out-of-range-word'],
    ['0Lo', 'LO', 'out-of-range-word'],
    ['501', 'HI', 'ceiling-code-501-as-HI'],
  ])('the value %s is repaired to %s and reported', (value, typed, repair) => {
    expect(one(`04-21-1991\t09:09\t58\t${value}`).entries).toMatchObject([{ typed, repairs: [repair] }])
  })

  it.each(['0', '000', '15', '19', '500', '502'])(
    'the value %s is kept: the service decides whether it is possible',
    (value) => {
      expect(one(`04-21-1991\t09:09\t58\t${value}`).entries).toMatchObject([
        { typed: String(Number(value)), repairs: [] },
      ])
    },
  )

  it.each([
    ['33', '6', 'regular insulin dose'],
    ['33', '0', 'regular insulin dose of 0'],
    ['33', '344', 'regular insulin dose above 60 units (implausible)'],
    ['34', '6.5', 'NPH insulin dose'],
    ['34', '388', 'NPH insulin dose above 60 units (implausible)'],
    ['35', '60', 'long-acting insulin dose'],
    ['65', '0', 'low-glucose symptoms'],
    ['66', '0', 'meal'],
  ])('code %s with %s is counted as "%s" and never typed', (code, value, kind) => {
    const { entries, otherLines } = one(`04-21-1991\t09:09\t${code}\t${value}`)
    expect(entries).toEqual([])
    expect(otherLines).toEqual({ [kind]: 1 })
  })

  it('refuses a line of three or five fields', () => {
    expect(one('04-21-1991\t09:09\t58\n04-21-1991\t09:09\t58\t100\tx').refused.map(({ reason }) => reason)).toEqual([
      'wrong-number-of-fields',
      'wrong-number-of-fields',
    ])
  })
})

describe('records split over two lines', () => {
  it('are joined: the code is the last field in hexadecimal, the value the second', () => {
    const log = one('10-12-1989\t7:00\t0\t\n\t138\t33\t3A\n10-12-1989\t7:00\t0\t\n\t006\t33\t21\n')
    expect(log.entries).toMatchObject([
      {
        date: '1989-10-12',
        time: '07:00',
        typed: '138',
        occasion: 'before-breakfast',
        repairs: ['split-record-joined'],
      },
    ])
    expect(log.otherLines).toEqual({ 'regular insulin dose': 1 })
    expect(log.joinedHalves).toBe(2)
  })

  it.each([
    ['a first half alone', '10-12-1989\t7:00\t0\t\n10-12-1989\t8:00\t58\t120', 1],
    ['a second half alone', '\t138\t33\t3A', 1],
    ['a first half at the end of the file', '10-12-1989\t7:00\t0\t', 1],
    ['two first halves and one second', '10-12-1989\t7:00\t0\t\n10-12-1989\t7:00\t0\t\n\t138\t33\t3A', 1],
  ])('refuses %s', (_name, text, refused) => {
    const log = one(text)
    expect(log.refused.map(({ reason }) => reason)).toEqual(
      Array.from({ length: refused }, () => 'split-record-without-its-other-half'),
    )
    expect(accounted(log)).toBe(log.linesRead)
  })
})

describe('lines compared', () => {
  it('counts the same line twice once, also in the two files of one patient', () => {
    const line = '09-01-1990\t16:48\t62\t226\n'
    const log = parseUci([
      { name: 'data-04', text: line + line },
      { name: 'data-05', text: line },
    ])
    expect(log.entries).toMatchObject([{ stay: '04+05', source: 'data-04:1' }])
    expect(log.refused.map(({ reason }) => reason)).toEqual(['duplicate-line', 'duplicate-line'])
  })

  it('counts the same line of two patients for both', () => {
    const text = '09-01-1990\t16:48\t62\t226\n'
    expect(
      parseUci([
        { name: 'data-05', text },
        { name: 'data-06', text },
      ]).entries.map(({ stay }) => stay),
    ).toEqual(['04+05', '06'])
  })

  it('types neither of two values at one minute', () => {
    const log = one('06-27-1989\t20:30\t62\t048\n06-27-1989\t20:30\t48\t062\n')
    expect(log.entries).toEqual([])
    expect(log.refused.map(({ reason }) => reason)).toEqual(['two-values-at-one-minute', 'two-values-at-one-minute'])
  })

  it('sorts lines, over all logs', () => {
    const log = parseUci([
      { name: 'data-01', text: '04-22-1991\t09:00\t58\t100\n04-21-1991\t09:00\t58\t101\n' },
      { name: 'data-02', text: '04-21-1991\t12:00\t60\t102\n' },
    ])
    expect(log.entries.map(({ typed }) => typed)).toEqual(['101', '102', '100'])
    expect(log.putInOrder).toBe(1)
  })

  it('finds a log on the four slots of a paper record with up to one real time in 19, not in 18', () => {
    const days = (count: number): string =>
      Array.from({ length: count }, (_, day) => `04-${String(day + 1).padStart(2, '0')}-1991\t08:00\t58\t100\n`).join(
        '',
      )
    expect(one(`${days(19)}04-21-1991\t07:13\t58\t100\n`).entries.every(({ onPaper }) => onPaper)).toBe(true)
    expect(one(`${days(18)}04-21-1991\t07:13\t58\t100\n`).entries.some(({ onPaper }) => onPaper)).toBe(false)
  })

  it('counts ten pairs of files as one patient each', () => {
    const stays = Array.from({ length: 70 }, (_, index) => stayOfFile(`data-${String(index + 1).padStart(2, '0')}`))
    expect(new Set(stays).size).toBe(60)
  })
})

describe('sample', () => {
  const log = parseUci(filesIn('tests/standards/uci-sample'))

  it('accounts for every line, as counted by hand', () => {
    expect(log.linesRead).toBe(323)
    expect(accounted(log)).toBe(323)
    expect(log.joinedHalves).toBe(6)
    expect(counts(log.refused.map(({ reason }) => reason))).toEqual({
      'undocumented-code': 6,
      'duplicate-line': 15,
      'no-such-date': 7,
      'no-such-time': 7,
      'value-is-no-number': 1,
      'two-values-at-one-minute': 2,
    })
    expect(log.otherLines).toMatchObject({
      'NPH insulin dose above 60 units (implausible)': 6,
      'regular insulin dose above 60 units (implausible)': 1,
    })
    expect(counts(log.entries.flatMap(({ repairs }) => repairs))).toEqual({
      'out-of-range-word': 6,
      'split-record-joined': 2,
      'ceiling-code-501-as-HI': 1,
    })
    expect(new Set(log.entries.filter(({ onPaper }) => onPaper).map(({ stay }) => stay))).toEqual(
      new Set(['02', '10', '70']),
    )
  })
})
