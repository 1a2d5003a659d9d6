/** One measured glucose value with who, when, where on the body, which meter, which strip lot. */
import type { Glucose } from '../glucose/value.ts'
import type { Hand } from '../stay/stay.ts'

export type Finger = 'index' | 'middle' | 'ring' | 'little'
/** Side of a fingertip, or another source. */
export type FingerSite = { readonly hand: Hand; readonly finger: Finger }

/** capillary: a finger stick. venous: a laboratory sample. paper: charted on the downtime sheet and entered later. */
export type ReadingSource = 'capillary' | 'venous' | 'paper'

export type ExtraReason =
  'symptoms' | 'repeat-of-critical' | 'prescriber-asked' | 'before-procedure' | 'after-closing' | 'other'

/** Why a reading can never lead to insulin though it is charted and can open a low event. */
export type MeterDoubt =
  'meter-control-not-done' | 'strip-lot-expired' | 'meter-of-other-ward' | 'meter-not-named' | 'laboratory-only'

export type LateEntryReason = 'busy-with-emergency' | 'system-unavailable' | 'charted-on-paper' | 'forgotten' | 'other'

export type Reading = {
  readonly readingId: string
  readonly stayId: string
  readonly wardId: string
  /** Ward-local date of takenAt, YYYY-MM-DD: the patient-day it counts in. */
  readonly wardDate: string
  readonly checkKey: string | null
  readonly glucose: Glucose
  /**
   * A laboratory's value as it was reported, with the unit that the nurse chose; `glucose` is the ward's count of it.
   * Absent: a meter's value, or one charted before the unit was asked.
   */
  readonly reported?: Glucose
  readonly source: ReadingSource
  readonly takenAtMs: number
  readonly chartedAtMs: number
  readonly byId: string
  /** Who typed it in, when that is not who took it (from paper): they know the number too. */
  readonly chartedById?: string
  readonly site: FingerSite | null
  readonly meterId: string | null
  readonly stripLot: string | null
  readonly doubts: readonly MeterDoubt[]
  readonly lateReason: LateEntryReason | null
  /** Why it was taken with no planned check; null for a planned check or a recheck. */
  readonly extraReason: ExtraReason | null
  /** The reading that this one corrects, with the reason. */
  readonly supersedes: { readonly readingId: string; readonly reason: string } | null
  /** Set when a later reading corrected this one. */
  readonly supersededBy: string | null
  /** Set when it was marked entered in error. */
  readonly voided: { readonly reason: string; readonly byId: string; readonly atMs: number } | null
}

/** True when the reading still counts: neither corrected nor entered in error. */
export function isEffective(reading: Reading): boolean {
  return reading.supersededBy === null && reading.voided === null
}
