/** Proves a person by badge and PIN, at sign-in and at the bedside under the same limits. */
import { type Outcome, refuse, accept } from '../../shared/outcome.ts'
import { isShutOut } from '../../shared/staff/person.ts'
import type { IdentifyRefusal } from '../../views/words/http.ts'
import type { Store, Staff } from '../store/contract.ts'
import type { AppContext } from './app-context.ts'
import { isSecretOf } from './pins.ts'

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
