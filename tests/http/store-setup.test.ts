/**
 * The store and the events of Setup: each is applied, read within its scope, rebuilt and verified; and a database of
 * the previous version.
 */
import Database from 'better-sqlite3'
import fc from 'fast-check'
import { getTableConfig } from 'drizzle-orm/sqlite-core'
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { CheckPlan } from '../../shared/check/check.ts'
import type { EventType, LedgerEvent } from '../../shared/ledger/events.ts'
import { defaultPolicy, type WardPolicy } from '../../shared/policy/ward-policy.ts'
import { isUniqueConflict } from '../../server/http/store-failures.ts'
import { packageRoot } from '../../server/paths.ts'
import { connect } from '../../server/store/connection.ts'
import type { Scope, Store } from '../../server/store/contract.ts'
import { ledgerOf } from '../../server/store/ledger.ts'
import { openStore } from '../../server/store/open.ts'
import { DERIVED } from '../../server/store/tables.ts'
import { verifyStore } from '../../server/store/verify.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import {
  aDose,
  anAdmission,
  anEvent,
  anOrder,
  anOrderInForce,
  aPersonAdded,
  aReading,
  aScope,
  aSmallWard,
  aWardOpened,
  HOUR,
  idOf,
  MINUTE,
  NOW,
  NURSE,
  OTHER_WARD,
  SECOND_NURSE,
  someFacts,
  STAY,
  WARD,
  ZONE,
} from '../support/makers.ts'

const ADMIN = idOf('admin')
const SECOND_ADMIN = idOf('secondadmin')
const METER = idOf('meter')
const ORDER = idOf('order')
const admin: Scope = { staffId: ADMIN, role: 'administrator', wardIds: [] }
const stranger = aScope([OTHER_WARD])
const policy = (parts: Partial<WardPolicy> = {}): WardPolicy => ({ ...defaultPolicy('mg/dL', ZONE), ...parts })

let folder: string
let file: string
let store: Store

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-setup-'))
  file = join(folder, 'ward.sqlite')
  store = openStore({ file })
  chart(
    ...aSmallWard(),
    ...aWardOpened(OTHER_WARD),
    aPersonAdded(ADMIN, 'administrator', []),
    aPersonAdded(SECOND_ADMIN, 'administrator', []),
    aPersonAdded(idOf('elsewhere'), 'floor-nurse', [OTHER_WARD]),
    anAdmission({ stayId: idOf('other'), wardId: OTHER_WARD }),
  )
})

afterEach(() => {
  store.close()
  rmSync(folder, { recursive: true })
})

function chart(...events: readonly LedgerEvent[]): void {
  store.transact(() => {
    storeEvents(store, events)
    return null
  })
}

/** An event about a ward and no patient. */
function onWard<T extends EventType>(
  type: T,
  body: Parameters<typeof anEvent<T>>[1],
  head: Parameters<typeof anEvent>[2] = {},
): LedgerEvent {
  return anEvent(type, body, { stayId: null, actorId: ADMIN, ...head })
}
/** An event about a person, of no ward. */
function aboutStaff<T extends EventType>(type: T, body: Parameters<typeof anEvent<T>>[1], atMs = NOW): LedgerEvent {
  return onWard(type, body, { wardId: null, happenedAtMs: atMs })
}
/** Runs it and returns the error. */
function thrownBy(work: () => void): unknown {
  try {
    work()
  } catch (error) {
    return error
  }
  return undefined
}
const versionsOf = (...wardIds: readonly string[]) =>
  wardIds.map((wardId) => store.wardVersion(aScope([wardId]), wardId) ?? -1)
const voidReason = (doseId: string) => store.doseById(aScope(), doseId)?.voided?.reason ?? null
const history = () => {
  const found = store.stayHistory(aScope(), STAY)
  if (found === undefined) throw new Error('no such stay')
  return found
}

