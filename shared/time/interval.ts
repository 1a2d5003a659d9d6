/**
 * Half-open intervals of time: the start is included, the end is excluded. Windows, orders and audit periods use them.
 */

export type Interval = { readonly fromMs: number; readonly toMs: number }

/** True when the instant lies in the interval: `fromMs` is included, `toMs` is excluded. */
export function contains(interval: Interval, ms: number): boolean {
  return ms >= interval.fromMs && ms < interval.toMs
}

/** True when the instant lies between the two. A null end means no end. */
export function containsOpen(span: { readonly fromMs: number; readonly untilMs: number | null }, ms: number): boolean {
  return ms >= span.fromMs && (span.untilMs === null || ms < span.untilMs)
}
