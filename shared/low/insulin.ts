/** Insulin after a low: what waits by itself, and what the prescriber is asked about. */
import { currentLow } from './current.ts'
import type { LowAnswer } from '../dose/dose.ts'
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { INSULIN_CLASS, isInForce, type InsulinName, type InsulinOrder, type OrderVersion } from '../order/order.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import { lowCourse } from './course.ts'
import type { InsulinDecision, LowEvent } from './low.ts'
import { MINUTE_MS } from '../time/span.ts'

/** Meal and scheduled insulin is never silently dropped after a low; a correction alone just waits. */
export function isAskedAbout(order: InsulinOrder): boolean {
  return order.meal !== null || order.scheduled.length > 0 || INSULIN_CLASS[order.insulin] === 'long-acting'
}

/** True when a low opens the question about insulin: an order in force has a meal part or scheduled insulin. */
export function opensInsulinQuestion(inForce: readonly Pick<InsulinOrder, 'meal' | 'scheduled'>[]): boolean {
  return inForce.some(({ meal, scheduled }) => meal !== null || scheduled.length > 0)
}

/** The insulins in force that the prescriber is asked about, each once. */
export function insulinsAskedAbout(orders: readonly OrderVersion[], nowMs: number): readonly InsulinName[] {
  return [
    ...new Set(
      orders
        .filter((version) => isInForce(version, nowMs) && isAskedAbout(version.order))
        .map(({ order }) => order.insulin),
    ),
  ]
}

/** Until when the prescriber is to be asked: the policy's minutes (the ward's own setting) after the low. */
export function askByMs(low: Pick<LowEvent, 'openedAtMs'>, policy: WardPolicy): number {
  return low.openedAtMs + policy.low.insulinQuestionMin * MINUTE_MS
}

export type InsulinAnswerRefusal =
  | 'insulin-question-not-open'
  | 'insulin-told-missing'
  | 'insulin-not-read-back'
  | 'insulin-decision-missing'
  | 'insulin-ordered-missing'

/**
 * Charts what the prescriber said about the insulin: who, read back, and what. "changed" says in words to what, and the
 * dose itself is charted as a direction. "as-ordered" lets the order's own meal part and scheduled dose be worked out
 * again (see `asOrderedAnswer`). Either way with a second check of its own.
 */
export function answerInsulinQuestion(
  entry: {
    readonly told: string
    readonly readBack: boolean
    readonly decision: InsulinDecision | null
    readonly ordered: string
    readonly byId: string
  },
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
  return accept([
    {
      ...eventHead(low, entry.byId, nowMs),
      type: 'insulin-question-answered',
      body: { lowId: low.lowId, told, readBack: true, decision, ordered },
    },
  ])
}

/**
 * The prescriber's "give as ordered" after the low that is followed at `nowMs`, and whether it releases the meal part and
 * scheduled doses now; null when no low is followed, or the last answer about it was another one. It counts for this low
 * only, and only
 * - once a value shows recovery: the low is treated first, as UK practice has it (NHS formularies restating JBDS; R);
 * - while the low has not come back since: the prescriber did not know of that;
 * - while no direction was given after it: her last word counts;
 * - up to the time of the follow-up recheck (in): that value then frees all insulin, or shows that the low is back.
 * `readings` and `directions` are the stay's.
 */
export function asOrderedAnswer(facts: {
  readonly lows: readonly LowEvent[]
  readonly readings: readonly Reading[]
  readonly directions: readonly { readonly atMs: number }[]
  readonly policy: WardPolicy
  readonly nowMs: number
}): LowAnswer | null {
  const { policy, nowMs } = facts
  const low = currentLow(facts.lows, nowMs)
  const answer = low?.charted.insulinAnswers
    .filter(({ atMs }) => atMs <= nowMs)
    .sort((a, b) => b.atMs - a.atMs || b.chartedAtMs - a.chartedAtMs)[0]
  if (low === undefined || answer?.decision !== 'as-ordered') return null
  const { phase, runStartMs, dueMs } = lowCourse(
    low,
    facts.readings.filter(({ takenAtMs }) => takenAtMs <= nowMs),
    policy,
  )
  if (phase === 'followed-up') return null
  const standing =
    answer.atMs < runStartMs
      ? 'came-back'
      : facts.directions.some(({ atMs }) => atMs >= answer.atMs && atMs <= nowMs)
        ? 'direction-since'
        : phase === 'open'
          ? 'not-recovered'
          : dueMs !== null && nowMs > dueMs
            ? 'follow-up-due'
            : 'releases'
  return { lowId: low.lowId, told: answer.told, atMs: answer.atMs, standing }
}
