/** The decision records are complete and numbered, and their index equals the folder. */
import { describe, expect, it } from 'vitest'
import { filesBelow, textOf } from '../support/house.ts'

const FOLDER = 'server/decisions'
const INDEX = `${FOLDER}/README.md`
const files = filesBelow(FOLDER).filter((file) => file !== INDEX)

type DecisionRecord = {
  readonly name: string
  readonly number: string
  readonly title: string
  readonly status: string
  readonly date: string
}

/** Reads a record. A missing or malformed part is an empty text. */
function recordOf(name: string, text: string): DecisionRecord {
  const [, number = '', title = ''] = /^# (\d{4})\. (.+)$/m.exec(text) ?? []
  const [, status = ''] = /^- Status: (accepted|superseded by \d{4})$/m.exec(text) ?? []
  const [, date = ''] = /^- Date: (\d{4}-\d{2}-\d{2})$/m.exec(text) ?? []
  return { name, number, title, status, date }
}

/** The faults of one record among all records. */
function faultsOf(record: DecisionRecord, text: string, all: readonly DecisionRecord[]): readonly string[] {
  const faults: string[] = []
  const { name, number, title, status, date } = record
  const [, numberInName = ''] = /^(\d{4})-[a-z0-9]+(?:-[a-z0-9]+)*\.md$/.exec(name) ?? []
  if (numberInName === '') faults.push('the file name is not NNNN-short-title.md')
  else if (numberInName !== number) faults.push('the heading has another number than the file name')
  if (title === '') faults.push('no title')
  if (status === '') faults.push('no status')
  if (date === '' || Number.isNaN(Date.parse(date))) faults.push('no date')
  for (const section of ['Context', 'Decision', 'Consequences'])
    if (!new RegExp(`^## ${section}\\n\\n\\S`, 'm').test(text)) faults.push(`no ${section}`)
  const newer = status.replace('superseded by ', '')
  if (status !== 'accepted' && status !== '' && !(newer > number && all.some((one) => one.number === newer)))
    faults.push(`superseded by ${newer}, which is not a later record`)
  return faults
}

const records = files.map((file) => recordOf(file.slice(FOLDER.length + 1), textOf(file)))

describe('decision records', () => {
  const good = '# 0002. A title\n\n- Status: accepted\n- Date: 2026-11-25\n\n## Context\n\na\n\n## Decision\n\nb\n'
  const whole = `${good}\n## Consequences\n\nc\n`
  const faults = (name: string, text: string): readonly string[] => {
    const record = recordOf(name, text)
    return faultsOf(record, text, [record])
  }

  it.each([
    ['a whole record', '0002-a-title.md', whole, []],
    ['a name without a number', 'a-title.md', whole, ['the file name is not NNNN-short-title.md']],
    ['two numbers', '0003-a-title.md', whole, ['the heading has another number than the file name']],
    ['an unknown status', '0002-a-title.md', whole.replace('accepted', 'maybe'), ['no status']],
    ['a date that does not exist', '0002-a-title.md', whole.replace('11-25', '13-25'), ['no date']],
    ['a missing section', '0002-a-title.md', good, ['no Consequences']],
    [
      'a superseding record that does not exist',
      '0002-a-title.md',
      whole.replace('accepted', 'superseded by 0009'),
      ['superseded by 0009, which is not a later record'],
    ],
    [
      'a superseding record that is older',
      '0002-a-title.md',
      whole.replace('accepted', 'superseded by 0001'),
      ['superseded by 0001, which is not a later record'],
    ],
  ])('the check reads %s', (_name, file, text, expected) => {
    expect(faults(file, text)).toEqual(expected)
  })

  it('are complete', () => {
    expect(records.length).toBeGreaterThan(50)
    expect(
      files.flatMap((file, index) => {
        const record = records[index]
        return record === undefined
          ? [file]
          : faultsOf(record, textOf(file), records).map((fault) => `${file}: ${fault}`)
      }),
    ).toEqual([])
  })

  it('are numbered from 0001 without a gap', () => {
    expect(records.map(({ number }) => number)).toEqual(records.map((_, index) => String(index + 1).padStart(4, '0')))
  })

  it('are listed in the index with number, title, status and date', () => {
    const rows = textOf(INDEX)
      .split('\n')
      .filter((line) => line.startsWith('| ['))
    expect(rows).toEqual(
      records.map(
        ({ name, number, title, status, date }) => `| [${number}](${name}) | ${title} | ${status} | ${date} |`,
      ),
    )
  })
})
