/**
 * Reads the 70 logs of the AIM-94 diabetes set (M. Kahn, Washington University, St. Louis; UCI data set 34). Four
 * tab-separated fields a line: MM-DD-YYYY, time, code, value. Every line is counted in exactly one place: a capillary
 * value, a refusal with its reason, the other half of a split record, or a line about something else.
 */
import {
  inTimeOrder,
  isDate,
  tally,
  withoutContradictions,
  type LogEntry,
  type LogOccasion,
  type ParsedLog,
  type RefusedLine,
  type Repair,
} from './log.ts'

export type LogFile = { readonly name: string; readonly text: string }

/** Pairs of files that overlap by hundreds of identical lines: one patient each (the set's README, item 9). */
const ONE_PATIENT: readonly (readonly [string, string])[] = [
  ['04', '05'],
  ['11', '12'],
  ['18', '19'],
  ['23', '24'],
  ['32', '33'],
  ['34', '35'],
  ['44', '45'],
  ['49', '50'],
  ['51', '52'],
  ['58', '59'],
]

/** Codes of a capillary glucose, from the donor's Data-Codes. */
const GLUCOSE_CODES: Readonly<Record<string, LogOccasion>> = {
  '48': 'unspecified',
  '57': 'unspecified',
  '58': 'before-breakfast',
  '59': 'after-a-meal',
  '60': 'before-lunch',
  '61': 'after-a-meal',
  '62': 'before-supper',
  '63': 'after-a-meal',
  '64': 'snack',
}

const INSULIN_CODES: Readonly<Record<string, string>> = {
  '33': 'regular insulin dose',
  '34': 'NPH insulin dose',
  '35': 'long-acting insulin dose',
}
const EVENT_CODES: Readonly<Record<string, string>> = {
  '65': 'low-glucose symptoms',
  '66': 'meal',
  '67': 'meal',
  '68': 'meal',
  '69': 'exercise',
  '70': 'exercise',
  '71': 'exercise',
  '72': 'special event',
}

/**
 * A logged dose above this is an error from another field (the set's README, item 6). No dose of a log is ever given.
 */
const IMPLAUSIBLE_DOSE = 60
/** Four readings are 501: a meter's code for "above my ceiling", not a measured number. */
const CEILING = '501'
/** The slots given to paper records (the donor's Domain-Description), and the share that marks a log as paper. */
const PAPER_SLOTS: ReadonlySet<string> = new Set(['08:00', '12:00', '18:00', '22:00'])
const PAPER_SHARE = 0.95

/** One line, or the two halves of a split one, before it is classified. */
type Line = {
  readonly source: string
  readonly text: string
  readonly date: string
  readonly time: string
  readonly code: string
  readonly value: string
  readonly joined: boolean
}

/** The stay of a file: its own, or the one shared with its overlapping neighbour. */
export function stayOfFile(name: string): string {
  const number = name.replace(/^data-/, '')
  const pair = ONE_PATIENT.find((two) => two.includes(number))
  return pair === undefined ? number : pair.join('+')
}

/** Parses the files. The order of `files` matters only for which of two identical lines is kept. */
export function parseUci(files: readonly LogFile[]): ParsedLog {
  const refused: RefusedLine[] = []
  const otherLines: Record<string, number> = {}
  const kept: LogEntry[] = []
  const seen = new Map<string, Set<string>>()
  let linesRead = 0
  let joinedHalves = 0
  let putInOrder = 0
  for (const file of files) {
    const stay = stayOfFile(file.name)
    const seenHere = seen.get(stay) ?? new Set<string>()
    seen.set(stay, seenHere)
    const texts = file.text.split('\n').map((text) => text.replace(/\r$/, ''))
    linesRead += texts.filter((text) => text !== '').length
    const { lines, broken } = joinSplitRecords(file.name, texts)
    refused.push(...broken)
    joinedHalves += lines.filter((line) => line.joined).length
    const ofFile: LogEntry[] = []
    let lastAt = ''
    for (const line of lines) {
      const judged = judge(line, stay)
      if ('reason' in judged) {
        refused.push(judged)
        continue
      }
      const same = `${judged.at} ${line.code} ${plainNumber(line.value)}`
      const twice = seenHere.has(same)
      seenHere.add(same)
      if (judged.at < lastAt) putInOrder += 1
      lastAt = judged.at
      if (twice) refused.push({ source: line.source, reason: 'duplicate-line', text: line.text })
      else if ('entry' in judged) ofFile.push(judged.entry)
      else tally(otherLines, judged.other)
    }
    kept.push(...markPaper(ofFile))
  }
  const { entries, contradicted } = withoutContradictions(kept)
  return {
    linesRead,
    entries: inTimeOrder(entries),
    refused: [...refused, ...contradicted],
    joinedHalves,
    otherLines,
    putInOrder,
  }
}

