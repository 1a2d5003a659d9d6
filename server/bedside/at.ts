/** The instant and the policy for the texts of a page. */
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'

/** The instant of a page, with the ward's policy. */
export type At = { readonly policy: WardPolicy; readonly nowMs: number }
