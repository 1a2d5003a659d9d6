/** The order in which a round is walked, and its progress. */
import type { CheckState } from './check.ts'

/**
 * What the order needs from one line of the round. `bedIndex` is the bed's place in the ward's walking order. `id`
 * breaks ties, so that the order stays stable.
 */
export type Walkable = {
  readonly id: string
  readonly bedIndex: number
  readonly standing:
    | { readonly kind: 'low'; readonly treated: boolean; readonly openedAtMs: number; readonly recheckDueMs: number }
    | { readonly kind: 'insulin-no-tray'; readonly sinceMs: number }
    | { readonly kind: 'check'; readonly state: CheckState; readonly dueMs: number }
}

/** Lower comes first. Within a rank, `time` comes before the walking order. */
type Place = { readonly rank: number; readonly time: number }

/**
 * Untreated lows, due rechecks and insulin given without a tray come first. Late checks follow, then open ones in
 * walking order of beds. After them come checks closed without a reading, later checks and done checks.
 *
 * A recheck not yet due stands between the missing trays and the late checks: above routine work, below what is due
 * now. Among urgent lines the longest waiting comes first.
 */
function placeOf(item: Walkable, nowMs: number): Place {
  const { standing } = item
  if (standing.kind === 'low') {
    if (!standing.treated) return { rank: 0, time: standing.openedAtMs }
    return { rank: nowMs >= standing.recheckDueMs ? 1 : 3, time: standing.recheckDueMs }
  }
  if (standing.kind === 'insulin-no-tray') return { rank: 2, time: standing.sinceMs }
  switch (standing.state) {
    case 'late':
      return { rank: 4, time: standing.dueMs }
    case 'open':
      return { rank: 5, time: 0 }
    case 'missed':
      return { rank: 6, time: standing.dueMs }
    case 'upcoming':
      return { rank: 7, time: standing.dueMs }
    case 'done':
    case 'excused':
      return { rank: 8, time: 0 }
  }
}

/** The items in the order of the round at the instant. The given list is not changed. */
export function inRoundOrder<T extends Walkable>(items: readonly T[], nowMs: number): T[] {
  return items
    .map((item) => ({ item, place: placeOf(item, nowMs) }))
    .sort(
      (a, b) =>
        a.place.rank - b.place.rank ||
        a.place.time - b.place.time ||
        a.item.bedIndex - b.item.bedIndex ||
        (a.item.id < b.item.id ? -1 : 1),
    )
    .map(({ item }) => item)
}

/**
 * Where to go next from a bed: to what is due now on another bed, in the order of the round. That is a low, a due
 * recheck, or a late or open check. Among equals the next bed along the walk comes first, so that a skipped bed is not
 * offered again at once. Null: nothing else is due.
 */
export function nextInWalk<T extends Walkable>(items: readonly T[], nowMs: number, fromBedIndex: number): T | null {
  const owed = inRoundOrder(items, nowMs).filter((item) => item.bedIndex !== fromBedIndex && isOwed(item, nowMs))
  const [first] = owed
  if (first === undefined) return null
  const place = placeOf(first, nowMs)
  const equals = owed.filter((item) => {
    const other = placeOf(item, nowMs)
    return other.rank === place.rank && other.time === place.time
  })
  return equals.find(({ bedIndex }) => bedIndex > fromBedIndex) ?? first
}

function isOwed({ standing }: Walkable, nowMs: number): boolean {
  if (standing.kind === 'low') return !standing.treated || nowMs >= standing.recheckDueMs
  return standing.kind === 'check' && (standing.state === 'late' || standing.state === 'open')
}

/** Progress of a round. Excused checks count as accounted for and are also counted separately. */
export type Progress = { readonly accounted: number; readonly excused: number; readonly total: number }

/** Counts the planned checks of one round by state. */
export function progressOf(states: readonly CheckState[]): Progress {
  const excused = states.filter((state) => state === 'excused').length
  return { accounted: states.filter((state) => state === 'done').length + excused, excused, total: states.length }
}
