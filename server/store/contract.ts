/**
 * What the rest of the server may ask of the store. SQL stands only behind this. Every read of patient data takes the
 * actor's scope first and answers nothing (undefined, or an empty list) about a ward outside it.
 */
import type { StayEntry } from '../../shared/care/entries.ts'
import type { StayCare } from '../../shared/care/facts.ts'
import type { CheckOutcome, PlanVersion, TrayDelay } from '../../shared/check/check.ts'
import type { RoundItem } from '../../shared/check/round-model.ts'
import type { Direction, Dose, EarlierDose, InjectionSite, OutsideDose, TrayFact } from '../../shared/dose/dose.ts'
import type { VoidFacts } from '../../shared/dose/voids.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { CriticalCall } from '../../shared/critical/call.ts'
import type { LowEvent, SymptomsTreated } from '../../shared/low/low.ts'
import type { OrderVersion } from '../../shared/order/order.ts'
import type { FingerSite, Reading } from '../../shared/reading/reading.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import type { FailedControls } from '../../shared/meter/control.ts'
import type { MeterFacts } from '../../shared/reading/facts.ts'
import type { AccessReads, AccessWrites } from './contract-access.ts'
import type { AuditReads } from './contract-audit.ts'
import type { Scope } from './contract-scope.ts'
import type { ServiceReads } from './contract-service.ts'
import type { SetUpReads } from './contract-setup.ts'
import type { Meter, PolicyVersion, Staff, StripLot, Ward } from './contract-ward.ts'

export type * from './contract-access.ts'
export type * from './contract-audit.ts'
export type * from './contract-scope.ts'
export type * from './contract-service.ts'
export type * from './contract-setup.ts'
export type * from './contract-ward.ts'

export type OpenItemKind = RoundItem['kind']
/** `subjectId` is the reading, dose, low event or direction it is about. */
export type OpenItem = RoundItem & { readonly wardId: string; readonly detail: string }

export type { PatientDay } from '../../shared/audit/patient-day.ts'

/** What was charted in a span about the patients who lie on a ward now, wherever they lay then. */
export type PresentCare = {
  /** Taken in the span, by time; corrected and voided ones included. */
  readonly readings: readonly Reading[]
  /** Worked out or given in the span, by the time they were worked out. */
  readonly doses: readonly Dose[]
  /** Charted from paper or from elsewhere and given in the span, by time. */
  readonly outsideDoses: readonly OutsideDose[]
}

/** An accepted login. Kept by the server; the cookie holds only an opaque token, stored hashed. */
export type Session = {
  readonly tokenHash: string
  readonly staffId: string
  readonly wardId: string | null
  readonly startedMonoMs: number
  readonly lastSeenMonoMs: number
  readonly meterId: string | null
}

/** What came of a one-time key: replayed to whoever sends the same form again. */
export type KeyResponse = { readonly status: number; readonly location: string }
export type KeyUse =
  | { readonly kind: 'fresh' }
  | { readonly kind: 'same'; readonly answer: KeyResponse }
  | { readonly kind: 'other-body' }
  | { readonly kind: 'not-yours' }

/** Everything that the Round of a ward derives from; plain rows, loaded by few prepared statements. */
export type WardFacts = {
  readonly ward: Ward
  readonly policy: PolicyVersion
  readonly trayDelays: readonly TrayDelay[]
  readonly stays: readonly Stay[]
  readonly plans: readonly PlanVersion[]
  readonly outcomes: ReadonlyMap<string, CheckOutcome>
  /** Newest effective reading of each stay, by stay. */
  readonly lastReadings: ReadonlyMap<string, Reading>
  readonly orders: readonly OrderVersion[]
  readonly lows: readonly LowEvent[]
  readonly openItems: readonly OpenItem[]
  /** Doses not yet settled (no outcome, not voided). */
  readonly openDoses: readonly Dose[]
  /** Doses of each stay's newest effective reading, whatever became of them: what masking that reading is decided by. */
  readonly lastReadingDoses: readonly Dose[]
  readonly unaccountedDoses: readonly Dose[] // signed, then void, and nobody has charted whether they were given; of the last 72 h
  readonly forLaboratory: readonly Reading[] // effective LO and HI readings and laboratory values of the look-back
  /** Slot keys of scheduled doses proposed in the last 72 h that were given, withheld, refused or charted as zero. */
  readonly settledSlots: ReadonlySet<string>
  readonly meters: readonly Meter[]
  readonly stripLots: readonly StripLot[]
  readonly trays: readonly TrayFact[]
  readonly bedsTaken: readonly {
    readonly staffId: string
    readonly name: string
    readonly beds: readonly string[]
    /** since when */ readonly atMs: number
  }[]
  /** Entries, recent readings and insulin given of each stay, by stay: what tasks and watch checks ask for. */
  readonly care: ReadonlyMap<string, StayCare>
  /** For each stay an object that stays the same one as long as nothing about the stay has changed. */
  readonly stayRevisions: ReadonlyMap<string, object>
}

