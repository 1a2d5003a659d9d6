/**
 * Reads the finger sticks of 108 hospital admissions in Shanghai (Zhao Q. et al., Sci Data 10:35, 2023; figshare
 * 20444397). Columns: cohort, admission, ward-local date and time, mg/dL, mmol/L; mg/dL is mmol/L times exactly 18.
 * The set was measured in mmol/L, so that column is typed; the other must agree with it.
 */
import { inTimeOrder, isDate, withoutContradictions, type LogEntry, type ParsedLog, type RefusedLine } from './log.ts'

const HEADER = 'cohort,admission,datetime,cbg_mgdl,cbg_mmoll'
/** mg/dL is printed to one decimal, so rounding moves it by half of the last place at most. */
const ROUNDING_MG_PER_DL = 0.051

/** Parses the file. Throws when the first line is not the set's header, because then it is another file. */
export function parseShanghai(file: { readonly name: string; readonly text: string }): ParsedLog {
  const [header, ...texts] = file.text.split('\n').map((text) => text.replace(/\r$/, ''))
  if (header !== HEADER) throw new Error(`${file.name} does not begin with ${HEADER}`)
  const kept: LogEntry[] = []
  const refused: RefusedLine[] = []
  const seen = new Set<string>()
  const lastOf = new Map<string, string>()
  let linesRead = 0
  let putInOrder = 0
  for (const [index, text] of texts.entries()) {
    if (text === '') continue
    linesRead += 1
    const judged = judge(text, `${file.name}:${index + 2}`)
    if ('reason' in judged) {
      refused.push(judged)
      continue
    }
    const at = `${judged.date} ${judged.time}`
    if (at < (lastOf.get(judged.stay) ?? '')) putInOrder += 1
    lastOf.set(judged.stay, at)
    const same = `${judged.stay} ${at} ${judged.typed}`
    if (seen.has(same)) refused.push({ source: judged.source, reason: 'duplicate-line', text })
    else kept.push(judged)
    seen.add(same)
  }
  const { entries, contradicted } = withoutContradictions(kept)
  return {
    linesRead,
    entries: inTimeOrder(entries),
    refused: [...refused, ...contradicted],
    joinedHalves: 0,
    otherLines: {},
    putInOrder,
  }
}

function judge(text: string, source: string): LogEntry | RefusedLine {
  const fields = text.split(',')
  const [, admission = '', at = '', mgPerDl = '', mmolPerL = ''] = fields
  if (fields.length !== 5 || admission === '') return { source, reason: 'wrong-number-of-fields', text }
  const [, year = '', month = '', day = '', hour = '', minute = ''] =
    /^(\d{4})-(\d{2})-(\d{2}) (\d{2}):(\d{2})$/.exec(at) ?? []
  if (!isDate(Number(year), Number(month), Number(day))) return { source, reason: 'no-such-date', text }
  if (Number(hour) > 23 || Number(minute) > 59) return { source, reason: 'no-such-time', text }
  if (!/^\d+\.\d$/.test(mmolPerL) || !/^\d+(\.\d+)?$/.test(mgPerDl))
    return { source, reason: 'value-is-no-number', text }
  if (Math.abs(Number(mmolPerL) * 18 - Number(mgPerDl)) > ROUNDING_MG_PER_DL)
    return { source, reason: 'units-disagree', text }
  return {
    stay: admission,
    source,
    date: `${year}-${month}-${day}`,
    time: `${hour}:${minute}`,
    typed: mmolPerL,
    occasion: 'unspecified',
    repairs: [],
    onPaper: false,
  }
}
