/**
 * Which open doses a new fact voids, and why. Every event is asked here once, before it is stored, and the doses that it
 * voids follow it as events of their own: a dose is void because an event says so, and for no other reason.
 * What time alone voids is in policy-changed.ts.
 */
import { isAbove, isBelow, type Glucose } from '../glucose/value.ts'
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import type { InsulinName } from '../order/order.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { DAY_MS } from '../time/span.ts'
import type { Dose, DoseKind, DoseVoidReason } from './dose.ts'
import { bearsOn, hasHold, isMealtimeDose, restsOn } from './state.ts'

/** A dose without an outcome that is not void: ids, and what the rules below ask. Nothing of the patient. */
export type OpenDose = {
  readonly doseId: string
  readonly stayId: string
  /** The ward where the stay is now. */
  readonly wardId: string
  readonly kind: DoseKind
  readonly insulin: InsulinName
  readonly orderId: string
  /** The reading it was worked out from; null for a scheduled dose. */
  readonly readingId: string | null
  readonly slotKey: string | null
  /** The reading without which it would not stand (`restsOn`); null: none. */
  readonly restsOn: { readonly readingId: string; readonly takenAtMs: number; readonly meterId: string | null } | null
  /** Its order holds it below a value, so the newest reading was held against it. */
  readonly hasHold: boolean
  /** A low was still followed when it was worked out. */
  readonly lowFollowed: boolean
  /** When the newest reading that it was worked out with was taken; null: none. */
  readonly knownReadingAtMs: number | null
}

type Limits = WardPolicy['limits']

/** What bears on the voids of one event, as it stands just before the event. */
export type VoidFacts = {
  /** The open doses that the event may void: of its stay, of its ward, or resting on its meter. Oldest first. */
  readonly open: readonly OpenDose[]
  /** Of an event that brings a reading: the limits of the reading's ward when it was taken. */
  readonly limits: Limits | null
  /**
   * Of a low value, or of the event that it opens: a fit value at least as long after it as the follow-up was satisfactory,
   * so that the low is over. Absent: none was.
   */
  readonly lowFollowedUp?: boolean
  /** Of an event after which an older reading no longer counts: that reading. */
  readonly retired: { readonly readingId: string; readonly glucose: Glucose; readonly limits: Limits } | null
  /** Of a dose that was given: its insulin. */
  readonly given: InsulinName | null
  /** Of a control: when the meter's newest control was; null: there was none. */
  readonly lastControlAtMs: number | null
}

export type DoseVoid = { readonly doseId: string; readonly reason: DoseVoidReason }

/**
 * True when the event may be stored for a dose that stands as void. A signed dose is accounted for, and one that was
 * given is charted as given: before it was void, or afterwards as a deviation. No other step is taken on it.
 */
export function mayFollowVoid(event: LedgerEvent, { product, voided }: Pick<Dose, 'product' | 'voided'>): boolean {
  if (voided === null) return true
  switch (event.type) {
    case 'dose-voided':
    case 'second-check-answered':
    case 'dose-started-again':
    case 'dose-verified':
      return false
    case 'dose-given':
      return voided.atMs > event.happenedAtMs || (product !== null && event.body.deviation !== undefined)
    case 'dose-not-given':
      return product !== null
    default:
      return true
  }
}

/** An open dose as the rules see it. `wardId` is where the stay is now; `reading` is the one that the dose rests on. */
export function openDoseOf(
  dose: Dose,
  wardId: string,
  reading: { readonly takenAtMs: number; readonly meterId: string | null } | null,
): OpenDose {
  const readingId = restsOn(dose)
  return {
    doseId: dose.doseId,
    stayId: dose.stayId,
    wardId,
    kind: dose.kind,
    insulin: dose.insulin,
    orderId: dose.working.orderId,
    readingId: dose.readingId,
    slotKey: dose.slotKey,
    restsOn:
      readingId === null || reading === null
        ? null
        : { readingId, takenAtMs: reading.takenAtMs, meterId: reading.meterId },
    // mealtime insulin follows its reading: any newer one voids it
    hasHold: hasHold(dose) || isMealtimeDose(dose),
    lowFollowed: dose.inputs.low !== 'none',
    knownReadingAtMs: dose.inputs.readingTakenAtMs,
  }
}