/** Everything that one stay's check, result and dose pages derive from. */
export type StayFacts = {
  readonly ward: Ward
  readonly policy: PolicyVersion
  readonly stay: Stay
  readonly plans: readonly PlanVersion[]
  readonly trayDelays: readonly TrayDelay[]
  /** All readings of the last 72 h (given now), and since a low event still open was opened; newest first, superseded and voided ones included. */
  readonly readings: readonly Reading[]
  /** Outcomes of this stay's checks of the last 72 h, by check key. */
  readonly outcomes: ReadonlyMap<string, CheckOutcome>
  /** All order versions in force or written in the last 72 h. */
  readonly orders: readonly OrderVersion[]
  /** Doses proposed in the last 72 h, newest first. */
  readonly doses: readonly Dose[]
  /** Entries of the whole stay, oldest first. */
  readonly entries: readonly StayEntry[]
  /** Every insulin given in the last 72 h from any source, newest first. */
  readonly insulinGiven: readonly EarlierDose[]
  /** Rapid and regular doses given in the last 24 h from any source, newest first. */
  readonly earlierDoses: readonly EarlierDose[]
  readonly directions: readonly Direction[]
  /** Since when the tube or parenteral feed is stopped; null: it runs, or there is none. */
  readonly feedStoppedSinceMs: number | null
  readonly lows: readonly LowEvent[]
  /** Calls about critical results of the last 72 h, newest first. */
  readonly criticalCalls: readonly CriticalCall[]
  /** Symptoms treated with no low number in the last 72 h, newest first. */
  readonly symptoms: readonly SymptomsTreated[]
  /** Open lows and the readings of the stay that this one returns from, when the patient left at most 24 h before. */
  readonly returnedFrom: { readonly lows: readonly LowEvent[]; readonly readings: readonly Reading[] } | null
  readonly trays: readonly TrayFact[]
  readonly openItems: readonly OpenItem[]
  readonly meters: readonly Meter[]
  readonly stripLots: readonly StripLot[]
  readonly failedControls: FailedControls
  /**
   * True when an outside dose was charted, "none elsewhere" was answered by an earlier dose, or the prescriber decided
   * where nobody knew, since the last move and the last return to the ward.
   */
  readonly elsewhereKnown: boolean
}

/** Each finger pricked and each site injected, once, the one used last first. */
export type SitesUsed = { readonly fingers: readonly FingerSite[]; readonly injections: readonly InjectionSite[] }

/** The part of it that charting a reading is decided by. */
export type CheckFacts = Pick<
  StayFacts,
  | 'policy'
  | 'stay'
  | 'plans'
  | 'trayDelays'
  | 'readings'
  | 'outcomes'
  | 'lows'
  | 'meters'
  | 'stripLots'
  | 'entries'
  | 'insulinGiven'
  | 'trays'
  | 'orders'
  | 'feedStoppedSinceMs'
> & { readonly ward: Pick<Ward, 'wardId'> }

export type PlainData<T> = T extends { then: unknown } ? never : T

