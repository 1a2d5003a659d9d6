/**
 * How the ledger's rows before its marker (`voids-are-events`) are applied. This file never changes: it is what those
 * rows mean. They hold no `dose-voided`: an event that changed what a dose rests on voided the dose by itself, by the
 * rules below. And they hold steps on doses that these rules void, because the program that charted them voided less.
 * Such a dose stays void as long as nothing came of it; once it was given or accounted for, the record says what was
 * done and not that it counted no more. What a dose is void by today is in shared/dose/voids.ts.
 */
import type { Dose, DoseVoidReason } from '../../shared/dose/dose.ts'
import { isAbove, isBelow } from '../../shared/glucose/value.ts'
import type { EventBodies, LedgerEvent } from '../../shared/ledger/events.ts'
import type { InsulinName } from '../../shared/order/order.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { DAY_MS } from '../../shared/time/span.ts'
import type { Derived } from './derived.ts'
import type { DoseBook } from './dose-book.ts'
import { policyAtOf } from './policy-at.ts'

type Void = { readonly dose: Dose; readonly reason: DoseVoidReason; readonly atMs: number }
type Why = (dose: Dose) => DoseVoidReason | null

/** Prepares applying rows before the marker: `apply` applies the event itself, as any other row. */
export function appliesWithImpliedVoids(
  derived: Derived,
  doses: DoseBook,
  apply: (event: LedgerEvent) => void,
): (event: LedgerEvent) => void {
  const { raw } = derived.connection
  const policyAt = policyAtOf(derived.connection)
  const openDoses = raw.prepare<[string], { dose_id: string }>(
    'SELECT dose_id FROM dose WHERE stay_id = ? AND open = 1 ORDER BY proposed_at_ms, dose_id',
  )
  const staysOfWard = raw.prepare<[string], { stay_id: string }>(
    `SELECT DISTINCT d.stay_id FROM stay s JOIN dose d ON d.stay_id = s.stay_id
     WHERE s.ward_id = ? AND s.discharged_at_ms IS NULL AND d.open = 1 ORDER BY d.stay_id`,
  )
  const staysOfMeter = raw.prepare<[string, number, number], { stay_id: string }>(
    `SELECT DISTINCT d.stay_id FROM reading r JOIN dose d ON d.stay_id = r.stay_id
     WHERE r.meter_id = ? AND r.taken_at_ms BETWEEN ? AND ? AND d.open = 1 ORDER BY d.stay_id`,
  )
  const readingOf = (readingId: string): Reading => derived.reading.need(readingId).fact
  const limitsOf = (reading: Reading): WardPolicy['limits'] => {
    const limits = policyAt(reading.wardId, reading.takenAtMs)?.policy.limits
    if (limits === undefined) throw new Error(`ward ${reading.wardId} has no policy`)
    return limits
  }
  const isCritical = (reading: Reading): boolean => {
    const limits = limitsOf(reading)
    return isBelow(reading.glucose, limits.criticalLow) || isAbove(reading.glucose, limits.criticalHigh)
  }
  const isLow = (reading: Reading): boolean => isBelow(reading.glucose, limitsOf(reading).low)

  const voidsOf = (stayIds: readonly string[], atMs: number, why: Why): readonly Void[] =>
    stayIds
      .flatMap((stayId) => openDoses.all(stayId).map(({ dose_id: doseId }) => derived.dose.need(doseId).fact))
      .flatMap((dose) => {
        const reason = why(dose)
        return reason === null ? [] : [{ dose, reason, atMs }]
      })

  const retiredBy = (reading: Reading, reason: 'reading-corrected' | 'reading-in-error'): Why => {
    const wasCritical = isCritical(reading)
    return (dose) => {
      if (restsOn(dose) === reading.readingId) return reason
      if (dose.kind === 'scheduled' && dose.inputs.low !== 'none') return reason
      return dose.readingId !== null && wasCritical ? 'facts-changed' : null
    }
  }
  const isOlder = (dose: Dose, reading: Reading): boolean => {
    if (hasHold(dose) || (dose.kind === 'scheduled' && (isLow(reading) || dose.inputs.low !== 'none')))
      return reading.takenAtMs >= (dose.inputs.readingTakenAtMs ?? 0)
    if (dose.readingId === null || dose.kind === 'scheduled') return false
    return reading.takenAtMs >= readingOf(dose.readingId).takenAtMs
  }
  const newReading =
    (reading: Reading): Why =>
    (dose) =>
      isOlder(dose, reading) ? 'newer-reading' : isCritical(reading) && dose.readingId !== null ? 'facts-changed' : null

  const byPolicy = (event: LedgerEvent, fromMs: number): readonly Void[] =>
    fromMs > event.chartedAtMs || event.wardId === null
      ? []
      : voidsOf(
          staysOfWard.all(event.wardId).map(({ stay_id: stayId }) => stayId),
          event.chartedAtMs,
          () => 'policy-changed',
        )
  const byControl = (
    { meterId, passed }: EventBodies['meter-controlled'],
    { happenedAtMs, chartedAtMs }: LedgerEvent,
  ): readonly Void[] => {
    const lastMs = derived.meter.need(meterId).control_at_ms
    if (passed || (lastMs !== null && lastMs > happenedAtMs)) return []
    return voidsOf(
      staysOfMeter.all(meterId, happenedAtMs - DAY_MS, happenedAtMs).map(({ stay_id: stayId }) => stayId),
      chartedAtMs,
      (dose) => {
        const readingId = restsOn(dose)
        const reading = readingId === null ? null : readingOf(readingId)
        return reading !== null && reading.meterId === meterId && reading.takenAtMs <= happenedAtMs
          ? 'meter-failed'
          : null
      },
    )
  }

  /** What the event voids, as the tables stand before it. */
  const implied = (event: LedgerEvent): readonly Void[] => {
    const ofStay = (stayId: string | null, why: Why, atMs = event.chartedAtMs): readonly Void[] =>
      stayId === null ? [] : voidsOf([stayId], atMs, why)
    const ofItsStay = (why: Why): readonly Void[] => ofStay(event.stayId, why)
    switch (event.type) {
      case 'reading-recorded': {
        const { reading } = event.body
        const byNew = newReading(reading)
        if (reading.supersedes === null) return ofStay(reading.stayId, byNew)
        const byOld = retiredBy(readingOf(reading.supersedes.readingId), 'reading-corrected')
        return ofStay(reading.stayId, (dose) => byOld(dose) ?? byNew(dose))
      }
      case 'reading-voided': {
        const reading = readingOf(event.body.readingId)
        return ofStay(reading.stayId, retiredBy(reading, 'reading-in-error'))
      }
      case 'low-event-opened':
        return ofItsStay(() => 'newer-reading')
      case 'dose-proposed':
        return ofStay(event.body.dose.stayId, (earlier) => replacedBy(event.body.dose, earlier))
      case 'dose-given': {
        const given = derived.dose.need(event.body.doseId).fact
        return ofStay(given.stayId, (dose) =>
          dose.doseId !== given.doseId && bearsOn(given.insulin, dose) ? 'facts-changed' : null,
        )
      }
      case 'outside-dose-recorded': {
        const { stayId, insulin, givenAtMs, chartedAtMs } = event.body.outsideDose
        if (givenAtMs <= chartedAtMs - DAY_MS) return []
        return ofStay(stayId, (dose) => (bearsOn(insulin, dose) ? 'facts-changed' : null), chartedAtMs)
      }
      case 'order-written':
        return ofItsStay(() => 'order-changed')
      case 'order-verified':
      case 'order-stopped':
        return ofItsStay((dose) => (dose.working.orderId === event.body.orderId ? 'order-changed' : null))
      case 'policy-set':
        return byPolicy(event, event.happenedAtMs)
      case 'policy-set-from':
        return byPolicy(event, event.body.fromMs)
      case 'stay-moved':
        return ofItsStay(() => 'stay-moved')
      case 'stay-discharged':
        return ofItsStay(() => 'stay-discharged')
      case 'meter-controlled':
        return byControl(event.body, event)
      default:
        return []
    }
  }

  /**
   * Takes the void off a dose that a step is about, so that the step applies. Answers the void to put back once the step
   * is applied; null: there was none. What was done outweighs it, unless every program accepted that step on a void
   * dose: given before it was void, and a signed dose accounted for.
   */
  const takeOff = (event: LedgerEvent): (Void & { readonly stays: boolean }) | null => {
    if (!isStep(event)) return null
    const dose = derived.dose.need(event.body.doseId).fact
    if (dose.voided === null || dose.outcome !== null) return null
    doses.put({ ...dose, voided: null })
    const stays =
      (event.type === 'dose-given' && dose.voided.atMs > event.happenedAtMs) ||
      (event.type === 'dose-not-given' && dose.product !== null)
    return { dose, ...dose.voided, stays }
  }

  return (event) => {
    const before = takeOff(event)
    const voids = implied(event).filter(({ dose }) => dose.doseId !== before?.dose.doseId)
    apply(event)
    for (const { dose, reason, atMs } of voids)
      doses.put({ ...derived.dose.need(dose.doseId).fact, voided: { reason, atMs } })
    if (before === null) return
    const now = derived.dose.need(before.dose.doseId).fact
    if (now.outcome === null || before.stays)
      doses.put({ ...now, voided: { reason: before.reason, atMs: before.atMs } })
  }
}

