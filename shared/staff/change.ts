/**
 * Adding people and changing what they may do: facts in, ledger events or a refusal out. Two rules stand above all:
 * nobody gives themselves a role or a ward, and somebody who can add people must always be left.
 */
import { mayGiveInsulin } from '../dose/may-give.ts'
import type { EventHead, LedgerEvent, Role } from '../ledger/events.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import { addDays } from '../time/zone.ts'
import type { Person } from './person.ts'
import { TRAINING_MOST_DAYS } from './training.ts'

export type StaffRefusal =
  | 'no-such-person'
  | 'badge-taken'
  | 'same-badge'
  | 'ward-needed'
  | 'no-such-ward'
  | 'own-role'
  | 'own-training'
  | 'own-code'
  | 'last-administrator'
  | 'nothing-changed'
  | 'already-locked'
  | 'not-locked'
  | 'locked-first'
  | 'has-left'
  | 'training-too-far'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'badge-taken': { name: string }
  }
}

/** What every decision knows. `canAddPeople`: the administrators who can sign in (neither locked nor gone, PIN set). */
export type StaffFacts = {
  readonly actorId: string
  readonly nowMs: number
  /** Ward-local, YYYY-MM-DD. */
  readonly today: string
  /** Every ward there is. */
  readonly wardIds: readonly string[]
  readonly canAddPeople: readonly string[]
}

/** What an accepted change comes to. `endsLogins`: every login of the person ends in the same transaction. */
export type StaffChange = { readonly events: readonly LedgerEvent[]; readonly endsLogins: boolean }

type Result = Outcome<StaffChange, StaffRefusal>

export type PersonEntry = { readonly name: string; readonly role: Role; readonly wardIds: readonly string[] }

function head({ actorId, nowMs }: StaffFacts, wardId: string | null = null): EventHead {
  return { wardId, stayId: null, actorId, happenedAtMs: nowMs, chartedAtMs: nowMs }
}

/** Whoever works at the bedside or looks at its records does so on a ward; an administrator sets up every ward and needs none. */
function wardsFault({ role, wardIds }: PersonEntry, facts: StaffFacts): 'ward-needed' | 'no-such-ward' | null {
  if (wardIds.some((wardId) => !facts.wardIds.includes(wardId))) return 'no-such-ward'
  return role !== 'administrator' && wardIds.length === 0 ? 'ward-needed' : null
}

function isTooFar(until: string | null, today: string): boolean {
  return until !== null && until > addDays(today, TRAINING_MOST_DAYS)
}

/** The beds that a nurse has taken on these wards are given back: nobody believes that she still looks after them. */
function bedsGivenBack(person: Person, wardIds: readonly string[], facts: StaffFacts): readonly LedgerEvent[] {
  if (!mayGiveInsulin(person.role)) return []
  return wardIds.map((wardId) => ({
    ...head(facts, wardId),
    type: 'beds-taken',
    body: { staffId: person.staffId, beds: [] },
  }))
}

/** True when nobody could add people any more without this person. */
function isLastAdministrator(person: Person, facts: StaffFacts): boolean {
  return facts.canAddPeople.every((staffId) => staffId === person.staffId) && person.role === 'administrator'
}

/**
 * Adds a person, with no PIN: she sets it herself. `badgeOwner` is whoever has the badge now, gone or not: a badge
 * once given out names its owner for ever.
 */
export function addPerson(
  entry: PersonEntry & { readonly staffId: string; readonly badge: string; readonly trainingUntil: string | null },
  badgeOwner: Person | undefined,
  facts: StaffFacts,
): Result {
  const { staffId, badge, name, role, wardIds, trainingUntil } = entry
  if (badgeOwner !== undefined) return refuse('badge-taken', { name: badgeOwner.name })
  const fault = wardsFault(entry, facts)
  if (fault !== null) return refuse(fault)
  if (isTooFar(trainingUntil, facts.today)) return refuse('training-too-far')
  const events: LedgerEvent[] = [{ ...head(facts), type: 'staff-added', body: { staffId, badge, name, role, wardIds } }]
  if (trainingUntil !== null)
    events.push({ ...head(facts), type: 'training-set', body: { staffId, validUntil: trainingUntil } })
  return accept({ events, endsLogins: false })
}

/**
 * Name, role and wards. Of one's own only the name: a role or ward is given by somebody else. A new role or other wards
 * end every login of the person, since each was begun as something else, and give back beds of wards that are gone.
 */
