/** The parts of ledger events and refusals that every dose form makes alike. */
import type { Dose, DoseKind } from '../../shared/dose/dose.ts'
import { proposedDose } from '../../shared/dose/proposed.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { parseLaboratoryGlucose, readLaboratoryReport } from '../../shared/glucose/laboratory.ts'
import type { Reading } from '../../shared/reading/reading.ts'
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
  const dose = proposedDose(facts, proposal.working, {
    doseId: ctx.services.newId(),
    stay,
    kind: of.kind,
    slotKey: of.slotKey,
    byId: ctx.actor.staffId,
    nowMs: ctx.nowMs,
  })
  return { dose, event: { ...headOf(ctx, stay), type: 'dose-proposed', body: { dose } } }
}

/** The value read off the meter's memory, or off the laboratory's report, in the unit of the report or of the reading; null for a dose that rests on no reading. */
export function typedGlucose(
  typed: string | undefined,
  wardUnit: GlucoseUnit,
  reading: Reading | null,
): Glucose | Refused<'glucose-typed-wrong'> {
  const unit = reading?.glucose.unit ?? wardUnit
  if (reading?.reported !== undefined) {
    const { reported } = reading
    const read = readLaboratoryReport({ typed: typed ?? '', unit: reported.unit, wardUnit: unit, confirmed: true })
    return read.ok ? read.value.glucose : refuse('glucose-typed-wrong', { unit: reported.unit })
  }
  const parsed = (reading?.source === 'venous' ? parseLaboratoryGlucose : parseGlucose)(typed ?? '', unit)
  return parsed.ok ? parsed.value : refuse('glucose-typed-wrong', { unit })
}
