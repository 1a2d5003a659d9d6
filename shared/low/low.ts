/** Low events: types. A low event runs from the first reading below the low limit until it is closed. */

/** Label derived from the number; level 3 is a clinical finding. ADA Standards of Care (R). */
export type LowLevel = 1 | 2

/** Who charted a fact of a low event, when it happened and when it was charted (UTC milliseconds). */
export type Charted = { readonly atMs: number; readonly chartedAtMs: number; readonly byId: string }

/** "Awake and swallowing now?" The last one stands for unresponsive or seizing. */
export type Swallowing = 'safely' | 'not-safely' | 'unresponsive'

/** What was seen at the bedside just now. Stored facts of the stay fill in nothing here. */
export type BedsideAnswers = {
  readonly swallowing: Swallowing
  readonly ivWorking: boolean
  /** Feeding tube in place, working and allowed to be used; null when the patient has none and nobody was asked. */
  readonly tubeUsable: boolean | null
}

/** How glucose was brought in. by-direction: what the prescriber said, outside of the ward's standing orders. */
export type LowArm = 'by-mouth' | 'by-tube' | 'iv-dextrose' | 'glucagon' | 'by-direction'

/** Grams of glucose or carbohydrate, or mg of glucagon; with the volume where it goes into a vein. */
export type Amount =
  | { readonly kind: 'grams'; readonly grams: number }
  | {
      readonly kind: 'intravenous'
      readonly grams: number
      readonly millilitres: number
      readonly percent: number
      readonly overMin: number | null
    }
  | { readonly kind: 'glucagon'; readonly milligrams: number }

/** `amount` null: something else was given than the protocol's amount, and `what` says what. */
export type LowTreatment = Charted & {
  readonly lowId: string
  readonly arm: LowArm
  readonly amount: Amount | null
  readonly what: string
  /** the prescriber who directed it, when no standing order did */ readonly directedBy: string | null
}

/** Altered mental or physical state that needs help: level 3, whatever the number (ADA since 2019; S). */
export type LevelThree = 'unresponsive-or-seizing' | 'confused-needs-help'

export type LowCause =
  'missed-or-delayed-meal' | 'dose-too-high' | 'stacking' | 'renal' | 'nil-by-mouth' | 'nutrition-stopped' | 'other'

/** What the prescriber said about meal and long-acting insulin after a low. */
export type InsulinDecision = 'as-ordered' | 'changed' | 'hold'

/** A call to the prescriber: who, read back, what they ordered. */
export type PrescriberCall = Charted & { readonly told: string; readonly ordered: string }

/** Symptoms with a value that is not low: a snack, and no low event. */
export type SymptomsTreated = Charted & {
  readonly symptomsId: string
  readonly symptoms: string
  readonly what: string
  readonly readingId: string | null
}

/** What was charted in a low event besides treatments, each list in the order it was charted. */
export type LowCharted = {
  readonly answers: readonly (Charted & BedsideAnswers)[]
  readonly findings: readonly (Charted & { readonly finding: LevelThree })[]
  readonly emergencyCalls: readonly Charted[]
  readonly prescriberCalls: readonly PrescriberCall[]
  readonly food: readonly (Charted & { readonly grams: number; readonly what: string })[]
  readonly insulinAnswers: readonly (PrescriberCall & { readonly decision: InsulinDecision })[]
  readonly closing: (Charted & { readonly cause: LowCause | 'entered-in-error'; readonly note: string }) | null
  /** The event that follows this one since its first value, although this one was not closed; absent: none. */
  readonly next?: { readonly lowId: string; readonly atMs: number }
}

export const NOTHING_CHARTED: LowCharted = {
  answers: [],
  findings: [],
  emergencyCalls: [],
  prescriberCalls: [],
  food: [],
  insulinAnswers: [],
  closing: null,
}

export type LowEvent = {
  readonly lowId: string
  readonly stayId: string
  readonly wardId: string
  readonly openedByReadingId: string
  readonly openedAtMs: number
  readonly treatments: readonly LowTreatment[]
  readonly charted: LowCharted
  readonly closedAtMs: number | null
  /** The event before this one in the stay. */
  readonly previousLowId: string | null
  /** When that one was closed, or when this one took over from it: no earlier reading belongs to this event. */
  readonly previousClosedAtMs: number | null
}
