/** Counts from the sets' own READMEs, made with other tools. The reader must find the same in a whole set. */
import { tally } from './log.ts'
import { stayNames, type ReplaySet } from './ward.ts'

const WHOLE_UCI_LINES = 29_330
const WHOLE_SHANGHAI_LINES = 4_012
/** Files whose readings stand on the four slots of a paper record (item 10). */
const PAPER = '02 06 07 10 21 26 31 41 42 53 55 56 68 70'

/** Differences in sentences; none for a part of a set, which no README describes. */
export function differsFromReadme(set: ReplaySet): readonly string[] {
  const { log } = set
  if (set.unit === 'mmol/L')
    return log.linesRead === WHOLE_SHANGHAI_LINES
      ? compare({ admissions: [stayNames(set).length, 108], readings: [log.entries.length, 4_012] })
      : []
  if (log.linesRead !== WHOLE_UCI_LINES) return []
  const refused: Record<string, number> = {}
  for (const { reason } of log.refused) tally(refused, reason)
  const repairs: Record<string, number> = {}
  for (const entry of log.entries) for (const repair of entry.repairs) tally(repairs, repair)
  const implausible = Object.entries(log.otherLines)
    .filter(([kind]) => kind.endsWith('(implausible)'))
    .reduce((sum, [, count]) => sum + count, 0)
  const paper = [...new Set(log.entries.filter(({ onPaper }) => onPaper).map(({ stay }) => stay))].sort().join(' ')
  return compare({
    'patients after joining ten pairs of files': [stayNames(set).length, 60],
    'Hi and Lo': [repairs['out-of-range-word'] ?? 0, 7],
    'readings of 501': [repairs['ceiling-code-501-as-HI'] ?? 0, 4],
    "the value 0''": [refused['value-is-no-number'] ?? 0, 1],
    'lines of 31 June': [refused['no-such-date'] ?? 0, 7],
    'lines with an impossible time': [refused['no-such-time'] ?? 0, 7],
    'lines with an undocumented code': [refused['undocumented-code'] ?? 0, 119 + 1 + 1],
    'split records': [log.joinedHalves, 33],
    'doses above 60 units': [implausible, 11],
    'files of paper records': [paper, PAPER],
  })
}

function compare(
  figures: Readonly<Record<string, readonly [found: number | string, readme: number | string]>>,
): readonly string[] {
  return Object.entries(figures).flatMap(([what, [found, readme]]) =>
    found === readme ? [] : [`${what}: ${String(found)}, the README says ${String(readme)}`],
  )
}

/** Every line is counted in exactly one place. */
export function unaccounted({ log }: ReplaySet): number {
  return (
    log.linesRead -
    log.entries.length -
    log.refused.length -
    log.joinedHalves -
    Object.values(log.otherLines).reduce((a, b) => a + b, 0)
  )
}
