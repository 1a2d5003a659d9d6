/** When a stay was really nil by mouth, out of the versions of its facts. */
import type { FactsVersion } from '../stay/stay.ts'
import type { Interval } from '../time/interval.ts'

/**
 * The stretches, by time; `toMs` is Infinity while it goes on. A version counts until the next one: a span that was
 * taken back before it began was none, and one that a later version carries on is one. Charted afterwards, it counts
 * from when it is said to have begun.
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
