/** A dose from proposal to giving: types. The rules are in shared/order/propose.ts and beside this file. */
import type { Occasion } from '../check/check.ts'
import type { Glucose, GlucoseUnit } from '../glucose/value.ts'
import type { InsulinClass, InsulinName, InsulinOrder } from '../order/order.ts'
import type { RulesVersion } from '../order/rules.ts'

export type InjectionArea = 'abdomen' | 'thigh' | 'upper-arm' | 'buttock'
export type InjectionSite = { readonly area: InjectionArea; readonly side: 'left' | 'right' }

/** What the nurse said of the meal when the dose was worked out. */
export type MealAnswer = {
  readonly willEat: 'yes' | 'no' | 'unsure'
  readonly carbohydrateGrams: number | null
  /** Share of the meal eaten in percent, for a meal part given after eating. */
  readonly shareEatenPercent: 0 | 25 | 50 | 75 | 100 | null
}

type NoDetails = Readonly<Record<never, never>>

/**
 * What each guard found when it did not pass, as its sentence names it (views/words/guards.ts). `limit` and `found` are
 * what was compared: minutes, units, or a glucose with its unit. A name that ends in Ms is an instant.
 */
export type GuardDetails = {
  /** `spare`: the reading is still valid, with fewer minutes left than these. */
  readonly 'reading-age': {
    readonly found: 'no-reading' | 'not-yet-taken' | number
    readonly limit: number
    readonly spare?: number
  }
  readonly 'reading-in-doubt':
    { readonly found: 'meter-failed'; readonly foundMs: number } | { readonly found: string; readonly foundMs?: never }
  readonly 'reading-not-effective': NoDetails
  readonly 'reading-superseded-by-newer': { readonly foundMs: number }
  readonly 'critical-high-unconfirmed': { readonly found: string; readonly limit: string }
  readonly 'out-of-range-value': { readonly found: string }
  readonly 'low-glucose': { readonly found: string; readonly limit: string }
  readonly 'low-event-open': { readonly found: string; readonly asks: 'prescriber' | 'follow-up' } & (
    | { readonly answer?: never }
    | { readonly answer: LowAnswer['standing']; readonly told: string; readonly toldMs: number }
  )
  readonly 'order-in-force':
    { readonly found: 'expired'; readonly foundMs: number } | { readonly found: 'in-force' | 'ended' }
  readonly 'order-verified': NoDetails
  readonly 'ward-unit': { readonly found: string; readonly limit: string }
  readonly 'meal-timing':
    | { readonly found: 'after-the-meal' | 'not-served' | 'unknown' }
    | { readonly found: 'reading-after-tray'; readonly servedMs: number }
    | { readonly found: 'served'; readonly servedMs: number; readonly limit: number }
    | {
        readonly found: 'expected'
        readonly expectedMs: number
        readonly limit: number
        readonly fromMs: number
        readonly proposeFromMs: number
      }
  readonly 'not-eating':
    | { readonly found: 'nil-by-mouth' | 'not-asked' | 'no' | 'yes' }
    | { readonly found: 'unsure'; readonly timing: InsulinOrder['mealTiming'] }
  readonly 'not-eating-rule': {
    readonly found: 'eats' | 'no' | 'nil-by-mouth'
    readonly rule: NonNullable<InsulinOrder['notEating']>['kind']
  }
  readonly stacking: {
    readonly found: number
    readonly limit: number
    readonly units: number
    readonly insulin: InsulinName
    readonly source: EarlierDose['source']
    readonly freeMs: number
    readonly why: 'own-occasion' | 'occasion-corrected' | 'extra-reading'
  }
  readonly 'single-dose-limit': { readonly found: number; readonly limit: number }
  /** Units typed once; above the ward's asking limit the nurse types them again. */
  readonly 'large-dose':
    | { readonly found: number; readonly limit: number; readonly per: InsulinClass }
    | { readonly found: number; readonly limit: number; readonly per: 'weight'; readonly weightKg: number }
  /** Units of all insulin in 24 hours with this dose, and the limit for the patient's weight. */
  readonly 'day-total': { readonly found: number; readonly limit: number; readonly weightKg: number }
  /** Grams of carbohydrate: asked again above the first limit, refused above the second. */
  readonly 'large-meal': { readonly found: number; readonly limit: number; readonly kind: 'ask' | 'stop' }
  /** Rapid and regular insulin within the interval with this dose; above the limit the charge nurse checks. */
  readonly 'directed-sum': { readonly found: number; readonly limit: number }
  readonly 'insulin-elsewhere-asked': NoDetails
  /** `also`: what the order prints besides. `held`: the order holds the correction, and the call stays owed. */
  /** Basal insulin given before, from whatever door; the limit in hours is the shortest gap to it, and when it ends. */
  readonly 'basal-gap': {
    readonly found: number
    readonly limit: number
    readonly units: number
    readonly insulin: InsulinName
    readonly source: EarlierDose['source']
    readonly freeMs: number
  }
  /** Food for scheduled rapid or regular insulin. `limit`: minutes that the tray may be away. */
  /** An insulin infusion runs, or the patient's own pump. */
  readonly 'other-insulin': { readonly way: 'infusion' | 'pump'; readonly sinceMs: number }
  /** The prescriber holds the insulin; `untilMs` null: until asked again. */
  readonly 'insulin-held': { readonly told: string; readonly saidMs: number; readonly untilMs: number | null }
  /** The prescriber was not asked about this insulin after a low. */
  readonly 'insulin-question-open': NoDetails
  /** Other units in place of the ordered ones, for this one dose. */
  readonly 'units-instead': {
    readonly ordered: number
    readonly units: number
    readonly told: string
    readonly saidMs: number
  }
  readonly 'mealtime-food':
    | { readonly found: 'nil-by-mouth' | 'no-meal-near' | 'fed' }
    | { readonly found: 'feed-stopped'; readonly sinceMs: number }
    | { readonly found: 'served'; readonly servedMs: number; readonly limit: number }
    | { readonly found: 'expected'; readonly expectedMs: number; readonly limit: number; readonly fromMs: number }
  /** Rapid or regular insulin given before a scheduled dose; `found`: minutes ago. */
  readonly 'mealtime-stacking': {
    readonly found: number
    readonly units: number
    readonly insulin: InsulinName
    readonly source: EarlierDose['source']
    readonly sameMeal: boolean
  }
  readonly 'scale-says-call': { readonly also?: string; readonly held?: 'not-eating' }
  readonly 'scheduled-hold':
    | {
        readonly found: 'no-reading' | 'masked'
        readonly limit: string
        readonly ageMin?: never
        readonly inDoubt?: never
      }
    | {
        readonly found: string
        readonly limit: string
        readonly ageMin: number
        readonly inDoubt?: 'charted' | 'meter-failed'
      }
  readonly 'carbohydrate-needed': NoDetails
  readonly 'occasion-not-ordered': { readonly found: Occasion | 'none'; readonly ownOccasion: 'yes' | 'no' }
  readonly 'already-dosed':
    | { readonly found: 'meal' }
    | {
        readonly found: 'since-reading' | 'scheduled'
        readonly units: number
        readonly insulin: InsulinName
        readonly givenMs: number
      }
  readonly 'scheduled-time':
    | { readonly found: 'not-ordered' }
    | { readonly found: 'early'; readonly dueMs: number; readonly opensMs: number }
    | { readonly found: 'closed' | 'open'; readonly dueMs: number; readonly limit: number }
}

