/** Admission to a bed, and readmission of an earlier patient. */
import { overlayOfAdmission, planFault, type PlanRefusal } from '../check/change-plan.ts'
import type { CheckPlan } from '../check/check.ts'
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { wardDate } from '../time/zone.ts'
import { factsFault, type FactsFault } from './facts.ts'
import { identityFault, isSamePerson, type Identity, type IdentityFault, type WornElsewhere } from './identity.ts'
import { HOUR_MS } from '../time/span.ts'
import type { BedsideFacts, Stay } from './stay.ts'

/** An admission is charted at most this many hours late. Older ones belong in the load file, with their orders. */
export const ADMITTED_AGO_MOST_H = 24

export type AdmissionEntry = {
  readonly stayId: string
  readonly bed: string
  readonly identity: Identity
  readonly admittedAtMs: number
  readonly facts: BedsideFacts
  readonly plan: CheckPlan
  readonly byId: string
}

export type AdmissionFacts = {
  readonly ward: { readonly wardId: string; readonly beds: readonly string[] }
  readonly policy: Pick<WardPolicy, 'nilByMouthPlan' | 'zone'>
  /** Patients on the ward now. */
  readonly present: readonly Stay[]
  /** Patients discharged from the ward since the earliest admission that is accepted. */
  readonly left: readonly Stay[]
  /** Who wears the wristband now, on any ward. Null: nobody. */
  readonly worn: WornElsewhere | null
  /** The earlier stay of a readmission. Null for a first admission. */
  readonly previous: Stay | null
  readonly nowMs: number
}

export type AdmissionRefusal =
  | IdentityFault
  | FactsFault
  | 'bed-not-on-ward'
  | 'bed-taken'
  | 'bed-taken-then'
  | 'admitted-in-future'
  | 'admitted-too-long-ago'
  | 'born-after-admission'
  | 'already-here'
  | 'previous-still-here'
  | 'previous-later'
  | Extract<PlanRefusal, 'plan-once-past' | 'plan-too-far' | 'plan-times-missing'>

declare module '../outcome.ts' {
  interface RefusalDetails {
    'bed-taken': { bed: string }
    'bed-taken-then': { bed: string }
    'already-here': { bed: string }
    'admitted-too-long-ago': { hours: number }
  }
}

/**
 * Admits to an empty bed of the ward, with bedside facts and a check plan from the admission on. Nil by mouth overlays
 * the ward's plan. A readmission names the earlier stay. Refuses a bed that is taken now or was taken then, and a
 * wristband in use on any ward. Also refuses the same name and date of birth on the ward, and a time in the future or
 * more than 24 h ago.
 */
export function admitStay(entry: AdmissionEntry, facts: AdmissionFacts): Outcome<LedgerEvent[], AdmissionRefusal> {
  const { identity, bed, admittedAtMs } = entry
  const { ward, policy, present, left, previous, nowMs } = facts
  const { zone } = policy
  if (!ward.beds.includes(bed)) return refuse('bed-not-on-ward', { bed })
  if (present.some((one) => one.bed === bed)) return refuse('bed-taken', { bed })
  const fault = identityFault(identity, { worn: facts.worn, nowMs, zone })
  if (fault !== null) return fault
  const twin = present.find((one) => isSamePerson(one, identity))
  if (twin !== undefined) return refuse('already-here', { bed: twin.bed })
  if (admittedAtMs > nowMs) return refuse('admitted-in-future')
  if (admittedAtMs < nowMs - ADMITTED_AGO_MOST_H * HOUR_MS)
    return refuse('admitted-too-long-ago', { hours: ADMITTED_AGO_MOST_H })
  if (identity.bornOn > wardDate(admittedAtMs, zone)) return refuse('born-after-admission')
  if (left.some((one) => one.bed === bed && one.dischargedAtMs !== null && one.dischargedAtMs > admittedAtMs))
    return refuse('bed-taken-then', { bed })
  if (previous !== null && previous.dischargedAtMs === null) return refuse('previous-still-here')
  if (previous !== null && (previous.dischargedAtMs ?? 0) > admittedAtMs) return refuse('previous-later')
  const wrongFacts = factsFault(entry.facts, nowMs)
  if (wrongFacts !== null) return refuse(wrongFacts)
  const wrongPlan = planFault(entry.plan, nowMs)
  if (wrongPlan !== null) return wrongPlan

  const head = eventHead({ wardId: ward.wardId, stayId: entry.stayId }, entry.byId, nowMs, admittedAtMs)
  const events: LedgerEvent[] = [{ ...head, type: 'stay-admitted', body: { bed, ...identity, facts: entry.facts } }]
  if (previous !== null) events.push({ ...head, type: 'stay-readmitted', body: { previousStayId: previous.stayId } })
  events.push({ ...head, type: 'plan-set', body: { version: 1, plan: entry.plan, untilMs: null } })
  const overlay = overlayOfAdmission(entry.plan, entry.facts.nilByMouth, { policy, admittedAtMs, nowMs })
  if (overlay !== null) events.push({ ...head, type: 'plan-laid-over', body: { version: 2, ...overlay } })
  return accept(events)
}

/** The starting facts of a readmission: the earlier stay's facts without nil by mouth, which is asked again. */
export function factsForReturn(previous: Stay): BedsideFacts {
  return { ...previous.facts, nilByMouth: null }
}
