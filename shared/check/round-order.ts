/** The order in which a round is walked, and how far it has come. */
import type { CheckState } from './check.ts'

/**
 * What the order needs to know of one line of the round. `bedIndex` is the bed's place in the ward's walking order;
 * `id` settles what is otherwise equal, so that the order never flickers.
 */
export type Walkable = {
  readonly id: string
  readonly bedIndex: number
  readonly standing:
    | { readonly kind: 'low'; readonly treated: boolean; readonly openedAtMs: number; readonly recheckDueMs: number }
    | { readonly kind: 'insulin-no-tray'; readonly sinceMs: number }
    | { readonly kind: 'check'; readonly state: CheckState; readonly dueMs: number }
}

/** Lower comes first; `time` orders within a rank before the walking order does. */
type Place = { readonly rank: number; readonly time: number }

/**
 * Lows not yet treated, rechecks whose time has come, insulin given with no tray, then late, then open in
 * walking order of beds; after them what closed with no reading, what is still to come and what is done. A recheck
 * whose clock still runs stands between the trays and the late checks: never below routine work, never above what is
 * owed now. Longest waiting first among the urgent ones.
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

/** The items in the order of the round at the instant; the list given is left as it is. */
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
 * Where to go from a bed: what is owed now (a low, a recheck whose time has come, a late or an open check) on another
 * bed, in the order of the round; among equals the next bed along the walk, so that a bed passed over on purpose is
 * not offered again at every step. Null when nothing else is owed.
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

/** How far a round has come. Excused checks are accounted for and counted with the done ones, and named apart. */
export type Progress = { readonly accounted: number; readonly excused: number; readonly total: number }

/** Counts the planned checks of one round by their states. */
export function progressOf(states: readonly CheckState[]): Progress {
  const excused = states.filter((state) => state === 'excused').length
  return { accounted: states.filter((state) => state === 'done').length + excused, excused, total: states.length }
}
