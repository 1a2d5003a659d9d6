/** Insulin after a low: what waits by itself, and what the prescriber is asked about (design 4.3 and 4.6). */
import type { LedgerEvent } from '../ledger/events.ts'
import { INSULIN_CLASS, isInForce, type InsulinName, type InsulinOrder, type OrderVersion } from '../order/order.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { InsulinDecision, LowEvent } from './low.ts'
import { MINUTE_MS } from '../time/span.ts'

/** Meal and scheduled insulin is never silently dropped after a low; a correction alone just waits. */
export function isAskedAbout(order: InsulinOrder): boolean {
  return order.meal !== null || order.scheduled.length > 0 || INSULIN_CLASS[order.insulin] === 'long-acting'
}

/** The insulins in force that the prescriber is asked about, each once. */
export function insulinsAskedAbout(orders: readonly OrderVersion[], nowMs: number): readonly InsulinName[] {
  return [...new Set(orders.filter((version) => isInForce(version, nowMs) && isAskedAbout(version.order)).map(({ order }) => order.insulin))]
}

/** Until when the prescriber is to be asked: the policy's minutes (the ward's own setting) after the low. */
export function askByMs(low: Pick<LowEvent, 'openedAtMs'>, policy: WardPolicy): number {
  return low.openedAtMs + policy.low.insulinQuestionMin * MINUTE_MS
}

export type InsulinAnswerRefusal = 'insulin-question-not-open' | 'insulin-told-missing' | 'insulin-not-read-back' | 'insulin-decision-missing' | 'insulin-ordered-missing'

/**
 * Charts what the prescriber said about the insulin: who, read back, and what. "changed" says in words to what. It opens
 * no dose by itself: one that is to be given is charted as a direction, with its own second check.
 */
export function answerInsulinQuestion(
  entry: { readonly told: string; readonly readBack: boolean; readonly decision: InsulinDecision | null; readonly ordered: string; readonly byId: string },
  facts: { readonly low: LowEvent; readonly isOpen: boolean; readonly nowMs: number },
): Outcome<LedgerEvent[], InsulinAnswerRefusal> {
  const { low, nowMs } = facts
  if (!facts.isOpen) return refuse('insulin-question-not-open')
  const [told, ordered] = [entry.told.trim(), entry.ordered.trim()]
  const { decision } = entry
  if (decision === null) return refuse('insulin-decision-missing')
  if (decision === 'changed' && ordered === '') return refuse('insulin-ordered-missing')
  if (told === '') return refuse('insulin-told-missing')
  if (!entry.readBack) return refuse('insulin-not-read-back')
  return accept([{
    wardId: low.wardId, stayId: low.stayId, actorId: entry.byId, happenedAtMs: nowMs, chartedAtMs: nowMs,
    type: 'insulin-question-answered', body: { lowId: low.lowId, told, readBack: true, decision, ordered },
  }])
}
