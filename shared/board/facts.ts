/** The facts behind the board: the Round's facts and model, and those that only the board needs. */
import type { RoundFacts, RoundModel } from '../check/round-model.ts'
import type { Dose } from '../dose/dose.ts'
import type { GlucoseUnit } from '../glucose/value.ts'
import { maskedFor, type MaskActor } from '../reading/mask.ts'
import type { PatientNow } from '../check/round-model.ts'
import type { BedsTaken } from './shift.ts'

export type BoardFacts = Pick<
  RoundFacts,
  'beds' | 'policy' | 'orders' | 'lows' | 'openDoses' | 'unaccountedDoses' | 'trays'
> & {
  readonly meters: readonly {
    readonly meterId: string
    readonly serial: string
    readonly unit: GlucoseUnit
    readonly lastControl: { readonly passed: boolean; readonly atMs: number } | null
  }[]
  /** Doses of each stay's newest reading. They decide whether it is masked. */
  readonly lastReadingDoses: readonly Dose[]
  /** Stays with an order in force that can turn a reading into a dose. */
  readonly staysWithOrder: ReadonlySet<string>
  readonly bedsTaken: readonly BedsTaken[]
  /** To whom needs were assigned, by their keys. */
  readonly handed: ReadonlyMap<string, { readonly toStaffId: string; readonly atMs: number }>
  /** Nurses of the ward to whom a need can be assigned. */
  readonly nurses: ReadonlyMap<string, string>
}

export type BoardInputs = { readonly facts: BoardFacts; readonly model: RoundModel; readonly nowMs: number }

/**
 * An unnamed nurse who may give insulin. The board hides what such a nurse may not see, so one rendering serves every
 * viewer.
 */
export const ANY_NURSE: MaskActor = { staffId: '', role: 'floor-nurse' }

/** True when the board shows the patient's newest reading without its number. */
export function maskedOnBoard({ stay: { stayId }, lastReading }: PatientNow, { facts, nowMs }: BoardInputs): boolean {
  if (lastReading === null) return false
  const doses = facts.lastReadingDoses.filter((dose) => dose.stayId === stayId)
  return maskedFor(ANY_NURSE, lastReading, doses, {
    nowMs,
    policy: facts.policy,
    hasApplicableOrder: facts.staysWithOrder.has(stayId),
  })
}
