/**
 * Limits on guessing a PIN: per badge, per address and per IPv6 network, counted on the monotonic clock and kept in
 * memory. An attempt is counted before it is tried, so that many tries at once are counted too, and taken back when it
 * succeeds. A badge that nobody has is limited just like a real one, so that the limit tells nothing.
 */
import { isIPv6 } from 'node:net'

type Limit = { readonly most: number; readonly withinMs: number }

/** Common practice: five failures, then a wait. Short enough that a nurse is never kept from a low for long. */
export const BADGE_LIMIT: Limit = { most: 5, withinMs: 5 * 60_000 }
/** A ward's tablets may share one address behind a router, so this one is wider. */
export const ADDRESS_LIMIT: Limit = { most: 40, withinMs: 5 * 60_000 }
/** One machine may take any address of its IPv6 network, and many machines share one: wider again. */
export const NETWORK_LIMIT: Limit = { most: 200, withinMs: 5 * 60_000 }

/** More keys than this are never kept: the oldest go first. */
const MOST_KEYS = 20_000

export type Attempt =
  | { readonly ok: true; readonly succeeded: () => void }
  /** Whole minutes, rounded up, until another attempt is heard. */
  | { readonly ok: false; readonly waitMinutes: number }

export class Attempts {
  readonly #failures = new Map<string, number[]>()
  /** Told when a limit is reached, once until attempts are heard again, with the address and never the badge: somebody may have typed a PIN in its place. */
  readonly #reached: (address: string) => void
  readonly #told = new Set<string>()

  constructor(reached: (address: string) => void) {
    this.#reached = reached
  }

  /** Counts one attempt, or says how long to wait. */
  begin(badge: string, address: string, monoMs: number): Attempt {
    const network = networkOf(address)
    const shared: readonly (readonly [key: string, limit: Limit])[] = [
      [`address ${address}`, ADDRESS_LIMIT],
      ...(network === null ? [] : [[`network ${network}`, NETWORK_LIMIT] as const]),
    ]
    const counted = [[`badge ${badge}`, BADGE_LIMIT] as const, ...shared]
    let waitMs = 0
    for (const [key, limit] of counted) {
      const wait = this.#waitMs(key, limit, monoMs)
      if (wait > 0) this.#tell(key, address)
      else this.#told.delete(key)
      waitMs = Math.max(waitMs, wait)
    }
    if (waitMs > 0) return { ok: false, waitMinutes: Math.ceil(waitMs / 60_000) }
    for (const [key] of counted) this.#count(key, monoMs)
    return {
      ok: true,
      succeeded: () => {
        this.#failures.delete(`badge ${badge}`)
        for (const [key] of shared) {
          const list = this.#failures.get(key) ?? []
          const at = list.indexOf(monoMs)
          if (at >= 0) list.splice(at, 1)
        }
      },
    }
  }

  #tell(key: string, address: string): void {
    if (this.#told.has(key)) return
    if (this.#told.size >= MOST_KEYS) this.#told.clear()
    this.#told.add(key)
    this.#reached(address)
  }

  #waitMs(key: string, limit: Limit, monoMs: number): number {
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

/** The 64 bits of an IPv6 address that name its network, as text; null for an IPv4 address, also when it is written as IPv6. */
export function networkOf(address: string): string | null {
  const [plain = ''] = address.split('%')
  if (!isIPv6(plain) || plain.includes('.')) return null
  const [left = '', right] = plain.split('::')
  const before = left === '' ? [] : left.split(':')
  const after = right === undefined || right === '' ? [] : right.split(':')
  const groups = [...before, ...Array.from({ length: 8 - before.length - after.length }, () => '0'), ...after]
  return groups
    .slice(0, 4)
    .map((group) => Number.parseInt(group, 16).toString(16))
    .join(':')
}
