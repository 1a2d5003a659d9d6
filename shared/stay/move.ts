/** Moves a patient to another bed, on the same ward or another one, and discharges a patient. */
import type { Dose } from '../dose/dose.ts'
import type { GlucoseUnit } from '../glucose/value.ts'
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { Stay } from './stay.ts'

/** A ward's beds and which of them are taken. It does not reveal by whom. */
export type WardBeds = {
  readonly wardId: string
  readonly name: string
  readonly beds: readonly string[]
  readonly taken: readonly string[]
  readonly unit: GlucoseUnit
}

type About = { readonly stay: Stay; readonly doses: readonly Dose[]; readonly nowMs: number }

export type MoveRefusal =
  'move-stay-discharged' | 'move-same-bed' | 'move-no-such-bed' | 'move-bed-taken' | 'move-dose-uncharted'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'move-same-bed': { bed: string }
    'move-bed-taken': { bed: string; ward: string }
  }
}

/**
 * Moves the patient now. Checks, orders and open events move with the patient. A dose in preparation does not. A signed
 * dose may have been given, so it must be charted first. Refuses a bed that does not exist or is taken.
 */
export function moveStay(
  entry: { readonly toWardId: string; readonly bed: string; readonly byId: string },
  facts: About & { readonly wards: readonly WardBeds[] },
): Outcome<LedgerEvent[], MoveRefusal> {
  const { stay, nowMs } = facts
  const { toWardId, bed, byId } = entry
  if (stay.dischargedAtMs !== null) return refuse('move-stay-discharged')
  if (toWardId === stay.wardId && bed === stay.bed) return refuse('move-same-bed', { bed })
  const ward = facts.wards.find((one) => one.wardId === toWardId)
  if (ward === undefined || !ward.beds.includes(bed)) return refuse('move-no-such-bed')
  if (ward.taken.includes(bed)) return refuse('move-bed-taken', { bed, ward: ward.name })
  if (unchartedDose(facts) !== null) return refuse('move-dose-uncharted')
  return accept([
    { ...eventHead(stay, byId, nowMs), type: 'stay-moved', body: { fromWardId: stay.wardId, toWardId, bed } },
  ])
}

export type DischargeRefusal =
  | 'discharge-already'
  | 'discharge-in-future'
  | 'discharge-before-charted'
  | 'discharge-dose-uncharted'
  | 'discharge-not-confirmed'

/** Items that stay open after a discharge and that somebody must settle. */
export type LeftOpen = { readonly kind: 'low' | 'critical' | 'flag' }

/**
 * Discharges the patient at the given time. A signed dose without a charted outcome must be charted first. Open lows,
 * unreported critical results and flags stay open as items of the ward; the nurse confirms having seen them. Refuses a
 * time in the future, and one before the last charted event (`lastChartedMs`).
 */
export function dischargeStay(
  entry: { readonly atMs: number; readonly confirmed: boolean; readonly byId: string },
  facts: About & { readonly lastChartedMs: number; readonly leftOpen: readonly LeftOpen[] },
): Outcome<LedgerEvent[], DischargeRefusal> {
  const { stay, nowMs } = facts
  if (stay.dischargedAtMs !== null) return refuse('discharge-already')
  if (entry.atMs > nowMs) return refuse('discharge-in-future')
  if (entry.atMs < facts.lastChartedMs) return refuse('discharge-before-charted')
  if (unchartedDose(facts) !== null) return refuse('discharge-dose-uncharted')
  if (facts.leftOpen.length > 0 && !entry.confirmed) return refuse('discharge-not-confirmed')
  return accept([{ ...eventHead(stay, entry.byId, nowMs, entry.atMs), type: 'stay-discharged', body: {} }])
}

/** A dose that two nurses signed and whose outcome nobody has charted, even if it is void now. Null: none. */
export function unchartedDose({ doses }: Pick<About, 'doses'>): Dose | null {
  return doses.find(({ product, outcome, units }) => product !== null && outcome === null && units > 0) ?? null
}
