/** Half-open stretches of time: the start is in, the end is out. Windows, orders and audit periods are all of this kind. */

export type Interval = { readonly fromMs: number; readonly toMs: number }

/** True when the instant lies in the interval: `fromMs` itself is in, `toMs` itself is out. */
export function contains(interval: Interval, ms: number): boolean {
  return ms >= interval.fromMs && ms < interval.toMs
}

/** True when the instant lies between the two; an open end (null) reaches for ever. */
export function containsOpen(span: { readonly fromMs: number; readonly untilMs: number | null }, ms: number): boolean {
  return ms >= span.fromMs && (span.untilMs === null || ms < span.untilMs)
}
