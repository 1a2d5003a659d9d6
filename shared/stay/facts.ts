/** The bedside facts: what may be charted, how they change, and how that changes the check plan. */
import { nilByMouthChange, type PlanChangeFacts } from '../check/change-plan.ts'
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { BedsideFacts, Stay } from './stay.ts'

/** A weight outside is a typing error (common practice; the ward may have a newborn or a very heavy patient). */
export const WEIGHT_KG = { least: 0.4, most: 500 } as const
/** Other glucose-lowering drugs by name: the most entries, and the most letters of each. */
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
  'pastKetoacidosis',
  'insulinAtHome',
  'laboratoryOnly',
]

/** What is wrong with the facts by themselves. Null: nothing. */
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

/** The facts that differ, in display order. */
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
 * Charts the facts from now on. `basedOn` is the version that the nurse's form shows. If a newer one exists, the nurse
 * sees the changes instead of overwriting them. Nil by mouth changes the check plan as the ward's policy says
 * (nilByMouthChange). Refuses a discharged stay, and facts without a change.
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
  const head = eventHead(stay, byId, nowMs)
  const plan = changed.includes('nilByMouth') ? nilByMouthChange(facts.nilByMouth, byId, known) : []
  return accept([{ ...head, type: 'facts-set', body: { facts } }, ...plan])
}