export type GuardName = keyof GuardDetails

/**
 * passed, warns (the dose goes on and the warning is shown), holds-correction or holds-meal (that part becomes 0),
 * stops (no dose). `release` in views/words/guards.ts says what would release it.
 */
export type GuardOutcome = 'passed' | 'warns' | 'holds-correction' | 'holds-meal' | 'stops'

/** A guard that did not pass. */
export type GuardFinding = {
  readonly [G in GuardName]: {
    readonly guard: G
    readonly outcome: Exclude<GuardOutcome, 'passed'>
    readonly details: GuardDetails[G]
  }
}[GuardName]

export type GuardResult =
  | GuardFinding
  | {
      readonly guard: GuardName
      readonly outcome: 'passed'
      readonly details: Readonly<Record<string, string | number>>
    }

/** An exact amount in units as a fraction of whole numbers, before rounding. */
export type Fraction = { readonly numerator: number; readonly denominator: number }

/** One term of the sum, as data: what it was worked out from and what it came to. */
export type WorkingTerm =
  | {
      readonly part: 'correction-scale'
      readonly atLeast: number | null
      readonly below: number | null
      readonly also: string | null
      readonly halved: boolean
      /** looked up in the order's scale for a patient who does not eat */ readonly notEating?: true
      readonly amount: Fraction
      readonly held: boolean
    }
  | {
      readonly part: 'correction-factor'
      readonly glucose: number
      readonly target: number
      readonly perUnit: number
      readonly amount: Fraction
      readonly held: boolean
    }
  | {
      readonly part: 'meal-fixed'
      readonly units: number
      readonly sharePercent: number | null
      readonly amount: Fraction
      readonly held: boolean
    }
  | {
      readonly part: 'meal-ratio'
      readonly grams: number
      readonly gramsPerUnit: number
      readonly sharePercent: number | null
      readonly amount: Fraction
      readonly held: boolean
    }
  | {
      readonly part: 'scheduled'
      readonly units: number
      readonly time: string
      readonly amount: Fraction
      readonly held: boolean
    }
  | {
      readonly part: 'direction'
      readonly units: number
      readonly directionId: string
      readonly amount: Fraction
      readonly held: boolean
    }

