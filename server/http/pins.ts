/** PINs: hashed with Argon2id, proved at sign-in and by a second person at the bedside under the same limits. */
import { availableParallelism } from 'node:os'
import { hash, verify } from '@node-rs/argon2'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import type { IDENTIFY_SENTENCES } from '../../views/words/http.ts'
import { isShutOut } from '../../shared/staff/person.ts'
import type { Staff, Store } from '../store/contract.ts'
import type { AppContext } from './app-context.ts'
import { Semaphore } from './semaphore.ts'

export type IdentifyRefusal = keyof typeof IDENTIFY_SENTENCES

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

/** What `identify` needs of a visit, signed in or not. */
export type IdentifyContext = {
  readonly appContext: AppContext
  readonly store: Store
  readonly services: { readonly mono: () => number }
  readonly request: { readonly ip: string }
}

/**
 * Proves a person by badge and PIN. The answer and the work are the same for an unknown badge and a wrong PIN, a
 * locked person's included: that the badge is locked, or its owner gone, is told only to who has its PIN.
 * Refusals: identify-wrong; identify-locked; identify-too-many with the whole minutes to wait. Whether that person may
 * do what is asked (role, ward, not the same nurse) is for the decision to say.
 */
export async function identify(
  asker: IdentifyContext,
  badge: string,
  pin: string,
): Promise<Outcome<Staff, IdentifyRefusal>> {
  const person = await prove(asker, badge, pin)
  if (!person.ok) asker.appContext.metrics?.notIdentified(person.reason)
  return person
}

async function prove(asker: IdentifyContext, badge: string, pin: string): Promise<Outcome<Staff, IdentifyRefusal>> {
  const { appContext, store } = asker
  const attempt = appContext.attempts.begin(badge, asker.request.ip, asker.services.mono())
  if (!attempt.ok) return refuse('identify-too-many', { minutes: attempt.waitMinutes })
  const staff = store.staffByBadge(badge)
  const kept = staff === undefined ? undefined : store.pinHash(staff.staffId)
  const against = kept ?? (await appContext.decoyPinHash.hash())
  const right = await isSecretOf(against, pin)
  if (staff === undefined || kept === undefined || !right) return refuse('identify-wrong')
  attempt.succeeded()
  // the person as she is now: she may have been locked while the hash was worked out
  const person = store.staffById(staff.staffId)
  return person === undefined || isShutOut(person) ? refuse('identify-locked') : accept(person)
}