/**
 * 33 records take two lines: "10-12-1989 7:00 0 <empty>" then "<empty> 138 33 3A", whose last field is the code in
 * hexadecimal (3A = 58) and whose second is the value (the set's README, item 5).
 */
function joinSplitRecords(name: string, texts: readonly string[]): { lines: Line[]; broken: RefusedLine[] } {
  const lines: Line[] = []
  const broken: RefusedLine[] = []
  for (let i = 0; i < texts.length; i++) {
    const text = texts[i] ?? ''
    if (text === '') continue
    const source = `${name}:${i + 1}`
    const fields = text.split('\t')
    const [date = '', time = '', code = '', value = ''] = fields
    if (fields.length !== 4) {
      broken.push({ source, reason: 'wrong-number-of-fields', text })
    } else if (code === '0' && value === '') {
      const [noDate, splitValue = '', , hex = ''] = (texts[i + 1] ?? '').split('\t')
      if (noDate === '' && /^[0-9A-F]{2}$/.test(hex)) {
        lines.push({
          source: `${name}:${i + 2}`,
          text: `${text} / ${texts[i + 1] ?? ''}`,
          date,
          time,
          code: String(parseInt(hex, 16)),
          value: splitValue,
          joined: true,
        })
        i += 1
      } else {
        broken.push({ source, reason: 'split-record-without-its-other-half', text })
      }
    } else if (date === '') {
      broken.push({ source, reason: 'split-record-without-its-other-half', text })
    } else {
      lines.push({ source, text, date, time, code, value, joined: false })
    }
  }
  return { lines, broken }
}

type Judged =
  RefusedLine | { readonly at: string; readonly entry: LogEntry } | { readonly at: string; readonly other: string }

function judge(line: Line, stay: string): Judged {
  const { source, text } = line
  const occasion = GLUCOSE_CODES[line.code]
  const insulin = INSULIN_CODES[line.code]
  const event = EVENT_CODES[line.code]
  if (occasion === undefined && insulin === undefined && event === undefined)
    return { source, reason: 'undocumented-code', text }
  const date = isoDate(line.date)
  if (date === null) return { source, reason: 'no-such-date', text }
  const time = clockTime(line.time)
  if (time === null) return { source, reason: 'no-such-time', text }
  const at = `${date} ${time}`
  if (insulin !== undefined) return { at, other: insulinKind(insulin, line.value) }
  if (occasion === undefined) return { at, other: event ?? '' }
  const repairs: Repair[] = line.joined ? ['split-record-joined'] : []
  const typed = readValue(line.value, repairs)
  if (typed === null) return { source, reason: 'value-is-no-number', text }
  return { at, entry: { stay, source, date, time, typed, occasion, repairs, onPaper: false } }
}

function isoDate(text: string): string | null {
  const [, month = '', day = '', year = ''] = /^(\d{2})-(\d{2})-(\d{4})$/.exec(text) ?? []
  return isDate(Number(year), Number(month), Number(day)) ? `${year}-${month}-${day}` : null
}

/** "7:05" is 07:05. "11:0" is refused, because it could be 11:00 or 11:05. */
function clockTime(text: string): string | null {
  const [, hour = '', minute = ''] = /^(\d{1,2}):(\d{2})$/.exec(text) ?? []
  return hour !== '' && Number(hour) < 24 && Number(minute) < 60 ? `${hour.padStart(2, '0')}:${minute}` : null
}

function readValue(value: string, repairs: Repair[]): string | null {
  if (value === '0Hi' || value === '0Lo') {
    repairs.push('out-of-range-word')
    return value === '0Hi' ? 'HI' : 'LO'
  }
  if (!/^\d+$/.test(value)) return null
  const typed = plainNumber(value)
  if (typed !== CEILING) return typed
  repairs.push('ceiling-code-501-as-HI')
  return 'HI'
}

/** "063" and "63" are one value. */
function plainNumber(value: string): string {
  return value.replace(/^0+(?=\d)/, '')
}

function insulinKind(insulin: string, value: string): string {
  const units = Number(value)
  if (units > IMPLAUSIBLE_DOSE) return `${insulin} above ${IMPLAUSIBLE_DOSE} units (implausible)`
  return units === 0 ? `${insulin} of 0` : insulin
}

function markPaper(entries: readonly LogEntry[]): LogEntry[] {
  const onSlots = entries.filter((entry) => PAPER_SLOTS.has(entry.time)).length
  return entries.map((entry) => ({ ...entry, onPaper: onSlots >= PAPER_SHARE * entries.length }))
}
