/** The instant and the policy that the words of a page are made for. */
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'

/** The instant that a page is drawn for, with the ward's policy. */
export type At = { readonly policy: WardPolicy; readonly nowMs: number }
