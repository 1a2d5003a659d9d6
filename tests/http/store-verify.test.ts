/**
 * What `npm run verify` proves: tampering is found and named, a rebuild equals the live tables, and doses work out
 * again.
 */
import Database from 'better-sqlite3'
import fc from 'fast-check'
import { execFile } from 'node:child_process'
import { copyFileSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { patientDay } from '../../shared/audit/patient-day.ts'
import type { Dose } from '../../shared/dose/dose.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { proposeDose } from '../../shared/order/propose.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { packageRoot } from '../../server/paths.ts'
import { StoreError } from '../../server/store/errors.ts'
import { hashOf, NO_HASH, type LedgerRow, eventOf } from '../../server/store/ledger.ts'
import { openStore } from '../../server/store/open.ts'
import type { Store } from '../../server/store/contract.ts'
import { verifyStore } from '../../server/store/verify.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import {
  aDose,
  anAdmission,
  anEvent,
  anOrder,
  anOrderInForce,
  aReading,
  aScope,
  aSmallWard,
  aWardOpened,
  HOUR,
  idOf,
  mgPerDl,
  MINUTE,
  NOW,
  NURSE,
  OTHER_WARD,
  SECOND_NURSE,
  someFacts,
  someInputs,
  STAY,
  TODAY,
  WARD,
  ZONE,
} from '../support/makers.ts'

let folder: string
let file: string
let headFile: string

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-verify-'))
  file = join(folder, 'ward.sqlite')
  headFile = join(folder, 'head.json')
})

afterEach(() => {
  rmSync(folder, { recursive: true })
})

function chart(store: Store, ...events: readonly LedgerEvent[]): void {
  store.transact(() => {
    storeEvents(store, events)
    return null
  })
}

/** A dose that the rules propose from the invented order and this reading. */
function realDose(reading: Reading, doseId: string): Dose {
  const order = {
    orderId: idOf('order'),
    version: 1,
    stayId: STAY,
    order: anOrder(),
    writtenAtMs: NOW - 24 * HOUR,
    transcribedById: NURSE,
    verified: { byId: SECOND_NURSE, atMs: NOW - 23 * HOUR },
    endedAtMs: null,
  }
  const inputs = someInputs({
    readingTakenAtMs: reading.takenAtMs,
    nowMs: reading.takenAtMs,
    meal: { willEat: 'yes', carbohydrateGrams: null, shareEatenPercent: null },
    trayExpectedAtMs: reading.takenAtMs + 10 * MINUTE,
  })
  const proposal = proposeDose({
    order,
    insulin: order.order.insulin,
    policy: defaultPolicy('mg/dL', ZONE),
    policyVersion: 1,
    reading,
    inputs,
  })
  if (proposal.kind !== 'dose')
    throw new Error(
      `stopped by ${proposal.guards
        .filter((guard) => guard.outcome === 'stops')
        .map((guard) => guard.guard)
        .join(', ')}`,
    )
  return aDose({
    doseId,
    readingId: reading.readingId,
    units: proposal.working.units,
    working: proposal.working,
    inputs,
    proposedAtMs: reading.takenAtMs,
  })
}

const reading = aReading({ checkKey: `${STAY}.${TODAY}.before-breakfast` })
const day = (...events: readonly LedgerEvent[]): readonly LedgerEvent[] => [
  ...aSmallWard(),
  ...anOrderInForce(),
  anEvent('reading-recorded', { reading }),
  ...events,
]

/** A small closed ward with a reading and a dose, and its head kept outside. */
function closedWard(...events: readonly LedgerEvent[]): void {
  const store = openStore({ file, headFile })
  chart(store, ...day(anEvent('dose-proposed', { dose: realDose(reading, idOf('dose')) }), ...events))
  store.close()
}

/** Changes the file directly, without the triggers that refuse changes. */
function tamper(change: (db: Database.Database) => void): void {
  const db = new Database(file)
  db.pragma('foreign_keys = OFF')
  for (const { name } of db
    .prepare<[], { name: string }>("SELECT name FROM sqlite_schema WHERE type = 'trigger'")
    .all())
    db.exec(`DROP TRIGGER ${name}`)
  change(db)
  db.close()
}

const found = (options = { file, headFile: headFile as string | null }): readonly string[] =>
  verifyStore(options).flatMap(({ differences }) => differences)

