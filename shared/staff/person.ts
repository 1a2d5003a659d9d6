/** A person who works here, and whether they may sign in. */
import type { Role } from '../ledger/events.ts'

export type Person = {
  readonly staffId: string
  readonly badge: string
  readonly name: string
  readonly role: Role
  readonly wardIds: readonly string[]
  /** Why the person may not sign in for now. Null: not locked. */
  readonly locked: { readonly reason: string; readonly atMs: number } | null
  readonly leftAtMs: number | null
  /** Last calendar date of the person's training on the meters (included). Null: unknown or not trained. */
  readonly trainingUntil: string | null
}

export const ROLES: readonly Role[] = ['floor-nurse', 'charge-nurse', 'educator', 'administrator']

/** True for a person who may not sign in or sign anything: locked, or no longer working here. */
export function isShutOut(person: Pick<Person, 'locked' | 'leftAtMs'>): boolean {
  return person.locked !== null || person.leftAtMs !== null
}