export function changePerson(entry: PersonEntry, person: Person, facts: StaffFacts): Result {
  if (person.leftAtMs !== null) return refuse('has-left')
  const gone = person.wardIds.filter((wardId) => !entry.wardIds.includes(wardId))
  const sameWards = gone.length === 0 && entry.wardIds.length === person.wardIds.length
  const sameRights = sameWards && entry.role === person.role
  if (sameRights && entry.name === person.name) return refuse('nothing-changed')
  if (!sameRights && person.staffId === facts.actorId) return refuse('own-role')
  const fault = sameRights ? null : wardsFault(entry, facts)
  if (fault !== null) return refuse(fault)
  if (entry.role !== 'administrator' && isLastAdministrator(person, facts)) return refuse('last-administrator')
  const { name, role, wardIds } = entry
  const events: LedgerEvent[] = [
    { ...head(facts), type: 'staff-changed', body: { staffId: person.staffId, name, role, wardIds } },
  ]
  return accept({
    events: [...events, ...bedsGivenBack(person, mayGiveInsulin(role) ? gone : person.wardIds, facts)],
    endsLogins: !sameRights,
  })
}

/** Another badge for the same person; the old one opens nothing from then on. Refused: a badge that anybody has or had. */
export function changeBadge(badge: string, badgeOwner: Person | undefined, person: Person, facts: StaffFacts): Result {
  if (person.leftAtMs !== null) return refuse('has-left')
  if (badge === person.badge) return refuse('same-badge')
  if (badgeOwner !== undefined) return refuse('badge-taken', { name: badgeOwner.name })
  return accept({
    events: [{ ...head(facts), type: 'staff-badge-changed', body: { staffId: person.staffId, badge } }],
    endsLogins: false,
  })
}

/** Keeps a person from signing in and from signing anything, until unlocked. Ends her logins and gives back her beds. */
export function lockPerson(reason: string, person: Person, facts: StaffFacts): Result {
  if (person.leftAtMs !== null) return refuse('has-left')
  if (person.locked !== null) return refuse('already-locked')
  if (isLastAdministrator(person, facts)) return refuse('last-administrator')
  const locked: LedgerEvent = { ...head(facts), type: 'staff-locked', body: { staffId: person.staffId, reason } }
  return accept({ events: [locked, ...bedsGivenBack(person, person.wardIds, facts)], endsLogins: true })
}

export function unlockPerson(person: Person, facts: StaffFacts): Result {
  if (person.leftAtMs !== null) return refuse('has-left')
  if (person.locked === null) return refuse('not-locked')
  return accept({
    events: [{ ...head(facts), type: 'staff-unlocked', body: { staffId: person.staffId } }],
    endsLogins: false,
  })
}

/** The person no longer works here: never signs in again. Name and records stay as they are. */
export function leave(person: Person, facts: StaffFacts): Result {
  if (person.leftAtMs !== null) return refuse('has-left')
  if (isLastAdministrator(person, facts)) return refuse('last-administrator')
  const left: LedgerEvent = { ...head(facts), type: 'staff-left', body: { staffId: person.staffId } }
  return accept({ events: [left, ...bedsGivenBack(person, person.wardIds, facts)], endsLogins: true })
}

/** The last day of meter training (YYYY-MM-DD), or null: none known. Nobody says so of themselves. */
export function setTraining(until: string | null, person: Person, facts: StaffFacts): Result {
  if (person.leftAtMs !== null) return refuse('has-left')
  if (person.staffId === facts.actorId) return refuse('own-training')
  if (until === person.trainingUntil) return refuse('nothing-changed')
  if (isTooFar(until, facts.today)) return refuse('training-too-far')
  return accept({
    events: [{ ...head(facts), type: 'training-set', body: { staffId: person.staffId, validUntil: until } }],
    endsLogins: false,
  })
}

/**
 * Whether a one-time code may be made with which the person sets a PIN. Not for oneself: whoever finds an administrator
 * signed in would set a new PIN without knowing the old one. No event: secrets stay outside the ledger.
 */
export function mayHaveCode(person: Person, facts: StaffFacts): Outcome<null, StaffRefusal> {
  if (person.leftAtMs !== null) return refuse('has-left')
  if (person.locked !== null) return refuse('locked-first')
  return person.staffId === facts.actorId ? refuse('own-code') : accept(null)
}