describe('an untouched database', () => {
  it('has no difference, and every derived table and dose is checked', () => {
    closedWard()
    const report = verifyStore({ file, headFile })
    expect(report.flatMap(({ differences }) => differences)).toEqual([])
    const counts = Object.fromEntries(report.map(({ what, checked }) => [what, checked]))
    expect(counts).toMatchObject({
      'ledger rows in the chain': 14,
      'head kept outside': 1,
      reading: 1,
      dose: 1,
      'check outcome': 1,
      'patient day': 1,
      'open item': 1,
      'doses worked out again': 1,
    })
  })

  it('can be verified while the service writes', () => {
    const store = openStore({ file, headFile })
    chart(store, ...day())
    expect(found({ file, headFile: null })).toEqual([])
    chart(store, anEvent('reading-recorded', { reading: aReading({ readingId: idOf('b') }) }))
    expect(found({ file, headFile: null })).toEqual([])
    store.close()
    expect(found()).toEqual([])
  })

  it('is not changed by the check', () => {
    closedWard()
    const before = readFileSync(file)
    found()
    expect(readFileSync(file).equals(before)).toBe(true)
  })
})

describe('the chain', () => {
  it.each<readonly [string, (db: Database.Database) => void, RegExp]>([
    [
      'an edited body',
      (db) =>
        db.exec(`UPDATE ledger SET body = replace(body, '"value":182', '"value":128') WHERE type = 'reading-recorded'`),
      /row 13 is not what its hash was made from/,
    ],
    [
      'an edited person',
      (db) => db.exec(`UPDATE ledger SET actor_id = 'somebodyelse' WHERE seq = 5`),
      /row 5 is not what its hash was made from/,
    ],
    [
      'an edited time',
      (db) => db.exec('UPDATE ledger SET happened_at_ms = happened_at_ms + 1 WHERE seq = 1'),
      /row 1 is not what its hash was made from/,
    ],
    [
      'white space put into a body',
      (db) => db.exec(`UPDATE ledger SET body = body || ' ' WHERE seq = 5`),
      /row 5 is not what its hash was made from/,
    ],
    [
      'no JSON in a body',
      (db) => db.exec(`PRAGMA ignore_check_constraints = ON; UPDATE ledger SET body = '{' WHERE seq = 12`),
      /row 12 holds no readable event/,
    ],
    [
      'a row taken out',
      (db) => db.exec('DELETE FROM ledger WHERE seq = 6'),
      /row 7 follows row 5: rows between are missing/,
    ],
    ['the first row taken out', (db) => db.exec('DELETE FROM ledger WHERE seq = 1'), /row 2 follows row 0/],
    [
      "two rows in each other's place",
      (db) =>
        db.exec(
          'UPDATE ledger SET seq = -5 WHERE seq = 5; UPDATE ledger SET seq = 5 WHERE seq = 6; UPDATE ledger SET seq = 6 WHERE seq = -5',
        ),
      /row 5 does not follow from the row before it/,
    ],
    [
      'a row put in, its own hash right',
      (db) => {
        db.exec('UPDATE ledger SET seq = -(seq + 1) WHERE seq > 6; UPDATE ledger SET seq = -seq WHERE seq < 0')
        const before = db.prepare<[], LedgerRow>('SELECT * FROM ledger WHERE seq = 6').get()!
        insertRow(db, { ...before, seq: 7, previous_hash: before.hash, hash: hashOf(before.hash, eventOf(before)) })
      },
      /row 8 does not follow from the row before it/,
    ],
  ])('finds and names %s', (_name, change, sentence) => {
    closedWard()
    tamper(change)
    expect(found().join('\n')).toMatch(sentence)
  })

  it('finds a truncated ledger by the head kept outside', () => {
    closedWard()
    tamper((db) =>
      db.exec(
        'DELETE FROM ledger WHERE seq > 12; DELETE FROM dose; DELETE FROM check_outcome; DELETE FROM patient_day; DELETE FROM ward_day; DELETE FROM open_item; DELETE FROM reading; UPDATE ward SET data_version = data_version - 2',
      ),
    )
    expect(found({ file, headFile: null })).toEqual([])
    expect(found()).toEqual([
      'the ledger ends at row 12, but the head kept outside the database knows 14 rows: its tail is missing',
    ])
  })

  it('finds a chain rebuilt from an edited row by the head kept outside', () => {
    closedWard()
    tamper((db) => {
      db.exec(`UPDATE ledger SET actor_id = 'somebodyelse' WHERE seq = 5`)
      let previous = NO_HASH
      for (const row of db.prepare<[], LedgerRow>('SELECT * FROM ledger ORDER BY seq').all()) {
        const hash = hashOf(previous, eventOf(row))
        db.prepare('UPDATE ledger SET previous_hash = ?, hash = ? WHERE seq = ?').run(previous, hash, row.seq)
        previous = hash
      }
    })
    expect(found().join('\n')).toMatch(/row 14 is not the one that the head kept outside the database knows/)
  })

  it('does not open a ledger shorter than its head, and keeps the head', () => {
    closedWard()
    const head = readFileSync(headFile, 'utf8')
    tamper((db) => db.exec('DELETE FROM ledger WHERE seq > 12'))
    expect(() => openStore({ file, headFile })).toThrow(StoreError)
    expect(readFileSync(headFile, 'utf8')).toBe(head)
  })

  it('reports a head that is missing or unreadable', () => {
    closedWard()
    expect(JSON.parse(readFileSync(headFile, 'utf8'))).toMatchObject({ count: 14 })
    writeFileSync(headFile, '{"count": "x"}')
    expect(() => found()).toThrow(StoreError)
    rmSync(headFile)
    expect(found().join('\n')).toMatch(/there is no head/)
  })

  it('keeps charting when the head cannot be written, and the health check says so', async () => {
    const place = join(folder, 'apart')
    const store = openStore({ file, headFile: join(place, 'head.json') })
    rmSync(place, { recursive: true })
    chart(store, ...day())
    const until = async (writable: boolean): Promise<void> => {
      const deadline = Date.now() + 20_000
      while (store.probe().writable !== writable && Date.now() < deadline)
        await new Promise((resolve) => setTimeout(resolve, 50))
    }
    await until(false)
    expect(store.probe()).toEqual({ readable: true, writable: false })
    chart(store, anEvent('reading-recorded', { reading: aReading({ readingId: idOf('b') }) }))
    mkdirSync(place)
    await until(true)
    expect(store.probe()).toEqual({ readable: true, writable: true })
    store.close()
    expect(found({ file, headFile: join(place, 'head.json') })).toEqual([])
  })

  it('writes the head soon after a commit, not only at closing', async () => {
    const store = openStore({ file, headFile })
    chart(store, ...day())
    const deadline = Date.now() + 20_000
    while (!existsSync(headFile) && Date.now() < deadline) await new Promise((resolve) => setTimeout(resolve, 50))
    expect(JSON.parse(readFileSync(headFile, 'utf8'))).toMatchObject({ count: 13 })
    store.close()
  })
})

