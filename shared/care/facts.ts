/** What tasks and watch checks of one patient are derived from: on the Round, the board and the patient's own pages alike. */
import type { Direction, EarlierDose, TrayFact } from '../dose/dose.ts'
import type { LowEvent } from '../low/low.ts'
import type { InsulinName, OrderVersion } from '../order/order.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import type { Stay } from '../stay/stay.ts'
import type { StayEntry } from './entries.ts'

/** What is charted about one patient that only tasks and watch checks ask for. */
export type StayCare = {
  /** Of the whole stay, oldest first. */
  readonly entries: readonly StayEntry[]
  /** Effective ones of the last 24 h and more, newest first. */
  readonly readings: readonly Reading[]
  /** Every insulin given in the last 72 h from any source, newest first. */
  readonly insulinGiven: readonly EarlierDose[]
  /** Directions of the prescriber's in the last 72 h. */
  /** Since when the tube or parenteral feed is stopped; null: it runs, or there is none. */
  readonly feedStoppedSinceMs: number | null
  /** Doses withheld or refused in the last 72 h. */
  readonly notGiven: readonly { readonly doseId: string; readonly insulin: InsulinName; readonly atMs: number }[]
  readonly directions: readonly Pick<Direction, 'insulin' | 'atMs'>[]
}

export type CareFacts = StayCare & {
  readonly stay: Stay
  readonly policy: WardPolicy
  readonly trays: readonly TrayFact[]
  readonly orders: readonly OrderVersion[]
  readonly lows: readonly LowEvent[]
  /** Scheduled doses of basal insulin past their hour that nobody has accounted for. */
  readonly missedBasal: readonly { readonly slotKey: string; readonly dueMs: number }[]
}

export const NOTHING_OF_CARE: StayCare = {
  entries: [],
  readings: [],
  insulinGiven: [],
  directions: [],
  feedStoppedSinceMs: null,
  notGiven: [],
}
