/** What is already in the store when a file is loaded. */
import type { Role } from '../../shared/ledger/events.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Scope, Store } from '../store/contract.ts'

export type ExistingWard = {
  readonly wardId: string
  readonly name: string
  readonly beds: readonly string[]
  readonly policy: WardPolicy
  /** Beds with a patient in them. */
  readonly occupied: readonly string[]
  readonly meterSerials: readonly string[]
  readonly stripLots: readonly string[]
}

export type ExistingStaff = { readonly staffId: string; readonly role: Role; readonly wardIds: readonly string[] }

export type ExistingRecords = {
  readonly wards: readonly ExistingWard[]
  readonly staff: (badge: string) => ExistingStaff | undefined
  /** True when a patient now on a ward wears it. */
  readonly wristband: (wristband: string) => boolean
}

/** Reads it, inside the transaction that will write. */
export function existingRecords(store: Store, nowMs: number): ExistingRecords {
  const scope: Scope = { staffId: 'loader', role: 'administrator', wardIds: store.wardIds() }
  const wards = store.wards(scope).map((ward): ExistingWard => {
    const facts = store.wardFacts(scope, ward.wardId, nowMs)
    if (facts === undefined) throw new Error('a ward without its facts')
    return {
      wardId: ward.wardId,
      name: ward.name,
      beds: ward.beds,
      policy: facts.policy.policy,
      occupied: store.staysOfWard(scope, ward.wardId).map((stay) => stay.bed),
      meterSerials: facts.meters.map((meter) => meter.serial),
      stripLots: facts.stripLots.map((lot) => lot.lot),
    }
  })
  return {
    wards,
    staff: (badge) => store.staffByBadge(badge),
    wristband: (wristband) => store.stayByWristband(wristband) !== undefined,
  }
}
