/**
 * Every clinical fact is one of these events. The ledger holds them for ever; every table of the service is derived
 * from them by server/store/apply.ts, for live writes and for a rebuild alike. A body is plain JSON.
 * An event of a shape that has to change gets a new type; these are never reinterpreted.
 */
import type { CheckPlan, ExcuseReason, Meal, MissedReason } from '../check/check.ts'
import type { Direction, Dose, FoodAnswer, InjectionSite, OutsideDose, SecondAnswer } from '../dose/dose.ts'
import type { GlucoseUnit } from '../glucose/value.ts'
import type { Amount, BedsideAnswers, InsulinDecision, LevelThree, LowArm, LowCause } from '../low/low.ts'
import type { InsulinName, InsulinOrder } from '../order/order.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import type { BedsideFacts } from '../stay/stay.ts'

export type Role = 'floor-nurse' | 'charge-nurse' | 'educator' | 'administrator'

/** What each event type carries besides its head. */
export type EventBodies = {
  'ward-opened': { name: string; beds: readonly string[] }
  'policy-set': { version: number; policy: WardPolicy }
  'staff-added': { staffId: string; badge: string; name: string; role: Role; wardIds: readonly string[] }
  'meter-added': { meterId: string; serial: string; unit: GlucoseUnit }
  'meter-controlled': { meterId: string; passed: boolean }
  'strip-lot-added': { lot: string; expiresOn: string }
  'stay-admitted': { bed: string; wristband: string; familyName: string; givenName: string; bornOn: string; facts: BedsideFacts }
  'stay-moved': { fromWardId: string; toWardId: string; bed: string }
  'stay-discharged': Record<string, never>
  'facts-set': { facts: BedsideFacts }
  'plan-set': { version: number; plan: CheckPlan; untilMs: number | null }
  'order-written': { orderId: string; version: number; order: InsulinOrder }
  'order-verified': { orderId: string; version: number }
  'order-stopped': { orderId: string; reason: string }
  /** The beds one nurse looks after on the ward, until she chooses again. */
  'beds-taken': { staffId: string; beds: readonly string[] }
  /** Near miss: the wrong wristband was scanned at a bed. Never holds the number itself. */
  'wristband-mismatched': { expectedStayId: string; foundStayId: string | null; at: 'check' | 'product' | 'give' }
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
  'dose-verified': { doseId: string; byId: string; insulin: InsulinName; concentration: string; expiresOn: string; units: number }
  'dose-given': { doseId: string; site: InjectionSite; food: FoodAnswer }
  'dose-not-given': { doseId: string; kind: 'withheld' | 'refused'; reason: string }
  'direction-recorded': { direction: Direction }
  'outside-dose-recorded': { outsideDose: OutsideDose }
  'low-event-opened': { lowId: string; readingId: string; previousLowId: string | null }
  /** "Awake and swallowing now? IV working now?", asked before each treatment. */
  'low-answered': { lowId: string; answers: BedsideAnswers }
  'low-treated': { lowId: string; arm: LowArm; amount: Amount | null; what: string; directedBy: string | null }
  'low-level-3-found': { lowId: string; finding: LevelThree }
  'low-emergency-called': { lowId: string }
  /** The prescriber was told of the low; after the last cycle this is the escalation. */
  'low-told': { lowId: string; told: string; readBack: true; ordered: string }
  'low-food-given': { lowId: string; grams: number; what: string }
  /** What the prescriber said about meal and long-acting insulin after the low. */
  'insulin-question-answered': { lowId: string; told: string; readBack: true; decision: InsulinDecision; ordered: string }
  'low-event-closed': { lowId: string; cause: LowCause | 'entered-in-error'; note: string }
  /** Symptoms with a value that is not low (UK practice, at 4.0 mmol/L and above): a snack, and no low event. */
  'symptoms-treated': { symptomsId: string; symptoms: string; what: string; readingId: string | null }
  'critical-told': { readingId: string; told: string; readBack: true; ordered: string }
  /** A person resolved what hung on a corrected or voided reading. */
  'flag-resolved': { flagId: string; note: string }
}

export type EventType = keyof EventBodies

/** Who, about whom, when it happened and when it was charted (UTC milliseconds of ward time). */
export type EventHead = {
  readonly wardId: string | null
  readonly stayId: string | null
  /** The person signed in, or 'loader' for the load command and 'set-up' for the first administrator. */
  readonly actorId: string
  readonly happenedAtMs: number
  readonly chartedAtMs: number
}

export type LedgerEvent = { [T in EventType]: EventHead & { readonly type: T; readonly body: Readonly<EventBodies[T]> } }[EventType]