describe('policy', () => {
  const inForce = (atMs: number) => store.wardPolicy(aScope(), WARD, atMs)?.version
  const written = onWard('policy-change-written', {
    changeId: idOf('change'),
    basedOn: 1,
    policy: policy({ bedtime: '22:00' }),
    fromMs: NOW + HOUR,
    note: 'later bedtime',
  })

  it('counts from its start, also on the round, without a new event', () => {
    const round = (atMs: number) => store.wardFacts(aScope(), WARD, atMs)?.policy.policy.bedtime
    chart(
      onWard('policy-set-from', {
        version: 2,
        policy: policy({ bedtime: '22:00' }),
        fromMs: NOW + 9 * MINUTE,
        changeId: null,
        note: 'asked for by the night shift',
      }),
    )
    expect([inForce(NOW), inForce(NOW + 9 * MINUTE - 1), inForce(NOW + 9 * MINUTE)]).toEqual([1, 1, 2])
    expect([round(NOW), round(NOW + 9 * MINUTE - 1), round(NOW + 9 * MINUTE)]).toEqual(['21:30', '21:30', '22:00'])
  })

  it('the higher version counts when two have started', () => {
    chart(
      onWard('policy-set-from', { version: 2, policy: policy(), fromMs: NOW + HOUR, changeId: null }),
      onWard('policy-set-from', { version: 3, policy: policy(), fromMs: NOW, changeId: null }),
    )
    expect([inForce(NOW), inForce(NOW + 2 * HOUR)]).toEqual([3, 3])
  })

  it('lists versions newest first, with author, time and reason', () => {
    chart(
      written,
      onWard(
        'policy-set-from',
        { version: 2, policy: policy(), fromMs: NOW + HOUR, changeId: idOf('change') },
        { actorId: SECOND_ADMIN, happenedAtMs: NOW + MINUTE },
      ),
    )
    expect(store.policyVersions(admin, WARD).map(({ policy: _policy, ...rest }) => rest)).toEqual([
      {
        wardId: WARD,
        version: 2,
        fromMs: NOW + HOUR,
        byId: SECOND_ADMIN,
        chartedAtMs: NOW + MINUTE,
        changeId: idOf('change'),
        note: 'later bedtime',
      },
      {
        wardId: WARD,
        version: 1,
        fromMs: NOW - 168 * HOUR,
        byId: NURSE,
        chartedAtMs: NOW - 168 * HOUR,
        changeId: null,
        note: '',
      },
    ])
  })

  it('a change waits, is approved by another administrator, and is decided once', () => {
    chart(written)
    expect(store.policyChange(admin, idOf('change'))).toMatchObject({
      wardId: WARD,
      basedOn: 1,
      fromMs: NOW + HOUR,
      note: 'later bedtime',
      writtenById: ADMIN,
      writtenAtMs: NOW,
      outcome: null,
      policy: { bedtime: '22:00' },
    })
    expect(inForce(NOW + HOUR)).toBe(1)
    const approve = (actorId: string, version = 2) =>
      onWard(
        'policy-set-from',
        { version, policy: policy({ bedtime: '22:00' }), fromMs: NOW + HOUR, changeId: idOf('change') },
        { actorId, happenedAtMs: NOW + MINUTE },
      )
    // the table itself refuses approval by the writer
    expect(() => {
      chart(approve(ADMIN))
    }).toThrow(/CHECK/)
    chart(approve(SECOND_ADMIN))
    expect(store.policyChange(admin, idOf('change'))?.outcome).toEqual({
      kind: 'approved',
      byId: SECOND_ADMIN,
      atMs: NOW + MINUTE,
      reason: null,
    })
    expect(inForce(NOW + HOUR)).toBe(2)
    expect(() => {
      chart(approve(SECOND_ADMIN, 3))
    }).toThrow(/decided before/)
    expect(() => {
      chart(onWard('policy-change-refused', { changeId: idOf('change'), reason: 'no' }))
    }).toThrow(/decided before/)
  })

  it('a refused change sets nothing', () => {
    chart(
      written,
      onWard(
        'policy-change-refused',
        { changeId: idOf('change'), reason: 'not before May' },
        { happenedAtMs: NOW + MINUTE, actorId: SECOND_ADMIN },
      ),
    )
    expect(store.policyChanges(admin, WARD).map(({ outcome }) => outcome)).toEqual([
      { kind: 'refused', byId: SECOND_ADMIN, atMs: NOW + MINUTE, reason: 'not before May' },
    ])
    expect(inForce(NOW + HOUR)).toBe(1)
  })

  it('numbers two changes separately: the second with the same number is a conflict', () => {
    const set = onWard('policy-set-from', { version: 2, policy: policy(), fromMs: NOW, changeId: null })
    chart(set)
    expect(
      isUniqueConflict(
        thrownBy(() => {
          chart(set)
        }),
      ),
    ).toBe(true)
  })

  it.each<readonly [string, LedgerEvent, string | null]>([
    ['one from now', onWard('policy-set', { version: 2, policy: policy() }), 'policy-changed'],
    [
      'one from an instant before',
      onWard('policy-set-from', { version: 2, policy: policy(), fromMs: NOW - HOUR, changeId: null }),
      'policy-changed',
    ],
    [
      'one from this instant',
      onWard('policy-set-from', { version: 2, policy: policy(), fromMs: NOW, changeId: null }),
      'policy-changed',
    ],
    [
      'one from the next millisecond',
      onWard('policy-set-from', { version: 2, policy: policy(), fromMs: NOW + 1, changeId: null }),
      null,
    ],
    ["another ward's", onWard('policy-set', { version: 2, policy: policy() }, { wardId: OTHER_WARD }), null],
    ['a change that waits', written, null],
  ])('a dose being worked out: %s', (_name, event, reason) => {
    chart(
      ...anOrderInForce(),
      anEvent('reading-recorded', { reading: aReading() }),
      anEvent('dose-proposed', { dose: aDose() }),
      event,
    )
    expect(voidReason(idOf('dose'))).toBe(reason)
  })

  it('a policy stored before its newer parts existed is read with their defaults', () => {
    const { nilByMouthPlan: _plan, secondCheck: _check, shifts: _shifts, ...older } = policy({ bedtime: '20:15' })
    // older ledgers hold exactly this
    chart(onWard('policy-set', { version: 2, policy: older as WardPolicy }))
    expect(store.wardPolicy(aScope(), WARD, NOW)?.policy).toEqual(policy({ bedtime: '20:15' }))
    expect(store.policyVersions(admin, WARD)[0]?.policy).toEqual(policy({ bedtime: '20:15' }))
  })
})

describe('wards and people', () => {
  it('beds are replaced', () => {
    chart(onWard('ward-beds-set', { beds: ['9', '1'] }))
    expect(store.setUpWards(admin).find(({ wardId }) => wardId === WARD)?.beds).toEqual(['9', '1'])
    expect(store.bedsOccupied(admin, WARD)).toEqual(['1'])
  })

  it('a change of a person reaches the wards before and after', () => {
    const before = versionsOf(WARD, OTHER_WARD)
    chart(
      anEvent('beds-taken', { staffId: NURSE, beds: ['1'] }, { stayId: null }),
      aboutStaff('staff-changed', { staffId: NURSE, name: 'Nurse Vale', role: 'charge-nurse', wardIds: [OTHER_WARD] }),
    )
    expect(store.staffById(NURSE)).toEqual({
      staffId: NURSE,
      badge: `B-${NURSE}`,
      name: 'Nurse Vale',
      role: 'charge-nurse',
      wardIds: [OTHER_WARD],
      locked: null,
      leftAtMs: null,
      trainingUntil: null,
    })
    expect(versionsOf(WARD, OTHER_WARD)).toEqual([(before[0] ?? 0) + 2, (before[1] ?? 0) + 1])
    // nobody keeps beds of a ward they left
    expect(store.wardFacts(aScope(), WARD, NOW)?.bedsTaken).toEqual([])
  })

  it('gives a badge to one person only: another one is a conflict', () => {
    chart(aboutStaff('staff-badge-changed', { staffId: NURSE, badge: 'N-77' }))
    expect([store.staffByBadge('N-77')?.staffId, store.staffByBadge(`B-${NURSE}`)]).toEqual([NURSE, undefined])
    expect(
      isUniqueConflict(
        thrownBy(() => {
          chart(aboutStaff('staff-badge-changed', { staffId: SECOND_NURSE, badge: 'N-77' }))
        }),
      ),
    ).toBe(true)
    expect(store.staffByBadge('N-77')?.staffId).toBe(NURSE)
  })

  it('lists lock, unlock, leaving and training', () => {
    const now = () => {
      const { locked, leftAtMs, trainingUntil } = store.staffById(NURSE) ?? {
        locked: null,
        leftAtMs: null,
        trainingUntil: null,
      }
      return { locked, leftAtMs, trainingUntil }
    }
    chart(
      anEvent('beds-taken', { staffId: NURSE, beds: ['2'] }, { stayId: null }),
      aboutStaff('staff-locked', { staffId: NURSE, reason: 'badge lost' }),
      aboutStaff('training-set', { staffId: NURSE, validUntil: '2027-03-01' }),
    )
    expect(now()).toEqual({ locked: { reason: 'badge lost', atMs: NOW }, leftAtMs: null, trainingUntil: '2027-03-01' })
    expect(store.wardFacts(aScope(), WARD, NOW)?.bedsTaken).toEqual([])
    chart(
      anEvent('beds-taken', { staffId: NURSE, beds: ['1'] }, { stayId: null }),
      aboutStaff('staff-unlocked', { staffId: NURSE }),
      aboutStaff('staff-left', { staffId: NURSE }, NOW + HOUR),
      aboutStaff('training-set', { staffId: NURSE, validUntil: null }),
    )
    expect(now()).toEqual({ locked: null, leftAtMs: NOW + HOUR, trainingUntil: null })
    expect(store.wardFacts(aScope(), WARD, NOW)?.bedsTaken).toEqual([])
    expect(store.staffList(aScope()).map(({ staffId }) => staffId)).toContain(NURSE)
  })

  it('keeps one code for each person, deletes it when used, and ends all sessions', () => {
    const code = { staffId: NURSE, codeHash: 'hash-of-an-invented-code', expiresAtMs: NOW + HOUR }
    store.putPinCode({ ...code, codeHash: 'hash-of-an-earlier-code' })
    store.putPinCode(code)
    expect(store.pinCode(NURSE)).toEqual({ codeHash: code.codeHash, expiresAtMs: code.expiresAtMs })
    expect(store.pinCode(SECOND_NURSE)).toBeUndefined()
    store.dropPinCode(NURSE)
    expect(store.pinCode(NURSE)).toBeUndefined()
    for (const [tokenHash, staffId] of [
      ['t1', NURSE],
      ['t2', NURSE],
      ['t3', SECOND_NURSE],
    ] as const)
      store.putSession({ tokenHash, staffId, wardId: null, startedMonoMs: 1, lastSeenMonoMs: 1, meterId: null })
    store.dropSessionsOf(NURSE)
    expect(['t1', 't2', 't3'].map((tokenHash) => store.session(tokenHash)?.staffId)).toEqual([
      undefined,
      undefined,
      SECOND_NURSE,
    ])
  })
})

