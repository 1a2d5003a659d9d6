/**
 * Limits on guessing a PIN: per badge and per address, counted on the monotonic clock and kept in memory. An attempt
 * is counted before it is tried, so that many tries at once are counted too, and taken back when it succeeds. A badge
 * that nobody has is limited just like a real one, so that the limit tells nothing.
 */

/** Common practice: five failures, then a wait. Short enough that a nurse is never kept from a low for long. */
export const BADGE_LIMIT = { most: 5, withinMs: 5 * 60_000 } as const
/** A ward's tablets may share one address behind a router, so this one is wider. */
export const ADDRESS_LIMIT = { most: 40, withinMs: 5 * 60_000 } as const

/** More keys than this are never kept: the oldest go first. */
const MOST_KEYS = 20_000

export type Attempt =
  | { readonly ok: true; readonly succeeded: () => void }
  /** Whole minutes, rounded up, until another attempt is heard. */
  | { readonly ok: false; readonly waitMinutes: number }

export class Attempts {
  readonly #failures = new Map<string, number[]>()

  /** Counts one attempt, or says how long to wait. */
  begin(badge: string, address: string, monoMs: number): Attempt {
    const badgeKey = `badge ${badge}`
    const addressKey = `address ${address}`
    const waitMs = Math.max(this.#waitMs(badgeKey, BADGE_LIMIT, monoMs), this.#waitMs(addressKey, ADDRESS_LIMIT, monoMs))
    if (waitMs > 0) return { ok: false, waitMinutes: Math.ceil(waitMs / 60_000) }
    this.#count(badgeKey, monoMs)
    this.#count(addressKey, monoMs)
    return {
      ok: true,
      succeeded: () => {
        this.#failures.delete(badgeKey)
        const list = this.#failures.get(addressKey) ?? []
        const at = list.indexOf(monoMs)
        if (at >= 0) list.splice(at, 1)
      },
    }
  }

  #waitMs(key: string, limit: { readonly most: number; readonly withinMs: number }, monoMs: number): number {
    const recent = (this.#failures.get(key) ?? []).filter((at) => monoMs - at < limit.withinMs)
    if (recent.length === 0) this.#failures.delete(key)
    else this.#failures.set(key, recent)
    const oldestThatCounts = recent[recent.length - limit.most]
    return oldestThatCounts === undefined ? 0 : oldestThatCounts + limit.withinMs - monoMs
  }

  #count(key: string, monoMs: number): void {
    const list = this.#failures.get(key)
    if (list !== undefined) {
      list.push(monoMs)
      return
    }
    if (this.#failures.size >= MOST_KEYS) {
      const oldest = this.#failures.keys().next()
      if (!oldest.done) this.#failures.delete(oldest.value)
    }
    this.#failures.set(key, [monoMs])
  }
}