/** The working, stored with the dose: enough to recompute and show it years later. */
export type Working = {
  /** The version of the rule code that made it; recomputing uses the same one. */
  readonly rules: RulesVersion
  readonly orderId: string
  readonly orderVersion: number
  readonly policyVersion: number
  readonly readingId: string | null
  readonly glucose: Glucose | null
  readonly occasion: Occasion | null
  readonly terms: readonly WorkingTerm[]
  readonly sum: Fraction
  readonly rounding: { readonly to: 1 | 0.5; readonly ties: 'down' | 'up' }
  readonly units: number
  readonly guards: readonly GuardResult[]
  /** Printed instructions of the step used: required actions. */
  readonly also: readonly string[]
}

export type DoseKind = 'from-reading' | 'scheduled' | 'by-direction' | 'after-meal'

/** State is derived from these facts and the time, never stored. */
export type Dose = {
  readonly doseId: string
  readonly stayId: string
  readonly wardId: string
  readonly kind: DoseKind
  readonly readingId: string | null
  /** For a scheduled dose: stay + date + time, so that one slot is given once. */
  readonly slotKey: string | null
  readonly insulin: InsulinName
  readonly units: number
  readonly working: Working
  /** The inputs of the proposal besides reading, order and policy: what recomputing needs. */
  readonly inputs: ProposalInputs
  readonly proposedById: string
  readonly proposedAtMs: number
  readonly secondCheckRequired: boolean
  readonly answers: readonly SecondAnswer[]
  /** First nurse's re-readings after a mismatch, in order. */
  readonly restarts: readonly { readonly byId: string; readonly atMs: number }[]
  readonly product: ProductRead | null
  readonly outcome: DoseOutcome | null
  /** Set when something underneath changed: new reading, new order version, new ward policy, stay moved, reading voided, insulin charted, its meter failed a control. */
  readonly voided: { readonly reason: DoseVoidReason; readonly atMs: number } | null
}

export type DoseVoidReason =
  | 'newer-reading'
  | 'reading-corrected'
  | 'reading-in-error'
  | 'order-changed'
  | 'stay-moved'
  | 'stay-discharged'
  | 'replaced-by-direction'
  | 'started-again'
  | 'facts-changed'
  | 'policy-changed'
  | 'meter-failed'

