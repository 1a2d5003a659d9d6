/** Assigns a need to a nurse of the ward. */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { Need } from './needs.ts'

export type AssignNeedRefusal = 'need-gone' | 'hand-to-nobody' | 'hand-not-of-ward' | 'hand-same'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'hand-same': { name: string }
  }
}

/**
 * Charts who has the need from now on. Refuses a closed need, an empty choice, a person of another ward, and the nurse
 * who already has it.
 */
export function assignNeed(
  entry: { readonly needKey: string; readonly toStaffId: string; readonly byId: string },
  facts: { readonly wardId: string; readonly needs: readonly Need[]; readonly nurses: ReadonlyMap<string, string> },
  nowMs: number,
): Outcome<readonly LedgerEvent[], AssignNeedRefusal> {
  const need = facts.needs.find(({ key }) => key === entry.needKey)
  if (need === undefined) return refuse('need-gone')
  if (entry.toStaffId === '') return refuse('hand-to-nobody')
  const name = facts.nurses.get(entry.toStaffId)
  if (name === undefined) return refuse('hand-not-of-ward')
  if (need.owner.kind === 'handed' && need.owner.staffId === entry.toStaffId) return refuse('hand-same', { name })
  return accept([
    {
      ...eventHead({ wardId: facts.wardId, stayId: need.stayId }, entry.byId, nowMs),
      type: 'need-handed',
      body: { needKey: need.key, toStaffId: entry.toStaffId },
    },
  ])
}
