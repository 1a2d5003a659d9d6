/**
 * The charted lines again, from the raw files. Only their positions come from the readers, so a wrong date or value
 * of a reader shows as a different rate.
 */
import { readFileSync, statSync } from 'node:fs'
import { join } from 'node:path'
import type { RateLine } from './rates.ts'

/** The date and value of each line named by file and line number ("data-04:17"), as in the file. */
export function rawLines(
  path: string,
  charted: readonly { readonly stay: string; readonly source: string }[],
): readonly RateLine[] {
  const isFolder = statSync(path).isDirectory()
  const files = new Map<string, readonly string[]>()
  return charted.map(({ stay, source }) => {
    const [name = '', number = ''] = source.split(':')
    const lines = files.get(name) ?? readFileSync(isFolder ? join(path, name) : path, 'latin1').split(/\r?\n/)
    files.set(name, lines)
    const [text = '', above = ''] = [lines[Number(number) - 1], lines[Number(number) - 2]]
    return { stay, ...(isFolder ? ofUci(text, above) : ofShanghai(text)) }
  })
}

/** MM-DD-YYYY, time, code, value; the second half of a split record has its value second and its date in the line above. */
function ofUci(text: string, above: string): Pick<RateLine, 'date' | 'typed'> {
  const fields = text.split('\t')
  const isHalf = fields[0] === ''
  const date = (isHalf ? above : text).slice(0, 10).replace(/^(..)-(..)-(....)$/, '$3-$1-$2')
  const value = (isHalf ? fields[1] : fields[3]) ?? ''
  // 501 is a meter's code for "above my ceiling" (the set's README)
  const typed = value === '0Hi' || value === '501' ? 'HI' : value === '0Lo' ? 'LO' : String(parseInt(value, 10))
  return { date, typed }
}

/** cohort, admission, date and time, mg/dL, mmol/L: the last is the meter's reading. */
function ofShanghai(text: string): Pick<RateLine, 'date' | 'typed'> {
  const [, , at = '', , typed = ''] = text.split(',')
  return { date: at.slice(0, 10), typed }
}