/** Facts that were true when the dose was proposed; kept so that the same inputs give the same answer for ever. */
export type ProposalInputs = {
  readonly nowMs: number
  readonly meal: MealAnswer | null
  readonly trayServedAtMs: number | null
  readonly trayExpectedAtMs: number | null
  readonly earlierDoses: readonly EarlierDose[]
  readonly elsewhereAsked: boolean
  readonly low: LowForDose
  readonly criticalConfirmed: boolean | null
  readonly scheduledTime: string | null
  readonly directionId: string | null
  readonly directedUnits: number | null
  /** The instant a scheduled dose is due; null for every other kind. */
  readonly scheduledDueMs: number | null
  /** The round that the reading belongs to; null for a scheduled dose. */
  readonly occasion: Occasion | null
  /** True when the reading answers one of the order's own occasions (its planned check, or its window). */
  readonly atOrderOccasion: boolean
  readonly nilByMouth: boolean
  readonly readingTakenAtMs: number | null
  /** False when the reading was corrected or entered in error before this instant. */
  readonly readingEffective: boolean
  /** When a newer reading of the stay was taken; null: this one is the newest. */
  readonly newerReadingAtMs: number | null
  readonly orderInForce: boolean
  readonly orderVerified: boolean
  /** A meal part was already given at this occasion, or insulin from elsewhere since the reading. */
  readonly mealAlreadyGiven: boolean
  /** A correction was already given at this occasion of this ward day. */
  readonly correctionAlreadyGiven: boolean
  readonly wardUnit: GlucoseUnit
  /** Absent where no low is followed, or the prescriber did not say "give as ordered" after it. */
  readonly lowAnswer?: LowAnswer
  /** When the reading's meter failed a control, after the reading and with no control passed since; absent: it did not. */
  readonly meterFailedAtMs?: number
  /** The reading that a scheduled dose's hold looks at was charted in doubt; absent: it was not, or nobody looked yet. */
  readonly holdReadingInDoubt?: true
  /** Units that the nurse typed again above the ward's asking limit; absent: not asked. */
  readonly unitsAgain?: number
  /** Grams of carbohydrate that the nurse typed again above the ward's asking limit; absent: not asked. */
  readonly gramsAgain?: number
  /** From the bedside facts; absent: not known. */
  readonly weightKg?: number
  /** Basal insulin of the 24 hours before that counts against this dose; absent in rules before version 3, or none. */
  readonly basalGiven?: readonly EarlierDose[]
  /** What runs besides, an infusion before a pump; absent: nothing. */
  readonly otherWay?: { readonly way: 'infusion' | 'pump'; readonly sinceMs: number }
  /** The prescriber holds the insulin; absent: she does not. */
  readonly held?: { readonly told: string; readonly saidMs: number; readonly untilMs: number | null }
  /** Units in place of the ordered ones for this scheduled dose; absent: as ordered. */
  readonly instead?: { readonly units: number; readonly told: string; readonly saidMs: number }
  /** True: after a low nobody has asked the prescriber about this insulin. */
  readonly questionOpen?: true
  /** True: the order is in addition to another basal insulin. */
  readonly inAddition?: true
  /** Food for scheduled rapid or regular insulin; absent for every other dose. */
  readonly food?: MealtimeFood
  /** Units of all insulin given in the 24 hours before; absent in doses of rules version 1. */
  readonly dayUnits?: number
  /** A low waits for its treatment; absent: none does. */
  readonly lowTreatmentOwed?: true
}

/** Rapid or regular insulin already given, from any source, for the stacking guard. */
export type EarlierDose = {
  readonly doseId: string
  readonly insulin: InsulinName
  readonly units: number
  readonly givenAtMs: number
  readonly source: 'here' | 'elsewhere' | 'paper' | 'corrected'
  readonly withCorrection: boolean
  /** The order that it followed; absent for insulin from elsewhere or from paper. */
  readonly orderId?: string
  /** True: its order is in addition to another basal insulin. */
  readonly inAddition?: true
}

/**
 * What a patient is fed by around a scheduled dose of rapid or regular insulin. `mealFromMs`: from when insulin counts as
 * this meal's; null: no meal is near. A running tube or parenteral feed stands for food and tray.
 */
export type MealtimeFood =
  | {
      readonly by: 'mouth'
      readonly servedAtMs: number | null
      readonly expectedAtMs: number | null
      readonly mealFromMs: number | null
    }
  | { readonly by: 'feed'; readonly stoppedSinceMs: number | null }

/** What an open low event means for insulin: blocked until recovery and a satisfactory follow-up. */
export type LowForDose = 'none' | 'open' | 'recovered-awaiting-follow-up'

/**
 * The prescriber's "give as ordered" about meal and scheduled insulin after the low that is followed now, and whether it
 * releases them: not before recovery, not once the low came back or a direction was given after it, not past the
 * follow-up's time.
 */
