/** Comma-separated values as RFC 4180 has them, made so that no spreadsheet runs a cell. */

/** A number stays a number; null is an empty cell. */
export type Cell = string | number | null

/** What a spreadsheet takes for the beginning of a formula, or of a cell that holds one. */
const RUNS = /^[=+\-@\t\r\n]/

/**
 * One cell. Text that a spreadsheet would run gets an apostrophe in front; numbers are ours and get none, below 0 too.
 * Quotes stand where the text holds a comma, a quote or a line end; a quote inside is doubled. Throws on a number that is
 * not finite: a blank would read as "nothing found".
 */
export function csvCell(value: Cell): string {
  if (value === null) return ''
  if (typeof value === 'number') {
    if (!Number.isFinite(value)) throw new TypeError('a number that is not finite cannot be exported')
    return String(value)
  }
  const safe = RUNS.test(value) ? `'${value}` : value
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe
}

/** Header and rows, each ended by CRLF. */
export function csvText(header: readonly string[], rows: readonly (readonly Cell[])[]): string {
  return csvRows([header]) + csvRows(rows)
}

/** Rows alone, for a file that is written piece by piece. */
export function csvRows(rows: readonly (readonly Cell[])[]): string {
  return rows.map((row) => `${row.map(csvCell).join(',')}\r\n`).join('')
}
