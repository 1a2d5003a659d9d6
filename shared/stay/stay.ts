/** One patient's admission to the ward and the bedside facts. */

export type Hand = 'left' | 'right'
export type DiabetesType =
  'type-1' | 'type-2' | 'pancreatic' | 'steroid-induced' | 'gestational' | 'other' | 'none-known'
export type FeedingRoute = 'oral' | 'tube' | 'parenteral'

/** A hand that must not be pricked, and why. */
export type RestrictedHand = {
  readonly hand: Hand
  readonly reason: 'drip' | 'fistula' | 'swelling' | 'injury' | 'lymph-node-surgery' | 'weakness'
}

/**
 * States in which a finger stick misleads: shock, an extreme haematocrit, or a sugar in the blood that some strips read
 * as glucose (icodextrin, maltose; S).
 */
export type LaboratoryOnly = 'shock' | 'haematocrit' | 'other-sugar'

/** Every change of these facts is a new event. Checks, orders and open events follow the stay. */
export type BedsideFacts = {
  readonly diabetes: DiabetesType
  readonly swallowsSafely: boolean
  /** Nil by mouth from, until (null: open). Null: eating is allowed. */
  readonly nilByMouth: { readonly fromMs: number; readonly untilMs: number | null } | null
  readonly feeding: FeedingRoute
  readonly ivAccess: boolean
  readonly restrictedHands: readonly RestrictedHand[]
  readonly isolation: 'none' | 'contact' | 'droplet' | 'airborne'
  readonly renalImpairment: boolean
  readonly onSteroid: boolean
  readonly otherGlucoseLowering: readonly string[]
  readonly weightKg: number | null
  /** True: has had ketoacidosis. Absent in facts charted before it was asked: not known, so no. */
  readonly pastKetoacidosis?: boolean
  /** True: on insulin at home. Absent: not known, so no. */
  readonly insulinAtHome?: boolean
  /** Why no meter reads this patient's glucose truly, so that only the laboratory does; absent: a meter may. */
  readonly laboratoryOnly?: LaboratoryOnly
}

/** A stay as the round needs it, with two identifiers besides the name: wristband number and date of birth. */
export type Stay = {
  readonly stayId: string
  readonly wardId: string
  readonly bed: string
  readonly wristband: string
  readonly familyName: string
  readonly givenName: string
  /** Calendar date, YYYY-MM-DD. */
  readonly bornOn: string
  readonly admittedAtMs: number
  readonly dischargedAtMs: number | null
  readonly facts: BedsideFacts
}

/** True when the stay is nil by mouth at the instant. `from` is included, `until` is excluded. */
export function isNilByMouth(facts: BedsideFacts, nowMs: number): boolean {
  const nil = facts.nilByMouth
  return nil !== null && nowMs >= nil.fromMs && (nil.untilMs === null || nowMs < nil.untilMs)
}

/**
 * True when the patient cannot be without basal insulin: type 1, pancreatic diabetes, past ketoacidosis, or a type not
 * known and insulin at home. Without it such a patient goes into ketoacidosis (ADA Standards of Care, hospital section; R).
 */
export function isInsulinDependent({ diabetes, pastKetoacidosis, insulinAtHome }: BedsideFacts): boolean {
  if (diabetes === 'type-1' || diabetes === 'pancreatic' || pastKetoacidosis === true) return true
  return insulinAtHome === true && (diabetes === 'other' || diabetes === 'none-known')
}

/** The facts as set at an instant, and by whom. Oldest first, these are the stay's history. */
export type FactsVersion = {
  readonly number: number
  readonly facts: BedsideFacts
  readonly atMs: number
  readonly byId: string
}

/** An interruption of tube or parenteral feed, which may cause a low. */
export type FeedInterruption = {
  readonly interruptionId: string
  readonly stayId: string
  readonly reason: string
  readonly fromMs: number
  readonly untilMs: number | null
  readonly byId: string
}

/** One bed of the stay: from is included, to is excluded (null: still there). */
export type BedSpan = {
  readonly number: number
  readonly wardId: string
  readonly bed: string
  readonly fromMs: number
  readonly toMs: number | null
}
