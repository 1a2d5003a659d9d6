/** PINs, hashed with Argon2id. */
import { availableParallelism } from 'node:os'
import { hash, verify } from '@node-rs/argon2'
import { Semaphore } from './semaphore.ts'

export type PinCost = { readonly memoryKiB: number; readonly passes: number; readonly lanes: number }

/** 19 MiB, two passes, one lane: the least that the OWASP password storage cheat sheet asks of Argon2id. */
export const WARD_PIN_COST: PinCost = { memoryKiB: 19_456, passes: 2, lanes: 1 }

/** One core stays free for the service itself, and threads for packing pages and reading files, whoever signs in. */
const pinSemaphore = new Semaphore(Math.min(3, Math.max(1, availableParallelism() - 1)))

/** The PIN's hash as kept: a PHC string of Argon2id with its own salt and cost. */
export function hashPin(pin: string, cost: PinCost = WARD_PIN_COST): Promise<string> {
  return pinSemaphore.run(() =>
    hash(pin, { memoryCost: cost.memoryKiB, timeCost: cost.passes, parallelism: cost.lanes }),
  )
}

/** True when the PIN or code is the one that was hashed. */
export function isSecretOf(kept: string, secret: string): Promise<boolean> {
  return pinSemaphore.run(() => verify(kept, secret))
}

/** What stands in for a PIN nobody has: an unknown badge then takes the same work as a wrong PIN. */
export class DecoyPinHash {
  readonly #hash: Promise<string>
  /** How often it had to stand in. */
  used = 0
  /** Hashes at once, so that the first unknown badge after a start takes no longer than the next. */
  constructor(cost: PinCost) {
    this.#hash = hashPin('nobody has this pin', cost)
  }
  hash(): Promise<string> {
    this.used++
    return this.#hash
  }
}
