/** Admission, identity, moves, discharge, the feed and late trays: edges of each rule, by cases. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { plannedChecks } from '../../shared/check/plan.ts'
import { delayTrays, mealsToCome, mealWindows } from '../../shared/check/tray-delay.ts'
import type { Meal } from '../../shared/check/check.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import { admitStay, factsForReturn, type AdmissionEntry, type AdmissionFacts } from '../../shared/stay/admit.ts'
import { interruptFeed, resumeFeed } from '../../shared/stay/feed.ts'
import { identifyStay, isSamePerson } from '../../shared/stay/identity.ts'
import { dischargeStay, moveStay, unchartedDose } from '../../shared/stay/move.ts'
import { isInsulinDependent, type FeedInterruption, type Stay } from '../../shared/stay/stay.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { aDose, someFacts } from '../support/makers.ts'

const ZONE = 'America/New_York'
const policy = defaultPolicy('mg/dL', ZONE)
const at = (time: string, date = '2026-11-24'): number => localToUtc(date, time, ZONE)
const NOW = at('09:00')
const HOUR = 3_600_000
const stay: Stay = {
  stayId: 'stay1',
  wardId: 'ward1',
  bed: '1',
  wristband: 'W1',
  familyName: 'Okafor',
  givenName: 'Ines',
  bornOn: '1951-07-14',
  admittedAtMs: at('08:00'),
  dischargedAtMs: null,
  facts: someFacts(),
}
const identity = { wristband: 'W2', familyName: 'Harrow', givenName: 'Judith', bornOn: '1944-08-30' }

describe('admission', () => {
  const entry: AdmissionEntry = {
    stayId: 'stay2',
    bed: '2',
    identity,
    admittedAtMs: NOW,
    facts: someFacts(),
    plan: { kind: 'ac-and-hs' },
    byId: 'nurse',
  }
  const facts: AdmissionFacts = {
    ward: { wardId: 'ward1', beds: ['1', '2'] },
    policy,
    present: [stay],
    left: [],
    worn: null,
    previous: null,
    nowMs: NOW,
  }
  const admit = (over: Partial<AdmissionEntry> = {}, known: Partial<AdmissionFacts> = {}) =>
    admitStay({ ...entry, ...over }, { ...facts, ...known })
  const gone = { ...stay, stayId: 'stay0', bed: '2', dischargedAtMs: at('08:30') }

  it('charts the stay and its plan from the admission', () => {
    expect(admit({ admittedAtMs: at('08:30') })).toMatchObject({
      ok: true,
      value: [
        {
          type: 'stay-admitted',
          happenedAtMs: at('08:30'),
          chartedAtMs: NOW,
          stayId: 'stay2',
          body: { bed: '2', ...identity },
        },
        { type: 'plan-set', happenedAtMs: at('08:30'), body: { version: 1 } },
      ],
    })
  })
  it.each<[string, ReturnType<typeof admit>, string | null]>([
    ['24 h ago', admit({ admittedAtMs: NOW - 24 * HOUR }), null],
    ['more than that', admit({ admittedAtMs: NOW - 24 * HOUR - 1 }), 'admitted-too-long-ago'],
    ['in a moment', admit({ admittedAtMs: NOW + 1 }), 'admitted-in-future'],
    ['a taken bed', admit({ bed: '1' }), 'bed-taken'],
    ['no such bed', admit({ bed: '3' }), 'bed-not-on-ward'],
    ['as the one before leaves', admit({ admittedAtMs: at('08:30') }, { left: [gone] }), null],
    ['before the one before left', admit({ admittedAtMs: at('08:30') - 1 }, { left: [gone] }), 'bed-taken-then'],
    ['before somebody left another bed', admit({ admittedAtMs: at('08:00') }, { left: [{ ...gone, bed: '9' }] }), null],
    ['born today', admit({ identity: { ...identity, bornOn: '2026-11-24' } }), null],
    [
      'born today, admitted yesterday',
      admit({ identity: { ...identity, bornOn: '2026-11-24' }, admittedAtMs: NOW - 12 * HOUR }),
      'born-after-admission',
    ],
    ['here already', admit({ identity: { ...stay, wristband: 'W2' } }), 'already-here'],
    ['a wristband in use', admit({}, { worn: { bed: '1', ward: null } }), 'identity-wristband-worn'],
    ['a return before the end', admit({}, { previous: stay }), 'previous-still-here'],
    ['a return into the earlier stay', admit({ admittedAtMs: at('08:30') - 1 }, { previous: gone }), 'previous-later'],
    ['nil by mouth that is over', admit({ facts: someFacts({ nilByMouth: { fromMs: 0, untilMs: NOW } }) }), 'nil-over'],
    ['once, in the past', admit({ plan: { kind: 'once', atMs: NOW } }), 'plan-once-past'],
  ])('%s', (_name, outcome, reason) => {
    expect(outcome.ok ? null : outcome.reason).toBe(reason)
  })
  it('a return names the earlier stay and does not copy its nil by mouth', () => {
    expect(admit({}, { previous: gone })).toMatchObject({
      value: [
        { type: 'stay-admitted' },
        { type: 'stay-readmitted', body: { previousStayId: 'stay0' } },
        { type: 'plan-set' },
      ],
    })
    expect(
      factsForReturn({ ...gone, facts: someFacts({ onSteroid: true, nilByMouth: { fromMs: 0, untilMs: null } }) }),
    ).toMatchObject({ onSteroid: true, nilByMouth: null })
  })
})

describe('identity', () => {
  it('ignores capitals and spaces, and differs by date of birth', () => {
    expect(isSamePerson({ ...identity, familyName: ' HARROW' }, { ...identity, givenName: 'judith ' })).toBe(true)
    expect(isSamePerson(identity, { ...identity, bornOn: '1944-08-31' })).toBe(false)
  })
  const identify = (
    over: Partial<typeof identity> = {},
    known: Partial<Parameters<typeof identifyStay>[1]> = {},
    reason = 'torn',
  ) =>
    identifyStay(
      { identity: { ...identity, ...over }, reason, byId: 'nurse' },
      { stay, worn: null, nowMs: NOW, zone: ZONE, ...known },
    )
  it.each<[string, ReturnType<typeof identify>, string | null]>([
    ['with its reason', identify(), null],
    ['without one', identify({}, {}, '  '), 'identity-reason-missing'],
    ['worn', identify({}, { worn: { bed: null, ward: null } }), 'identity-wristband-worn'],
    [
      'worn, of a patient who has left',
      identify({}, { worn: { bed: null, ward: null }, stay: { ...stay, dischargedAtMs: 1 } }),
      null,
    ],
    ['no wristband', identify({ wristband: '' }), 'identity-wristband-missing'],
    ['no name', identify({ givenName: '' }), 'identity-name-missing'],
    ['no date', identify({ bornOn: '1944-02-30' }), 'identity-born-not-a-date'],
    ['tomorrow', identify({ bornOn: '2026-11-25' }), 'identity-born-in-future'],
    ['123 years ago', identify({ bornOn: '1903-11-25' }), null],
    ['124 years ago', identify({ bornOn: '1902-11-24' }), 'identity-born-too-long-ago'],
    [
      'as it was',
      identify({ wristband: 'W1', familyName: 'Okafor', givenName: 'Ines', bornOn: '1951-07-14' }),
      'identity-unchanged',
    ],
  ])('%s', (_name, outcome, reason) => {
    expect(outcome.ok ? null : outcome.reason).toBe(reason)
  })
})

describe('moves and discharge', () => {
  const wards = [{ wardId: 'ward1', name: 'Alder', beds: ['1', '2', '3'], taken: ['1', '2'], unit: 'mg/dL' as const }]
  const signed = aDose({
    product: {
      byId: 'nurse2',
      insulin: 'insulin lispro',
      concentration: 'U-100',
      expiresOn: '2027-01-31',
      units: 2,
      atMs: NOW,
    },
  })
  const leave = (
    over: Partial<Parameters<typeof dischargeStay>[0]> = {},
    known: Partial<Parameters<typeof dischargeStay>[1]> = {},
  ) =>
    dischargeStay(
      { entryId: 'entry', atMs: NOW, handover: null, to: '', byId: 'nurse', ...over },
      { stay, doses: [], nowMs: NOW, lastChartedMs: at('08:30'), leftOpen: [], ...known },
    )

  it.each([
    ['signed, nobody charted it', [signed], true],
    [
      'signed, and void since: it may be in the patient',
      [{ ...signed, voided: { reason: 'newer-reading' as const, atMs: NOW } }],
      true,
    ],
    ['not signed yet', [aDose()], false],
    ['withheld', [{ ...signed, outcome: { kind: 'withheld' as const, reason: 'x', byId: 'n', atMs: NOW } }], false],
    ['nothing to give', [{ ...signed, units: 0 }], false],
  ])('an uncharted dose: %s', (_name, doses, found) => {
    expect(unchartedDose({ doses }) !== null).toBe(found)
    expect(moveStay({ toWardId: 'ward1', bed: '3', byId: 'nurse' }, { stay, doses, wards, nowMs: NOW }).ok).toBe(!found)
    expect(leave({}, { doses }).ok).toBe(!found)
  })
  it.each<[string, ReturnType<typeof leave>, string | null]>([
    ['now', leave(), null],
    ['at the very time of the last charting', leave({ atMs: at('08:30') }), null],
    ['before it', leave({ atMs: at('08:30') - 1 }), 'discharge-before-charted'],
    ['in a moment', leave({ atMs: NOW + 1 }), 'discharge-in-future'],
    ['twice', leave({}, { stay: { ...stay, dischargedAtMs: 1 } }), 'discharge-already'],
    ['with an open low', leave({}, { leftOpen: [{ kind: 'low' }] }), 'discharge-not-handed'],
    [
      'with an open low, handed to nobody named',
      leave({ handover: 'named', to: ' ' }, { leftOpen: [{ kind: 'low' }] }),
      'discharge-handed-to-nobody',
    ],
    [
      'with an open low, handed over',
      leave({ handover: 'named', to: 'nurse Vale' }, { leftOpen: [{ kind: 'low' }] }),
      null,
    ],
    ['with an open task, not yet handed over', leave({ handover: 'not-yet' }, { leftOpen: [{ kind: 'task' }] }), null],
    ['by death', leave({ handover: 'died' }, { leftOpen: [{ kind: 'low' }] }), null],
  ])('discharge %s', (_name, outcome, reason) => {
    expect(outcome.ok ? null : outcome.reason).toBe(reason)
  })
})

describe('the feed', () => {
  const fed: Stay = { ...stay, facts: someFacts({ feeding: 'tube' }) }
  const past: FeedInterruption = {
    interruptionId: 'f1',
    stayId: 'stay1',
    reason: 'x',
    fromMs: at('08:10'),
    untilMs: at('08:20'),
    byId: 'nurse',
  }
  const running = { stay: fed, interruptions: [past], nowMs: NOW }
  const stopped = {
    ...running,
    interruptions: [past, { ...past, interruptionId: 'f2', fromMs: at('08:40'), untilMs: null }],
  }
  const stop = (atMs: number, facts: Parameters<typeof interruptFeed>[1] = running) =>
    interruptFeed({ interruptionId: 'f3', reason: 'x', atMs, byId: 'nurse' }, facts)
  const go = (atMs: number, facts: Parameters<typeof resumeFeed>[1] = stopped) =>
    resumeFeed({ atMs, byId: 'nurse' }, facts)
  it.each<[string, ReturnType<typeof stop>, string | null]>([
    ['stops as the last interruption ends', stop(at('08:20')), null],
    ['stops before that', stop(at('08:20') - 1), 'feed-before-last'],
    ['stops before the admission', stop(at('08:00') - 1), 'feed-before-admission'],
    ['stops in a moment', stop(NOW + 1), 'feed-in-future'],
    ['stops twice', stop(NOW, stopped), 'feed-already-interrupted'],
    ['by mouth', stop(NOW, { ...running, stay }), 'feed-by-mouth'],
    ['after the discharge', stop(NOW, { ...running, stay: { ...fed, dischargedAtMs: 1 } }), 'feed-stay-discharged'],
    ['runs again at once', go(at('08:40')), null],
    ['runs again before it stopped', go(at('08:40') - 1), 'feed-before-last'],
    ['runs again, eating by mouth by now', go(NOW, { ...stopped, stay }), null],
    ['runs already', go(NOW, running), 'feed-not-interrupted'],
  ])('%s', (_name, outcome, reason) => {
    expect(outcome.ok ? null : outcome.reason).toBe(reason)
  })
})

describe('late trays', () => {
  const facts = { wardId: 'ward1', policy, trayDelays: [], nowMs: NOW }
  const delay = (minutes: number, over: Partial<Parameters<typeof delayTrays>[1]> = {}, meal: Meal = 'lunch') =>
    delayTrays({ date: '2026-11-24', meal, minutes, byId: 'nurse' }, { ...facts, ...over })
  it.each<[number, string | null]>([
    [4, 'delay-minutes'],
    [5, null],
    [180, null],
    [181, 'delay-minutes'],
    [-5, 'delay-minutes'],
    [7.5, 'delay-minutes'],
    [0, 'delay-none-to-take-back'],
  ])('%s min', (minutes, reason) => {
    const outcome = delay(minutes)
    expect(outcome.ok ? null : outcome.reason).toBe(reason)
  })
  it('a meal counts until its delayed round closes', () => {
    expect(mealsToCome({ ...facts, nowMs: at('08:59') }).map(({ meal }) => meal)).toEqual([
      'breakfast',
      'lunch',
      'supper',
      'breakfast',
    ])
    expect(delay(30, {}, 'breakfast')).toMatchObject({ reason: 'delay-meal-over' })
    expect(
      delay(0, { trayDelays: [{ date: '2026-11-24', meal: 'breakfast', minutes: 30 }] }, 'breakfast'),
    ).toMatchObject({ ok: true, value: [{ type: 'tray-delayed', stayId: null, body: { minutes: 0 } }] })
    expect(delay(30, { trayDelays: [{ date: '2026-11-24', meal: 'lunch', minutes: 30 }] })).toMatchObject({
      reason: 'delay-same',
    })
  })
  it('what the form announces is what moves', () => {
    fc.assert(
      fc.property(
        fc.constantFrom<Meal>('breakfast', 'lunch', 'supper'),
        fc.integer({ min: 5, max: 180 }),
        (meal, minutes) => {
          const said = mealWindows('2026-11-24', meal, policy, minutes)
          const plans = [
            {
              stayId: 'stay1',
              version: 1,
              plan: { kind: 'before-meals' as const },
              fromMs: 0,
              untilMs: null,
              overlay: false,
            },
          ]
          const check = plannedChecks({
            plans,
            policy,
            trayDelays: [{ date: '2026-11-24', meal, minutes }],
            stay: { stayId: 'stay1', admittedAtMs: 0, dischargedAtMs: null },
            fromMs: at('00:00'),
            toMs: at('00:00', '2026-11-25'),
          }).find(({ key }) => key.endsWith(`before-${meal}`))
          expect(check).toMatchObject({
            opensMs: said.opensMs,
            dueMs: said.dueMs,
            lateAfterMs: said.trayMs,
            closesMs: said.closesMs,
          })
        },
      ),
    )
  })
})

describe('insulin-dependent', () => {
  it.each<[string, Parameters<typeof someFacts>[0], boolean]>([
    ['type 1', { diabetes: 'type-1' }, true],
    ['from disease of the pancreas', { diabetes: 'pancreatic' }, true],
    ['type 2', { diabetes: 'type-2' }, false],
    ['type 2 on insulin at home', { diabetes: 'type-2', insulinAtHome: true }, false],
    ['type 2 that has had ketoacidosis', { diabetes: 'type-2', pastKetoacidosis: true }, true],
    ['none known, on insulin at home', { diabetes: 'none-known', insulinAtHome: true }, true],
    ['another type, on insulin at home', { diabetes: 'other', insulinAtHome: true }, true],
    ['none known', { diabetes: 'none-known' }, false],
  ])('%s', (_name, facts, expected) => {
    expect(isInsulinDependent(someFacts(facts))).toBe(expected)
  })
})