function insertRow(db: Database.Database, row: LedgerRow): void {
  db.prepare(
    'INSERT INTO ledger VALUES (@seq, @type, @ward_id, @stay_id, @actor_id, @happened_at_ms, @charted_at_ms, @body, @previous_hash, @hash)',
  ).run(row)
}

describe('derived tables', () => {
  it.each([
    ['UPDATE reading SET value = 128', /reading reading0* differs from the ledger in value/],
    [`UPDATE reading SET fact = replace(fact, '182', '128')`, /reading reading0* differs from the ledger in fact/],
    ['UPDATE patient_day SET sum = sum + 1', /patient_day stay0* 2026-03-02 ward0* differs from the ledger in sum/],
    ['DELETE FROM check_outcome', /check_outcome .*before-breakfast is in the ledger and not in the table/],
    [
      `INSERT INTO open_item VALUES ('flag.x', 'flag', '${WARD}', '${STAY}', 1, 'x', '')`,
      /open_item flag\.x is in the table and not in the ledger/,
    ],
    [
      `UPDATE order_version SET verified_by = 'somebodyelse'`,
      /order_version order0* 1 differs from the ledger in verified_by/,
    ],
    ['UPDATE ward SET data_version = 1', /ward ward0* differs from the ledger in data_version/],
  ])('finds and names %s', (statement, sentence) => {
    closedWard()
    tamper((db) => db.exec(statement))
    expect(found().join('\n')).toMatch(sentence)
  })

  it('finds a dose that does not follow from its reading and order, though the chain is whole', () => {
    const wrong = realDose(reading, idOf('dose'))
    const store = openStore({ file, headFile })
    chart(
      store,
      ...day(anEvent('dose-proposed', { dose: { ...wrong, units: 4, working: { ...wrong.working, units: 4 } } })),
    )
    store.close()
    expect(found()).toHaveLength(1)
    expect(found()[0]).toMatch(/^dose dose0*: units: stored 4, worked out 2/)
  })
})

