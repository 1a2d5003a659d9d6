/** The last step of every decision: what it voids. Then all of it is stored. */
import { withVoids } from '../../shared/dose/voids.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { Store } from './contract.ts'

/**
 * Stores the events of a decision in the running transaction, and after each one a `dose-voided` for every dose that it
 * voids. What an event voids is decided on the doses as they stand just before it, so that an earlier event of the same
 * decision counts.
 */
export function storeEvents(
  store: Pick<Store, 'append' | 'openDosesForVoiding'>,
  events: readonly LedgerEvent[],
): void {
  for (const event of events) store.append(withVoids(event, store.openDosesForVoiding(event)))
}