describe('meters and strips', () => {
  const range = (from: number, to: number) => ({ unit: 'mg/dL', from, to }) as const
  const measured = (level: 1 | 2, value: number, atMs = NOW) =>
    onWard(
      'control-measured',
      { meterId: METER, lot: 'LOT-1', level, value: { unit: 'mg/dL', value }, inRange: value < 100 },
      { actorId: NURSE, happenedAtMs: atMs },
    )

  it('a meter moves: both wards change, and its readings keep their ward', () => {
    const before = versionsOf(WARD, OTHER_WARD)
    chart(onWard('meter-moved', { meterId: METER, toWardId: OTHER_WARD }))
    expect(versionsOf(WARD, OTHER_WARD)).toEqual(before.map((version) => version + 1))
    const onRound = (wardId: string) =>
      store.wardFacts(aScope([wardId]), wardId, NOW)?.meters.map(({ meterId }) => meterId)
    expect([onRound(WARD), onRound(OTHER_WARD)]).toEqual([[], [METER]])
    expect(store.meterBySerial('M-1')).toEqual({ meterId: METER, wardId: OTHER_WARD })
  })

  it('a retired meter is on no round and stays in the list', () => {
    chart(onWard('meter-retired', { meterId: METER, reason: 'broken display' }))
    expect(store.wardFacts(aScope(), WARD, NOW)?.meters).toEqual([])
    expect(store.stayFacts(aScope(), STAY, NOW)?.meters).toEqual([])
    expect(store.checkFacts(aScope(), STAY, NOW)?.meters).toEqual([])
    expect(store.metersOfWard(admin, WARD)).toEqual([
      {
        meterId: METER,
        serial: 'M-1',
        wardId: WARD,
        unit: 'mg/dL',
        lastControl: { passed: true, atMs: NOW - HOUR },
        retired: { reason: 'broken display', atMs: NOW },
      },
    ])
    expect(() => {
      chart(onWard('meter-retired', { meterId: METER, reason: 'again' }))
    }).toThrow(/retired before/)
  })

  it('a lot has no ranges until its label was entered', () => {
    expect(store.stripLotsOfWard(admin, WARD)).toEqual([
      { lot: 'LOT-1', wardId: WARD, expiresOn: '2027-01-31', ranges: null },
    ])
    chart(onWard('strip-lot-ranges-set', { lot: 'LOT-1', level1: range(30, 60), level2: range(240, 360) }))
    const ranges = { level1: range(30, 60), level2: range(240, 360) }
    expect(store.stripLotsOfWard(admin, WARD)[0]?.ranges).toEqual(ranges)
    expect(store.stayFacts(aScope(), STAY, NOW)?.stripLots[0]?.ranges).toEqual(ranges)
  })

  it('controls are kept, also the same level twice in one minute, without a verdict', () => {
    chart(measured(1, 45), measured(1, 140), measured(2, 90, NOW + MINUTE), measured(1, 50, NOW - HOUR))
    expect(
      store
        .controlsOf(aScope(), METER, NOW)
        .map(({ level, value, inRange, atMs, byId, lot }) => [level, value.value, inRange, atMs, byId, lot]),
    ).toEqual([
      [2, 90, true, NOW + MINUTE, NURSE, 'LOT-1'],
      [1, 140, false, NOW, NURSE, 'LOT-1'],
      [1, 45, true, NOW, NURSE, 'LOT-1'],
    ])
    expect(store.meterById(aScope(), METER)?.lastControl).toEqual({ passed: true, atMs: NOW - HOUR })
  })

  it('each meter has the control that counted at an instant, in whatever order they were charted', () => {
    const control = fc.record({ at: fc.integer({ min: -4, max: 4 }), passed: fc.boolean() })
    let count = 0
    fc.assert(
      fc.property(fc.array(control, { maxLength: 6 }), fc.boolean(), (controls, moves) => {
        count += 1
        const meterId = idOf(`m${String(count)}x`)
        chart(
          onWard('meter-added', { meterId, serial: `S-${String(count)}`, unit: 'mg/dL' }),
          ...controls.map(({ at, passed }) =>
            onWard('meter-controlled', { meterId, passed }, { happenedAtMs: NOW + at * MINUTE }),
          ),
          ...(moves ? [onWard('meter-moved', { meterId, toWardId: OTHER_WARD })] : []),
        )
        const wardId = moves ? OTHER_WARD : WARD
        for (let minute = -5; minute <= 5; minute += 1) {
          const before = controls.filter(({ at }) => at <= minute)
          const latest = before.filter(({ at }) => at === Math.max(...before.map((one) => one.at))).at(-1)
          const found = store.metersWhen(aScope([wardId]), wardId, NOW + minute * MINUTE)
          expect(found.find((one) => one.meterId === meterId)).toEqual({
            meterId,
            wardId,
            unit: 'mg/dL',
            controlWhenTaken: latest === undefined ? null : { passed: latest.passed, atMs: NOW + latest.at * MINUTE },
          })
        }
      }),
      { numRuns: 40 },
    )
    expect(store.metersWhen(stranger, WARD, NOW)).toEqual([])
    expect(differences()).toEqual([])
  })

  it('lists comparisons newest first', () => {
    const comparison = (name: string, meterAtMs: number) =>
      ({
        comparisonId: idOf(name),
        meterId: METER,
        lot: 'LOT-1',
        meterValue: { unit: 'mg/dL', value: 101 },
        laboratoryValue: { unit: 'mg/dL', value: 98 },
        meterAtMs,
        laboratoryAtMs: meterAtMs,
        note: '',
        byId: NURSE,
      }) as const
    chart(
      onWard('comparison-recorded', { comparison: comparison('a', NOW - HOUR) }),
      onWard('comparison-recorded', { comparison: comparison('b', NOW) }),
    )
    expect(store.comparisonsOf(aScope(), METER)).toEqual([comparison('b', NOW), comparison('a', NOW - HOUR)])
  })
})

