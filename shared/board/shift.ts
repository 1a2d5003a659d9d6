/** The current shift, and who has each bed in it. */
import type { WardPolicy } from '../policy/ward-policy.ts'
import { MINUTE_MS } from '../time/span.ts'
import { addWardDays, localToUtc, wardDate } from '../time/zone.ts'

/** Beds assigned up to this many minutes before a shift belong to it (our own choice; no published figure). */
export const BED_AHEAD_MIN = 60

/** `endsMs`: when the next shift starts. */
export type Shift = { readonly name: string; readonly startsMs: number; readonly endsMs: number }

/** The ward's shift at the instant: from its start (included) to the next one's (excluded). */
export function shiftAt(policy: Pick<WardPolicy, 'shifts' | 'zone'>, nowMs: number): Shift {
  const today = wardDate(nowMs, policy.zone)
  const starts = [-1, 0, 1]
    .flatMap((days) =>
      policy.shifts.map(({ name, starts: time }) => ({
        name,
        startsMs: localToUtc(addWardDays(today, days, policy.zone), time, policy.zone),
      })),
    )
    .sort((a, b) => a.startsMs - b.startsMs)
  const at = starts.findLastIndex(({ startsMs }) => startsMs <= nowMs)
  const [shift, next] = [starts[at], starts[at + 1]]
  if (shift === undefined || next === undefined) throw new Error('the policy has no shift for this instant')
  return { ...shift, endsMs: next.startsMs }
}

/**
 * For this many minutes after a change of shifts, the handover page shows that change (our own choice; no published
 * figure).
 */
export const HANDOVER_FOR_MIN = 60

/**
 * The shifts between which a handover at the instant takes place. For an hour this is the last change, then the next
 * one.
 */
export function handoverShifts(
  policy: Pick<WardPolicy, 'shifts' | 'zone'>,
  nowMs: number,
): { readonly from: Shift; readonly to: Shift } {
  const shift = shiftAt(policy, nowMs)
  const isUnderWay = nowMs < shift.startsMs + HANDOVER_FOR_MIN * MINUTE_MS
  return isUnderWay
    ? { from: shiftAt(policy, shift.startsMs - 1), to: shift }
    : { from: shift, to: shiftAt(policy, shift.endsMs) }
}

export type BedsTaken = {
  readonly staffId: string
  readonly name: string
  readonly beds: readonly string[]
  readonly atMs: number
}
export type BedNurse = { readonly staffId: string; readonly name: string }

export type BedNurses = {
  /** Who has each bed in this shift. A missing bed has nobody. */
  readonly now: ReadonlyMap<string, BedNurse>
  /** For unassigned beds: who had them in an earlier shift, which no longer counts. */
  readonly earlier: ReadonlyMap<string, BedNurse>
}

/**
 * Who has each bed. A bed taken before this shift has nobody, because that nurse has gone home. A bed taken up to
 * BED_AHEAD_MIN minutes before the start counts, because lists are written shortly before. If two nurses took the same
 * bed, the newer entry counts.
 */
export function bedNurses(taken: readonly BedsTaken[], shift: Shift): BedNurses {
  const [now, earlier] = [new Map<string, BedNurse>(), new Map<string, BedNurse>()]
  for (const { staffId, name, beds, atMs } of [...taken].sort(
    (a, b) => a.atMs - b.atMs || (a.staffId < b.staffId ? -1 : 1),
  )) {
    const into = isOfShift(atMs, shift) ? now : earlier
    for (const bed of beds) into.set(bed, { staffId, name })
  }
  for (const bed of now.keys()) earlier.delete(bed)
  return { now, earlier }
}

/** True when beds taken at the instant count for the shift. */
export function isOfShift(atMs: number, shift: Shift): boolean {
  return atMs >= shift.startsMs - BED_AHEAD_MIN * MINUTE_MS
}