describe('any sequence of events', () => {
  const STAYS = [STAY, idOf('stayb'), idOf('stayc')]
  const action = fc.record({
    do: fc.constantFrom(
      'read',
      'read',
      'read',
      'correct',
      'void',
      'propose',
      'answer',
      'verify',
      'give',
      'withhold',
      'restart',
      'resolve',
      'resolve',
      'move',
      'order',
      'stop',
      'excuse',
      'tray',
      'low',
      'treat',
      'close',
      'tell',
      'direct',
      'outside',
      'plan',
      'facts',
      'resolve',
      'discharge',
    ),
    stay: fc.nat(2),
    pick: fc.nat(1000),
    value: fc.oneof(fc.integer({ min: 20, max: 600 }), fc.constantFrom('LO' as const, 'HI' as const)),
    minutes: fc.integer({ min: -90, max: 5 }),
  })
  type Action = typeof action extends fc.Arbitrary<infer T> ? T : never

  /** The event for an action on the present state. The store must refuse impossible ones completely. */
  function eventFor(
    step: Action,
    index: number,
    store: Store,
    known: { readings: string[]; doses: string[]; lows: string[] },
  ): LedgerEvent | readonly LedgerEvent[] {
    const stayId = STAYS[step.stay] ?? STAY
    const atMs = NOW + index * MINUTE
    const scope = aScope([WARD, OTHER_WARD])
    const wardId = store.stayFacts(scope, stayId, atMs)?.stay.wardId ?? WARD
    const head = { stayId, wardId, happenedAtMs: atMs }
    const one = (ids: readonly string[]): string => ids[step.pick % Math.max(1, ids.length)] ?? 'none'
    const id = idOf(`id${String(index)}x`)
    // prefers the newest ones, since most others are settled or void
    const doseId = one(known.doses.slice(-3))
    const supersedes = step.do === 'correct' ? { readingId: one(known.readings), reason: 'typed wrongly' } : null
    const ownStay = supersedes === null ? stayId : (store.readingById(scope, supersedes.readingId)?.stayId ?? stayId)
    const takenAtMs = atMs + Math.min(0, step.minutes) * MINUTE
    switch (step.do) {
      case 'read':
      case 'correct': {
        known.readings.push(id)
        return anEvent(
          'reading-recorded',
          {
            reading: aReading({
              readingId: id,
              stayId: ownStay,
              wardId,
              wardDate: step.pick % 2 === 0 ? TODAY : '2026-03-01',
              checkKey: step.pick % 3 === 0 ? null : `${ownStay}.key${String(step.pick % 5)}`,
              glucose: mgPerDl(step.value),
              takenAtMs,
              chartedAtMs: atMs,
              supersedes,
            }),
          },
          { ...head, stayId: ownStay },
        )
      }
      case 'void':
        return anEvent('reading-voided', { readingId: one(known.readings.slice(-4)), reason: 'wrong patient' }, head)
      case 'propose': {
        known.doses.push(id)
        const of = store.readingById(scope, one(known.readings.slice(-4)))
        const scheduled = step.pick % 4 === 0
        return anEvent(
          'dose-proposed',
          {
            dose: aDose({
              doseId: id,
              stayId: of?.stayId ?? stayId,
              wardId,
              kind: scheduled ? 'scheduled' : step.pick % 5 === 0 ? 'by-direction' : 'from-reading',
              readingId: scheduled ? null : (of?.readingId ?? null),
              slotKey: scheduled ? `${stayId}.slot${String(step.pick % 3)}` : null,
              proposedAtMs: atMs,
              secondCheckRequired: step.pick % 2 === 0,
            }),
          },
          head,
        )
      }
      case 'answer':
        return anEvent(
          'second-check-answered',
          {
            doseId,
            answer: { byId: SECOND_NURSE, atMs, glucose: mgPerDl(182), units: 2, agreed: step.pick % 3 !== 0 },
          },
          head,
        )
      case 'verify':
        return [
          anEvent(
            'second-check-answered',
            { doseId, answer: { byId: SECOND_NURSE, atMs, glucose: mgPerDl(182), units: 2, agreed: true } },
            head,
          ),
          anEvent(
            'dose-verified',
            {
              doseId,
              byId: SECOND_NURSE,
              insulin: 'insulin lispro',
              concentration: 'U-100',
              expiresOn: '2026-12-31',
              units: 2,
            },
            head,
          ),
        ]
      case 'give':
        return anEvent(
          'dose-given',
          { doseId, site: { area: 'thigh', side: 'left' }, food: step.pick % 2 === 0 ? 'tray-coming' : 'tray-here' },
          head,
        )
      case 'withhold':
        return anEvent('dose-not-given', { doseId, kind: 'withheld', reason: 'going to theatre' }, head)
      case 'restart':
        return anEvent('dose-started-again', { doseId }, head)
      case 'move': {
        const toWardId = step.pick % 2 === 0 ? OTHER_WARD : WARD
        return anEvent('stay-moved', { fromWardId: wardId, toWardId, bed: String(step.pick % 8) }, head)
      }
      case 'order':
        return anEvent(
          'order-written',
          {
            orderId: idOf('order'),
            version: 2 + index,
            order: anOrder({
              startsAtMs: atMs + step.minutes * MINUTE,
              meal: step.pick % 2 === 0 ? { kind: 'fixed', units: { 'before-lunch': 4 } } : null,
            }),
          },
          head,
        )
      case 'stop':
        return anEvent('order-stopped', { orderId: idOf('order'), reason: 'discontinued' }, head)
      case 'excuse':
        return anEvent(
          'check-excused',
          { checkKey: `${stayId}.key${String(step.pick % 5)}`, reason: 'refused', note: '' },
          head,
        )
      case 'tray':
        return anEvent('tray-charted', { date: TODAY, meal: 'lunch', servedAtMs: atMs }, head)
      case 'low': {
        known.lows.push(id)
        return anEvent(
          'low-event-opened',
          { lowId: id, readingId: one(known.readings.slice(-4)), previousLowId: null },
          head,
        )
      }
      case 'treat':
        return anEvent(
          'low-treated',
          {
            lowId: one(known.lows),
            arm: 'by-mouth',
            amount: { kind: 'grams', grams: 15 },
            what: 'Fruit juice',
            directedBy: null,
          },
          head,
        )
      case 'close':
        return anEvent('low-event-closed', { lowId: one(known.lows), cause: 'other', note: '' }, head)
      case 'tell':
        return anEvent(
          'critical-told',
          { readingId: one(known.readings), told: 'Dr. Amara Holm', readBack: true, ordered: '' },
          head,
        )
      case 'direct':
        return anEvent(
          'direction-recorded',
          {
            direction: {
              directionId: id,
              stayId,
              readingId: null,
              prescriber: 'Dr. Amara Holm',
              readBack: true,
              why: 'asked',
              units: 3,
              insulin: 'insulin lispro',
              byId: NURSE,
              atMs,
            },
          },
          head,
        )
      case 'outside':
        return anEvent(
          'outside-dose-recorded',
          {
            outsideDose: {
              outsideDoseId: id,
              stayId,
              insulin: 'regular insulin',
              units: 4,
              givenAtMs: takenAtMs,
              chartedAtMs: atMs,
              source: 'paper',
              givenBy: 'night nurse',
              checkedBy: null,
              byId: NURSE,
            },
          },
          head,
        )
      case 'plan':
        return anEvent('plan-set', { version: 2 + index, plan: { kind: 'every-6-h' }, untilMs: null }, head)
      case 'facts':
        return anEvent('facts-set', { facts: someFacts({ ivAccess: step.pick % 2 === 0 }) }, head)
      case 'resolve':
        return anEvent(
          'flag-resolved',
          {
            flagId: one(
              (store.stayFacts(scope, stayId, atMs)?.openItems ?? [])
                .filter(({ kind }) => kind === 'flag')
                .map(({ itemId }) => itemId),
            ),
            note: 'seen',
          },
          head,
        )
      case 'discharge':
        return anEvent('stay-discharged', {}, head)
    }
  }

  it('gives the same tables live and rebuilt, and each patient-day equals one made from its readings', () => {
    let accepted = 0
    const kinds = new Set<string>()
    fc.assert(
      fc.property(fc.array(action, { minLength: 30, maxLength: 80 }), (steps) => {
        const path = join(folder, `run${String(accepted)}-${String(steps.length)}.sqlite`)
        rmSync(path, { force: true })
        const store = openStore({ file: path })
        chart(
          store,
          ...aSmallWard(),
          ...aWardOpened(OTHER_WARD),
          ...STAYS.slice(1).map((stayId, index) => anAdmission({ stayId, bed: String(index + 2) })),
          ...anOrderInForce(),
        )
        const known = { readings: [] as string[], doses: [] as string[], lows: [] as string[] }
        for (const [index, step] of steps.entries()) {
          try {
            chart(store, ...[eventFor(step, index, store, known)].flat())
            accepted += 1
            kinds.add(step.do)
          } catch {
            // impossible here: refused completely, which the comparison below proves
          }
        }
        store.close()
        const report = verifyStore({ file: path, headFile: null }).filter(
          ({ what }) => what !== 'doses worked out again',
        )
        expect(report.flatMap(({ differences }) => differences)).toEqual([])
        const db = new Database(path, { readonly: true })
        const readings = db
          .prepare<[], { fact: string }>('SELECT fact FROM reading WHERE effective = 1')
          .all()
          .map(({ fact }) => JSON.parse(fact) as Reading)
        const days = new Map<string, Reading[]>()
        for (const one of readings) {
          const label = `${one.stayId} ${one.wardDate} ${one.wardId}`
          days.set(label, [...(days.get(label) ?? []), one])
        }
        const kept = db
          .prepare<
            [],
            {
              stay_id: string
              ward_date: string
              ward_id: string
              sum: number
              sum_of_squares: number
              readings: number
              below_70: number
              lo: number
              hi: number
            }
          >('SELECT * FROM patient_day')
          .all()
        db.close()
        expect(kept.map((row) => `${row.stay_id} ${row.ward_date} ${row.ward_id}`).sort()).toEqual(
          [...days.keys()].sort(),
        )
        for (const row of kept) {
          const whole = patientDay(
            { stayId: row.stay_id, wardId: row.ward_id, wardDate: row.ward_date, unit: 'mg/dL' },
            [...(days.get(`${row.stay_id} ${row.ward_date} ${row.ward_id}`) ?? [])].reverse(),
          )
          expect([row.sum, row.sum_of_squares, row.readings, row.below_70, row.lo, row.hi]).toEqual([
            whole.sum,
            whole.sumOfSquares,
            whole.readings,
            whole.below70,
            whole.lo,
            whole.hi,
          ])
        }
        rmSync(path)
      }),
      { numRuns: 40 },
    )
    // the property proves something only if events of every kind were stored
    expect(accepted).toBeGreaterThan(400)
    expect([...kinds].sort()).toEqual([
      'answer',
      'close',
      'correct',
      'direct',
      'discharge',
      'excuse',
      'facts',
      'give',
      'low',
      'move',
      'order',
      'outside',
      'plan',
      'propose',
      'read',
      'resolve',
      'restart',
      'stop',
      'tell',
      'tray',
      'treat',
      'verify',
      'void',
      'withhold',
    ])
  })
})

