/**
 * Every clinical fact is one of these events. The ledger holds them for ever; every table of the service is derived
 * from them by server/store/apply.ts, for live writes and for a rebuild alike. A body is plain JSON.
 * An event of a shape that has to change gets a new type; these are never reinterpreted.
 */
import type { EntryBody } from '../care/entries.ts'
import type { CheckPlan, ExcuseReason, Meal, MissedReason } from '../check/check.ts'
import type {
  Deviation,
  Direction,
  Dose,
  DoseVoidReason,
  FoodAnswer,
  GuardName,
  InjectionSite,
  OutsideDose,
  SecondAnswer,
} from '../dose/dose.ts'
import type { Glucose, GlucoseUnit } from '../glucose/value.ts'
import type { Amount, BedsideAnswers, InsulinDecision, LevelThree, LowArm, LowCause } from '../low/low.ts'
import type { InsulinName, InsulinOrder } from '../order/order.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Comparison, ControlRange } from '../meter/meter.ts'
import type { VerificationAnswer } from '../order/verification.ts'
import type { Reading } from '../reading/reading.ts'
import type { BedsideFacts } from '../stay/stay.ts'

export type Role = 'floor-nurse' | 'charge-nurse' | 'educator' | 'administrator'

/** What each event type carries besides its head. */
export type EventBodies = {
  'ward-opened': { name: string; beds: readonly string[] }
  'policy-set': { version: number; policy: WardPolicy }
  /** A policy that counts from an instant of its own, which can lie ahead; `changeId` is null where no second administrator was needed. */
  'policy-set-from': {
    version: number
    policy: WardPolicy
    fromMs: number
    changeId: string | null
    /** why; of a change that another one approved, its own note counts */ note?: string
  }
  /** One administrator's change of a number that touches a dose: it counts once another one approves it. */
  'policy-change-written': { changeId: string; basedOn: number; policy: WardPolicy; fromMs: number; note: string }
  'policy-change-refused': { changeId: string; reason: string }
  'ward-beds-set': { beds: readonly string[] }
  'staff-changed': { staffId: string; name: string; role: Role; wardIds: readonly string[] }
  'staff-badge-changed': { staffId: string; badge: string }
  'staff-locked': { staffId: string; reason: string }
  'staff-unlocked': { staffId: string }
  /** No longer works here: never signs in again, and the name stays on every record. */
  'staff-left': { staffId: string }
  /** Calendar date until which the person is trained on the meters (in); null: not trained. */
  'training-set': { staffId: string; validUntil: string | null }
  /** A one-time code was made with which the person sets a PIN; the code itself is kept nowhere but hashed, outside the ledger. */
  'pin-code-made': { staffId: string }
  /** The person set a PIN: with such a code, or by herself (her old PIN, or the first administrator's own). Never holds the PIN. */
  'pin-set': { staffId: string; by: 'code' | 'self' }
  'staff-added': { staffId: string; badge: string; name: string; role: Role; wardIds: readonly string[] }
  'meter-added': { meterId: string; serial: string; unit: GlucoseUnit }
  'meter-controlled': { meterId: string; passed: boolean }
  'meter-moved': { meterId: string; toWardId: string }
  'meter-retired': { meterId: string; reason: string }
  'strip-lot-added': { lot: string; expiresOn: string }
  /** The two control ranges that the lot's label prints, both ends in. */
  'strip-lot-ranges-set': { lot: string; level1: ControlRange; level2: ControlRange }
  /** One level measured with control solution; a verdict over both levels follows as meter-controlled. */
  'control-measured': { meterId: string; lot: string; level: 1 | 2; value: Glucose; inRange: boolean }
  'comparison-recorded': { comparison: Comparison }
  'stay-admitted': {
    bed: string
    wristband: string
    familyName: string
    givenName: string
    bornOn: string
    facts: BedsideFacts
  }
  'stay-moved': { fromWardId: string; toWardId: string; bed: string }
  'stay-discharged': Record<string, never>
  /** The stay is a patient's return: which earlier stay it follows. */
  'stay-readmitted': { previousStayId: string }
  /** A name, date of birth or wristband that was wrong or replaced; all four as they are from now on. */
  'stay-identified': { wristband: string; familyName: string; givenName: string; bornOn: string; reason: string }
  'facts-set': { facts: BedsideFacts }
  'feed-interrupted': { interruptionId: string; reason: string }
  'feed-resumed': { interruptionId: string }
  /** A plan that lies over the others for a span (nil by mouth) and ends none of them. */
  'plan-laid-over': { version: number; plan: CheckPlan; fromMs: number; untilMs: number | null }
  /** The end of one plan version, set anew: of a plan laid over, or of an addition (overnight). */
  'plan-end-set': { version: number; untilMs: number | null }
  'plan-set': { version: number; plan: CheckPlan; untilMs: number | null }
  'order-written': { orderId: string; version: number; order: InsulinOrder }
  'order-verified': { orderId: string; version: number }
  /** The second person's re-entered doses; any difference stops the version for good. */
  'order-verification-answered': {
    orderId: string
    version: number
    answers: readonly VerificationAnswer[]
    agreed: boolean
  }
  /** A ward's standard order: no patient's, and no dose comes from it. One administrator writes, another approves. */
  'standard-order-written': { standardOrderId: string; version: number; name: string; order: InsulinOrder }
  'standard-order-approved': { standardOrderId: string; version: number }
  'standard-order-withdrawn': { standardOrderId: string; reason: string }
  /** Who ordered the stop and how it came are absent in events written before they were asked. */
  'order-stopped': { orderId: string; reason: string; orderedBy?: string; received?: InsulinOrder['received'] }
  /** The beds one nurse looks after on the ward, until she chooses again. */
  'beds-taken': { staffId: string; beds: readonly string[] }
  /** Near miss: the wrong wristband was scanned at a bed. Never holds the number itself. */
  'wristband-mismatched': { expectedStayId: string; foundStayId: string | null; at: 'check' | 'product' | 'give' }
  /** Near miss: what was typed was a value of the other unit, and nothing was stored. Never holds the number itself. */
  'entry-refused': { what: 'wrong-unit'; at: 'check' | 'paper-reading' | 'correction' }
  /** Near miss: a dose was asked for and guards stopped it. */
  'dose-stopped': {
    readingId: string | null
    slotKey: string | null
    orderId: string | null
    guards: readonly GuardName[]
  }
  /** The educator's finding and follow-up about a low event: beside the record, never over it. */
  'audit-note-added': { noteId: string; lowId: string; finding: string; followUp: string }
  /** Figures or rows left the service as a file. `reason` is given whenever people are named in it. */
  'export-made': {
    what: string
    format: 'csv' | 'json'
    identified: boolean
    reason: string | null
    fromMs: number
    toMs: number
    rows: number
  }
  /** Something that needs a person was handed to somebody; the newest one counts. */
  'need-handed': { needKey: string; toStaffId: string }
  'reading-recorded': { reading: Reading }
  'reading-voided': { readingId: string; reason: string }
  'check-excused': { checkKey: string; reason: ExcuseReason | MissedReason; note: string }
  'tray-delayed': { date: string; meal: Meal; minutes: number }
  'tray-charted': { date: string; meal: Meal; servedAtMs: number }
  'share-eaten-charted': { date: string; meal: Meal; percent: 0 | 25 | 50 | 75 | 100 }
  'dose-proposed': { dose: Dose }
  'second-check-answered': { doseId: string; answer: SecondAnswer }
  /** After a difference the first nurse read the meter and the order again. */
  'dose-started-again': { doseId: string }
  'dose-verified': {
    doseId: string
    byId: string
    insulin: InsulinName
    concentration: string
    expiresOn: string
    units: number
  }
  'dose-given': { doseId: string; site: InjectionSite; food: FoodAnswer; deviation?: Deviation }
  'dose-not-given': { doseId: string; kind: 'withheld' | 'refused'; reason: string }
  /** An open dose that no longer counts, from this instant on; it follows the event that voided it. */
  'dose-voided': { doseId: string; reason: DoseVoidReason }
  /**
   * Once in each ledger. In the rows before it a dose is void by the event that changed what it rests on; after it a
   * dose is void by `dose-voided` alone (server/store/implied-voids.ts).
   */
  'voids-are-events': Record<string, never>
  'direction-recorded': { direction: Direction }
  'outside-dose-recorded': { outsideDose: OutsideDose }
  'low-event-opened': { lowId: string; readingId: string; previousLowId: string | null }
  /** A low value after recovery and before the follow-up: the same event, and its insulin is asked about again. */
  'low-relapsed': { lowId: string; readingId: string }
  /** "Awake and swallowing now? IV working now?", asked before each treatment. */
  'low-answered': { lowId: string; answers: BedsideAnswers }
  'low-treated': { lowId: string; arm: LowArm; amount: Amount | null; what: string; directedBy: string | null }
  'low-level-3-found': { lowId: string; finding: LevelThree }
  'low-emergency-called': { lowId: string }
  /** The prescriber was told of the low; after the last cycle this is the escalation. */
  'low-told': { lowId: string; told: string; readBack: true; ordered: string }
  'low-food-given': { lowId: string; grams: number; what: string }
  /** What the prescriber said about meal and long-acting insulin after the low. */
  'insulin-question-answered': {
    lowId: string
    told: string
    readBack: true
    decision: InsulinDecision
    ordered: string
  }
  'low-event-closed': { lowId: string; cause: LowCause | 'entered-in-error'; note: string }
  /** A value that had closed it was corrected or entered in error: it is open again. */
  'low-event-reopened': { lowId: string }
  /** Symptoms with a value that is not low (UK practice, at 4.0 mmol/L and above): a snack, and no low event. */
  'symptoms-treated': { symptomsId: string; symptoms: string; what: string; readingId: string | null }
  'critical-told': { readingId: string; told: string; readBack: true; ordered: string }
  /** A fact about the patient beside readings, doses and lows: the kinds are in shared/care/entries.ts. */
  'entry-charted': EntryBody
  /** A person resolved what hung on a corrected or voided reading. */
  'flag-resolved': { flagId: string; note: string }
}

export type EventType = keyof EventBodies

/** Who, about whom, when it happened and when it was charted (UTC milliseconds of ward time). */
export type EventHead = {
  readonly wardId: string | null
  readonly stayId: string | null
  /** The person signed in, or 'loader' for the load command, 'set-up' for the first administrator, 'program' for the program itself. */
  readonly actorId: string
  readonly happenedAtMs: number
  readonly chartedAtMs: number
}

export type LedgerEvent = {
  [T in EventType]: EventHead & { readonly type: T; readonly body: Readonly<EventBodies[T]> }
}[EventType]
