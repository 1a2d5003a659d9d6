/**
 * Turns the text of a printed scale into steps, for the load command and the order form. It repairs nothing. A refusal
 * names its value and, in `place`, its entry.
 */
import type { GlucoseUnit } from '../glucose/value.ts'
import { accept, refuse, withDetails, type Outcome, type Refused } from '../outcome.ts'
import type { Scale, ScaleAnswer } from './order.ts'
import { scaleFromRows, type InRows, type PrintedRow, type RowsRefusal } from './rows.ts'
import { boundText } from './scale.ts'

/** A row as the paper prints it. An empty end is open. "351", "over 350" and "> 350" mean the same start. */
export type WrittenRow = {
  readonly from: string
  readonly to: string
  readonly answer: ScaleAnswer
  readonly also: string | null
  /** Minutes after which the row prints a repeat; absent: it prints none. */
  readonly repeatMin?: number
}
/** The prescriber's answer for values in no printed row: one value (`to` empty), or a range with both ends included. */
export type WrittenAnswer = { readonly from: string; readonly to: string; readonly answer: ScaleAnswer }
export type WrittenScale = {
  readonly rows: readonly WrittenRow[]
  readonly answered: readonly WrittenAnswer[]
  /** The order's answer above a closed last row. */
  readonly afterLast: ScaleAnswer | null
}

/** The ward's unit and low limit (in that unit), and the single-dose limit that applies, in units. */
export type ScaleLimits = { readonly unit: GlucoseUnit; readonly lowLimit: number; readonly maxSingleDose: number }

export type WrittenRefusal = RowsRefusal | 'glucose-not-as-printed' | 'answer-repeated'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'glucose-not-as-printed': InRows
    'answer-repeated': InRows
  }
}

/**
 * A printed glucose in the ward's count: "140" is 140 mg/dL, "7.8" is 78 tenths of a mmol/L. Null when it is printed in
 * the style of the other unit, or is not a glucose. A scale in the wrong unit must never be accepted.
 */
export function countOf(printed: string, unit: GlucoseUnit): number | null {
  const pattern = unit === 'mmol/L' ? /^\d{1,3}\.\d$/ : /^\d{1,3}$/
  return pattern.test(printed) ? Math.round(Number(printed) * (unit === 'mmol/L' ? 10 : 1)) : null
}

const BEGINS = /^(?:≥|>=|from |(>|over |above ))?\s*([\d.]+)$/i
const ENDS = /^(?:≤|<=|up to |(<|under |below ))?\s*([\d.]+)$/i

/**
 * The first value of a row: "251", "over 250" and "> 250" are 251. Null when it is not printed like this in this unit.
 */
export function beginningOf(printed: string, unit: GlucoseUnit): number | null {
  const [, beyond, digits = ''] = BEGINS.exec(printed.trim()) ?? []
  const count = countOf(digits, unit)
  return count === null || beyond === undefined ? count : count + 1
}

/**
 * The last value of a row: "250", "under 251" and "< 251" are 250. Null when it is not printed like this in this unit.
 */
export function endOf(printed: string, unit: GlucoseUnit): number | null {
  const [, short, digits = ''] = ENDS.exec(printed.trim()) ?? []
  const count = countOf(digits, unit)
  return count === null || short === undefined ? count : count - 1
}

type Span = { readonly from: number; readonly to: number }

/**
 * The written scale, or the reason why there is none. Places are "row2From", "row2To", "row2Units", "answered1From",
 * "answered1Units" and "aboveUnits", counted from 1 in the given order.
 */
