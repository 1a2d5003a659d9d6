/** When a stay was actually nil by mouth, from the versions of its facts. */
import type { FactsVersion } from '../stay/stay.ts'
import type { Interval } from '../time/interval.ts'

/**
 * The periods by time; `toMs` is Infinity while one continues. A version counts until the next one. A period withdrawn
 * before it began is left out. A period that a later version continues is one period. When charted afterwards, a period
 * counts from its stated beginning.
 */
export function nilSpans(versions: readonly FactsVersion[]): readonly Interval[] {
  const sorted = [...versions].sort((a, b) => a.number - b.number)
  const spans = sorted.flatMap(({ facts: { nilByMouth } }, index): Interval[] => {
    if (nilByMouth === null) return []
    const nextMs = sorted[index + 1]?.atMs ?? Number.POSITIVE_INFINITY
    const toMs = Math.min(nilByMouth.untilMs ?? Number.POSITIVE_INFINITY, nextMs)
    return toMs > nilByMouth.fromMs ? [{ fromMs: nilByMouth.fromMs, toMs }] : []
  })
  const joined: { fromMs: number; toMs: number }[] = []
  for (const span of [...spans].sort((a, b) => a.fromMs - b.fromMs || a.toMs - b.toMs)) {
    const last = joined.at(-1)
    if (last !== undefined && span.fromMs <= last.toMs) last.toMs = Math.max(last.toMs, span.toMs)
    else joined.push({ ...span })
  }
  return joined
}
