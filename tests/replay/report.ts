/** The table of a replay. */
import type { ReplayResult } from './drive.ts'
import { tally } from './log.ts'
import { ratesDiffer, shownByService, type RateLine } from './rates.ts'
import { stayNames, type ReplaySet } from './ward.ts'

/**
 * Lines of "what | how many", with refusals and repairs by reason. Then the service's rates, beside `raw`, the
 * charted lines as the raw file has them.
 */
export function tableOf(
  set: ReplaySet,
  raw: readonly RateLine[],
  { counts, refusedByService, dosesStopped, sums, faults }: ReplayResult,
): string {
  const { log } = set
  const byReader: Record<string, number> = {}
  for (const { reason } of log.refused) tally(byReader, reason)
  const repaired: Record<string, number> = {}
  for (const { repairs } of log.entries) for (const repair of repairs) tally(repaired, repair)
  if (log.putInOrder > 0) tally(repaired, 'line put in time order', log.putInOrder)
  const paper = log.entries.filter(({ onPaper }) => onPaper).length
  if (paper > 0) tally(repaired, 'slot time of a paper record: entered as a reading from paper', paper)
  const rows: readonly (readonly [string, number])[] = [
    ['lines read', log.linesRead],
    ['stays', stayNames(set).length],
    ['lines about something else', sum(log.otherLines)],
    ...inside(log.otherLines),
    ['first halves of split records', log.joinedHalves],
    ['lines refused by the reader', log.refused.length],
    ...inside(byReader),
    ['values sent to the service', log.entries.length],
    ['repairs', sum(repaired)],
    ...inside(repaired),
    ['values refused by the service', sum(refusedByService)],
    ...inside(refusedByService),
    ['readings accepted', counts.accepted],
    ...inside({
      'at a planned check': counts.planned,
      'as an extra check': counts.extra,
      'from paper': counts.fromPaper,
    }),
    ['lows (readings)', counts.lows],
    ['low events', counts.lowEvents],
    ['criticals', counts.criticals],
    ['criticals told', counts.criticalsTold],
    ['readings whose dose or its absence was compared with the table', counts.compared],
    ['doses', counts.dosesGiven + counts.dosesZero],
    ...inside({ 'given after a second check': counts.dosesGiven, '0 units, charted': counts.dosesZero }),
    ['units given', counts.unitsGiven],
    ['readings without a dose', sum(dosesStopped)],
    ...inside(dosesStopped),
    ['requests', counts.requests],
    ['faults', faults.length],
  ]
  const width = Math.max(...rows.map(([name]) => name.length))
  const rates = [...shownByService(sums, set.unit)].map(([name, value]) => `  ${name.padEnd(width - 2)}  ${value}`)
  const compared = `rates, compared with a straight computation over the raw file’s lines: ${String(ratesDiffer(sums, raw, set.unit).length)} of ${String(rates.length)} differ`
  return [
    set.name,
    ...rows.map(([name, count]) => `${name.padEnd(width)}  ${String(count).padStart(6)}`),
    compared,
    ...rates,
  ].join('\n')
}

function sum(counts: Readonly<Record<string, number>>): number {
  return Object.values(counts).reduce((total, count) => total + count, 0)
}

function inside(counts: Readonly<Record<string, number>>): readonly (readonly [string, number])[] {
  return Object.entries(counts)
    .filter(([, count]) => count > 0)
    .sort(([, a], [, b]) => b - a)
    .map(([name, count]) => [`  ${name}`, count] as const)
}
