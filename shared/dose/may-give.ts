/** Which roles may give insulin: the same ones may check a dose, and so are the ones from whom a reading is masked. */
import type { Role } from '../ledger/events.ts'

export function mayGiveInsulin(role: Role): boolean {
  return role === 'floor-nurse' || role === 'charge-nurse'
}