export type LowAnswer = {
  readonly lowId: string
  readonly told: string
  readonly atMs: number
  readonly standing: 'releases' | 'not-recovered' | 'came-back' | 'direction-since' | 'follow-up-due'
}

/** First part of the second check: the value read off the meter's memory and the units worked out alone. */
export type SecondAnswer = {
  readonly byId: string
  readonly atMs: number
  /** Null for a scheduled dose, which has no reading. */
  readonly glucose: Glucose | null
  readonly units: number
  readonly agreed: boolean
}

/** Second part: read off the vial or pen and the syringe by the second nurse, with the wristband, and signed. */
export type ProductRead = {
  readonly byId: string
  readonly atMs: number
  readonly insulin: InsulinName
  readonly concentration: string
  /** Calendar date YYYY-MM-DD printed on the vial or pen. */
  readonly expiresOn: string
  readonly units: number
}

/** In what a dose charted as given was wrong. */
export type TakenBackWhy = 'not-injected' | 'another-patient' | 'another-amount'

export type DoseOutcome =
  | {
      readonly kind: 'given'
      readonly byId: string
      readonly atMs: number
      readonly site: InjectionSite
      readonly food: FoodAnswer
      /** Injected although something stopped it: charted as what happened. Absent: nothing stopped it. */
      readonly deviation?: Deviation
    }
  | { readonly kind: 'withheld' | 'refused'; readonly byId: string; readonly atMs: number; readonly reason: string }
  | { readonly kind: 'zero-charted'; readonly byId: string; readonly atMs: number }
  | {
      /** Charted as given in error, and taken back: it counts as no insulin. */
      readonly kind: 'taken-back'
      readonly byId: string
      readonly atMs: number
      readonly why: TakenBackWhy
      readonly note: string
      /** When it was charted as given, and by whom. */
      readonly given: { readonly byId: string; readonly atMs: number }
      /** The second nurse with whom the slot or reading opened for a dose again; null: it stays closed. */
      readonly secondId: string | null
    }

/** An injection that a stop came too late for: which stop, and what the nurse says of it. */
export type Deviation = { readonly stop: string; readonly note: string }

/** "Food here, or coming within the policy's minutes, and will the patient eat?" */
export type FoodAnswer = 'tray-here' | 'tray-coming' | 'not-with-a-meal'

export type DoseState =
  | 'zero' // charted, nothing to give
  | 'awaiting-second-check'
  | 'differed' // the last answer differed: the first nurse starts again
  | 'agreed' // first part done: draw up, then the product is read
  | 'to-draw-up' // by policy it needs no second check: draw up, then the first nurse reads the product
  | 'verified' // signed, valid for the policy's minutes
  | 'lapsed' // verified too long ago, or proposal too old
  | 'given'
  | 'withheld'
  | 'refused'
  | 'taken-back'
  | 'void'

/** A prescriber's direction for one dose: who, read back, why. */
export type Direction = {
  readonly directionId: string
  readonly stayId: string
  readonly readingId: string | null
  readonly prescriber: string
  readonly readBack: true
  readonly why: string
  readonly units: number
  readonly insulin: InsulinName
  readonly byId: string
  readonly atMs: number
  /** What the prescriber was told of: insulin that still acts, and a low. Absent: there was nothing, or it was not asked. */
  readonly toldOf?: { readonly doseIds: readonly string[]; readonly low: LowForDose }
}

/** A dose given elsewhere or charted on paper, entered afterwards: past the guards, counting for stacking. */
export type OutsideDose = {
  readonly outsideDoseId: string
  readonly stayId: string
  readonly insulin: InsulinName
  readonly units: number
  readonly givenAtMs: number
  readonly chartedAtMs: number
  /** corrected: the true amount or patient of a dose that was taken back. */
  readonly source: 'paper' | 'elsewhere' | 'corrected'
  readonly givenBy: string
  readonly checkedBy: string | null
  readonly byId: string
}

/** Food charted at the bedside. */
export type TrayFact = {
  readonly stayId: string
  readonly date: string
  readonly meal: 'breakfast' | 'lunch' | 'supper'
  readonly servedAtMs: number | null
  readonly shareEatenPercent: 0 | 25 | 50 | 75 | 100 | null
}
