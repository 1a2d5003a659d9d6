/**
 * What is charted about a patient beside readings, doses and lows: one kind of entry for each such fact. An entry is
 * never edited; a later one adds to it. All are one event type and one table, so a new kind is one line here.
 */

import type { Meal } from '../check/check.ts'
import type { OutsideDose, TakenBackWhy } from '../dose/dose.ts'
import type { InsulinName } from '../order/order.ts'

export type UrineBand = 'negative' | 'small' | 'moderate' | 'large'
/** Blood ketones in tenths of a mmol/L, a urine band, or no strip to measure with. */
export type KetonesRead =
  | { readonly by: 'blood'; readonly tenths: number }
  | { readonly by: 'urine'; readonly band: UrineBand }
  | { readonly by: 'no-strip' }

/** An intravenous infusion, the patient's own pump, or insulin given once for a high potassium. */
export type InsulinWay = 'infusion' | 'pump' | 'potassium'

/** Places from which a patient comes back to the ward. */
export type CameBackFrom = 'theatre' | 'dialysis' | 'examination' | 'leave' | 'other'

/** What each kind of entry holds. */
export type EntryFacts = {
  /**
   * A step of the order said "no dose, call the prescriber" for this reading. `repeatInMin`: the repeat that the step
   * prints, in minutes; null: none.
   */
  'no-dose-call': { readonly readingId: string; readonly orderId: string; readonly repeatInMin: number | null }
  /**
   * The patient left with something open. named: handed over to that person. not-yet: to nobody so far. died: the patient
   * died.
   */
  'left-open': { readonly how: 'named' | 'not-yet' | 'died'; readonly to: string }
  /** What was left open by a patient who has gone was handed over to that person. */
  'left-open-handed': { readonly to: string }
  /** The patient is back on the ward from where insulin may have been given; `atMs` of the entry is the return. */
  'came-back': { readonly from: CameBackFrom }
  /** Nobody could say whether insulin was given elsewhere: the dose waits for the prescriber. */
  'elsewhere-unknown': { readonly orderId: string }
  /**
   * What the prescriber said about one insulin. as-ordered: it is given as ordered. hold: none until `untilMs`, or until
   * asked again (null). units: this many units in place of the ordered ones for the one slot named.
   */
  'insulin-word': {
    readonly lowId: string | null
    readonly insulin: InsulinName
    readonly word: 'as-ordered' | 'hold' | 'units'
    readonly untilMs: number | null
    readonly units: number | null
    readonly slotKey: string | null
    readonly told: string
    readonly ordered: string
  }
  /** A low was closed, or a direction settled one insulin, while the prescriber was not asked about these. */
  'insulin-question-left': { readonly lowId: string; readonly insulins: readonly InsulinName[] }
  /** After mealtime insulin too little of the meal was eaten: under a quarter (0), a quarter to a half (25), or no tray came. */
  'ate-too-little': { readonly date: string; readonly meal: Meal; readonly share: 0 | 25 | 'cancelled' }
  /** Ketones measured, or no strip to measure with. `well`: the patient looked well. */
  ketones: { readonly read: KetonesRead; readonly well: boolean }
  /** Insulin by another way began, or was given (potassium). */
  'other-insulin-started': { readonly way: InsulinWay }
  /** It ended; `startedId`: the entry of its beginning. */
  'other-insulin-ended': { readonly startedId: string }
  /**
   * A dose charted as given was charted in error (shared/care/taken-back.ts). `units`: what was injected instead, for
   * another amount; null: nothing here. `otherStayId`: the patient who got it; null: nobody else. `secondId`: the second
   * nurse with whom the slot or reading opened for a dose again; null: it stays closed.
   */
  'dose-taken-back': {
    readonly doseId: string
    readonly insulin: InsulinName
    readonly why: TakenBackWhy
    readonly units: number | null
    readonly otherStayId: string | null
    readonly note: string
    readonly secondId: string | null
  }
  /** Insulin that was charted for another patient was injected into this one. `doseId`: the dose of the other. */
  'dose-of-another': { readonly doseId: string; readonly insulin: InsulinName; readonly givenAtMs: number }
  /** A dose from outside was charted in error: it never counted, and all of it is kept here. */
  'outside-dose-taken-back': { readonly outsideDose: OutsideDose; readonly note: string }
  /** A task was settled: the prescriber was told and what she ordered was read back, or a person accounts for it. */
  'task-settled':
    | { readonly taskKey: string; readonly how: 'told'; readonly told: string; readonly ordered: string }
    | { readonly taskKey: string; readonly how: 'note'; readonly note: string }
}

export type EntryKind = keyof EntryFacts

/** An entry as the ledger holds it. */
export type EntryBody = {
  [K in EntryKind]: { readonly entryId: string; readonly kind: K; readonly fact: EntryFacts[K] }
}[EntryKind]

/** An entry with its stay, and who charted it when. `atMs`: when it happened. */
export type StayEntry = EntryBody & {
  readonly stayId: string
  readonly atMs: number
  readonly chartedAtMs: number
  readonly byId: string
}

export type EntryOf<K extends EntryKind> = Extract<StayEntry, { readonly kind: K }>

/** The entries of one kind, in their order. */
export function entriesOf<K extends EntryKind>(entries: readonly StayEntry[], kind: K): readonly EntryOf<K>[] {
  return entries.filter((entry): entry is EntryOf<K> => entry.kind === kind)
}
