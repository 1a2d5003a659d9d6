/** A dose that was worked out by a policy that no longer counts. */
import type { Dose } from './dose.ts'

/** Versions of the dose's ward policy with the instant from which each counts. */
export type VersionFrom = { readonly version: number; readonly fromMs: number }

/**
 * The dose as it stands when the ward's policy is `inForce`: one that nobody has settled, worked out under an older
 * version, is void from the instant at which the first later version counted. Time alone does this when a version was
 * set ahead; one set for now voids in the ledger. `versions` are the ward's, in any order.
 */
export function voidIfPolicyChanged(dose: Dose, inForce: VersionFrom, versions: () => readonly VersionFrom[]): Dose {
  const { policyVersion } = dose.working
  if (dose.outcome !== null || dose.voided !== null || policyVersion >= inForce.version) return dose
  const later = versions()
    .filter(({ version }) => version > policyVersion && version <= inForce.version)
    .map(({ fromMs }) => fromMs)
  return { ...dose, voided: { reason: 'policy-changed', atMs: Math.min(inForce.fromMs, ...later) } }
}
