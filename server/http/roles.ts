/** Who may use a route, as lists that the areas share: a list copied by hand is one that somebody forgets to change. */
import type { Role } from '../../shared/ledger/events.ts'

/** Those who walk the round, chart and give insulin. */
export const NURSES: readonly Role[] = ['floor-nurse', 'charge-nurse']
/** Those who may read a patient's pages of their own wards. */
export const READERS: readonly Role[] = [...NURSES, 'educator']
export const EVERYBODY: readonly Role[] = [...READERS, 'administrator']
/** Those who set up wards, policy and people; never shown a patient. */
export const ADMINISTRATORS: readonly Role[] = ['administrator']
/** Those who put meters on a ward, move them and take them out of use. */
export const METER_KEEPERS: readonly Role[] = ['charge-nurse', 'administrator']
/** Those who follow up a faulty meter or lot among the patients of their own wards. */
export const RECALLERS: readonly Role[] = ['charge-nurse', 'educator']
/** Those who enter strip lots with the ranges of their labels. */
export const LOT_KEEPERS: readonly Role[] = [...NURSES, 'administrator']
/** Those who give out the beds of a ward for a shift. */
export const BED_GIVERS: readonly Role[] = ['charge-nurse']
/** Those who look at what happened on their wards, and at its figures. */
export const AUDITORS: readonly Role[] = ['charge-nurse', 'educator']
/** Those who follow up lows, work out the harm measures and take figures out of the service. */
export const EDUCATORS: readonly Role[] = ['educator']
