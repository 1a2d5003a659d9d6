/** Who may read what of a ward. */
import type { Scope, Staff } from './contract.ts'

/** What this person asks the store with. */
export function scopeOf({ staffId, role, wardIds }: Staff): Scope {
  return { staffId, role, wardIds }
}

/** True when the scope may see patients of this ward. */
export function maySee(scope: Scope, wardId: string): boolean {
  return scope.wardIds.includes(wardId)
}

/** True when the scope may see how this ward is set up: an administrator any ward, and never its patients by this. */
export function maySetUp(scope: Scope, wardId: string): boolean {
  return scope.role === 'administrator' || maySee(scope, wardId)
}
