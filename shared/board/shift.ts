/** The shift under way, and who has each bed in it. */
import type { WardPolicy } from '../policy/ward-policy.ts'
import { MINUTE_MS } from '../time/span.ts'
import { addDays, localToUtc, wardDate } from '../time/zone.ts'

/** Beds given out this many minutes before a shift starts belong to it (our own choice; no published figure). */
export const BED_AHEAD_MIN = 60

/** `endsMs`: when the next shift starts. */
export type Shift = { readonly name: string; readonly startsMs: number; readonly endsMs: number }

/** The shift of the ward's policy that the instant falls into: from its start (in) to the next one's (out). */
export function shiftAt(policy: Pick<WardPolicy, 'shifts' | 'zone'>, nowMs: number): Shift {
  const today = wardDate(nowMs, policy.zone)
  const starts = [-1, 0, 1]
    .flatMap((days) =>
      policy.shifts.map(({ name, starts: time }) => ({
        name,
        startsMs: localToUtc(addDays(today, days), time, policy.zone),
      })),
    )
    .sort((a, b) => a.startsMs - b.startsMs)
  const at = starts.findLastIndex(({ startsMs }) => startsMs <= nowMs)
  const [shift, next] = [starts[at], starts[at + 1]]
  if (shift === undefined || next === undefined) throw new Error('the policy has no shift for this instant')
  return { ...shift, endsMs: next.startsMs }
}

/** For so many minutes after a change of shifts the handover is still the one to the shift that has begun (our own choice; no published figure). */
export const HANDOVER_FOR_MIN = 60

/** The shifts that a handover at the instant goes from and to: for an hour the change that has been, then the next one. */
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
  /** Who has each bed in this shift; a bed that is not here has nobody. */
  readonly now: ReadonlyMap<string, BedNurse>
  /** Of the beds that nobody has: who had them in an earlier shift, which does not count any more. */
  readonly earlier: ReadonlyMap<string, BedNurse>
}

/**
 * Who has each bed. A bed taken before this shift has nobody, because a shift that went home does not come when it is
 * called; one taken up to BED_AHEAD_MIN minutes before the start counts, since lists are written shortly before. Where
 * two took the same bed the newer taking counts.
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

/** True when beds taken at the instant count in the shift. */
export function isOfShift(atMs: number, shift: Shift): boolean {
  return atMs >= shift.startsMs - BED_AHEAD_MIN * MINUTE_MS
}
