/** The result of reading a data set: capillary values ready to be typed, and a count of every other line. */
import type { Occasion } from '../../shared/check/check.ts'

/** The occasion in the log. After a meal, a snack and unspecified have no planned check. */
export type LogOccasion = Occasion | 'after-a-meal' | 'snack' | 'unspecified'

export type Repair = 'split-record-joined' | 'out-of-range-word' | 'ceiling-code-501-as-HI'

export type LineRefusal =
  | 'wrong-number-of-fields'
  | 'split-record-without-its-other-half'
  | 'undocumented-code'
  | 'no-such-date'
  | 'no-such-time'
  | 'value-is-no-number'
  | 'duplicate-line'
  | 'two-values-at-one-minute'
  | 'units-disagree'

/** One capillary value: local date (YYYY-MM-DD) and time (HH:MM) with no zone, and the text to type. */
export type LogEntry = {
  readonly stay: string
  /** Its file and line number. */
  readonly source: string
  readonly date: string
  readonly time: string
  /** Digits, HI or LO. The service decides whether it is possible, not the parser. */
  readonly typed: string
  readonly occasion: LogOccasion
  readonly repairs: readonly Repair[]
  /** True in a log whose times are the fictitious slots of a paper record. */
  readonly onPaper: boolean
}

export type RefusedLine = { readonly source: string; readonly reason: LineRefusal; readonly text: string }

export type ParsedLog = {
  /** Non-empty lines read; each is counted once below. */
  readonly linesRead: number
  /** In time order over all stays; equal times in the order of the logs. */
  readonly entries: readonly LogEntry[]
  readonly refused: readonly RefusedLine[]
  /** First halves of split records: their value came with the second half. */
  readonly joinedHalves: number
  /** Lines without a capillary glucose, by their content. */
  readonly otherLines: Readonly<Record<string, number>>
  /** Lines with a time before that of the line above; sorted. */
  readonly putInOrder: number
}

/** Adds one to a count. */
export function tally(counts: Record<string, number>, name: string, by = 1): void {
  counts[name] = (counts[name] ?? 0) + by
}

/** Sorts by local date and time; entries of one minute keep their order. */
export function inTimeOrder(entries: readonly LogEntry[]): LogEntry[] {
  const key = (entry: LogEntry): string => `${entry.date} ${entry.time}`
  return entries.toSorted((a, b) => (key(a) < key(b) ? -1 : key(a) > key(b) ? 1 : 0))
}

/** True for a date of the Gregorian calendar. */
export function isDate(year: number, month: number, day: number): boolean {
  const leap = (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0
  const days = [31, leap ? 29 : 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31][month - 1]
  return days !== undefined && day >= 1 && day <= days
}

/**
 * Two different values of one stay at one minute contradict each other. Neither is charted, because nobody can say
 * which was the patient's.
 */
export function withoutContradictions(entries: readonly LogEntry[]): {
  entries: LogEntry[]
  contradicted: RefusedLine[]
} {
  const keyOf = (entry: LogEntry): string => `${entry.stay} ${entry.date} ${entry.time}`
  const values = new Map<string, Set<string>>()
  for (const entry of entries) values.set(keyOf(entry), (values.get(keyOf(entry)) ?? new Set()).add(entry.typed))
  const contradicts = (entry: LogEntry): boolean => (values.get(keyOf(entry))?.size ?? 0) > 1
  return {
    entries: entries.filter((entry) => !contradicts(entry)),
    contradicted: entries
      .filter(contradicts)
      .map((entry) => ({ source: entry.source, reason: 'two-values-at-one-minute', text: entry.typed })),
  }
}
