/**
 * Who may not see a reading or a dose yet, so that a second check stays blind. The server asks this for
 * every page, part of a page and board; nothing is hidden in the browser alone.
 *
 * A possible second checker is anybody whose role may give insulin, other than the nurse who took the reading or
 * worked out the dose. Educators and administrators cannot check and are not masked.
 */
import { isNumeric } from '../glucose/value.ts'
import type { Dose, DoseVoidReason } from '../dose/dose.ts'
import { mayGiveInsulin } from '../dose/may-give.ts'
import { doseState } from '../dose/state.ts'
import type { Role } from '../ledger/events.ts'
import { lowLevel } from '../low/level.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from './reading.ts'
import { MINUTE_MS } from '../time/span.ts'

export type MaskActor = { readonly staffId: string; readonly role: Role }

export type MaskContext = {
  readonly nowMs: number
  readonly policy: WardPolicy
  /** False when the stay has no insulin order that could answer this reading; when left out, one is assumed. */
  readonly hasApplicableOrder?: boolean
}

/** After these a dose for the same reading may still follow; after the others none can. */
const SUCCESSOR_POSSIBLE: Readonly<Record<DoseVoidReason, boolean>> = {
  'order-changed': true,
  'started-again': true,
  'replaced-by-direction': true,
  'facts-changed': true,
  'policy-changed': true,
  // a control that the meter passes afterwards frees the reading again
  'meter-failed': true,
  'newer-reading': false,
  'reading-corrected': false,
  'reading-in-error': false,
  'stay-moved': false,
  'stay-discharged': false,
}

/** Waiting for a second nurse's own answer: what she must not see beforehand is still open. */
function isBlind(dose: Dose, policy: WardPolicy, nowMs: number): boolean {
  const state = doseState(dose, policy, nowMs)
  return state === 'awaiting-second-check' || state === 'differed'
}

/**
 * True when `actor` must see "awaiting second check" in place of this reading.
 * Never: for a role that cannot check; for the nurse who took it or proposed its dose; for a low by the ward's limit,
 * in whatever unit it was measured.
 * With a dose of this reading that is not void: masked exactly while that dose waits for the first part of its second
 * check, a difference included, and not once that part agreed, the dose is settled, or it lapsed.
 * With no such dose: masked while the reading can still lead to one, that is up to the policy's reading age (60 min,
 * included) after it was taken, unless its dose was settled or ended for good, no order applies, it is HI, or its
 * meter or strips are in doubt. A corrected reading is masked as long as what corrected it is, because the old value
 * lies near the new one; one entered in error only as long as its age allows, because it may be charted again elsewhere.
 * `doses` are the stay's doses; those of other readings are ignored.
 */
export function maskedFor(actor: MaskActor, reading: Reading, doses: readonly Dose[], context: MaskContext): boolean {
  const { nowMs, policy } = context
  if (!mayGiveInsulin(actor.role) || actor.staffId === reading.byId || actor.staffId === reading.chartedById)
    return false
  if (lowLevel(reading.glucose, policy) !== null) return false
  const own = dosesOf(reading, doses)
  const live = own.filter((dose) => dose.voided === null)
  if (live.some((dose) => dose.proposedById === actor.staffId)) return false
  if (live.some((dose) => isBlind(dose, policy, nowMs))) return true
  if (live.length > 0) return false
  const isFresh = nowMs <= reading.takenAtMs + policy.dose.readingAgeMaxMin * MINUTE_MS
  return isFresh && canLeadToDose(reading, own, context)
}

/**
 * True when no dose of the reading stands and one can still be asked of it, its age left aside: what masks it as long as
 * it is fresh. It depends on no number that is masked, so it may be told to everybody. `doses` are the stay's.
 */
export function awaitsDose(
  reading: Reading,
  doses: readonly Dose[],
  context: Pick<MaskContext, 'policy' | 'hasApplicableOrder'>,
): boolean {
  const own = dosesOf(reading, doses)
  const isLow = lowLevel(reading.glucose, context.policy) !== null
  return !isLow && own.every((dose) => dose.voided !== null) && canLeadToDose(reading, own, context)
}

