/**
 * Turns the rows of a paper order ("151–200: 2") into a scale that answers every glucose. It refuses gaps, naming the
 * value, and never repairs an order: only the prescriber can say what a missing value gets.
 */
import { refuse, type Outcome } from '../outcome.ts'
import type { GlucoseUnit } from '../glucose/value.ts'
import { boundText, checkScale, LARGEST_BOUND, type ScaleRefusal } from './scale.ts'
import type { Scale, ScaleAnswer, ScaleStep } from './order.ts'

/**
 * One printed row, both ends included. `from` null: "up to `to`" (first row only). `to` null: "and above" (last row
 * only). "Over 350" is from 351, "under 70" is to 69. mmol/L is counted in tenths (6.0 is 60).
 */
export type PrintedRow = {
  readonly from: number | null
  readonly to: number | null
  readonly answer: ScaleAnswer
  readonly also: string | null
  /** Minutes after which the row prints a repeat; absent: it prints none. */
  readonly repeatMin?: number
}

export type PrintedScale = {
  readonly unit: GlucoseUnit
  readonly rows: readonly PrintedRow[]
  /** The order's answer above a closed last row. Null: it gives none, or the last row is open. */
  readonly afterLast: ScaleAnswer | null
  /** The prescriber's answers for values in no printed row, by value: { '350': 4 }. */
  readonly answered: Readonly<Record<string, ScaleAnswer>>
  /** The ward's low limit, in the unit of the rows. */
  readonly lowLimit: number
  /** The order's single-dose limit in units. */
  readonly maxSingleDose: number
}

export type RowsRefusal =
  | 'rows-missing'
  | 'row-bound-not-whole'
  | 'row-upside-down'
  | 'rows-not-ascending'
  | 'row-overlap'
  | 'row-hole'
  | 'last-row-closed'
  | 'after-last-not-needed'
  | 'answer-not-needed'
  | ScaleRefusal

/** The value as the order prints it. `place`: where in the rows it is written. */
export type InRows = { value: string; unit: string; place?: string }

declare module '../outcome.ts' {
  interface RefusalDetails {
    'rows-missing': { most: number; place?: string }
    'row-bound-not-whole': InRows
    'row-upside-down': InRows & { to: string }
    'rows-not-ascending': InRows
    'row-overlap': InRows
    'row-hole': InRows & { before: string; after: string }
    'last-row-closed': InRows
    'after-last-not-needed': Omit<InRows, 'value' | 'unit'>
    'answer-not-needed': InRows
  }
}

const MOST_ROWS = 40

/**
 * The scale of the printed rows, or the reason why they do not form one. Details carry `value` as the order prints it.
 */
export function scaleFromRows(printed: PrintedScale): Outcome<Scale, RowsRefusal> {
  const { unit, rows } = printed
  if (rows.length === 0 || rows.length > MOST_ROWS) return refuse('rows-missing', { most: MOST_ROWS })
  const malformed = firstMalformed(printed)
  if (malformed !== null) return malformed
  const steps: ScaleStep[] = []
  const used = new Set<string>()
  for (const [index, row] of rows.entries()) {
    const before = rows[index - 1]
    if (before !== undefined) {
      const conflict = conflictBetween(before, row, unit)
      if (conflict !== null) return conflict
      // each value in no row takes the prescriber's answer; without one the rows are refused at that value
      for (let value = (before.to ?? 0) + 1; value < (row.from ?? 0); value++) {
        const answer = printed.answered[String(value)]
        if (answer === undefined)
          return refuse('row-hole', {
            value: boundText(value, unit),
            unit,
            before: boundText(before.to ?? 0, unit),
            after: boundText(row.from ?? 0, unit),
          })
        used.add(String(value))
        // neighbours with the same answer become one step
        if (value > (before.to ?? 0) + 1 && steps.at(-1)?.answer === answer) continue
        steps.push({ atLeast: value, answer, also: null })
      }
    }
    const repeat = row.repeatMin === undefined ? {} : { repeatMin: row.repeatMin }
    steps.push({ atLeast: row.from ?? 0, answer: row.answer, also: row.also, ...repeat })
  }
  const last = rows[rows.length - 1]
  if (last?.to === null || last === undefined) {
    if (printed.afterLast !== null) return refuse('after-last-not-needed')
  } else {
    const value = last.to + 1
    if (printed.afterLast === null) return refuse('last-row-closed', { value: boundText(value, unit), unit })
    steps.push({ atLeast: value, answer: printed.afterLast, also: null })
  }
  const unused = Object.keys(printed.answered).find((value) => !used.has(value))
  if (unused !== undefined) return refuse('answer-not-needed', { value: valueText(unused, unit), unit })
  return checkScale({ unit, steps }, { low: printed.lowLimit, maxSingleDose: printed.maxSingleDose })
}

function valueText(key: string, unit: GlucoseUnit): string {
  return /^\d{1,4}$/.test(key) ? boundText(Number(key), unit) : key
}

/** Refuses a bound that is not a whole count, and a row that ends before it starts. */
function firstMalformed({ rows, unit }: PrintedScale): Outcome<Scale, RowsRefusal> | null {
  for (const row of rows) {
    for (const bound of [row.from, row.to]) {
      if (bound !== null && (!Number.isInteger(bound) || bound < 0 || bound > LARGEST_BOUND[unit]))
        return refuse('row-bound-not-whole', { value: boundText(bound, unit), unit })
    }
    if (row.from !== null && row.to !== null && row.to < row.from)
      return refuse('row-upside-down', { value: boundText(row.from, unit), to: boundText(row.to, unit), unit })
  }
  return null
}

/** Refuses a value in two rows, and rows out of order. It names the first value that both rows contain. */
function conflictBetween(before: PrintedRow, row: PrintedRow, unit: GlucoseUnit): Outcome<Scale, RowsRefusal> | null {
  if (row.from === null)
    return refuse('rows-not-ascending', { value: row.to === null ? '–' : boundText(row.to, unit), unit })
  if (before.from !== null && row.from < before.from)
    return refuse('rows-not-ascending', { value: boundText(row.from, unit), unit })
  if (before.to === null || row.from <= before.to)
    return refuse('row-overlap', { value: boundText(row.from, unit), unit })
  return null
}
