/**
 * Adds people and changes their permissions. Each function takes facts and returns ledger events or a refusal. Two
 * rules always hold: nobody gives themselves a role or a ward, and somebody must remain who can add people.
 */
import { mayGiveInsulin } from '../dose/may-give.ts'
import type { EventHead, LedgerEvent, Role } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
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

/**
 * The facts of every decision. `canAddPeople`: the administrators who can sign in (not locked, still working here, PIN
 * set).
 */
export type StaffFacts = {
  readonly actorId: string
  readonly nowMs: number
  /** Ward-local, YYYY-MM-DD. */
  readonly today: string
  /** Every ward there is. */
  readonly wardIds: readonly string[]
  readonly canAddPeople: readonly string[]
}

/** The result of an accepted change. `endsLogins`: all sessions of the person end in the same transaction. */
export type StaffChange = { readonly events: readonly LedgerEvent[]; readonly endsLogins: boolean }

type Result = Outcome<StaffChange, StaffRefusal>

export type PersonEntry = { readonly name: string; readonly role: Role; readonly wardIds: readonly string[] }

function head({ actorId, nowMs }: StaffFacts, wardId: string | null = null): EventHead {
  return eventHead({ wardId }, actorId, nowMs)
}

/**
 * A person who works at the bedside or reads its records needs a ward. An administrator sets up every ward and needs
 * none.
 */
function wardsFault({ role, wardIds }: PersonEntry, facts: StaffFacts): 'ward-needed' | 'no-such-ward' | null {
  if (wardIds.some((wardId) => !facts.wardIds.includes(wardId))) return 'no-such-ward'
  return role !== 'administrator' && wardIds.length === 0 ? 'ward-needed' : null
}

function isTooFar(until: string | null, today: string): boolean {
  return until !== null && until > addDays(today, TRAINING_MOST_DAYS)
}

/** Releases the nurse's beds on these wards, so that nobody relies on a nurse who cannot look after them. */
function bedsGivenBack(person: Person, wardIds: readonly string[], facts: StaffFacts): readonly LedgerEvent[] {
  if (!mayGiveInsulin(person.role)) return []
  return wardIds.map((wardId) => ({
    ...head(facts, wardId),
    type: 'beds-taken',
    body: { staffId: person.staffId, beds: [] },
  }))
}

/** True when nobody else could add people. */
function isLastAdministrator(person: Person, facts: StaffFacts): boolean {
  return facts.canAddPeople.every((staffId) => staffId === person.staffId) && person.role === 'administrator'
}

/**
 * Adds a person without a PIN; the person sets it. `badgeOwner` is whoever has the badge, still working here or not. A
 * badge once issued identifies its owner permanently.
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
 * Changes name, role and wards. People may change only their own name; somebody else must give a role or ward. A new
 * role or other wards end all sessions of the person, since each began with other permissions. Beds on removed wards
 * are released.
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

/** Gives the person another badge. The old one no longer works. Refuses a badge that anybody has or had. */
export function changeBadge(badge: string, badgeOwner: Person | undefined, person: Person, facts: StaffFacts): Result {
  if (person.leftAtMs !== null) return refuse('has-left')
  if (badge === person.badge) return refuse('same-badge')
  if (badgeOwner !== undefined) return refuse('badge-taken', { name: badgeOwner.name })
  return accept({
    events: [{ ...head(facts), type: 'staff-badge-changed', body: { staffId: person.staffId, badge } }],
    endsLogins: false,
  })
}

/** Keeps a person from signing in and signing until unlocked. Ends the person's sessions and releases their beds. */
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

/** The person no longer works here and cannot sign in again. Name and records stay as they are. */
export function leave(person: Person, facts: StaffFacts): Result {
  if (person.leftAtMs !== null) return refuse('has-left')
  if (isLastAdministrator(person, facts)) return refuse('last-administrator')
  const left: LedgerEvent = { ...head(facts), type: 'staff-left', body: { staffId: person.staffId } }
  return accept({ events: [left, ...bedsGivenBack(person, person.wardIds, facts)], endsLogins: true })
}

/** Sets the last day of meter training (YYYY-MM-DD). Null: none known. People cannot set their own. */
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
 * Whether a one-time code may be made for the person to set a PIN. Nobody may make one for themselves: anybody at an
 * administrator's open session could set a new PIN without the old one. Returns no event: secrets stay outside the
 * ledger.
 */
export function mayHaveCode(person: Person, facts: StaffFacts): Outcome<null, StaffRefusal> {
  if (person.leftAtMs !== null) return refuse('has-left')
  if (person.locked !== null) return refuse('locked-first')
  return person.staffId === facts.actorId ? refuse('own-code') : accept(null)
}
