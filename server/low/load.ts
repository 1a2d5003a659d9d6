/** Loads a low event with everything that its pages derive from. */
import { lowState, type LowFacts, type LowState } from '../../shared/low/event.ts'
import { mealsAround } from '../../shared/low/meals.ts'
import { parameter } from '../check/load.ts'
import { isId } from '../http/ids.ts'
import type { Visit } from '../http/visit.ts'
import type { StayFacts } from '../store/contract.ts'

export type LowContext = { readonly facts: StayFacts; readonly lowFacts: LowFacts; readonly state: LowState; readonly zone: string }

/** The low event of the address; undefined when there is none such, or not on a ward of this person's. */
export function lowContext(visit: Visit): LowContext | undefined {
  const lowId = parameter(visit, 'lowId')
  const low = isId(lowId) ? visit.store.lowById(visit.scope, lowId) : undefined
  if (low === undefined) return undefined
  // a closed event is shown with the readings and the policy of its own time
  const facts = visit.store.stayFacts(visit.scope, low.stayId, Math.min(visit.nowMs, low.closedAtMs ?? Infinity))
  return facts === undefined ? undefined : contextOf(visit, facts, lowId)
}

function contextOf(visit: Visit, facts: StayFacts, lowId: string): LowContext | undefined {
  const low = facts.lows.find((one) => one.lowId === lowId)
  if (low === undefined) return undefined
  const lowFacts: LowFacts = {
    low,
    readings: facts.readings,
    bedside: facts.stay.facts,
    policy: facts.policy.policy,
    mealsMs: mealsAround(low.openedAtMs, visit.nowMs, facts.policy.policy, facts.trayDelays),
    servedMs: facts.trays.flatMap(({ servedAtMs }) => (servedAtMs === null ? [] : [servedAtMs])),
    nowMs: visit.nowMs,
  }
  return { facts, lowFacts, state: lowState(lowFacts), zone: facts.policy.policy.zone }
}

/** True when the prescriber is still to be asked about meal and long-acting insulin. */
export function isInsulinAsked({ facts, lowFacts: { low } }: LowContext): boolean {
  return facts.openItems.some(({ kind, subjectId }) => kind === 'insulin-question' && subjectId === low.lowId)
}

/** Critical results of the event's own readings that wait for their call, oldest first. */
export function criticalsWaiting({ facts, state }: LowContext): readonly string[] {
  const own = new Set(state.course.parts.map(({ reading }) => reading.readingId))
  return facts.openItems.filter(({ kind, subjectId }) => kind === 'critical' && own.has(subjectId)).map(({ subjectId }) => subjectId)
}