describe('a recall', () => {
  const reading = (name: string, over: Parameters<typeof aReading>[0]) => {
    const made = aReading({ readingId: idOf(name), ...over })
    return anEvent(
      'reading-recorded',
      { reading: made },
      { stayId: made.stayId, wardId: made.wardId, happenedAtMs: made.takenAtMs },
    )
  }
  const found = (asked: Partial<Parameters<Store['recallRows']>[1]>, scope = aScope()) =>
    store
      .recallRows(scope, { meterId: null, lot: null, fromMs: NOW - HOUR, toMs: NOW + HOUR, ...asked })
      .map((row) => row.reading.readingId.replace(/0+$/, ''))
  beforeEach(() => {
    chart(
      ...anOrderInForce(),
      reading('m1', { meterId: METER, stripLot: 'LOT-1', takenAtMs: NOW - HOUR }),
      reading('m2', { meterId: METER, stripLot: 'LOT-2', takenAtMs: NOW + HOUR - 1 }),
      reading('m3', { meterId: METER, stripLot: 'LOT-1', takenAtMs: NOW + HOUR }),
      reading('l1', { meterId: idOf('othermeter'), stripLot: 'LOT-1', takenAtMs: NOW }),
      reading('none', { takenAtMs: NOW }),
      reading('far', { meterId: METER, stripLot: 'LOT-1', stayId: idOf('other'), wardId: OTHER_WARD, takenAtMs: NOW }),
    )
  })

  it('finds by meter, lot or both, from (included) to (excluded), sorted by time', () => {
    expect(found({ meterId: METER })).toEqual(['m1', 'm2'])
    expect(found({ lot: 'LOT-1' })).toEqual(['m1', 'l1'])
    expect(found({ meterId: METER, lot: 'LOT-1' })).toEqual(['m1'])
    expect(found({ meterId: METER, toMs: NOW + HOUR + 1 })).toEqual(['m1', 'm2', 'm3'])
    expect(found({})).toEqual([])
  })

  it('includes corrected and voided readings, and discharged patients', () => {
    chart(anEvent('reading-voided', { readingId: idOf('m1'), reason: 'wrong patient' }), anEvent('stay-discharged', {}))
    const [row] = store.recallRows(aScope(), { meterId: METER, lot: null, fromMs: NOW - HOUR, toMs: NOW })
    expect(row).toMatchObject({
      reading: { readingId: idOf('m1'), voided: { reason: 'wrong patient' } },
      stay: { stayId: STAY, dischargedAtMs: NOW },
      doseIds: [],
    })
  })

  it('names doses given from a reading, and none that was not given', () => {
    chart(
      anEvent('dose-proposed', { dose: aDose({ readingId: idOf('l1'), secondCheckRequired: false }) }),
      anEvent('dose-given', { doseId: idOf('dose'), site: { area: 'thigh', side: 'left' }, food: 'tray-here' }),
      anEvent('dose-proposed', { dose: aDose({ doseId: idOf('again'), readingId: idOf('l1') }) }),
    )
    expect(
      store
        .recallRows(aScope(), { meterId: null, lot: 'LOT-1', fromMs: NOW, toMs: NOW + 1 })
        .map(({ doseIds }) => doseIds),
    ).toEqual([[idOf('dose')]])
  })

  it("shows patients of the scope's wards only, and none to an administrator", () => {
    expect(found({ meterId: METER }, stranger)).toEqual(['far'])
    expect(found({ meterId: METER }, admin)).toEqual([])
  })

  it.each([
    ['meter', 'meter_id = ?', 'reading_by_meter'],
    ['lot', 'strip_lot = ?', 'reading_by_lot'],
  ])('by %s reads its index, never the whole table', (_name, where, index) => {
    const db = new Database(file, { readonly: true })
    const plan = db
      .prepare<unknown[], { detail: string }>(
        `EXPLAIN QUERY PLAN SELECT fact FROM reading WHERE ${where} AND taken_at_ms >= ? AND taken_at_ms < ?`,
      )
      .all('x', 1, 2)
    db.close()
    expect(plan.map(({ detail }) => detail).join(' ')).toContain(index)
  })
})

