/** Moves a patient to another bed, on the same ward or another one, and discharges a patient. */
import type { EntryFacts } from '../care/entries.ts'
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
  | 'discharge-not-handed'
  | 'discharge-handed-to-nobody'

/** Items and tasks that are open when the patient leaves and that somebody must see to. */
export type LeftOpen = { readonly kind: 'low' | 'critical' | 'flag' | 'task' }

/**
 * Discharges the patient at the given time. A signed dose without a charted outcome must be charted first. What is open
 * is handed over to a named person. Leaving is never delayed for that: "not yet" makes it an item of the ward, for the
 * charge nurse. A death ends it. Refuses a time in the future, and one before the last charted event (`lastChartedMs`).
 * `entryId` is a new id.
 */
export function dischargeStay(
  entry: {
    readonly entryId: string
    readonly atMs: number
    readonly handover: EntryFacts['left-open']['how'] | null
    readonly to: string
    readonly byId: string
  },
  facts: About & { readonly lastChartedMs: number; readonly leftOpen: readonly LeftOpen[] },
): Outcome<LedgerEvent[], DischargeRefusal> {
  const { stay, nowMs } = facts
  if (stay.dischargedAtMs !== null) return refuse('discharge-already')
  if (entry.atMs > nowMs) return refuse('discharge-in-future')
  if (entry.atMs < facts.lastChartedMs) return refuse('discharge-before-charted')
  if (unchartedDose(facts) !== null) return refuse('discharge-dose-uncharted')
  const head = eventHead(stay, entry.byId, nowMs, entry.atMs)
  const discharged: LedgerEvent = { ...head, type: 'stay-discharged', body: {} }
  if (facts.leftOpen.length === 0) return accept([discharged])
  const { handover: how, entryId } = entry
  const to = how === 'named' ? entry.to.trim() : ''
  if (how === null) return refuse('discharge-not-handed')
  if (how === 'named' && to === '') return refuse('discharge-handed-to-nobody')
  return accept([
    discharged,
    { ...head, type: 'entry-charted', body: { entryId, kind: 'left-open', fact: { how, to } } },
  ])
}

export type HandedRefusal = 'handed-nothing-left' | 'handed-to-nobody'

/** Charts to whom what a patient left open was handed over. Refuses when nothing waits for that. */
export function handOverLeft(
  entry: { readonly entryId: string; readonly to: string; readonly byId: string },
  facts: { readonly stay: Stay; readonly waits: boolean; readonly nowMs: number },
): Outcome<LedgerEvent[], HandedRefusal> {
  const to = entry.to.trim()
  if (!facts.waits) return refuse('handed-nothing-left')
  if (to === '') return refuse('handed-to-nobody')
  return accept([
    {
      ...eventHead(facts.stay, entry.byId, facts.nowMs),
      type: 'entry-charted',
      body: { entryId: entry.entryId, kind: 'left-open-handed', fact: { to } },
    },
  ])
}

/** A dose that two nurses signed and whose outcome nobody has charted, even if it is void now. Null: none. */
export function unchartedDose({ doses }: Pick<About, 'doses'>): Dose | null {
  return doses.find(({ product, outcome, units }) => product !== null && outcome === null && units > 0) ?? null
}
