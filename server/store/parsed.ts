/**
 * Facts that never change once they are committed, parsed once for each connection: a policy version, an order as it
 * was written. A transaction that was rolled back may have put in what never came to be, so it empties the whole.
 */
import type { InsulinOrder } from '../../shared/order/order.ts'
import type { PolicyVersion } from './contract-ward.ts'

/** More than this are never kept; a ward has a few of each in force. */
const MOST = 5000

export class Parsed {
  readonly #policies = new Map<string, PolicyVersion>()
  readonly #orders = new Map<string, InsulinOrder>()

  /** The version kept, or `make`'s; undefined is not kept. */
  policy(wardId: string, version: number, make: () => PolicyVersion | undefined): PolicyVersion | undefined {
    return kept(this.#policies, `${wardId} ${String(version)}`, make)
  }

  order(orderId: string, version: number, make: () => InsulinOrder | undefined): InsulinOrder | undefined {
    return kept(this.#orders, `${orderId} ${String(version)}`, make)
  }

  forget(): void {
    this.#policies.clear()
    this.#orders.clear()
  }
}

function kept<T>(map: Map<string, T>, key: string, make: () => T | undefined): T | undefined {
  const known = map.get(key)
  if (known !== undefined) return known
  const made = make()
  if (made === undefined) return undefined
  if (map.size >= MOST) map.clear()
  map.set(key, made)
  return made
}