describe('a stay', () => {
  it('keeps every version of its facts, from admission on', () => {
    chart(
      anEvent('facts-set', { facts: someFacts({ ivAccess: true }) }),
      anEvent(
        'facts-set',
        { facts: someFacts({ weightKg: 79 }) },
        { happenedAtMs: NOW + MINUTE, actorId: SECOND_NURSE },
      ),
    )
    expect(history().facts).toEqual([
      { number: 1, facts: someFacts(), atMs: NOW - 48 * HOUR, byId: NURSE },
      { number: 2, facts: someFacts({ ivAccess: true }), atMs: NOW, byId: NURSE },
      { number: 3, facts: someFacts({ weightKg: 79 }), atMs: NOW + MINUTE, byId: SECOND_NURSE },
    ])
    expect(history().stay.facts).toEqual(someFacts({ weightKg: 79 }))
  })

  it('keeps its beds', () => {
    chart(anEvent('stay-moved', { fromWardId: WARD, toWardId: WARD, bed: '2' }))
    expect(history().beds).toEqual([
      { number: 1, wardId: WARD, bed: '1', fromMs: NOW - 48 * HOUR, toMs: NOW },
      { number: 2, wardId: WARD, bed: '2', fromMs: NOW, toMs: null },
    ])
  })

  it('keeps when its feed was stopped; one stop is open at a time', () => {
    const stop = (name: string, atMs = NOW) =>
      anEvent('feed-interrupted', { interruptionId: idOf(name), reason: 'tube blocked' }, { happenedAtMs: atMs })
    chart(stop('f1'))
    expect(
      isUniqueConflict(
        thrownBy(() => {
          chart(stop('f2'))
        }),
      ),
    ).toBe(true)
    const resume = anEvent('feed-resumed', { interruptionId: idOf('f1') }, { happenedAtMs: NOW + HOUR })
    chart(resume, stop('f2', NOW + 2 * HOUR))
    expect(history().interruptions).toEqual([
      {
        interruptionId: idOf('f1'),
        stayId: STAY,
        reason: 'tube blocked',
        fromMs: NOW,
        untilMs: NOW + HOUR,
        byId: NURSE,
      },
      {
        interruptionId: idOf('f2'),
        stayId: STAY,
        reason: 'tube blocked',
        fromMs: NOW + 2 * HOUR,
        untilMs: null,
        byId: NURSE,
      },
    ])
    expect(() => {
      chart(resume)
    }).toThrow(/has ended/)
  })

  it('changes identity; one patient at a time wears a wristband', () => {
    const identified = (wristband: string, stayId = STAY) =>
      anEvent(
        'stay-identified',
        { wristband, familyName: 'Okafor-Lind', givenName: 'Ines', bornOn: '1951-07-15', reason: 'misspelt' },
        { stayId },
      )
    chart(identified('W-77'))
    expect(history().stay).toMatchObject({
      wristband: 'W-77',
      familyName: 'Okafor-Lind',
      givenName: 'Ines',
      bornOn: '1951-07-15',
      bed: '1',
    })
    expect(store.stayByWristband('W-77')?.stayId).toBe(STAY)
    expect(store.stayByWristband(`W-${STAY}`)).toBeUndefined()
    chart(anAdmission({ stayId: idOf('stayb'), bed: '2' }))
    expect(
      isUniqueConflict(
        thrownBy(() => {
          chart(identified('W-77', idOf('stayb')))
        }),
      ),
    ).toBe(true)
  })

  it('links a return to the stay before', () => {
    const again = idOf('return')
    chart(
      anEvent('stay-discharged', {}),
      anAdmission({ stayId: again, atMs: NOW + HOUR, wristband: `W-${STAY}` }),
      anEvent('stay-readmitted', { previousStayId: STAY }, { stayId: again, happenedAtMs: NOW + HOUR }),
    )
    expect([history().previousStayId, store.stayHistory(aScope(), again)?.previousStayId]).toEqual([null, STAY])
    expect(() => {
      chart(anEvent('stay-readmitted', { previousStayId: idOf('nobody') }, { stayId: again }))
    }).toThrow(/FOREIGN KEY/)
  })

  it('lists discharged stays since a time, newest first', () => {
    chart(
      anAdmission({ stayId: idOf('stayb'), bed: '2' }),
      anEvent('stay-discharged', {}),
      anEvent('stay-discharged', {}, { stayId: idOf('stayb'), happenedAtMs: NOW + HOUR }),
    )
    const told = (sinceMs: number) => store.staysDischarged(aScope(), WARD, sinceMs).map(({ stayId }) => stayId)
    expect([told(NOW), told(NOW + 1), told(NOW + HOUR + 1)]).toEqual([[idOf('stayb'), STAY], [idOf('stayb')], []])
  })
})

describe('plans', () => {
  const spans = () =>
    history().plans.map(({ version, plan, fromMs, untilMs, overlay }) => [
      version,
      plan.kind,
      (fromMs - NOW) / HOUR,
      untilMs === null ? null : (untilMs - NOW) / HOUR,
      overlay,
    ])
  const set = (version: number, plan: CheckPlan, hours: number) =>
    anEvent('plan-set', { version, plan, untilMs: null }, { happenedAtMs: NOW + hours * HOUR })
  const over = (version: number, hours: number, until: number | null) =>
    anEvent('plan-laid-over', {
      version,
      plan: { kind: 'every-6-h' },
      fromMs: NOW + hours * HOUR,
      untilMs: until === null ? null : NOW + until * HOUR,
    })

  it('a temporary plan ends none, and none ends it', () => {
    chart(over(2, 1, null), set(3, { kind: 'before-meals' }, 2), over(4, 3, 5))
    expect(spans()).toEqual([
      [1, 'ac-and-hs', -48, 2, false],
      [2, 'every-6-h', 1, null, true],
      [3, 'before-meals', 2, null, false],
      [4, 'every-6-h', 3, 5, true],
    ])
  })

  it.each<readonly [CheckPlan]>([[{ kind: 'overnight' }], [{ kind: 'once', atMs: NOW + 4 * HOUR }]])(
    'an addition ends none, and none ends it: %o',
    (plan) => {
      chart(set(2, plan, 1), set(3, { kind: 'every-4-h' }, 2))
      expect(spans()).toEqual([
        [1, 'ac-and-hs', -48, 2, false],
        [2, plan.kind, 1, null, false],
        [3, 'every-4-h', 2, null, false],
      ])
    },
  )

  it('an end is changed, removed, or set before the start of a plan that never began', () => {
    const end = (version: number, hours: number | null) =>
      anEvent('plan-end-set', { version, untilMs: hours === null ? null : NOW + hours * HOUR })
    chart(over(2, 4, null), end(2, 6))
    expect(spans()[1]).toEqual([2, 'every-6-h', 4, 6, true])
    chart(end(2, null))
    expect(spans()[1]).toEqual([2, 'every-6-h', 4, null, true])
    chart(end(2, 1))
    expect(spans()[1]).toEqual([2, 'every-6-h', 4, 4, true])
    expect(() => {
      chart(end(9, 1))
    }).toThrow(/no row/)
  })
})

