/**
 * A wrong wristband, or a value in the other unit, at the bedside: the message, and what is recorded.
 */
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { type DetailsOf, type Refused, refuse } from '../../shared/outcome.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { CheckFacts, StayFacts } from '../store/contract.ts'
import { headOf } from './event-head.ts'

/** Whose wristband was scanned instead: the bed, and the ward's name if it is another ward that this person may see. */
export function wrongWristbandDetails(
  ctx: RequestContext,
  facts: CheckFacts,
  wristband: string,
): DetailsOf<'wristband-wrong'> {
  const expected = facts.stay.bed
  const found = ctx.store.stayByWristband(wristband)
  if (found === undefined) return { expected }
  if (found.wardId === facts.stay.wardId) return { expected, bed: found.bed }
  const ward = ctx.store.wards(ctx.scope).find((one) => one.wardId === found.wardId)
  return ward === undefined ? { expected, ward: 'another ward' } : { expected, bed: found.bed, ward: ward.name }
}

/** Refuses a wrong wristband and says whose it is. */
export function refuseWristband(ctx: RequestContext, facts: CheckFacts, wristband: string): Refused<'wristband-wrong'> {
  return refuse('wristband-wrong', wrongWristbandDetails(ctx, facts, wristband))
}

/** The form in which a value of the other unit was typed. */
type TypedAt = Extract<LedgerEvent, { type: 'entry-refused' }>['body']['at']

/**
 * The near miss to record when a form that charts a glucose is refused: a wrong wristband, or a value in the other
 * unit. The number of either is never recorded. `facts` are loaded for these two only.
 */
export function nearMissOf(
  ctx: RequestContext,
  refused: { readonly reason: string; readonly wristband: string; readonly at: TypedAt },
  facts: () => StayFacts | undefined,
): readonly LedgerEvent[] {
  const { reason, wristband, at } = refused
  if (reason !== 'wristband-wrong' && reason !== 'glucose-looks-like-other-unit') return []
  const known = facts()
  if (known === undefined) return []
  if (reason === 'wristband-wrong') return [mismatchEvent(ctx, known, wristband, 'check')]
  return [{ ...headOf(ctx, known.stay), type: 'entry-refused', body: { what: 'wrong-unit', at } }]
}

/** Where a wrong wristband was scanned. */
type ScannedAt = Extract<LedgerEvent, { type: 'wristband-mismatched' }>['body']['at']

/** The near miss as an event of its own. The scanned number is not recorded. */
export function mismatchEvent(ctx: RequestContext, facts: StayFacts, wristband: string, at: ScannedAt): LedgerEvent {
  const { stayId } = facts.stay
  const foundStayId = ctx.store.stayByWristband(wristband)?.stayId ?? null
  return {
    ...headOf(ctx, facts.stay),
    type: 'wristband-mismatched',
    body: { expectedStayId: stayId, foundStayId, at },
  }
}