export type Store = SetUpReads &
  ServiceReads &
  AuditReads &
  AccessReads &
  AccessWrites & {
    /** BEGIN IMMEDIATE, commit on return, roll back on throw. Synchronous: a promise or a reply as the result does not compile. */
    transact<T>(work: () => PlainData<T>): T
    /**
     * Appends the events to the ledger and applies them, inside the running transaction. Throws outside one, and when the
     * events leave out a `dose-voided` or hold one too many (void-check.ts): decisions are stored by `storeEvents`.
     */
    append(events: readonly LedgerEvent[]): void
    /** What decides which doses the event voids: ids alone, of any ward, for `storeEvents` and never to be shown. */
    openDosesForVoiding(event: LedgerEvent): VoidFacts
    /**
     * Tells the listener, after each transaction that appended events, which wards' data they changed. It runs before the
     * writer has its answer, so it only takes note and never throws. Answers how to stop listening.
     */
    onWrite(listener: (wardIds: readonly string[]) => void): () => void

    wards(scope: Scope): readonly Ward[]
    wardVersion(scope: Scope, wardId: string): number | undefined
    /** The policy in force at the instant, cheap enough for every page (ward time, idle lock). */
    wardPolicy(scope: Scope, wardId: string, nowMs: number): PolicyVersion | undefined
    /** The policy in force at the instant on any ward. It has no patient's data, so it needs no scope. */
    policyOfAnyWard(wardId: string, atMs: number): PolicyVersion | undefined
    wardFacts(scope: Scope, wardId: string, nowMs: number): WardFacts | undefined
    stayFacts(scope: Scope, stayId: string, nowMs: number): StayFacts | undefined
    checkFacts(scope: Scope, stayId: string, nowMs: number): CheckFacts | undefined
    /** The ward's meters in use, each with its latest control at or before the instant; by serial number. */
    metersWhen(scope: Scope, wardId: string, takenAtMs: number): readonly MeterFacts[]
    /** Of the whole stay, however long it is: a rotation that forgets would propose the last site again. */
    sitesUsed(scope: Scope, stayId: string): SitesUsed
    staysOfWard(scope: Scope, wardId: string): readonly Stay[]
    /** From is in, to is out; undefined for a ward outside the scope. */
    presentCare(
      scope: Scope,
      wardId: string,
      span: { readonly fromMs: number; readonly toMs: number },
    ): PresentCare | undefined
    /** The present stay wearing this wristband on any ward: its bed and ward only, for "this is bed 4's wristband". */
    stayByWristband(
      wristband: string,
    ): { readonly stayId: string; readonly wardId: string; readonly bed: string } | undefined
    readingById(scope: Scope, readingId: string): Reading | undefined
    doseById(scope: Scope, doseId: string): Dose | undefined
    /** Doses awaiting a second check in the scope's wards, oldest first. */
    dosesAwaiting(scope: Scope): readonly Dose[]
    lowById(scope: Scope, lowId: string): LowEvent | undefined
    openItem(scope: Scope, itemId: string): OpenItem | undefined
    staffById(staffId: string): Staff | undefined
    staffByBadge(badge: string): Staff | undefined
    isEmpty(): boolean
    /** Every ward there is: for the commands, which act for no person. */
    wardIds(): readonly string[]
    lastEventAtMs(): number | undefined

    /** Secrets and logins: outside the ledger. */
    setPinHash(staffId: string, hash: string): void
    pinHash(staffId: string): string | undefined
    /** A one-time code with which a person sets a PIN: kept hashed, one a person, gone when used. Expires by ward time. */
    putPinCode(code: { staffId: string; codeHash: string; expiresAtMs: number }): void
    pinCode(staffId: string): { readonly codeHash: string; readonly expiresAtMs: number } | undefined
    dropPinCode(staffId: string): void
    /** Ends every login of the person. */
    dropSessionsOf(staffId: string): void
    putSession(session: Session): void
    session(tokenHash: string): Session | undefined
    touchSession(
      tokenHash: string,
      change: { lastSeenMonoMs?: number; wardId?: string | null; meterId?: string | null },
    ): void
    dropSession(tokenHash: string): void
    /** A random secret made once for each database, by purpose (cookie signing, form keys). */
    secret(purpose: string): Buffer

    /** One-time keys; `useKey` and `settleKey` run inside the decision's own transaction. */
    lookUpKey(key: { nonce: string; staffId: string; bodyHash: string }): KeyUse
    settleKey(key: {
      nonce: string
      staffId: string
      form: string
      bodyHash: string
      answer: KeyResponse
      atMs: number
    }): void
    /** What was typed when a login ran out, for the same person only. */
    putDraft(draft: {
      draftId: string
      staffId: string
      path: string
      fields: Readonly<Record<string, string>>
      atMs: number
    }): void
    draft(
      draftId: string,
      staffId: string,
    ): { readonly path: string; readonly fields: Readonly<Record<string, string>>; readonly atMs: number } | undefined

    /** A fact about the file itself, never a clinical one: that it is a demo's, where the demo's clock stands (notes.ts). */
    note(name: string): string | undefined
    setNote(name: string, text: string): void

    /** True when the database answers and a write goes through. */
    probe(): { readonly readable: boolean; readonly writable: boolean }
    close(): void
  }