describe('orders', () => {
  const answers = [
    {
      question: { kind: 'correction', glucose: 182, occasion: 'before-lunch' },
      entered: 2,
      transcribed: 2,
      agrees: true,
    },
  ] as const
  const answered = (version: number, agreed: boolean, atMs = NOW) =>
    anEvent(
      'order-verification-answered',
      { orderId: ORDER, version, answers, agreed },
      { actorId: SECOND_NURSE, happenedAtMs: atMs },
    )
  const written = (version: number, atMs = NOW - HOUR) =>
    anEvent('order-written', { orderId: ORDER, version, order: anOrder({ startsAtMs: atMs }) }, { happenedAtMs: atMs })

  it('a difference stops the version for good and no other order', () => {
    chart(...anOrderInForce(), written(2), answered(2, false))
    expect(store.orderVersions(aScope(), STAY).map(({ version, endedAtMs }) => [version, endedAtMs])).toEqual([
      [2, NOW],
      [1, NOW - HOUR],
    ])
    chart(written(3, NOW + MINUTE))
    expect(store.orderVersion(aScope(), ORDER, 2)?.endedAtMs).toBe(NOW)
  })

  it('an agreement keeps the entered values and ends nothing', () => {
    chart(
      written(1),
      answered(1, true),
      anEvent('order-verified', { orderId: ORDER, version: 1 }, { actorId: SECOND_NURSE }),
    )
    expect(store.orderVersion(aScope(), ORDER, 1)).toMatchObject({
      endedAtMs: null,
      verified: { byId: SECOND_NURSE, atMs: NOW },
    })
    expect(store.orderVerifications(aScope(), ORDER)).toEqual([
      { orderId: ORDER, version: 1, answers, agreed: true, byId: SECOND_NURSE, atMs: NOW },
    ])
  })

  it('a difference leaves a dose of another order alone', () => {
    chart(
      ...anOrderInForce(),
      anEvent('reading-recorded', { reading: aReading() }),
      anEvent('order-written', { orderId: idOf('two'), version: 1, order: anOrder() }),
      anEvent('dose-proposed', { dose: aDose() }),
      anEvent(
        'order-verification-answered',
        { orderId: idOf('two'), version: 1, answers, agreed: false },
        { actorId: SECOND_NURSE },
      ),
    )
    expect(voidReason(idOf('dose'))).toBeNull()
  })

  it('lists verifications of all versions newest first', () => {
    chart(
      written(1),
      answered(1, false),
      written(2, NOW + MINUTE),
      answered(2, true, NOW + 2 * MINUTE),
      answered(2, true, NOW + 2 * MINUTE),
    )
    expect(store.orderVerifications(aScope(), ORDER).map(({ version, agreed }) => [version, agreed])).toEqual([
      [2, true],
      [2, true],
      [1, false],
    ])
  })
})

describe('standard orders', () => {
  const ID = idOf('standard')
  const write = (version: number, actorId = ADMIN) =>
    onWard(
      'standard-order-written',
      { standardOrderId: ID, version, name: 'Low-dose scale', order: anOrder() },
      { actorId, happenedAtMs: NOW + version },
    )
  const approve = (version: number, actorId = SECOND_ADMIN) =>
    onWard('standard-order-approved', { standardOrderId: ID, version }, { actorId, happenedAtMs: NOW + HOUR + version })
  const told = () =>
    store
      .standardOrders(aScope(), WARD)
      .map(({ version, approved, endedAtMs }) => [
        version,
        approved?.byId ?? null,
        endedAtMs === null ? null : endedAtMs - NOW - HOUR,
      ])

  it('one person writes, another approves, and approval ends earlier versions', () => {
    chart(write(1), approve(1), write(2), write(3))
    expect(told()).toEqual([
      [3, null, null],
      [2, null, null],
      [1, SECOND_ADMIN, null],
    ])
    chart(approve(3))
    expect(told()).toEqual([
      [3, SECOND_ADMIN, null],
      [2, null, 3],
      [1, SECOND_ADMIN, 3],
    ])
    // a draft that a newer one replaced cannot be approved
    expect(() => {
      chart(approve(2))
    }).toThrow(/not waiting/)
    expect(() => {
      chart(approve(3))
    }).toThrow(/not waiting/)
  })

  it('refuses approval by the writer', () => {
    chart(write(1))
    expect(() => {
      chart(approve(1, ADMIN))
    }).toThrow(/CHECK/)
    expect(told()).toEqual([[1, null, null]])
  })

  it('ends every version at withdrawal', () => {
    chart(
      write(1),
      approve(1),
      write(2),
      onWard(
        'standard-order-withdrawn',
        { standardOrderId: ID, reason: 'formulary' },
        { happenedAtMs: NOW + HOUR + 9 },
      ),
    )
    expect(told()).toEqual([
      [2, null, 9],
      [1, SECOND_ADMIN, 9],
    ])
  })
})