/** The doses of the reading, or of what corrected it. */
function dosesOf(reading: Reading, doses: readonly Dose[]): readonly Dose[] {
  return doses.filter(
    (dose) =>
      dose.readingId !== null && (dose.readingId === reading.readingId || dose.readingId === reading.supersededBy),
  )
}

function canLeadToDose(
  reading: Reading,
  own: readonly Dose[],
  { hasApplicableOrder }: Pick<MaskContext, 'hasApplicableOrder'>,
): boolean {
  return (
    hasApplicableOrder !== false &&
    isNumeric(reading.glucose) &&
    reading.doubts.length === 0 &&
    (reading.supersededBy !== null || !isEndedForGood(own))
  )
}

/** Every dose of the reading was voided, the last one by something after which no dose can follow from it. */
function isEndedForGood(voidedDoses: readonly Dose[]): boolean {
  const last = voidedDoses.reduce<Dose | null>(
    (latest, dose) => (latest === null || dose.proposedAtMs >= latest.proposedAtMs ? dose : latest),
    null,
  )
  const reason = last?.voided?.reason
  return reason !== undefined && !SUCCESSOR_POSSIBLE[reason]
}

/**
 * True when `actor` must not see this dose's units and working. Never: for a role that cannot check; for the nurse who
 * proposed it. A dose is masked while it waits for the first part of its check, a difference included. A voided one is
 * masked up to the policy's reading age after its reading was taken (without one: after it was proposed), if another
 * one like it can follow.
 */
export function maskedDose(actor: MaskActor, dose: Dose, context: Pick<MaskContext, 'nowMs' | 'policy'>): boolean {
  const { nowMs, policy } = context
  if (!mayGiveInsulin(actor.role) || actor.staffId === dose.proposedById) return false
  if (dose.voided === null) return isBlind(dose, policy, nowMs)
  const fromMs = dose.inputs.readingTakenAtMs ?? dose.proposedAtMs
  return SUCCESSOR_POSSIBLE[dose.voided.reason] && nowMs <= fromMs + policy.dose.readingAgeMaxMin * MINUTE_MS
}

/**
 * Everybody who has had this reading's number before them because they took it or charted a value it corrects. None of
 * them can be its blind second checker. `readings` are the stay's.
 */
export function nursesWhoKnow(reading: Reading, readings: readonly Reading[]): ReadonlySet<string> {
  const byIds = new Set(typedBy(reading))
  let before = reading.supersedes?.readingId
  // a reading supersedes one charted before it, so the chain ends
  while (before !== undefined) {
    const corrected = readings.find((other) => other.readingId === before)
    if (corrected !== undefined) for (const staffId of typedBy(corrected)) byIds.add(staffId)
    before = corrected?.supersedes?.readingId
  }
  return byIds
}

function typedBy({ byId, chartedById }: Reading): readonly string[] {
  return chartedById === undefined ? [byId] : [byId, chartedById]
}

/**
 * True when `actor` must not be told yet that a result of the stay waits for its call. A low is never masked, so a
 * critical result beside a masked reading could only be a high: it would name the step of the scale to a possible second
 * checker. Who took a critical result knows it. Once the time for the call has passed it is said to everybody: an untold
 * critical result is the greater harm.
 */
export function criticalHiddenFrom(
  actor: MaskActor,
  facts: {
    readonly newestMasked: boolean
    readonly takenBy: ReadonlySet<string>
    readonly callByMs: number
    readonly nowMs: number
  },
): boolean {
  return facts.newestMasked && !facts.takenBy.has(actor.staffId) && facts.nowMs <= facts.callByMs
}

/** Who took or typed any of these readings. */
export function takersOf(readings: readonly Reading[]): ReadonlySet<string> {
  return new Set(readings.flatMap(typedBy))
}
