/** What the ward board and the audit ask of the store: what happened on wards, and sums over it. */
import type { CheckOutcome, PlanVersion, TrayDelay } from '../../shared/check/check.ts'
import type { Dose, OutsideDose, TrayFact } from '../../shared/dose/dose.ts'
import type { CriticalCall } from '../../shared/critical/call.ts'
import type { LowEvent, SymptomsTreated } from '../../shared/low/low.ts'
import type { OrderVersion } from '../../shared/order/order.ts'
import type { PatientDay } from '../../shared/audit/patient-day.ts'
import type { RateSums } from '../../shared/audit/rates.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import type { BedSpan, FactsVersion, Stay } from '../../shared/stay/stay.ts'
import type { Scope } from './contract-scope.ts'
import type { StayHistory } from './contract-setup.ts'

export type DatesAsked = { readonly wardIds: readonly string[]; readonly fromDate: string; readonly toDate: string }
/** From is in, to is out. */
export type SpanAsked = { readonly wardIds: readonly string[]; readonly fromMs: number; readonly toMs: number }
export type HandedNeed = { readonly toStaffId: string; readonly byId: string; readonly atMs: number }
export type NearMissKind =
  'wristband' | 'second-check-differed' | 'wrong-unit' | 'guard-stopped' | 'verification-differed'
/** `subjectId`: the dose, reading or order it is about; null when it is about none. */
export type NearMiss = {
  readonly wardId: string
  readonly number: number
  readonly kind: NearMissKind
  readonly stayId: string | null
  readonly subjectId: string | null
  readonly byId: string
  readonly atMs: number
  readonly details: Readonly<Record<string, string>>
}
export type AuditNote = {
  readonly noteId: string
  readonly lowId: string
  readonly finding: string
  readonly followUp: string
  readonly byId: string
  readonly atMs: number
}
export type StayAudit = StayHistory & {
  readonly readings: readonly Reading[]
  readonly doses: readonly Dose[]
  readonly outsideDoses: readonly OutsideDose[]
  readonly trays: readonly TrayFact[]
  readonly orders: readonly OrderVersion[]
  readonly lows: readonly LowEvent[]
  readonly criticalCalls: readonly CriticalCall[]
  readonly symptoms: readonly SymptomsTreated[]
}
export type StayOnWard = {
  readonly stay: Stay
  /** on this ward, clipped to nothing */ readonly spans: readonly BedSpan[]
  readonly plans: readonly PlanVersion[]
  readonly outcomes: ReadonlyMap<string, CheckOutcome>
}
export type EndedStay = {
  readonly stay: Stay
  readonly facts: readonly FactsVersion[]
  readonly readings: readonly Reading[]
  readonly doses: readonly Dose[]
  readonly outsideDoses: readonly OutsideDose[]
}

/**
 * The board and the audit. A ward outside the scope is left out of every answer; what happened on a ward stays that
 * ward's, wherever the patient went since.
 */
export type AuditReads = {
  /** Whose each handed need is, by the need's key. */
  handedNeeds(scope: Scope, wardId: string): ReadonlyMap<string, HandedNeed>
  /** Sums over the patient-day figures of the dates (ward-local, both in); a stay's day on two wards is one day. */
  rateSums(scope: Scope, asked: DatesAsked): RateSums
  /** The same by month (YYYY-MM) or by ward. */
  rateSumsBy(scope: Scope, asked: DatesAsked, by: 'month' | 'ward'): ReadonlyMap<string, RateSums>
  /** The first and the last of the dates with a reading that counts, and on how many there is one; null: on none. */
  daysWithReadings(
    scope: Scope,
    asked: DatesAsked,
  ): { readonly first: string; readonly last: string; readonly days: number } | null
  patientDays(scope: Scope, asked: DatesAsked): readonly PatientDay[]
  /** Readings that count, taken on the wards in the span, by time. */
  auditReadings(scope: Scope, asked: SpanAsked): readonly Reading[]
  /** Low events opened on the wards in the span, by time, with the stay of each. */
  lowsOpened(scope: Scope, asked: SpanAsked): readonly { readonly low: LowEvent; readonly stay: Stay }[]
  /** Low events opened before the instant and not closed then, by time: what a shift found going on. */
  lowsOpenAt(
    scope: Scope,
    asked: { readonly wardIds: readonly string[]; readonly atMs: number },
  ): readonly { readonly low: LowEvent; readonly stay: Stay }[]
  /** One low event of a ward of the scope, wherever the patient is now. */
  auditedLow(scope: Scope, lowId: string): { readonly low: LowEvent; readonly stay: Stay } | undefined
  lowsOfStay(scope: Scope, stayId: string): readonly LowEvent[]
  /** The stay's readings that count and were taken in the span, by time, on whatever ward of the scope's or not: for a stay that lay on one of them. */
  readingsOfStay(
    scope: Scope,
    stayId: string,
    span: { readonly fromMs: number; readonly toMs: number },
  ): readonly Reading[]
  /** Trays and shares eaten of the dates (ward-local, both in), for the stays with a reading on the wards on one of them. */
  traysOfWards(scope: Scope, asked: DatesAsked): readonly TrayFact[]
  /** Tray delays charted for the ward on the dates, both in. */
  trayDelays(
    scope: Scope,
    wardId: string,
    dates: { readonly fromDate: string; readonly toDate: string },
  ): readonly TrayDelay[]
  /** Everything about one stay in the span, for what led to a low and how it went. */
  stayAudit(
    scope: Scope,
    stayId: string,
    span: { readonly fromMs: number; readonly toMs: number },
  ): StayAudit | undefined
  nearMisses(scope: Scope, asked: SpanAsked): readonly NearMiss[]
  auditNotes(scope: Scope, lowId: string): readonly AuditNote[]
  /** Stays that lay on the ward in the span, with their plans and the outcomes of their checks. */
  staysOnWard(
    scope: Scope,
    wardId: string,
    span: { readonly fromMs: number; readonly toMs: number },
  ): readonly StayOnWard[]
  /** Doses given on the wards in the span, by time. */
  dosesGiven(scope: Scope, asked: SpanAsked): readonly Dose[]
  /** Stays discharged in the span from a ward of the scope, whole: what the harm measures look at. */
  staysEnded(scope: Scope, asked: SpanAsked): readonly EndedStay[]
}