type Step = Extract<
  LedgerEvent,
  { type: 'second-check-answered' | 'dose-started-again' | 'dose-verified' | 'dose-given' | 'dose-not-given' }
>

function isStep(event: LedgerEvent): event is Step {
  return ['second-check-answered', 'dose-started-again', 'dose-verified', 'dose-given', 'dose-not-given'].includes(
    event.type,
  )
}

function replacedBy(dose: Dose, earlier: Dose): DoseVoidReason | null {
  const sameReading = dose.readingId !== null && dose.readingId === earlier.readingId
  const sameSlot = dose.slotKey !== null && dose.slotKey === earlier.slotKey
  if (!sameReading && !sameSlot) return null
  if (dose.kind === 'by-direction') return 'replaced-by-direction'
  return dose.kind === earlier.kind && dose.working.orderId === earlier.working.orderId ? 'started-again' : null
}

function hasHold(dose: Dose): boolean {
  return (
    dose.kind === 'scheduled' &&
    dose.working.guards.some(({ guard, details }) => guard === 'scheduled-hold' && details['limit'] !== undefined)
  )
}

function restsOn(dose: Dose): string | null {
  return dose.readingId ?? (hasHold(dose) ? dose.working.readingId : null)
}

const SHORT: readonly InsulinName[] = ['insulin lispro', 'insulin aspart', 'insulin glulisine', 'regular insulin']

function bearsOn(insulin: InsulinName, dose: Dose): boolean {
  return insulin === dose.insulin || (SHORT.includes(insulin) && SHORT.includes(dose.insulin))
}
