/** A change of ward policy that waits for a second administrator. */
import type { WardPolicy } from './ward-policy.ts'

export type PolicyChange = {
  readonly changeId: string
  readonly wardId: string
  /** The version it was written over: approved only while that one is still the newest. */
  readonly basedOn: number
  readonly policy: WardPolicy
  readonly fromMs: number
  readonly note: string
  readonly writtenById: string
  readonly writtenAtMs: number
  readonly outcome: {
    readonly kind: 'approved' | 'refused'
    readonly byId: string
    readonly atMs: number
    readonly reason: string | null
  } | null
}