describe('npm run verify', () => {
  const run = (
    args: readonly string[],
    env: Readonly<Record<string, string>> = {},
  ): Promise<{ code: number; out: string; err: string }> =>
    new Promise((resolve) => {
      execFile(
        process.execPath,
        [join(packageRoot, 'dist/server/verify/run.js'), ...args],
        { env: { ...process.env, ...env } },
        (error, out, err) => {
          resolve({ code: typeof error?.code === 'number' ? error.code : 0, out, err })
        },
      )
    })

  it("prints counts and exits with 0, with the environment's file or the named one", async () => {
    closedWard()
    const configured = await run([], { DATABASE_FILE: file, HEAD_FILE: headFile })
    expect(configured).toMatchObject({ code: 0, err: '' })
    expect(configured.out).toMatch(/ledger rows in the chain +14 +0\n/)
    expect(configured.out).toContain('Verified: no difference.')
    const copy = join(folder, 'copy.sqlite')
    copyFileSync(file, copy)
    expect((await run([copy], { DATABASE_FILE: 'nowhere.sqlite' })).out).toContain(
      'The head kept outside was not compared',
    )
    expect((await run([copy, '--head', headFile])).code).toBe(0)
  })

  it('names the difference and exits with 1', async () => {
    closedWard()
    tamper((db) => db.exec('UPDATE patient_day SET sum = sum + 1'))
    const told = await run([file])
    expect(told.code).toBe(1)
    expect(told.out).toMatch(/DIFFERENCE patient_day .* differs from the ledger in sum/)
    expect(told.out).toContain('NOT verified: 1 difference.')
  })

  it('exits with 2 and a message when there is no file', async () => {
    expect(await run([join(folder, 'missing.sqlite')])).toMatchObject({
      code: 2,
      err: expect.stringContaining('There is no database'),
    })
    closedWard()
    tamper((db) => db.pragma('user_version = 9999'))
    expect(await run([file])).toMatchObject({ code: 2, err: expect.stringContaining('newer version of the program') })
  })
})
