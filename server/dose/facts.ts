/** The parts of ledger events and refusals that every dose form makes alike. */
import type { Dose, DoseKind } from '../../shared/dose/dose.ts'
import { needsSecondCheck } from '../../shared/dose/second-check.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { parseLaboratoryGlucose } from '../../shared/glucose/laboratory.ts'
import type { ReadingSource } from '../../shared/reading/reading.ts'
import { parseGlucose, type Glucose, type GlucoseUnit } from '../../shared/glucose/value.ts'
import type { DoseFacts, Proposal } from '../../shared/order/propose.ts'
import { refuse, type Refused } from '../../shared/outcome.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import type { RequestContext } from '../http/request-context.ts'
import { headOf } from '../bedside/event-head.ts'

/** The fact of a proposal that nothing stopped. A dose of 0 that needs no second check is charted with it. */
export function doseProposed(
  ctx: RequestContext,
  stay: Stay,
  facts: DoseFacts,
  proposal: Extract<Proposal, { kind: 'dose' }>,
  of: { readonly kind: DoseKind; readonly slotKey: string | null },
): { readonly dose: Dose; readonly event: LedgerEvent } {
  const { working } = proposal
  const { staffId } = ctx.actor
  const secondCheckRequired = needsSecondCheck(facts.insulin, working.units, facts.policy)
  const dose: Dose = {
    doseId: ctx.services.newId(),
    stayId: stay.stayId,
    wardId: stay.wardId,
    kind: of.kind,
    readingId: of.kind === 'scheduled' ? null : working.readingId,
    slotKey: of.slotKey,
    insulin: facts.insulin,
    units: working.units,
    working,
    inputs: facts.inputs,
    proposedById: staffId,
    proposedAtMs: ctx.nowMs,
    secondCheckRequired,
    answers: [],
    restarts: [],
    product: null,
    outcome: secondCheckRequired || working.units > 0 ? null : { kind: 'zero-charted', byId: staffId, atMs: ctx.nowMs },
    voided: null,
  }
  return { dose, event: { ...headOf(ctx, stay), type: 'dose-proposed', body: { dose } } }
}

/** A wristband that is not this patient's: refused, saying whose it is by its bed only, and on a ward that this person may not see nothing but that. */
export function wrongWristband(ctx: RequestContext, wardId: string, typed: string): Refused<'wrong-wristband'> {
  const found = ctx.store.stayByWristband(typed)
  if (found === undefined) return refuse('wrong-wristband')
  if (found.wardId === wardId) return refuse('wrong-wristband', { bed: found.bed })
  const ward = ctx.store.wards(ctx.scope).find((one) => one.wardId === found.wardId)
  return refuse('wrong-wristband', ward === undefined ? { ward: 'another ward' } : { bed: found.bed, ward: ward.name })
}

/** The near miss kept with it; the number itself is never kept. */
export function wristbandMismatch(
  ctx: RequestContext,
  stay: { readonly wardId: string; readonly stayId: string },
  typed: string,
  at: 'product' | 'give',
): LedgerEvent {
  const found = ctx.store.stayByWristband(typed)
  return {
    ...headOf(ctx, stay),
    type: 'wristband-mismatched',
    body: { expectedStayId: stay.stayId, foundStayId: found?.stayId ?? null, at },
  }
}

/** The value read off the meter's memory, or off the laboratory's report, in the reading's unit; null for a dose that rests on no reading. */
export function typedGlucose(
  typed: string | undefined,
  unit: GlucoseUnit,
  source: ReadingSource | undefined,
): Glucose | Refused<'glucose-typed-wrong'> {
  const parsed = (source === 'venous' ? parseLaboratoryGlucose : parseGlucose)(typed ?? '', unit)
  return parsed.ok ? parsed.value : refuse('glucose-typed-wrong', { unit })
}
