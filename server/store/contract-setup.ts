/** What Setup asks of the store: how wards, people, meters and orders came to be as they are. */
import type { PlanVersion } from '../../shared/check/check.ts'
import type { OrderVersion } from '../../shared/order/order.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { BedSpan, FactsVersion, FeedInterruption, Stay } from '../../shared/stay/stay.ts'
import type { IdentityVersion } from '../../shared/stay/identity.ts'
import type { WardBeds } from '../../shared/stay/move.ts'
import type { Comparison, ControlMeasurement } from '../../shared/meter/meter.ts'
import type { StandardOrder } from '../../shared/order/standard.ts'
import type { OrderStop } from '../../shared/order/stop.ts'
import type { VerificationAnswer } from '../../shared/order/verification.ts'
import type { PolicyChange } from '../../shared/policy/change.ts'
import type { Scope } from './contract-scope.ts'
import type { Meter, PolicyVersion, Staff, StripLot, Ward } from './contract-ward.ts'

/** A policy version as it is set up: by whom it was set (the approver, where two were needed), when it was charted, after which change, and why. */
export type PolicyRecord = PolicyVersion & {
  readonly byId: string
  readonly chartedAtMs: number
  readonly changeId: string | null
  readonly note: string
}
/** A meter as it is set up, retired ones included. */
export type MeterRecord = Meter & { readonly retired: { readonly reason: string; readonly atMs: number } | null }
/** A reading that a recall asks about, with whose it was. */
export type RecallRow = {
  readonly reading: Reading
  readonly stay: Stay
  /** doses given from it */ readonly doseIds: readonly string[]
}
/** One verification of an order version, agreed or not. */
export type OrderVerification = {
  readonly orderId: string
  readonly version: number
  readonly answers: readonly VerificationAnswer[]
  readonly agreed: boolean
  readonly byId: string
  readonly atMs: number
}
/** How a stay came to be as it is. */
export type StayHistory = {
  readonly stay: Stay
  readonly facts: readonly FactsVersion[]
  readonly beds: readonly BedSpan[]
  readonly interruptions: readonly FeedInterruption[]
  /** Every plan version, oldest first, plans laid over included. */
  readonly plans: readonly PlanVersion[]
  readonly previousStayId: string | null
}

/**
 * Setup. Administrators set up every ward (its policy, meters and people, never its patients); everybody else the
 * wards of the scope. `wards`, `wardFacts` and every read of a patient keep to the scope's own wards.
 */
export type SetUpReads = {
  setUpWards(scope: Scope): readonly Ward[]
  /** All versions, newest first, those that count from a later instant included. */
  policyVersions(scope: Scope, wardId: string): readonly PolicyRecord[]
  /** Beds of the ward in which a patient lies, and nothing about who: to refuse taking one away. */
  bedsOccupied(scope: Scope, wardId: string): readonly string[]
  /** Newest first. */
  policyChanges(scope: Scope, wardId: string): readonly PolicyChange[]
  policyChange(scope: Scope, changeId: string): PolicyChange | undefined
  /** Everybody for an administrator; the people of the scope's wards otherwise. By name, those who left included. */
  staffList(scope: Scope): readonly Staff[]
  /** Retired ones included, by serial number. */
  metersOfWard(scope: Scope, wardId: string): readonly MeterRecord[]
  meterById(scope: Scope, meterId: string): MeterRecord | undefined
  /** Serial number of a meter on whatever ward it is now, out of use or not: how a reading was taken. No patient's datum. */
  meterSerial(meterId: string): string | undefined
  /** The meter of this serial number on any ward: to refuse a second one. */
  meterBySerial(serial: string): { readonly meterId: string; readonly wardId: string } | undefined
  stripLotsOfWard(scope: Scope, wardId: string): readonly StripLot[]
  /** Control measurements of the meter since the instant, newest first. */
  controlsOf(scope: Scope, meterId: string, sinceMs: number): readonly ControlMeasurement[]
  /** Newest first. */
  comparisonsOf(scope: Scope, meterId: string): readonly Comparison[]
  /** Readings taken in [fromMs, toMs) with this meter, this lot, or both; patients of the scope's wards only. By time. */
  recallRows(
    scope: Scope,
    asked: {
      readonly meterId: string | null
      readonly lot: string | null
      readonly fromMs: number
      readonly toMs: number
    },
  ): readonly RecallRow[]
  stayHistory(scope: Scope, stayId: string): StayHistory | undefined
  /** Name and identifiers as admitted and after each correction, oldest first. */
  identityHistory(scope: Scope, stayId: string): readonly IdentityVersion[]
  /** Every ward with its beds and which of them are taken, by name: to find a bed for a move. Says nothing about who lies there. */
  wardBeds(nowMs: number): readonly WardBeds[]
  /** Stays of the ward discharged since the instant, newest first. */
  staysDischarged(scope: Scope, wardId: string, sinceMs: number): readonly Stay[]
  /** Every version of every order of the stay, newest first, ended ones included. */
  orderVersions(scope: Scope, stayId: string): readonly OrderVersion[]
  orderVersion(scope: Scope, orderId: string, version: number): OrderVersion | undefined
  /** Verifications of every version of the order, newest first. */
  orderVerifications(scope: Scope, orderId: string): readonly OrderVerification[]
  /** Every stop of an order of the stay, newest first: by whom it was ordered, and why. */
  orderStops(scope: Scope, stayId: string): readonly OrderStop[]
  /** Every version of every standard order of the ward, newest first, ended ones included. */
  standardOrders(scope: Scope, wardId: string): readonly StandardOrder[]
}
