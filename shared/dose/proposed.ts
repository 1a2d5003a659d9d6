/** The dose that follows from a proposal. */
import type { DoseFacts } from '../order/propose.ts'
import type { Dose, DoseKind, Working } from './dose.ts'
import { needsSecondCheck } from './second-check.ts'

/**
 * The dose as it is proposed, from the working of a proposal that no guard stopped. A dose of 0 that needs no second
 * check is charted with it. A scheduled dose follows from no reading.
 */
export function proposedDose(
  facts: DoseFacts,
  working: Working,
  of: {
    readonly doseId: string
    readonly stay: { readonly wardId: string; readonly stayId: string }
    readonly kind: DoseKind
    /** The scheduled time that the dose is for. Null: none. */
    readonly slotKey: string | null
    readonly byId: string
    readonly nowMs: number
  },
): Dose {
  const { byId, nowMs } = of
  const secondCheckRequired = needsSecondCheck(facts.insulin, working.units, facts.policy)
  return {
    doseId: of.doseId,
    stayId: of.stay.stayId,
    wardId: of.stay.wardId,
    kind: of.kind,
    readingId: of.kind === 'scheduled' ? null : working.readingId,
    slotKey: of.slotKey,
    insulin: facts.insulin,
    units: working.units,
    working,
    inputs: facts.inputs,
    proposedById: byId,
    proposedAtMs: nowMs,
    secondCheckRequired,
    answers: [],
    restarts: [],
    product: null,
    outcome: secondCheckRequired || working.units > 0 ? null : { kind: 'zero-charted', byId, atMs: nowMs },
    voided: null,
  }
}
