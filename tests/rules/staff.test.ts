/** Roles and permissions of people, the last administrator, and the end of training. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  addPerson,
  changeBadge,
  changePerson,
  leave,
  lockPerson,
  mayHaveCode,
  setTraining,
  unlockPerson,
  type StaffFacts,
} from '../../shared/staff/change.ts'
import { isShutOut, ROLES, type Person } from '../../shared/staff/person.ts'
import { TRAINING_ENDS_SOON_DAYS, TRAINING_MOST_DAYS, trainingState } from '../../shared/staff/training.ts'
import { addDays } from '../../shared/time/zone.ts'
import { NOW, TODAY, idOf } from '../support/makers.ts'

const [WARD_A, WARD_B] = [idOf('warda'), idOf('wardb')]
const ADMIN = idOf('admin')
const NURSE = idOf('nurse')

const someFacts = (over: Partial<StaffFacts> = {}): StaffFacts => ({
  actorId: ADMIN,
  nowMs: NOW,
  today: TODAY,
  wardIds: [WARD_A, WARD_B],
  canAddPeople: [ADMIN],
  ...over,
})
const aPerson = (over: Partial<Person> = {}): Person => ({
  staffId: NURSE,
  badge: 'N1',
  name: 'Ada Fenn',
  role: 'floor-nurse',
  wardIds: [WARD_A],
  locked: null,
  leftAtMs: null,
  trainingUntil: null,
  ...over,
})
const anEntry = { name: 'Ada Fenn', role: 'floor-nurse', wardIds: [WARD_A] } as const
const reasonOf = (outcome: { readonly ok: boolean; readonly reason?: string }): string => outcome.reason ?? 'accepted'
const typesOf = (outcome: ReturnType<typeof changePerson>): readonly string[] =>
  outcome.ok ? outcome.value.events.map(({ type }) => type) : [outcome.reason]

describe('adding a person', () => {
  const add = (over: object = {}, owner?: Person, facts = someFacts()) =>
    addPerson({ ...anEntry, staffId: idOf('new'), badge: 'N7', trainingUntil: null, ...over }, owner, facts)

  it('is one event, and a second one for known training', () => {
    expect(typesOf(add())).toEqual(['staff-added'])
    const both = add({ trainingUntil: '2026-12-31' })
    expect(typesOf(both)).toEqual(['staff-added', 'training-set'])
    expect(both).toMatchObject({
      value: {
        endsLogins: false,
        events: [
          {
            actorId: ADMIN,
            wardId: null,
            stayId: null,
            happenedAtMs: NOW,
            chartedAtMs: NOW,
            body: { badge: 'N7', role: 'floor-nurse', wardIds: [WARD_A] },
          },
          { body: { validUntil: '2026-12-31' } },
        ],
      },
    })
  })

  it.each<[string, object, Person | undefined]>([
    ['badge-taken', {}, aPerson()],
    ['badge-taken', {}, aPerson({ leftAtMs: NOW - 1 })],
    ['ward-needed', { wardIds: [] }, undefined],
    ['ward-needed', { wardIds: [], role: 'charge-nurse' }, undefined],
    ['ward-needed', { wardIds: [], role: 'educator' }, undefined],
    ['accepted', { wardIds: [], role: 'administrator' }, undefined],
    ['no-such-ward', { wardIds: [WARD_A, idOf('elsewhere')] }, undefined],
    ['accepted', { trainingUntil: addDays(TODAY, TRAINING_MOST_DAYS) }, undefined],
    ['training-too-far', { trainingUntil: addDays(TODAY, TRAINING_MOST_DAYS + 1) }, undefined],
  ])('%s: %j', (reason, over, owner) => {
    expect(reasonOf(add(over, owner))).toBe(reason)
  })
})

describe('name, role and wards', () => {
  it('a new name ends no session and releases no bed', () => {
    const changed = changePerson({ ...anEntry, name: 'Ada Fenn-Moor' }, aPerson(), someFacts())
    expect(changed).toMatchObject({ ok: true, value: { endsLogins: false } })
    expect(typesOf(changed)).toEqual(['staff-changed'])
  })

  it('the same wards in another order are no change', () => {
    expect(
      reasonOf(
        changePerson({ ...anEntry, wardIds: [WARD_B, WARD_A] }, aPerson({ wardIds: [WARD_A, WARD_B] }), someFacts()),
      ),
    ).toBe('nothing-changed')
  })

  it('a removed ward releases its beds only, and ends the sessions', () => {
    const changed = changePerson({ ...anEntry, wardIds: [WARD_B] }, aPerson({ wardIds: [WARD_A, WARD_B] }), someFacts())
    expect(changed).toMatchObject({
      ok: true,
      value: {
        endsLogins: true,
        events: [{ type: 'staff-changed' }, { type: 'beds-taken', wardId: WARD_A, body: { staffId: NURSE, beds: [] } }],
      },
    })
    expect(typesOf(changed)).toHaveLength(2)
  })

  it('a person who is no longer a nurse releases the beds of every ward', () => {
    const changed = changePerson(
      { ...anEntry, role: 'educator', wardIds: [WARD_A, WARD_B] },
      aPerson({ wardIds: [WARD_A, WARD_B] }),
      someFacts(),
    )
    expect(changed.ok && changed.value.events.map(({ wardId }) => wardId)).toEqual([null, WARD_A, WARD_B])
  })

  it.each<[string, object, Person, StaffFacts?]>([
    ['nothing-changed', {}, aPerson()],
    ['has-left', { role: 'educator' }, aPerson({ leftAtMs: NOW })],
    ['ward-needed', { wardIds: [] }, aPerson()],
    ['no-such-ward', { wardIds: [idOf('elsewhere')] }, aPerson()],
    // one's own name is the only field one may change
    ['own-role', { role: 'charge-nurse' }, aPerson({ staffId: ADMIN })],
    ['own-role', { wardIds: [WARD_A, WARD_B] }, aPerson({ staffId: ADMIN })],
    [
      'own-role',
      { role: 'administrator', wardIds: [WARD_A] },
      aPerson({ staffId: ADMIN, role: 'administrator', wardIds: [] }),
    ],
    ['accepted', { role: 'administrator', name: 'Another Name' }, aPerson({ staffId: ADMIN, role: 'administrator' })],
    // the last one who can add people
    ['last-administrator', {}, aPerson({ role: 'administrator' }), someFacts({ canAddPeople: [NURSE] })],
    ['accepted', {}, aPerson({ role: 'administrator' }), someFacts({ canAddPeople: [NURSE, ADMIN] })],
    ['accepted', {}, aPerson({ role: 'administrator' }), someFacts({ canAddPeople: [ADMIN] })],
  ])('%s: %j', (reason, over, person, facts = someFacts()) => {
    expect(reasonOf(changePerson({ ...anEntry, ...over }, person, facts))).toBe(reason)
  })
})

describe('locking, unlocking and leaving', () => {
  const locked = { reason: 'Badge lost', atMs: NOW - 1 }

  it('locking and leaving end every session and release the beds', () => {
    for (const [outcome, first] of [
      [lockPerson('Badge lost', aPerson({ wardIds: [WARD_A, WARD_B] }), someFacts()), 'staff-locked'],
      [leave(aPerson({ wardIds: [WARD_A, WARD_B] }), someFacts()), 'staff-left'],
    ] as const) {
      expect(outcome).toMatchObject({ ok: true, value: { endsLogins: true } })
      expect(typesOf(outcome)).toEqual([first, 'beds-taken', 'beds-taken'])
    }
  })

  it('roles without a round have no beds to release', () => {
    expect(typesOf(lockPerson('Away', aPerson({ role: 'educator' }), someFacts()))).toEqual(['staff-locked'])
  })

  it.each<[string, ReturnType<typeof leave>]>([
    ['already-locked', lockPerson('x', aPerson({ locked }), someFacts())],
    ['has-left', lockPerson('x', aPerson({ leftAtMs: NOW }), someFacts())],
    ['not-locked', unlockPerson(aPerson(), someFacts())],
    ['has-left', unlockPerson(aPerson({ locked, leftAtMs: NOW }), someFacts())],
    ['has-left', leave(aPerson({ leftAtMs: NOW }), someFacts())],
    ['accepted', unlockPerson(aPerson({ locked }), someFacts())],
    ['accepted', leave(aPerson({ locked }), someFacts())],
    ['last-administrator', lockPerson('x', aPerson({ staffId: ADMIN, role: 'administrator' }), someFacts())],
    ['last-administrator', leave(aPerson({ staffId: ADMIN, role: 'administrator' }), someFacts())],
    [
      'accepted',
      leave(aPerson({ staffId: ADMIN, role: 'administrator' }), someFacts({ canAddPeople: [ADMIN, idOf('other')] })),
    ],
  ])('%s', (reason, outcome) => {
    expect(reasonOf(outcome)).toBe(reason)
  })

  it('no access: locked, left, or both', () => {
    expect(
      [aPerson(), aPerson({ locked }), aPerson({ leftAtMs: NOW }), aPerson({ locked, leftAtMs: NOW })].map(isShutOut),
    ).toEqual([false, true, true, true])
  })
})

describe('badge, training and code', () => {
  it('refuses a badge that somebody has or had, and the same one again', () => {
    expect(
      reasonOf(changeBadge('N2', aPerson({ staffId: idOf('other'), leftAtMs: NOW }), aPerson(), someFacts())),
    ).toBe('badge-taken')
    expect(reasonOf(changeBadge('N1', aPerson(), aPerson(), someFacts()))).toBe('same-badge')
    expect(reasonOf(changeBadge('N2', undefined, aPerson({ leftAtMs: NOW }), someFacts()))).toBe('has-left')
    expect(changeBadge('N2', undefined, aPerson(), someFacts())).toMatchObject({
      ok: true,
      value: { endsLogins: false, events: [{ type: 'staff-badge-changed', body: { staffId: NURSE, badge: 'N2' } }] },
    })
  })

  it('refuses one’s own training and one’s own code', () => {
    const own = aPerson({ staffId: ADMIN, role: 'administrator' })
    expect(reasonOf(setTraining('2027-01-31', own, someFacts()))).toBe('own-training')
    expect(reasonOf(mayHaveCode(own, someFacts()))).toBe('own-code')
    expect(reasonOf(mayHaveCode(aPerson(), someFacts()))).toBe('accepted')
    expect(reasonOf(mayHaveCode(aPerson({ locked: { reason: 'x', atMs: NOW } }), someFacts()))).toBe('locked-first')
    expect(reasonOf(mayHaveCode(aPerson({ leftAtMs: NOW }), someFacts()))).toBe('has-left')
  })

  it('sets and clears training, and refuses a repeat', () => {
    expect(reasonOf(setTraining(null, aPerson({ trainingUntil: '2026-05-01' }), someFacts()))).toBe('accepted')
    expect(reasonOf(setTraining('2026-05-01', aPerson({ trainingUntil: '2026-05-01' }), someFacts()))).toBe(
      'nothing-changed',
    )
    expect(reasonOf(setTraining('2126-05-01', aPerson(), someFacts()))).toBe('training-too-far')
    expect(reasonOf(setTraining('2020-05-01', aPerson(), someFacts()))).toBe('accepted')
  })

  it.each([
    [null, 'not-known'],
    [addDays(TODAY, -1), 'ended'],
    [TODAY, 'ends-soon'],
    [addDays(TODAY, TRAINING_ENDS_SOON_DAYS), 'ends-soon'],
    [addDays(TODAY, TRAINING_ENDS_SOON_DAYS + 1), 'valid'],
  ] as const)('trained until %s: %s', (until, state) => {
    expect(trainingState(until, TODAY)).toBe(state)
  })
})

describe('any sequence of administrators’ actions', () => {
  type Step = {
    readonly actor: number
    readonly target: number
    readonly does: 'lock' | 'unlock' | 'leave' | 'demote' | 'promote'
  }
  const ids = [idOf('a'), idOf('b'), idOf('c')]
  const step: fc.Arbitrary<Step> = fc.record({
    actor: fc.nat(2),
    target: fc.nat(2),
    does: fc.constantFrom('lock', 'unlock', 'leave', 'demote', 'promote'),
  })

  it('leaves one administrator who can sign in, and nobody changes their own role', () => {
    fc.assert(
      fc.property(fc.array(step, { maxLength: 40 }), (steps) => {
        let people: readonly Person[] = ids.map((staffId) =>
          aPerson({ staffId, role: 'administrator', badge: staffId }),
        )
        const able = (): readonly string[] =>
          people.filter((person) => person.role === 'administrator' && !isShutOut(person)).map(({ staffId }) => staffId)
        for (const { actor, target, does } of steps) {
          const [by, person] = [people[actor], people[target]]
          // an actor who was just locked may still have a request open
          if (by === undefined || person === undefined) continue
          const facts = someFacts({ actorId: by.staffId, canAddPeople: able() })
          const entry = { name: person.name, wardIds: person.wardIds }
          const outcome =
            does === 'lock'
              ? lockPerson('x', person, facts)
              : does === 'unlock'
                ? unlockPerson(person, facts)
                : does === 'leave'
                  ? leave(person, facts)
                  : changePerson({ ...entry, role: does === 'demote' ? 'educator' : 'administrator' }, person, facts)
          if (!outcome.ok) continue
          for (const event of outcome.value.events) {
            people = people.map((one) => {
              if (one.staffId !== person.staffId) return one
              switch (event.type) {
                case 'staff-locked':
                  return { ...one, locked: { reason: event.body.reason, atMs: NOW } }
                case 'staff-unlocked':
                  return { ...one, locked: null }
                case 'staff-left':
                  return { ...one, leftAtMs: NOW }
                case 'staff-changed': {
                  expect(by.staffId).not.toBe(one.staffId)
                  return { ...one, role: event.body.role }
                }
                default:
                  return one
              }
            })
          }
          expect(able().length).toBeGreaterThan(0)
        }
      }),
      { numRuns: 300 },
    )
  })

  it('every role can be given', () => {
    expect([...ROLES].sort()).toEqual(['administrator', 'charge-nurse', 'educator', 'floor-nurse'])
  })
})
