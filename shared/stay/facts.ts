/** The facts at the bedside: what may be charted, what a change changes, and what it does to the check plan. */
import { nilByMouthChange, type PlanChangeFacts } from '../check/change-plan.ts'
import type { LedgerEvent } from '../ledger/events.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { BedsideFacts, Stay } from './stay.ts'

/** Outside of these a weight is a slip of the hand (common practice; the ward may hold a newborn or a very heavy patient). */
export const WEIGHT_KG = { least: 0.4, most: 500 } as const
/** Other glucose-lowering drugs by name: so many, so long. */
export const OTHER_DRUGS = { most: 10, letters: 60 } as const

export type FactsFault = 'nil-until-not-after-from' | 'nil-over' | 'weight-not-plausible' | 'other-drugs-too-many'
export type FactsRefusal = FactsFault | 'facts-stay-discharged' | 'facts-changed-meanwhile' | 'facts-unchanged'

export type FactName = keyof BedsideFacts
export const FACT_NAMES: readonly FactName[] = [
  'diabetes',
  'swallowsSafely',
  'nilByMouth',
  'feeding',
  'ivAccess',
  'restrictedHands',
  'isolation',
  'renalImpairment',
  'onSteroid',
  'otherGlucoseLowering',
  'weightKg',
]

/** What is wrong with the facts in themselves; null: nothing. */
export function factsFault(facts: BedsideFacts, nowMs: number): FactsFault | null {
  const nil = facts.nilByMouth
  if (nil !== null && nil.untilMs !== null) {
    if (nil.untilMs <= nil.fromMs) return 'nil-until-not-after-from'
    if (nil.untilMs <= nowMs) return 'nil-over'
  }
  const { weightKg } = facts
  if (weightKg !== null && (weightKg < WEIGHT_KG.least || weightKg > WEIGHT_KG.most)) return 'weight-not-plausible'
  return facts.otherGlucoseLowering.length > OTHER_DRUGS.most ? 'other-drugs-too-many' : null
}

/** The facts that differ, in the order in which they are shown. */
export function changedFacts(before: BedsideFacts, after: BedsideFacts): readonly FactName[] {
  return FACT_NAMES.filter((name) => !isEqual(name, before, after))
}

function isEqual(name: FactName, before: BedsideFacts, after: BedsideFacts): boolean {
  if (name !== 'restrictedHands') return JSON.stringify(before[name]) === JSON.stringify(after[name])
  const sorted = (facts: BedsideFacts): string =>
    facts.restrictedHands
      .map(({ hand, reason }) => `${hand}.${reason}`)
      .sort()
      .join()
  return sorted(before) === sorted(after)
}

/**
 * Charts the facts as they are from now on. `basedOn` is the number of the version that the nurse had before her: with
 * a newer one in between she is shown what changed instead of writing over it. Nil by mouth moves the check plan as the
 * ward's policy says (nilByMouthChange). Refuses a discharged stay and facts with nothing changed.
 */
export function setFacts(
  entry: { readonly facts: BedsideFacts; readonly basedOn: number; readonly byId: string },
  known: PlanChangeFacts & { readonly stay: Stay; readonly latest: number },
): Outcome<LedgerEvent[], FactsRefusal> {
  const { stay, nowMs } = known
  const { facts, byId } = entry
  if (stay.dischargedAtMs !== null) return refuse('facts-stay-discharged')
  if (entry.basedOn !== known.latest) return refuse('facts-changed-meanwhile')
  const changed = changedFacts(stay.facts, facts)
  if (changed.length === 0) return refuse('facts-unchanged')
  const fault = factsFault(facts, nowMs)
  if (fault !== null) return refuse(fault)
  const head = { wardId: stay.wardId, stayId: stay.stayId, actorId: byId, happenedAtMs: nowMs, chartedAtMs: nowMs }
  const plan = changed.includes('nilByMouth') ? nilByMouthChange(facts.nilByMouth, byId, known) : []
  return accept([{ ...head, type: 'facts-set', body: { facts } }, ...plan])
}