/** Every new event once, in an order that a ward could have. */
function everything(): readonly LedgerEvent[] {
  const range = { unit: 'mg/dL', from: 30, to: 60 } as const
  const value = { unit: 'mg/dL', value: 45 } as const
  const answers = [
    { question: { kind: 'scheduled', time: '21:00' }, entered: 18, transcribed: 18, agrees: true },
  ] as const
  return [
    ...anOrderInForce(),
    anEvent('reading-recorded', { reading: aReading({ meterId: METER, stripLot: 'LOT-1' }) }),
    anEvent('dose-proposed', { dose: aDose() }),
    onWard('policy-change-written', { changeId: idOf('c1'), basedOn: 1, policy: policy(), fromMs: NOW, note: '' }),
    onWard('policy-change-written', { changeId: idOf('c2'), basedOn: 1, policy: policy(), fromMs: NOW, note: '' }),
    onWard(
      'policy-set-from',
      { version: 2, policy: policy(), fromMs: NOW, changeId: idOf('c1') },
      { actorId: SECOND_ADMIN },
    ),
    onWard('policy-change-refused', { changeId: idOf('c2'), reason: 'overtaken' }, { actorId: SECOND_ADMIN }),
    onWard('ward-beds-set', { beds: ['1', '2'] }),
    aboutStaff('staff-changed', {
      staffId: NURSE,
      name: 'Nurse Vale',
      role: 'charge-nurse',
      wardIds: [WARD, OTHER_WARD],
    }),
    aboutStaff('staff-badge-changed', { staffId: NURSE, badge: 'N-77' }),
    aboutStaff('staff-locked', { staffId: NURSE, reason: 'badge lost' }),
    aboutStaff('staff-unlocked', { staffId: NURSE }),
    aboutStaff('staff-left', { staffId: SECOND_NURSE }),
    aboutStaff('pin-code-made', { staffId: NURSE }),
    aboutStaff('pin-set', { staffId: NURSE, by: 'code' }),
    aboutStaff('training-set', { staffId: NURSE, validUntil: '2027-03-01' }),
    onWard('strip-lot-ranges-set', { lot: 'LOT-1', level1: range, level2: range }),
    onWard('control-measured', { meterId: METER, lot: 'LOT-1', level: 1, value, inRange: true }),
    onWard('comparison-recorded', {
      comparison: {
        comparisonId: idOf('pair'),
        meterId: METER,
        lot: null,
        meterValue: value,
        laboratoryValue: value,
        meterAtMs: NOW,
        laboratoryAtMs: NOW,
        note: '',
        byId: NURSE,
      },
    }),
    onWard('meter-moved', { meterId: METER, toWardId: OTHER_WARD }),
    onWard('meter-retired', { meterId: METER, reason: 'broken' }, { wardId: OTHER_WARD }),
    anEvent('stay-identified', {
      wristband: 'W-77',
      familyName: 'Okafor',
      givenName: 'Ines',
      bornOn: '1951-07-15',
      reason: 'misspelt',
    }),
    anEvent('feed-interrupted', { interruptionId: idOf('feed'), reason: 'tube blocked' }),
    anEvent('feed-resumed', { interruptionId: idOf('feed') }),
    anEvent('plan-laid-over', { version: 2, plan: { kind: 'every-6-h' }, fromMs: NOW, untilMs: null }),
    anEvent('plan-set', { version: 3, plan: { kind: 'overnight' }, untilMs: null }),
    anEvent('plan-end-set', { version: 2, untilMs: NOW + HOUR }),
    anEvent('order-written', { orderId: idOf('two'), version: 1, order: anOrder() }),
    anEvent(
      'order-verification-answered',
      { orderId: idOf('two'), version: 1, answers, agreed: false },
      { actorId: SECOND_NURSE },
    ),
    onWard('standard-order-written', {
      standardOrderId: idOf('standard'),
      version: 1,
      name: 'Scale',
      order: anOrder(),
    }),
    onWard('standard-order-approved', { standardOrderId: idOf('standard'), version: 1 }, { actorId: SECOND_ADMIN }),
    onWard('standard-order-withdrawn', { standardOrderId: idOf('standard'), reason: 'formulary' }),
    anEvent('facts-set', { facts: someFacts({ feeding: 'tube' }) }),
    anEvent('stay-discharged', {}),
    anAdmission({ stayId: idOf('return'), atMs: NOW + HOUR, wristband: 'W-77' }),
    anEvent('stay-readmitted', { previousStayId: STAY }, { stayId: idOf('return'), happenedAtMs: NOW + HOUR }),
  ]
}
const NEW_EVENTS: readonly EventType[] = [
  'policy-set-from',
  'policy-change-written',
  'policy-change-refused',
  'ward-beds-set',
  'staff-changed',
  'staff-badge-changed',
  'staff-locked',
  'staff-unlocked',
  'staff-left',
  'training-set',
  'pin-code-made',
  'pin-set',
  'meter-moved',
  'meter-retired',
  'strip-lot-ranges-set',
  'control-measured',
  'comparison-recorded',
  'stay-readmitted',
  'stay-identified',
  'feed-interrupted',
  'feed-resumed',
  'plan-laid-over',
  'plan-end-set',
  'order-verification-answered',
  'standard-order-written',
  'standard-order-approved',
  'standard-order-withdrawn',
]
const NEW_TABLES = [
  'policy_change',
  'standard_order',
  'order_verification',
  'control',
  'meter_control',
  'comparison',
  'facts_version',
  'feed_interruption',
]
const differences = () =>
  verifyStore({ file, headFile: null })
    .filter(({ what }) => what !== 'doses worked out again')
    .flatMap((line) => line.differences)

describe('rebuilt from the ledger', () => {
  it('has no difference for a world with every event of Setup, and checks every new table', () => {
    chart(...everything())
    const used = new Set(everything().map(({ type }) => type))
    expect(NEW_EVENTS.filter((type) => !used.has(type))).toEqual([])
    expect(differences()).toEqual([])
    const looked = Object.fromEntries(verifyStore({ file, headFile: null }).map(({ what, checked }) => [what, checked]))
    for (const table of NEW_TABLES) expect([table, looked[table.replaceAll('_', ' ')]]).not.toEqual([table, 0])
  })

  it.each([
    [
      'policy_change',
      "UPDATE policy_change SET outcome_by = 'x' WHERE outcome = 'refused'",
      /policy_change c20* differs .* outcome_by/,
    ],
    [
      'standard_order',
      'UPDATE standard_order SET ended_at_ms = NULL',
      /standard_order standard0* 1 differs .* ended_at_ms/,
    ],
    [
      'order_verification',
      'UPDATE order_verification SET agreed = 1',
      /order_verification two0* 1 1 differs .* agreed/,
    ],
    ['control', 'DELETE FROM control', /control meter0* 1 is in the ledger and not in the table/],
    ['meter_control', 'UPDATE meter_control SET passed = 1 - passed', /meter_control meter0* .* differs .* passed/],
    ['comparison', "UPDATE comparison SET fact = replace(fact, '45', '46')", /comparison pair0* differs .* fact/],
    [
      'facts_version',
      "UPDATE facts_version SET by_id = 'x' WHERE number = 2",
      /facts_version stay0* 2 differs .* by_id/,
    ],
    [
      'feed_interruption',
      'UPDATE feed_interruption SET until_ms = NULL',
      /feed_interruption feed0* differs .* until_ms/,
    ],
    ['staff', 'UPDATE staff SET left_at_ms = NULL', /staff secondnurse0* differs .* left_at_ms/],
    ['reading', "UPDATE reading SET strip_lot = 'LOT-2'", /reading reading0* differs .* strip_lot/],
    ['plan_version', 'UPDATE plan_version SET overlay = 0', /plan_version stay0* 2 differs .* overlay/],
  ])('finds and names a changed %s', (_table, statement, sentence) => {
    chart(...everything())
    const db = new Database(file)
    db.exec(statement)
    db.close()
    expect(differences().join('\n')).toMatch(sentence)
  })
})

