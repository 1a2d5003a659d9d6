/** Assigns all beds of a ward to its nurses for the shift at once. */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import { isOfShift, type BedsTaken, type Shift } from './shift.ts'

export type AssignRefusal = 'bed-not-on-ward' | 'nurse-not-of-ward' | 'assigned-meanwhile' | 'nothing-changed'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'bed-not-on-ward': { bed: string }
    'nurse-not-of-ward': { bed: string }
  }
}

export type AssignFacts = {
  readonly wardId: string
  readonly beds: readonly string[]
  readonly nurses: readonly { readonly staffId: string }[]
  readonly taken: readonly BedsTaken[]
  readonly shift: Shift
}

/** A text that identifies the assignment behind the form. If it differs on submit, somebody took or gave beds since. */
export function assignmentSeen(taken: readonly BedsTaken[]): string {
  return [...taken]
    .sort((a, b) => (a.staffId < b.staffId ? -1 : 1))
    .map(({ staffId, atMs }) => `${staffId}.${String(atMs)}`)
    .join(' ')
}

/**
 * Charts who has which beds from now on. One beds-taken event is charted for each nurse whose beds change or came from
 * an earlier shift. `choices` maps a bed to a nurse or '' (nobody); a missing bed has nobody. Refuses a bed or nurse of
 * another ward, an assignment that changed since (`seen`), and no change.
 */
export function assignBeds(
  entry: { readonly choices: ReadonlyMap<string, string>; readonly seen: string; readonly byId: string },
  facts: AssignFacts,
  nowMs: number,
): Outcome<readonly LedgerEvent[], AssignRefusal> {
  const { wardId, beds, nurses, taken, shift } = facts
  const strange = [...entry.choices.keys()].find((bed) => !beds.includes(bed))
  if (strange !== undefined) return refuse('bed-not-on-ward', { bed: strange })
  for (const [bed, staffId] of entry.choices) {
    if (staffId !== '' && !nurses.some((nurse) => nurse.staffId === staffId))
      return refuse('nurse-not-of-ward', { bed, field: `bed.${bed}` })
  }
  if (entry.seen !== assignmentSeen(taken)) return refuse('assigned-meanwhile')
  const wanted = (staffId: string): readonly string[] => beds.filter((bed) => entry.choices.get(bed) === staffId)
  const before = new Map(taken.map((one) => [one.staffId, one]))
  const people = [
    ...new Set([
      ...taken.map(({ staffId }) => staffId),
      ...[...entry.choices.values()].filter((staffId) => staffId !== ''),
    ]),
  ].sort()
  const changed = people.filter((staffId) => {
    const had = before.get(staffId)
    const now = wanted(staffId)
    if (had === undefined) return now.length > 0
    return (
      now.join('\n') !== beds.filter((bed) => had.beds.includes(bed)).join('\n') ||
      had.beds.some((bed) => !beds.includes(bed)) ||
      !isOfShift(had.atMs, shift)
    )
  })
  if (changed.length === 0) return refuse('nothing-changed')
  return accept(
    changed.map((staffId) => ({
      ...eventHead({ wardId }, entry.byId, nowMs),
      type: 'beds-taken',
      body: { staffId, beds: wanted(staffId) },
    })),
  )
}