/** The event with a `dose-voided` for each dose that it voids, by the same person and at the instant of the charting. */
export function withVoids(event: LedgerEvent, facts: VoidFacts): readonly [LedgerEvent, ...LedgerEvent[]] {
  const voids = dosesVoidedBy(event, facts).map((voided): LedgerEvent => {
    const dose = facts.open.find(({ doseId }) => doseId === voided.doseId)
    return {
      ...eventHead(dose ?? { wardId: null }, event.actorId, event.chartedAtMs),
      type: 'dose-voided',
      body: voided,
    }
  })
  return [event, ...voids]
}

/** The doses that the event voids, each with its reason, in the order of `facts.open`. */
export function dosesVoidedBy(event: LedgerEvent, facts: VoidFacts): readonly DoseVoid[] {
  const why = reasonsOf(event, facts)
  if (why === null) return []
  return facts.open.flatMap((dose) => {
    const reason = why(dose)
    return reason === null ? [] : [{ doseId: dose.doseId, reason }]
  })
}

type Why = (dose: OpenDose) => DoseVoidReason | null

/** Null: an event of this type voids no dose. */
function reasonsOf(event: LedgerEvent, facts: VoidFacts): Why | null {
  switch (event.type) {
    case 'reading-recorded': {
      const { glucose, takenAtMs, supersedes } = event.body.reading
      const limits = need(facts.limits, 'limits', event)
      const taken = { takenAtMs, isLow: isBelow(glucose, limits.low), isCritical: isCritical(glucose, limits) }
      // one charted late stops what it would have stopped, had it been charted in time
      const lateLow = taken.isLow && facts.lowFollowedUp !== true ? 'facts-changed' : null
      const byNew: Why = (dose) => byNewReading(dose, taken) ?? lateLow
      if (supersedes === null) return byNew
      const byOld = retiredBy(need(facts.retired, 'retired', event), 'reading-corrected')
      return (dose) => byOld(dose) ?? byNew(dose)
    }
    case 'reading-voided':
      return retiredBy(need(facts.retired, 'retired', event), 'reading-in-error')
    // whatever was being worked out, a scheduled dose included, was worked out without knowing of the low
    case 'low-event-opened':
      return facts.lowFollowedUp === true ? null : () => 'newer-reading'
    case 'dose-proposed':
      return (earlier) => replacedBy(event.body.dose, earlier)
    // a dose being worked out or waiting to be given did not know of insulin that is charted as given
    case 'dose-given': {
      const given = need(facts.given, 'given', event)
      return (dose) => (dose.doseId !== event.body.doseId && bearsOn(given, dose) ? 'facts-changed' : null)
    }
    // insulin of the day before bears on no dose
    case 'outside-dose-recorded': {
      const { insulin, givenAtMs, chartedAtMs } = event.body.outsideDose
      return givenAtMs > chartedAtMs - DAY_MS ? (dose) => (bearsOn(insulin, dose) ? 'facts-changed' : null) : null
    }
    // a hold, or other units, that the dose did not know of; or insulin that it counted and that was never injected
    case 'entry-charted': {
      const { body } = event
      if (body.kind === 'dose-taken-back' || body.kind === 'outside-dose-taken-back') {
        const { insulin } = body.kind === 'dose-taken-back' ? body.fact : body.fact.outsideDose
        return (dose) => (bearsOn(insulin, dose) ? 'facts-changed' : null)
      }
      if (body.kind !== 'insulin-word' || body.fact.word === 'as-ordered') return null
      return (dose) => (dose.insulin === body.fact.insulin && dose.kind !== 'by-direction' ? 'facts-changed' : null)
    }
    // a dose being worked out from any order of the stay is worked out anew
    case 'order-written':
      return () => 'order-changed'
    case 'order-verified':
    case 'order-stopped':
      return (dose) => (dose.orderId === event.body.orderId ? 'order-changed' : null)
    case 'policy-set':
      return byPolicy(event.happenedAtMs, event.chartedAtMs)
    case 'policy-set-from':
      return byPolicy(event.body.fromMs, event.chartedAtMs)
    case 'stay-moved':
      return () => 'stay-moved'
    case 'stay-discharged':
      return () => 'stay-discharged'
    case 'meter-controlled': {
      const { meterId, passed } = event.body
      // a control charted late does not replace a newer one
      const isLate = facts.lastControlAtMs !== null && facts.lastControlAtMs > event.happenedAtMs
      return passed || isLate ? null : (dose) => byFailedControl(dose, meterId, event.happenedAtMs)
    }
    default:
      return null
  }
}