describe('scope', () => {
  beforeEach(() => {
    chart(
      ...everything().filter(
        ({ type }) =>
          !['meter-moved', 'meter-retired', 'stay-discharged', 'stay-readmitted', 'stay-admitted'].includes(type),
      ),
    )
  })

  /** Each read of a ward's setup, with the size of its result. */
  const setUp = (scope: Scope) => ({
    wards: store.setUpWards(scope).filter(({ wardId }) => wardId === WARD).length,
    policyVersions: store.policyVersions(scope, WARD).length,
    bedsOccupied: store.bedsOccupied(scope, WARD).length,
    policyChanges: store.policyChanges(scope, WARD).length,
    policyChange: store.policyChange(scope, idOf('c1')) === undefined ? 0 : 1,
    meters: store.metersOfWard(scope, WARD).length,
    meter: store.meterById(scope, METER) === undefined ? 0 : 1,
    lots: store.stripLotsOfWard(scope, WARD).length,
    controls: store.controlsOf(scope, METER, 0).length,
    comparisons: store.comparisonsOf(scope, METER).length,
    standardOrders: store.standardOrders(scope, WARD).length,
  })
  /** Each read of a patient. */
  const patients = (scope: Scope) => ({
    history: store.stayHistory(scope, STAY) === undefined ? 0 : 1,
    orders: store.orderVersions(scope, STAY).length,
    order: store.orderVersion(scope, ORDER, 1) === undefined ? 0 : 1,
    verifications: store.orderVerifications(scope, idOf('two')).length,
    recall: store.recallRows(scope, { meterId: METER, lot: null, fromMs: 0, toMs: NOW + HOUR }).length,
    discharged: store.staysDischarged(scope, WARD, 0).length,
    stays: store.staysOfWard(scope, WARD).length,
  })
  const all = (counts: Readonly<Record<string, number>>) => [
    ...new Set(Object.values(counts).map((count) => count > 0)),
  ]

  it('gives people of the ward all of it', () => {
    chart(anAdmission({ stayId: idOf('gone'), bed: '2' }), anEvent('stay-discharged', {}, { stayId: idOf('gone') }))
    expect([all(setUp(aScope())), all(patients(aScope()))]).toEqual([[true], [true]])
  })

  it('gives people of another ward nothing', () => {
    chart(anAdmission({ stayId: idOf('gone'), bed: '2' }), anEvent('stay-discharged', {}, { stayId: idOf('gone') }))
    expect([all(setUp(stranger)), all(patients(stranger))]).toEqual([[false], [false]])
  })

  it("gives an administrator without a ward every ward's setup, and no patient", () => {
    chart(anAdmission({ stayId: idOf('gone'), bed: '2' }), anEvent('stay-discharged', {}, { stayId: idOf('gone') }))
    expect([all(setUp(admin)), all(patients(admin))]).toEqual([[true], [false]])
    expect(
      store
        .setUpWards(admin)
        .map(({ wardId }) => wardId)
        .sort(),
    ).toEqual([OTHER_WARD, WARD].sort())
    expect(store.wards(admin)).toEqual([])
  })

  it('limits people to shared wards; an administrator gets everybody', () => {
    const ids = (scope: Scope) =>
      store
        .staffList(scope)
        .map(({ staffId }) => staffId)
        .sort()
    expect(ids(aScope())).toEqual([NURSE, SECOND_NURSE].sort())
    // the nurse was put on both wards
    expect(ids(stranger)).toEqual([NURSE, idOf('elsewhere')].sort())
    expect(ids(admin)).toEqual([ADMIN, SECOND_ADMIN, NURSE, SECOND_NURSE, idOf('elsewhere')].sort())
    expect(store.staffList(admin).map(({ name }) => name)).toEqual(
      [...store.staffList(admin).map(({ name }) => name)].sort(),
    )
  })
})

describe('database of the previous version', () => {
  const old = () => join(folder, 'old.sqlite')

  /** A file as the program before Setup left it: five migrations, its ledger, and its columns of the derived tables. */
  function makeOld(): void {
    chart(
      ...anOrderInForce(),
      anEvent('reading-recorded', { reading: aReading({ meterId: METER, stripLot: 'LOT-1' }) }),
      anEvent('dose-proposed', { dose: aDose() }),
      anEvent('facts-set', { facts: someFacts({ ivAccess: true }) }),
    )
    store.setPinHash(NURSE, 'hash-of-the-invented-pin')
    store.close()
    const db = new Database(old())
    const five = readdirSync(join(packageRoot, 'migrations'))
      .filter((name) => /^000[1-5]_/.test(name))
      .sort()
    expect(five).toHaveLength(5)
    for (const name of five) db.exec(readFileSync(join(packageRoot, 'migrations', name), 'utf8'))
    db.pragma('user_version = 5')
    db.pragma('foreign_keys = OFF')
    db.exec(`ATTACH '${file}' AS now`)
    for (const table of [...DERIVED.map((one) => getTableConfig(one).name), 'ledger', 'pin_credential']) {
      const columns = (db.pragma(`main.table_info(${table})`) as { name: string }[])
        .map(({ name }) => `"${name}"`)
        .join(', ')
      // a later migration adds these
      if (columns !== '') db.exec(`INSERT INTO main.${table} (${columns}) SELECT ${columns} FROM now.${table}`)
    }
    db.close()
  }

  it('opens with the new tables and columns filled from its ledger, and nothing else changed', () => {
    makeOld()
    store = openStore({ file: old() })
    expect(store.stayHistory(aScope(), STAY)?.facts.map(({ number, facts }) => [number, facts.ivAccess])).toEqual([
      [1, false],
      [2, true],
    ])
    expect(store.recallRows(aScope(), { meterId: METER, lot: 'LOT-1', fromMs: NOW, toMs: NOW + 1 })).toHaveLength(1)
    expect(store.policyVersions(admin, WARD).map(({ byId, chartedAtMs }) => [byId, chartedAtMs])).toEqual([
      [NURSE, NOW - 168 * HOUR],
    ])
    expect(store.pinHash(NURSE)).toBe('hash-of-the-invented-pin')
    expect(store.note('rebuild')).toBeUndefined()
    store.close()
    expect(
      verifyStore({ file: old(), headFile: null })
        .filter(({ what }) => what !== 'doses worked out again')
        .flatMap((line) => line.differences),
    ).toEqual([])
    // a second opening does nothing, and charting continues
    store = openStore({ file: old() })
    chart(anEvent('facts-set', { facts: someFacts() }, { happenedAtMs: NOW + MINUTE }))
    expect(store.stayHistory(aScope(), STAY)?.facts).toHaveLength(3)
  })

  it('is not upgraded with a row outside the chain', () => {
    makeOld()
    const db = new Database(old())
    db.exec(
      "INSERT INTO ledger SELECT seq + 1, 'facts-set', ward_id, 'nosuchstay', actor_id, happened_at_ms, charted_at_ms, body, hash, hash FROM ledger ORDER BY seq DESC LIMIT 1",
    )
    db.close()
    expect(() => openStore({ file: old() })).toThrow(/is damaged, so it was not upgraded: .*row/)
    const after = new Database(old(), { readonly: true })
    expect(after.pragma('user_version', { simple: true })).toBe(5)
    after.close()
    store = openStore({ file })
  })

  it('stays unchanged when its ledger cannot be applied, and does not verify', () => {
    makeOld()
    const connection = connect(old())
    connection.raw.transaction(() => {
      ledgerOf(connection).append(anEvent('facts-set', { facts: someFacts() }, { stayId: 'nosuchstay' }))
    })()
    connection.raw.close()
    expect(() => openStore({ file: old() })).toThrow(/nosuchstay/)
    const after = new Database(old(), { readonly: true })
    expect(after.prepare('SELECT count(*) AS n FROM reading').get()).toEqual({ n: 1 })
    // no migration is partly applied
    expect(after.pragma('user_version', { simple: true })).toBe(5)
    after.close()
    expect(() => verifyStore({ file: old(), headFile: null })).toThrow(/older version/)
    store = openStore({ file })
  })
})