export function scaleFromWritten(written: WrittenScale, limits: ScaleLimits): Outcome<Scale, WrittenRefusal> {
  const { unit } = limits
  const rows: PrintedRow[] = []
  for (const [index, { from, to, ...row }] of written.rows.entries()) {
    const [first, last] = [from === '' ? null : beginningOf(from, unit), to === '' ? null : endOf(to, unit)]
    if (from !== '' && first === null)
      return refuse('glucose-not-as-printed', { value: from, unit, place: `row${String(index + 1)}From` })
    if (to !== '' && last === null)
      return refuse('glucose-not-as-printed', { value: to, unit, place: `row${String(index + 1)}To` })
    rows.push({ from: first, to: last, ...row })
  }
  const spans: Span[] = []
  const answered: Record<string, ScaleAnswer> = {}
  for (const [index, { from, to, answer }] of written.answered.entries()) {
    const entry = `answered${String(index + 1)}`
    const first = countOf(from, unit)
    if (first === null) return refuse('glucose-not-as-printed', { value: from, unit, place: `${entry}From` })
    const last = to === '' ? first : countOf(to, unit)
    if (last === null) return refuse('glucose-not-as-printed', { value: to, unit, place: `${entry}To` })
    if (last < first)
      return refuse('row-upside-down', {
        value: boundText(first, unit),
        to: boundText(last, unit),
        unit,
        place: `${entry}To`,
      })
    for (let value = first; value <= last; value++) {
      if (answered[String(value)] !== undefined)
        return refuse('answer-repeated', { value: boundText(value, unit), unit, place: `${entry}From` })
      answered[String(value)] = answer
    }
    spans.push({ from: first, to: last })
  }
  const made = scaleFromRows({
    unit,
    rows,
    afterLast: written.afterLast,
    answered,
    lowLimit: limits.lowLimit,
    maxSingleDose: limits.maxSingleDose,
  })
  return made.ok ? accept(made.value) : placed(made, rows, spans, unit)
}

function placed(
  refused: Refused<RowsRefusal>,
  rows: readonly PrintedRow[],
  spans: readonly Span[],
  unit: GlucoseUnit,
): Refused<RowsRefusal> {
  return withDetails(refused, { place: placeOfRefusal(refused, rows, spans, unit) })
}

function placeOfRefusal(
  { reason, details }: Refused<RowsRefusal>,
  rows: readonly PrintedRow[],
  spans: readonly Span[],
  unit: GlucoseUnit,
): string {
  const named = 'value' in details ? details.value : ''
  const value = countOf(named, unit) ?? 0
  const entry = (index: number, end: string): string => `row${String(Math.max(0, index) + 1)}${end}`
  switch (reason) {
    case 'rows-missing':
      return 'row1From'
    case 'row-bound-not-whole': {
      const begins = rows.findIndex(({ from }) => from !== null && boundText(from, unit) === named)
      return begins >= 0
        ? entry(begins, 'From')
        : entry(
            rows.findIndex(({ to }) => to !== null && boundText(to, unit) === named),
            'To',
          )
    }
    case 'row-upside-down':
      return entry(
        rows.findIndex(({ from, to }) => from === value && to !== null && to < from),
        'To',
      )
    case 'rows-not-ascending': {
      const open = rows.findIndex(({ from, to }, index) => index > 0 && from === null && (to === null || to === value))
      return entry(open >= 0 ? open : rows.findIndex(({ from }, index) => index > 0 && from === value), 'From')
    }
    case 'row-overlap':
      return entry(
        rows.findLastIndex(({ from }) => from === value),
        'From',
      )
    case 'row-hole':
      return entry(
        rows.findIndex(({ from }) => from !== null && from > value),
        'From',
      )
    case 'last-row-closed':
    case 'after-last-not-needed':
      return 'aboveUnits'
    case 'answer-not-needed':
      return `answered${String(spans.findIndex(({ from, to }) => from <= value && value <= to) + 1)}From`
    default:
      return placeOfStep(value, rows, spans)
  }
}

/** Where the step that begins at the value was written. */
function placeOfStep(value: number, rows: readonly PrintedRow[], spans: readonly Span[]): string {
  const row = rows.findIndex(({ from }) => (from ?? 0) === value)
  if (row >= 0) return `row${String(row + 1)}Units`
  const span = spans.findIndex(({ from, to }) => from <= value && value <= to)
  return span >= 0 ? `answered${String(span + 1)}Units` : 'aboveUnits'
}
