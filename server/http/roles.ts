/** Who may use a route, as lists that the areas share: a list copied by hand is one that somebody forgets to change. */
import type { Role } from '../../shared/ledger/events.ts'

/** Those who walk the round, chart and give insulin. */
export const NURSES: readonly Role[] = ['floor-nurse', 'charge-nurse']
/** Those who may read a patient's pages of their own wards. */
export const READERS: readonly Role[] = [...NURSES, 'educator']
export const EVERYBODY: readonly Role[] = [...READERS, 'administrator']
