/**
 * A ward's standard order. A second administrator approves it. It is then copied into a patient's order, which still
 * needs verification.
 */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Head } from './entry.ts'
import type { InsulinOrder } from './order.ts'
import { checkOrder, type OrderRefusal } from './validate.ts'
import { writeOrder, type WriteFacts, type WriteRefusal } from './write.ts'

export type StandardOrder = {
  readonly standardOrderId: string
  readonly version: number
  readonly wardId: string
  readonly name: string
  readonly order: InsulinOrder
  readonly writtenById: string
  readonly writtenAtMs: number
  readonly approved: { readonly byId: string; readonly atMs: number } | null
  /** When it was withdrawn or replaced by a newer approved version. */
  readonly endedAtMs: number | null
}

export type StandardState = 'waits-for-approval' | 'approved' | 'replaced' | 'withdrawn'

/** The state of the version at the instant. `versions` are all versions of its standard order. */
export function standardState(
  standard: StandardOrder,
  versions: readonly StandardOrder[],
  nowMs: number,
): StandardState {
  if (standard.endedAtMs === null || standard.endedAtMs > nowMs)
    return standard.approved === null ? 'waits-for-approval' : 'approved'
  return versions.some((newer) => newer.version > standard.version && newer.approved?.atMs === standard.endedAtMs)
    ? 'replaced'
    : 'withdrawn'
}

/** The standard orders that may be copied now: approved, and neither withdrawn nor replaced. */
export function approvedStandards(standards: readonly StandardOrder[], nowMs: number): readonly StandardOrder[] {
  return standards.filter((standard) => standardState(standard, standards, nowMs) === 'approved')
}

export type ApproveRefusal =
  | 'standard-gone'
  | 'standard-not-newest'
  | 'standard-approved-already'
  | 'standard-withdrawn'
  | 'approver-wrote-it'
  | OrderRefusal
export type WithdrawRefusal = 'standard-gone' | 'standard-withdrawn'
export type CopyRefusal = 'standard-not-approved' | WriteRefusal | OrderRefusal

type StandardFacts = {
  readonly standard: StandardOrder
  /** all versions of its standard order */
  readonly versions: readonly StandardOrder[]
  readonly policy: WardPolicy
  readonly nowMs: number
}

/**
 * Approves the newest version if it passes today's policy. The approver must be another administrator than its writer.
 */
export function approveStandard(
  byId: string,
  { standard, versions, policy, nowMs }: StandardFacts,
): Outcome<readonly LedgerEvent[], ApproveRefusal> {
  const state = standardState(standard, versions, nowMs)
  if (state === 'withdrawn' || state === 'replaced') return refuse('standard-withdrawn')
  if (state === 'approved') return refuse('standard-approved-already')
  if (versions.some(({ version }) => version > standard.version)) return refuse('standard-not-newest')
  if (standard.writtenById === byId) return refuse('approver-wrote-it')
  const checked = checkOrder(standard.order, policy)
  if (!checked.ok) return checked
  return accept([
    {
      ...eventHead({ wardId: standard.wardId }, byId, nowMs),
      type: 'standard-order-approved',
      body: { standardOrderId: standard.standardOrderId, version: standard.version },
    },
  ])
}

/** Withdraws all its versions. Orders copied from it stay as they are: each belongs to a patient. */
export function withdrawStandard(
  { byId, reason }: { readonly byId: string; readonly reason: string },
  { versions, nowMs }: Pick<StandardFacts, 'versions' | 'nowMs'>,
): Outcome<readonly LedgerEvent[], WithdrawRefusal> {
  const running = versions.find(({ endedAtMs }) => endedAtMs === null || endedAtMs > nowMs)
  if (running === undefined) return refuse('standard-withdrawn')
  return accept([
    {
      ...eventHead({ wardId: running.wardId }, byId, nowMs),
      type: 'standard-order-withdrawn',
      body: { standardOrderId: running.standardOrderId, reason },
    },
  ])
}

/**
 * Copies an approved standard order into a new, unverified order of one patient, with the patient's prescriber, start
 * and stop. It is checked against today's policy of the patient's ward. Refuses if another order answers the same
 * readings. `orders` are all versions of the stay's orders.
 */
export function copyStandard(
  entry: { readonly byId: string; readonly orderId: string; readonly own: Head },
  facts: StandardFacts & WriteFacts,
): Outcome<readonly LedgerEvent[], CopyRefusal> {
  const { standard, versions, policy, nowMs } = facts
  if (standardState(standard, versions, nowMs) !== 'approved') return refuse('standard-not-approved')
  const checked = checkOrder({ ...standard.order, ...entry.own }, policy)
  return checked.ok ? writeOrder({ orderId: entry.orderId, order: checked.value, byId: entry.byId }, facts) : checked
}