/** A fact without which it cannot be said what the event voids: to go on without it would leave a dose open. */
function need<T>(fact: T | null, name: keyof VoidFacts, { type }: LedgerEvent): T {
  if (fact === null) throw new Error(`what ${type} voids was asked without ${name}`)
  return fact
}

/** A dose being worked out was worked out by the policy before; a policy that counts later leaves it alone. */
function byPolicy(fromMs: number, chartedAtMs: number): Why | null {
  return fromMs > chartedAtMs ? null : () => 'policy-changed'
}

/** A reading stopped counting: what rests on it is void, and what it may have decided. */
function retiredBy(retired: NonNullable<VoidFacts['retired']>, reason: 'reading-corrected' | 'reading-in-error'): Why {
  const wasCritical = isCritical(retired.glucose, retired.limits)
  return (dose) => {
    if (dose.restsOn?.readingId === retired.readingId) return reason
    // recovery may have been shown by this very value
    if (dose.kind === 'scheduled' && dose.lowFollowed) return reason
    // whether another value was confirmed rested on this one
    return dose.readingId !== null && wasCritical ? 'facts-changed' : null
  }
}

type Taken = { readonly takenAtMs: number; readonly isLow: boolean; readonly isCritical: boolean }

/**
 * A dose worked out from an older reading of the stay is void; a reading charted late that was taken earlier voids
 * nothing, unless it is critical, or low and not followed up since. A scheduled dose does not follow from a reading: a low voids it, when its event opens
 * and when an open event has another low value. Any newer reading voids it where its order holds it below a value, or
 * where it was worked out while a low was still followed.
 */
function byNewReading(dose: OpenDose, taken: Taken): DoseVoidReason | null {
  return isOlder(dose, taken) ? 'newer-reading' : taken.isCritical && dose.readingId !== null ? 'facts-changed' : null
}

function isOlder(dose: OpenDose, { takenAtMs, isLow }: Taken): boolean {
  if (dose.hasHold || (dose.kind === 'scheduled' && (isLow || dose.lowFollowed)))
    return takenAtMs >= (dose.knownReadingAtMs ?? 0)
  if (dose.readingId === null || dose.kind === 'scheduled' || dose.restsOn === null) return false
  return takenAtMs >= dose.restsOn.takenAtMs
}

/** A new dose for the same reading or slot takes the place of one not settled, so that two are never open at once. */
function replacedBy(dose: Dose, earlier: OpenDose): DoseVoidReason | null {
  const sameReading = dose.readingId !== null && dose.readingId === earlier.readingId
  const sameSlot = dose.slotKey !== null && dose.slotKey === earlier.slotKey
  if (!sameReading && !sameSlot) return null
  if (dose.kind === 'by-direction') return 'replaced-by-direction'
  return dose.kind === earlier.kind && dose.working.orderId === earlier.orderId ? 'started-again' : null
}

/** Nobody gives a dose that rests on a value of a meter that failed: worked out, checked or signed, it is void. */
function byFailedControl({ restsOn: reading }: OpenDose, meterId: string, failedAtMs: number): DoseVoidReason | null {
  return reading !== null && reading.meterId === meterId && reading.takenAtMs <= failedAtMs ? 'meter-failed' : null
}

function isCritical(glucose: Glucose, { criticalLow, criticalHigh }: Limits): boolean {
  return isBelow(glucose, criticalLow) || isAbove(glucose, criticalHigh)
}
