/** Which roles may give insulin and which may check it; and so are the ones from whom a reading is masked. */
import type { Role } from '../ledger/events.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'

export function mayGiveInsulin(role: Role): boolean {
  return role === 'floor-nurse' || role === 'charge-nurse'
}

/** A role that may give insulin and that the ward's policy lets give a second check. */
export function mayCheckInsulin(role: Role, { secondCheck }: WardPolicy): boolean {
  return mayGiveInsulin(role) && secondCheck.roles.some((allowed) => allowed === role)
}
