/**
 * The store's contract: settings, transactions, tables of record, scope, and the effect of each event on the derived
 * tables.
 */
import Database from 'better-sqlite3'
import { getTableConfig } from 'drizzle-orm/sqlite-core'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { assertSettings, connect } from '../../server/store/connection.ts'
import type { Store } from '../../server/store/contract.ts'
import { StoreError } from '../../server/store/errors.ts'
import { migrate } from '../../server/store/migrate.ts'
import { openStore } from '../../server/store/open.ts'
import { OUTSIDE } from '../../server/store/tables-outside.ts'
import { DERIVED } from '../../server/store/tables.ts'
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
  mgPerDl,
  MINUTE,
  NOW,
  NURSE,
  OTHER_WARD,
  SECOND_NURSE,
  someFacts,
  someWorking,
  STAY,
  TODAY,
  WARD,
} from '../support/makers.ts'

let folder: string
let file: string
let store: Store

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-store-'))
  file = join(folder, 'ward.sqlite')
  store = openStore({ file })
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

/** Opens the file from outside, as an attacker or a mistake could. */
function inFile<T>(look: (db: Database.Database) => T): T {
  const db = new Database(file)
  try {
    db.pragma('recursive_triggers = ON')
    return look(db)
  } finally {
    db.close()
  }
}

function countOf(table: string): number {
  return inFile((db) => db.prepare<[], { n: number }>(`SELECT count(*) AS n FROM ${table}`).get()?.n ?? -1)
}

const recorded = (over: Parameters<typeof aReading>[0] = {}): LedgerEvent => {
  const reading = aReading(over)
  return anEvent(
    'reading-recorded',
    { reading },
    {
      stayId: reading.stayId,
      wardId: reading.wardId,
      happenedAtMs: reading.takenAtMs,
      chartedAtMs: reading.chartedAtMs,
    },
  )
}
const proposed = (over: Parameters<typeof aDose>[0] = {}): LedgerEvent =>
  anEvent('dose-proposed', { dose: aDose(over) })
const facts = () => {
  const found = store.stayFacts(aScope(), STAY, NOW)
  if (found === undefined) throw new Error('no such stay')
  return found
}
const itemsOpen = (): readonly string[] =>
  facts()
    .openItems.map(
      ({ kind, subjectId, detail }) => `${kind} ${subjectId.replace(/0+$/, '')}${detail === '' ? '' : ` ${detail}`}`,
    )
    .sort()
const voidReason = (doseId: string) => store.doseById(aScope(), doseId)?.voided?.reason ?? null

describe('settings of a connection', () => {
  it.each([
    ['journal_mode', 'wal'],
    ['synchronous', 2],
    ['foreign_keys', 1],
    ['recursive_triggers', 1],
    ['trusted_schema', 0],
    ['busy_timeout', 5000],
  ])('%s is %s', (name, expected) => {
    const { raw } = connect(join(folder, 'other.sqlite'))
    expect(raw.pragma(name, { simple: true })).toBe(expected)
    raw.close()
  })

  it.each([
    'synchronous = NORMAL',
    'foreign_keys = OFF',
    'journal_mode = DELETE',
    'trusted_schema = ON',
    'recursive_triggers = OFF',
  ])('refuses a connection with %s', (setting) => {
    const { raw } = connect(join(folder, 'other.sqlite'))
    raw.pragma(setting)
    expect(() => {
      assertSettings(raw, 'other.sqlite')
    }).toThrow(StoreError)
    raw.close()
  })

  it('refuses a database of a newer schema with a message and does not change it', () => {
    store.close()
    inFile((db) => db.pragma('user_version = 9999'))
    expect(() => openStore({ file })).toThrow(/newer version of the program/)
    expect(inFile((db) => db.pragma('user_version', { simple: true }))).toBe(9999)
  })

  it('refuses a file that is not a database, with a message', () => {
    const other = join(folder, 'other.sqlite')
    const { raw } = connect(other)
    raw.close()
    rmSync(other)
    expect(() => connect(join(folder, 'missing.sqlite'), 'read-only')).toThrow()
  })

  it('migrating twice changes nothing', () => {
    const { raw } = connect(file)
    const schema = () => raw.prepare('SELECT name, sql FROM sqlite_schema ORDER BY name').all()
    const before = schema()
    migrate(raw)
    expect(schema()).toEqual(before)
    raw.close()
  })
})

describe('tables', () => {
  type Column = { name: string; type: string; notnull: number; pk: number; hidden: number }
  it.each([...DERIVED, ...OUTSIDE].map((table) => [getTableConfig(table).name, table] as const))(
    'defines %s alike in drizzle and in the migrations',
    (name, table) => {
      const inDatabase = inFile((db) => db.pragma(`table_xinfo(${name})`) as Column[])
      const { columns, primaryKeys } = getTableConfig(table)
      const key =
        primaryKeys[0]?.columns.map((column) => column.name) ??
        columns.filter((column) => column.primary).map((column) => column.name)
      expect(inDatabase.length).toBeGreaterThan(0)
      expect(
        columns.map((column) => ({
          name: column.name,
          type: column.getSQLType().toUpperCase(),
          notnull: column.notNull,
          pk: key.indexOf(column.name) + 1,
        })),
      ).toEqual(
        inDatabase.map((column) => ({
          name: column.name,
          type: column.type,
          notnull: column.notnull === 1,
          pk: column.pk,
        })),
      )
    },
  )

  it('has STRICT tables only, and drizzle knows all but the ledger, logs and notes', () => {
    const all = inFile((db) =>
      db
        .prepare<[], { name: string; strict: number }>(
          "SELECT name, strict FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND name NOT LIKE 'sqlite%'",
        )
        .all(),
    )
    expect(all.filter(({ strict }) => strict !== 1)).toEqual([])
    const known = [...DERIVED, ...OUTSIDE].map((table) => getTableConfig(table).name)
    expect(
      all
        .map(({ name }) => name)
        .filter((name) => !known.includes(name))
        .sort(),
    ).toEqual(['access_log', 'ledger', 'note', 'probe'])
  })
})

describe('a transaction', () => {
  it('saves nothing when it throws', () => {
    expect(() =>
      store.transact(() => {
        store.append(aSmallWard())
        throw new Error('decided otherwise')
      }),
    ).toThrow('decided otherwise')
    expect(countOf('ledger')).toBe(0)
    expect(countOf('stay')).toBe(0)
  })

  it.each([
    ['a promise', Promise.resolve(1)],
    ['anything with a then, such as a reply', { then: () => undefined }],
  ])('refuses %s as its result and saves nothing', (_name, result) => {
    // the type refuses it as well; this is for casts
    const hidden = result as unknown
    expect(() =>
      store.transact<unknown>(() => {
        store.append(aSmallWard())
        return hidden
      }),
    ).toThrow(/plain data/)
    expect(countOf('ledger')).toBe(0)
  })

  it('cannot be nested', () => {
    expect(() => store.transact(() => store.transact(() => null))).toThrow(/inside another/)
  })

  it('is required for an append', () => {
    expect(() => {
      store.append(aSmallWard())
    }).toThrow(/inside a transaction/)
    expect(countOf('ledger')).toBe(0)
  })

  it('blocks another writer from its start (BEGIN IMMEDIATE)', () => {
    store.transact(() => {
      const other = new Database(file, { timeout: 0 })
      expect(() => other.exec('BEGIN IMMEDIATE')).toThrow(/locked/)
      other.close()
      return null
    })
  })
})

describe('tables of record', () => {
  beforeEach(() => {
    chart(...aSmallWard())
    store.logAccess([
      { atMs: NOW, staffId: NURSE, stayId: STAY, wardId: WARD, page: '/stays/:stayId', requestId: 'r1' },
    ])
  })

  it.each([
    ["UPDATE ledger SET actor_id = 'x' WHERE seq = 2"],
    ['DELETE FROM ledger WHERE seq = 2'],
    [
      "INSERT OR REPLACE INTO ledger SELECT seq, type, ward_id, stay_id, 'x', happened_at_ms, charted_at_ms, body, previous_hash, hash FROM ledger WHERE seq = 2",
    ],
    [
      "INSERT INTO ledger SELECT 99, type, ward_id, stay_id, actor_id, happened_at_ms, charted_at_ms, body, previous_hash, substr(hash, 2) || '0' FROM ledger WHERE seq = 2",
    ],
    ["UPDATE access_log SET staff_id = 'x'"],
    ['DELETE FROM access_log'],
    [
      "INSERT OR REPLACE INTO access_log (access_id, at_ms, staff_id, page, request_id) SELECT access_id, at_ms, 'x', page, request_id FROM access_log",
    ],
  ])('refuse %s', (statement) => {
    const all = () =>
      inFile((db) => [db.prepare('SELECT * FROM ledger').all(), db.prepare('SELECT * FROM access_log').all()])
    const before = all()
    expect(before[1]).toHaveLength(1)
    expect(() => inFile((db) => db.exec(statement))).toThrow(/ledger|access log/)
    expect(all()).toEqual(before)
  })
})

describe('scope', () => {
  beforeEach(() => {
    chart(
      ...aSmallWard(),
      ...anOrderInForce(),
      recorded(),
      proposed(),
      ...aWardOpened(OTHER_WARD),
      anAdmission({ stayId: idOf('other'), wardId: OTHER_WARD }),
    )
  })

  it('shows the ward to its own people', () => {
    const own = aScope()
    expect(store.wardFacts(own, WARD, NOW)?.stays.map(({ stayId }) => stayId)).toEqual([STAY])
    expect(store.stayFacts(own, STAY, NOW)?.readings).toHaveLength(1)
    expect(store.checkFacts(own, STAY, NOW)?.readings).toHaveLength(1)
    expect(store.readingById(own, idOf('reading'))).toBeDefined()
    expect(store.doseById(own, idOf('dose'))).toBeDefined()
    expect(store.dosesAwaiting(own)).toHaveLength(1)
    expect(store.openItem(own, `second-check.${idOf('dose')}`)).toBeDefined()
    expect(store.staysOfWard(own, WARD)).toHaveLength(1)
  })

  it('decides a check on the same facts that its pages show', () => {
    const { ward, ...decidedOn } = store.checkFacts(aScope(), STAY, NOW) ?? {}
    expect(Object.keys(decidedOn)).toContain('readings')
    expect(store.stayFacts(aScope(), STAY, NOW)).toMatchObject(decidedOn)
    expect(ward).toEqual({ wardId: WARD })
  })

  it.each([
    ['of another ward', [OTHER_WARD]],
    ['of no ward', []],
  ])('hides the ward from people %s', (_name, wardIds) => {
    const other = aScope(wardIds)
    expect(store.wards(other).map(({ wardId }) => wardId)).toEqual(wardIds)
    expect(store.wardFacts(other, WARD, NOW)).toBeUndefined()
    expect(store.wardVersion(other, WARD)).toBeUndefined()
    expect(store.wardPolicy(other, WARD, NOW)).toBeUndefined()
    expect(store.stayFacts(other, STAY, NOW)).toBeUndefined()
    expect(store.checkFacts(other, STAY, NOW)).toBeUndefined()
    expect(store.staysOfWard(other, WARD)).toEqual([])
    expect(store.readingById(other, idOf('reading'))).toBeUndefined()
    expect(store.doseById(other, idOf('dose'))).toBeUndefined()
    expect(store.dosesAwaiting(other)).toEqual([])
    expect(store.openItem(other, `second-check.${idOf('dose')}`)).toBeUndefined()
  })

  it('follows the patient: after a move only the new ward reads earlier events', () => {
    chart(anEvent('stay-moved', { fromWardId: WARD, toWardId: OTHER_WARD, bed: '3' }))
    expect(store.readingById(aScope(), idOf('reading'))).toBeUndefined()
    expect(store.readingById(aScope([OTHER_WARD]), idOf('reading'))?.wardId).toBe(WARD)
    expect(store.stayFacts(aScope([OTHER_WARD]), STAY, NOW)?.stay.bed).toBe('3')
  })

  it('finds a wristband on any ward, and returns only where it is worn', () => {
    expect(store.stayByWristband(`W-${STAY}`)).toEqual({ stayId: STAY, wardId: WARD, bed: '1' })
    expect(store.stayByWristband('W-nobody')).toBeUndefined()
  })
})

describe('checks', () => {
  const key = `${STAY}.${TODAY}.before-breakfast`
  beforeEach(() => {
    chart(...aSmallWard())
  })

  it('ends with the first reading; a second one cannot be stored', () => {
    chart(recorded({ checkKey: key }))
    expect(() => {
      chart(recorded({ readingId: idOf('second'), checkKey: key }))
    }).toThrow()
    expect(facts().outcomes.get(key)).toEqual({ kind: 'done', readingId: idOf('reading'), atMs: NOW })
    expect(facts().readings).toHaveLength(1)
  })

  it('lets one of two connections store a reading for one check', () => {
    const other = openStore({ file })
    chart(recorded({ checkKey: key, readingId: idOf('mine') }))
    expect(() =>
      other.transact(() => {
        other.append([recorded({ checkKey: key, readingId: idOf('theirs') })])
        return null
      }),
    ).toThrow()
    expect(other.readingById(aScope(), idOf('theirs'))).toBeUndefined()
    expect(other.stayFacts(aScope(), STAY, NOW)?.outcomes.get(key)).toMatchObject({ readingId: idOf('mine') })
    other.close()
  })

  it('moves to a correction; a void reopens it', () => {
    chart(recorded({ checkKey: key }))
    chart(
      recorded({
        checkKey: key,
        readingId: idOf('corrected'),
        supersedes: { readingId: idOf('reading'), reason: 'typed wrongly' },
      }),
    )
    expect(facts().outcomes.get(key)).toMatchObject({ readingId: idOf('corrected') })
    expect(store.readingById(aScope(), idOf('reading'))?.supersededBy).toBe(idOf('corrected'))
    chart(anEvent('reading-voided', { readingId: idOf('corrected'), reason: 'wrong patient' }))
    expect(facts().outcomes.has(key)).toBe(false)
    chart(recorded({ checkKey: key, readingId: idOf('again') }))
    expect(facts().outcomes.get(key)).toMatchObject({ readingId: idOf('again') })
  })

  it('corrects or voids a reading once', () => {
    chart(recorded(), anEvent('reading-voided', { readingId: idOf('reading'), reason: 'wrong patient' }))
    expect(() => {
      chart(anEvent('reading-voided', { readingId: idOf('reading'), reason: 'again' }))
    }).toThrow(/already does not count/)
    expect(() => {
      chart(recorded({ readingId: idOf('late'), supersedes: { readingId: idOf('reading'), reason: 'x' } }))
    }).toThrow(/already does not count/)
  })

  it('accepts one excuse, and a later reading replaces the excuse', () => {
    const excuse = anEvent('check-excused', { checkKey: key, reason: 'off-the-ward', note: 'in the scanner' })
    chart(excuse)
    expect(facts().outcomes.get(key)).toEqual({
      kind: 'excused',
      reason: 'off-the-ward',
      note: 'in the scanner',
      byId: NURSE,
      atMs: NOW,
    })
    expect(() => {
      chart(excuse)
    }).toThrow()
    chart(recorded({ checkKey: key }))
    expect(facts().outcomes.get(key)?.kind).toBe('done')
    expect(() => {
      chart(excuse)
    }).toThrow()
  })
})

describe('doses', () => {
  const agreed = anEvent(
    'second-check-answered',
    { doseId: idOf('dose'), answer: { byId: SECOND_NURSE, atMs: NOW, glucose: mgPerDl(182), units: 2, agreed: true } },
    { actorId: SECOND_NURSE },
  )
  const verified = anEvent(
    'dose-verified',
    {
      doseId: idOf('dose'),
      byId: SECOND_NURSE,
      insulin: 'insulin lispro',
      concentration: 'U-100',
      expiresOn: '2026-12-31',
      units: 2,
    },
    { actorId: SECOND_NURSE },
  )
  const given = anEvent('dose-given', {
    doseId: idOf('dose'),
    site: { area: 'abdomen', side: 'left' },
    food: 'tray-coming',
  })
  beforeEach(() => {
    chart(...aSmallWard(), ...anOrderInForce(), recorded(), proposed())
  })

  it('go from proposal to giving, and the open item names the step', () => {
    const steps = [itemsOpen()]
    for (const event of [
      agreed,
      verified,
      given,
      anEvent('tray-charted', { date: TODAY, meal: 'breakfast', servedAtMs: NOW }),
    ]) {
      chart(event)
      steps.push(itemsOpen())
    }
    expect(steps).toEqual([
      ['second-check dose awaiting'],
      ['second-check dose agreed'],
      ['second-check dose verified'],
      ['insulin-no-tray dose insulin lispro'],
      [],
    ])
    expect(facts().doses[0]).toMatchObject({
      product: { byId: SECOND_NURSE, units: 2 },
      outcome: { kind: 'given', byId: NURSE, food: 'tray-coming' },
    })
    expect(facts().earlierDoses).toEqual([
      {
        doseId: idOf('dose'),
        insulin: 'insulin lispro',
        units: 2,
        givenAtMs: NOW,
        source: 'here',
        orderId: idOf('order'),
        withCorrection: true,
      },
    ])
  })

  it('waits for the first nurse to restart after a difference', () => {
    const differed = anEvent(
      'second-check-answered',
      {
        doseId: idOf('dose'),
        answer: { byId: SECOND_NURSE, atMs: NOW, glucose: mgPerDl(128), units: 0, agreed: false },
      },
      { actorId: SECOND_NURSE },
    )
    chart(differed)
    expect(itemsOpen()).toEqual(['second-check dose differed'])
    chart(anEvent('dose-started-again', { doseId: idOf('dose') }))
    expect(itemsOpen()).toEqual(['second-check dose awaiting'])
    expect(facts().doses[0]?.restarts).toEqual([{ byId: NURSE, atMs: NOW }])
  })

  it('refuses giving without the second check, giving twice and answering twice', () => {
    expect(() => {
      chart(given)
    }).toThrow(/not verified/)
    chart(agreed)
    expect(() => {
      chart(agreed)
    }).toThrow(/agreed before/)
    expect(() => {
      chart(given)
    }).toThrow(/not verified/)
    chart(verified, given)
    expect(() => {
      chart(given)
    }).toThrow(/settled/)
    expect(() => {
      chart(anEvent('dose-not-given', { doseId: idOf('dose'), kind: 'withheld', reason: 'x' }))
    }).toThrow(/settled/)
  })

  it('gives one dose for each order and reading, and one for each slot, even if a decision allowed more', () => {
    chart(agreed, verified, given, proposed({ doseId: idOf('again'), secondCheckRequired: false }))
    const again = anEvent('dose-given', {
      doseId: idOf('again'),
      site: { area: 'thigh', side: 'left' },
      food: 'tray-here',
    })
    expect(() => {
      chart(again)
    }).toThrow()
    const slot = {
      kind: 'scheduled' as const,
      readingId: null,
      slotKey: `${STAY}.${TODAY}.t0800`,
      secondCheckRequired: false,
      working: someWorking({ readingId: null, orderId: idOf('basal') }),
    }
    chart(
      proposed({ ...slot, doseId: idOf('slot1') }),
      anEvent('dose-given', { doseId: idOf('slot1'), site: { area: 'thigh', side: 'left' }, food: 'not-with-a-meal' }),
      proposed({ ...slot, doseId: idOf('slot2') }),
    )
    expect(() => {
      chart(
        anEvent('dose-given', {
          doseId: idOf('slot2'),
          site: { area: 'thigh', side: 'left' },
          food: 'not-with-a-meal',
        }),
      )
    }).toThrow()
    expect([...(store.wardFacts(aScope(), WARD, NOW)?.settledSlots ?? [])]).toEqual([slot.slotKey])
  })

  it.each<readonly [string, readonly LedgerEvent[], string | null]>([
    ['a newer reading', [recorded({ readingId: idOf('newer'), takenAtMs: NOW + MINUTE })], 'newer-reading'],
    [
      'a reading of an earlier time, charted late',
      [recorded({ readingId: idOf('older'), takenAtMs: NOW - HOUR, chartedAtMs: NOW })],
      null,
    ],
    [
      'a correction of its reading',
      [recorded({ readingId: idOf('corr'), takenAtMs: NOW, supersedes: { readingId: idOf('reading'), reason: 'x' } })],
      'reading-corrected',
    ],
    [
      'its reading entered in error',
      [anEvent('reading-voided', { readingId: idOf('reading'), reason: 'x' })],
      'reading-in-error',
    ],
    [
      'a new version of its order',
      [anEvent('order-written', { orderId: idOf('order'), version: 2, order: anOrder({ startsAtMs: NOW }) })],
      'order-changed',
    ],
    ['its order stopped', [anEvent('order-stopped', { orderId: idOf('order'), reason: 'x' })], 'order-changed'],
    ['another order stopped', [anEvent('order-stopped', { orderId: idOf('else'), reason: 'x' })], null],
    ['a move within the ward', [anEvent('stay-moved', { fromWardId: WARD, toWardId: WARD, bed: '2' })], 'stay-moved'],
    ['discharge', [anEvent('stay-discharged', {})], 'stay-discharged'],
    ['a new proposal from the same reading', [proposed({ doseId: idOf('again') })], 'started-again'],
    [
      'a directed dose for the same reading',
      [proposed({ doseId: idOf('directed'), kind: 'by-direction' })],
      'replaced-by-direction',
    ],
    [
      'a low event',
      [anEvent('low-event-opened', { lowId: idOf('low'), readingId: idOf('reading'), previousLowId: null })],
      'newer-reading',
    ],
    ['changed bedside facts', [anEvent('facts-set', { facts: someFacts({ ivAccess: true }) })], null],
  ])('%s', (_name, events, reason) => {
    chart(agreed, ...events)
    expect(voidReason(idOf('dose'))).toBe(reason)
    expect(itemsOpen().some((item) => item.startsWith('second-check dose'))).toBe(reason === null)
  })

  it('keeps a scheduled dose after a newer reading, and voids it after a low', () => {
    chart(
      proposed({
        doseId: idOf('basal'),
        kind: 'scheduled',
        slotKey: `${STAY}.${TODAY}.t0800`,
        working: someWorking({ orderId: idOf('basal') }),
      }),
      recorded({ readingId: idOf('newer'), takenAtMs: NOW + MINUTE, glucose: mgPerDl(70) }),
    )
    expect([voidReason(idOf('dose')), voidReason(idOf('basal'))]).toEqual(['newer-reading', null])
    chart(recorded({ readingId: idOf('low'), takenAtMs: NOW + 2 * MINUTE, glucose: mgPerDl(69) }))
    expect(voidReason(idOf('basal'))).toBe('newer-reading')
  })

  it('flags a dose given on a voided reading until a person resolves it', () => {
    chart(
      agreed,
      verified,
      given,
      anEvent('tray-charted', { date: TODAY, meal: 'breakfast', servedAtMs: NOW }),
      anEvent('reading-voided', { readingId: idOf('reading'), reason: 'wrong patient' }),
    )
    expect(itemsOpen()).toEqual(['flag dose dose-reading-in-error'])
    expect(voidReason(idOf('dose'))).toBeNull()
    chart(anEvent('flag-resolved', { flagId: `flag.${idOf('dose')}`, note: 'prescriber told' }))
    expect(itemsOpen()).toEqual([])
    expect(() => {
      chart(anEvent('flag-resolved', { flagId: `flag.${idOf('dose')}`, note: 'again' }))
    }).toThrow()
  })

  it('counts insulin from elsewhere for stacking and as the answer until the next transfer', () => {
    const outsideDose = {
      outsideDoseId: idOf('out'),
      stayId: STAY,
      insulin: 'regular insulin',
      units: 4,
      givenAtMs: NOW - HOUR,
      chartedAtMs: NOW,
      source: 'elsewhere',
      givenBy: 'operating theatre',
      checkedBy: null,
      byId: NURSE,
    } as const
    chart(
      anEvent('dose-not-given', { doseId: idOf('dose'), kind: 'refused', reason: 'not now' }),
      anEvent('outside-dose-recorded', { outsideDose }),
    )
    expect(facts().earlierDoses).toEqual([
      {
        doseId: idOf('out'),
        insulin: 'regular insulin',
        units: 4,
        givenAtMs: NOW - HOUR,
        source: 'elsewhere',
        withCorrection: true,
      },
    ])
    expect(facts().elsewhereKnown).toBe(true)
    chart(anEvent('stay-moved', { fromWardId: WARD, toWardId: WARD, bed: '2' }, { happenedAtMs: NOW + 1 }))
    expect(facts().elsewhereKnown).toBe(true)
    chart(
      ...aWardOpened(OTHER_WARD),
      anEvent('stay-moved', { fromWardId: WARD, toWardId: OTHER_WARD, bed: '2' }, { happenedAtMs: NOW + 2 }),
    )
    expect(store.stayFacts(aScope([OTHER_WARD]), STAY, NOW + 2)?.elsewhereKnown).toBe(false)
  })
})

describe('lows and criticals', () => {
  const opened = anEvent('low-event-opened', { lowId: idOf('low'), readingId: idOf('reading'), previousLowId: null })
  beforeEach(() => {
    chart(...aSmallWard())
  })

  it.each([
    [49, true],
    [50, false],
    [400, false],
    [401, true],
    ['LO', true],
    ['HI', true],
  ] as const)('%s mg/dL waits for the prescriber: %s', (value, critical) => {
    chart(recorded({ glucose: mgPerDl(value) }))
    expect(itemsOpen()).toEqual(critical ? [`critical reading ${String(value)}`] : [])
    chart(
      anEvent('critical-told', {
        readingId: idOf('reading'),
        told: 'Dr. Amara Holm',
        readBack: true,
        ordered: 'repeat in an hour',
      }),
    )
    expect(itemsOpen()).toEqual([])
  })

  it('saves the call about a critical result, and symptoms treated without a low value', () => {
    chart(
      recorded({ glucose: mgPerDl(44) }),
      anEvent('critical-told', {
        readingId: idOf('reading'),
        told: 'Dr. Amara Holm',
        readBack: true,
        ordered: 'repeat in an hour',
      }),
    )
    chart(
      anEvent('symptoms-treated', { symptomsId: idOf('shaky'), symptoms: 'shaky', what: 'a biscuit', readingId: null }),
    )
    const at = { atMs: NOW, chartedAtMs: NOW, byId: NURSE }
    expect(facts().criticalCalls).toEqual([
      { ...at, readingId: idOf('reading'), told: 'Dr. Amara Holm', ordered: 'repeat in an hour' },
    ])
    expect(facts().symptoms).toEqual([
      { ...at, symptomsId: idOf('shaky'), symptoms: 'shaky', what: 'a biscuit', readingId: null },
    ])
  })

  it('a corrected critical result no longer waits, unless the correction is critical too', () => {
    chart(
      recorded({ glucose: mgPerDl(44) }),
      recorded({ readingId: idOf('b'), glucose: mgPerDl(45), supersedes: { readingId: idOf('reading'), reason: 'x' } }),
    )
    expect(itemsOpen()).toEqual(['critical b 45'])
    chart(recorded({ readingId: idOf('c'), glucose: mgPerDl(145), supersedes: { readingId: idOf('b'), reason: 'x' } }))
    expect(itemsOpen()).toEqual([])
  })

  it('a low event opens once, keeps its treatments, and asks about meal or scheduled insulin', () => {
    chart(
      ...anOrderInForce(anOrder({ meal: { kind: 'fixed', units: { 'before-breakfast': 5 } } })),
      recorded({ glucose: mgPerDl(62) }),
      opened,
    )
    expect(itemsOpen()).toEqual(['insulin-question low', 'low low'])
    expect(() => {
      chart(
        recorded({ readingId: idOf('b'), glucose: mgPerDl(60) }),
        anEvent('low-event-opened', { lowId: idOf('low2'), readingId: idOf('b'), previousLowId: null }),
      )
    }).toThrow()
    const lowId = idOf('low')
    const call = { told: 'Dr. Amara Holm', readBack: true, ordered: 'as you did' } as const
    const answers = { swallowing: 'safely', ivWorking: false, tubeUsable: null } as const
    const amount = { kind: 'grams', grams: 15 } as const
    chart(
      anEvent('low-answered', { lowId, answers }),
      anEvent('low-treated', { lowId, arm: 'by-mouth', amount, what: 'fruit juice', directedBy: null }),
      anEvent('low-level-3-found', { lowId, finding: 'confused-needs-help' }),
      anEvent('low-emergency-called', { lowId }),
      anEvent('low-told', { lowId, ...call }),
      anEvent('low-food-given', { lowId, grams: 20, what: 'bread' }),
    )
    expect(itemsOpen()).toEqual(['insulin-question low', 'low low'])
    chart(anEvent('insulin-question-answered', { lowId, ...call, decision: 'hold' }))
    expect(itemsOpen()).toEqual(['low low'])
    const closing = { cause: 'missed-or-delayed-meal', note: 'tray late' } as const
    chart(anEvent('low-event-closed', { lowId, ...closing }))
    expect(itemsOpen()).toEqual([])
    const at = { atMs: NOW, chartedAtMs: NOW, byId: NURSE }
    const { told, ordered } = call
    expect(facts().lows).toEqual([
      {
        lowId,
        stayId: STAY,
        wardId: WARD,
        openedByReadingId: idOf('reading'),
        openedAtMs: NOW,
        closedAtMs: NOW,
        previousLowId: null,
        previousClosedAtMs: null,
        treatments: [{ ...at, lowId, arm: 'by-mouth', amount, what: 'fruit juice', directedBy: null }],
        charted: {
          answers: [{ ...at, ...answers }],
          findings: [{ ...at, finding: 'confused-needs-help' }],
          emergencyCalls: [at],
          prescriberCalls: [{ ...at, told, ordered }],
          food: [{ ...at, grams: 20, what: 'bread' }],
          insulinAnswers: [{ ...at, told, ordered, decision: 'hold' }],
          closing: { ...at, ...closing },
        },
      },
    ])
    chart(
      recorded({ readingId: idOf('next'), takenAtMs: NOW + HOUR, glucose: mgPerDl(66) }),
      anEvent(
        'low-event-opened',
        { lowId: idOf('again'), readingId: idOf('next'), previousLowId: lowId },
        { happenedAtMs: NOW + HOUR },
      ),
    )
    expect(facts().lows[1]).toMatchObject({ previousLowId: lowId, previousClosedAtMs: NOW, closedAtMs: null })
  })

  it('a prescriber’s direction also answers the question about insulin', () => {
    chart(
      ...anOrderInForce(anOrder({ meal: { kind: 'fixed', units: { 'before-breakfast': 5 } } })),
      recorded({ glucose: mgPerDl(62) }),
      opened,
    )
    chart(
      anEvent('direction-recorded', {
        direction: {
          directionId: idOf('dir'),
          stayId: STAY,
          readingId: null,
          prescriber: 'Dr. Amara Holm',
          readBack: true,
          why: 'hold breakfast insulin',
          units: 0,
          insulin: 'insulin lispro',
          byId: NURSE,
          atMs: NOW,
        },
      }),
    )
    expect(itemsOpen()).toEqual(['low low'])
  })

  it('a low with a correction order only does not ask about insulin', () => {
    chart(...anOrderInForce(), recorded({ glucose: mgPerDl(62) }), opened)
    expect(itemsOpen()).toEqual(['low low'])
  })

  it('flags a low whose reading was wrong', () => {
    chart(
      recorded({ glucose: mgPerDl(62) }),
      opened,
      anEvent('reading-voided', { readingId: idOf('reading'), reason: 'wrong patient' }),
    )
    expect(itemsOpen()).toEqual(['flag low low-reading-in-error', 'low low'])
  })

  it('a low follows the patient to another ward', () => {
    chart(
      ...aWardOpened(OTHER_WARD),
      recorded({ glucose: mgPerDl(62) }),
      opened,
      anEvent('stay-moved', { fromWardId: WARD, toWardId: OTHER_WARD, bed: '7' }),
    )
    const there = store.wardFacts(aScope([OTHER_WARD]), OTHER_WARD, NOW)
    expect(there?.lows.map(({ wardId }) => wardId)).toEqual([OTHER_WARD])
    expect(there?.openItems.map(({ kind, wardId }) => [kind, wardId])).toEqual([['low', OTHER_WARD]])
  })

  it('keeps open items of a discharged patient on the ward', () => {
    chart(recorded({ glucose: mgPerDl(44) }), opened, anEvent('stay-discharged', {}))
    const ward = store.wardFacts(aScope(), WARD, NOW)
    expect(ward?.stays.map(({ stayId }) => stayId)).not.toContain(STAY)
    expect(ward?.openItems.map(({ kind, stayId }) => [kind, stayId]).sort()).toEqual([
      ['critical', STAY],
      ['low', STAY],
    ])
  })
})

describe('ward facts', () => {
  beforeEach(() => {
    chart(...aSmallWard(), ...anOrderInForce())
  })

  it('change version with every event of the ward, both wards at a move, and are never stale', () => {
    const scope = aScope([WARD, OTHER_WARD])
    chart(...aWardOpened(OTHER_WARD))
    const before = [store.wardVersion(scope, WARD), store.wardVersion(scope, OTHER_WARD)]
    expect(store.wardFacts(scope, WARD, NOW)?.lastReadings.size).toBe(0)
    chart(recorded())
    expect(store.wardFacts(scope, WARD, NOW)?.lastReadings.get(STAY)?.readingId).toBe(idOf('reading'))
    chart(anEvent('stay-moved', { fromWardId: WARD, toWardId: OTHER_WARD, bed: '5' }))
    expect([store.wardVersion(scope, WARD), store.wardVersion(scope, OTHER_WARD)]).toEqual(
      before.map((version, ward) => (version ?? 0) + 2 - ward),
    )
    expect(store.wardFacts(scope, WARD, NOW)?.stays).toEqual([])
    expect(store.wardFacts(scope, OTHER_WARD, NOW)?.stays).toHaveLength(1)
  })

  it('include events of the open transaction, and none that was rolled back', () => {
    expect(() =>
      store.transact(() => {
        store.append([recorded()])
        expect(store.wardFacts(aScope(), WARD, NOW)?.lastReadings.size).toBe(1)
        throw new Error('roll back')
      }),
    ).toThrow('roll back')
    expect(store.wardFacts(aScope(), WARD, NOW)?.lastReadings.size).toBe(0)
    // the same version number again, with another fact
    chart(recorded({ readingId: idOf('other') }))
    expect(store.wardFacts(aScope(), WARD, NOW)?.lastReadings.get(STAY)?.readingId).toBe(idOf('other'))
  })

  it('never include a policy or an order that was rolled back', () => {
    const policy = store.wardPolicy(aScope(), WARD, NOW)?.policy
    if (policy === undefined) throw new Error('no policy')
    const set = (idleLockMin: number, maxSingleDose: number): readonly LedgerEvent[] => [
      anEvent('policy-set', { version: 2, policy: { ...policy, idleLockMin } }, { stayId: null }),
      anEvent('order-written', {
        orderId: idOf('order'),
        version: 2,
        order: anOrder({ maxSingleDose, startsAtMs: NOW }),
      }),
    ]
    const now = () => [
      store.wardPolicy(aScope(), WARD, NOW)?.policy.idleLockMin,
      facts().orders.at(-1)?.order.maxSingleDose,
    ]
    expect(() =>
      store.transact(() => {
        store.append(set(3, 11))
        expect(now()).toEqual([3, 11])
        throw new Error('roll back')
      }),
    ).toThrow('roll back')
    chart(...set(4, 12))
    expect(now()).toEqual([4, 12])
  })

  it('include events of another process', () => {
    expect(store.wardFacts(aScope(), WARD, NOW)?.lastReadings.size).toBe(0)
    const other = openStore({ file })
    other.transact(() => {
      other.append([recorded()])
      return null
    })
    other.close()
    expect(store.wardFacts(aScope(), WARD, NOW)?.lastReadings.size).toBe(1)
  })

  it('name the newest effective reading by time taken, with its doses', () => {
    chart(recorded(), proposed(), recorded({ readingId: idOf('older'), takenAtMs: NOW - HOUR, chartedAtMs: NOW }))
    const newest = () => store.wardFacts(aScope(), WARD, NOW)
    expect(newest()?.lastReadings.get(STAY)?.readingId).toBe(idOf('reading'))
    expect(newest()?.lastReadingDoses.map(({ doseId }) => doseId)).toEqual([idOf('dose')])
    chart(anEvent('reading-voided', { readingId: idOf('reading'), reason: 'wrong patient' }))
    expect(newest()?.lastReadings.get(STAY)?.readingId).toBe(idOf('older'))
    expect(newest()?.lastReadingDoses).toEqual([])
  })

  it('leave out an order from the instant it ends by time', () => {
    chart(anEvent('order-written', { orderId: idOf('short'), version: 1, order: anOrder({ stopsAtMs: NOW + MINUTE }) }))
    const orders = (atMs: number) =>
      store
        .wardFacts(aScope(), WARD, atMs)
        ?.orders.map(({ orderId }) => orderId)
        .sort()
    expect(orders(NOW)).toEqual([idOf('order'), idOf('short')])
    expect(orders(NOW + MINUTE)).toEqual([idOf('order')])
  })

  it('include the policy in force at the instant', () => {
    const policy = store.wardPolicy(aScope(), WARD, NOW)?.policy
    if (policy === undefined) throw new Error('no policy')
    expect(store.wardFacts(aScope(), WARD, NOW)?.policy.version).toBe(1)
    chart(
      anEvent(
        'policy-set',
        { version: 2, policy: { ...policy, idleLockMin: 7 } },
        { stayId: null, happenedAtMs: NOW + MINUTE },
      ),
    )
    expect([NOW, NOW + MINUTE].map((atMs) => store.wardFacts(aScope(), WARD, atMs)?.policy.version)).toEqual([1, 2])
    expect(store.wardPolicy(aScope(), WARD, NOW + MINUTE)?.policy.idleLockMin).toBe(7)
  })

  it('list meters, lots, beds taken, trays and delays', () => {
    chart(
      anEvent('beds-taken', { staffId: NURSE, beds: ['1', '2'] }, { stayId: null }),
      anEvent('tray-delayed', { date: TODAY, meal: 'lunch', minutes: 45 }, { stayId: null }),
      anEvent('tray-charted', { date: TODAY, meal: 'breakfast', servedAtMs: NOW }),
      anEvent('share-eaten-charted', { date: TODAY, meal: 'breakfast', percent: 50 }),
    )
    expect(store.wardFacts(aScope(), WARD, NOW)).toMatchObject({
      bedsTaken: [{ staffId: NURSE, beds: ['1', '2'] }],
      trayDelays: [{ date: TODAY, meal: 'lunch', minutes: 45 }],
      trays: [{ stayId: STAY, date: TODAY, meal: 'breakfast', servedAtMs: NOW, shareEatenPercent: 50 }],
      meters: [{ serial: 'M-1', lastControl: { passed: true, atMs: NOW - HOUR } }],
      stripLots: [{ lot: 'LOT-1', expiresOn: '2027-01-31' }],
    })
    chart(anEvent('beds-taken', { staffId: NURSE, beds: [] }, { stayId: null }))
    expect(store.wardFacts(aScope(), WARD, NOW)?.bedsTaken).toEqual([])
  })

  it('a new plan ends the one before it', () => {
    chart(anEvent('plan-set', { version: 2, plan: { kind: 'every-4-h' }, untilMs: null }))
    expect(facts().plans.map(({ version, untilMs }) => [version, untilMs])).toEqual([
      [1, NOW],
      [2, null],
    ])
  })

  it('a check ordered once is an addition: it ends no plan, and no plan ends it', () => {
    chart(anEvent('plan-set', { version: 2, plan: { kind: 'once', atMs: NOW + HOUR }, untilMs: null }))
    expect(facts().plans.map(({ version, untilMs }) => [version, untilMs])).toEqual([
      [1, null],
      [2, null],
    ])
    chart(anEvent('plan-set', { version: 3, plan: { kind: 'every-4-h' }, untilMs: null }))
    expect(facts().plans.map(({ version, untilMs }) => [version, untilMs])).toEqual([
      [1, NOW],
      [2, null],
      [3, null],
    ])
  })

  it('a new order version ends the one before it when it starts', () => {
    chart(anEvent('order-written', { orderId: idOf('order'), version: 2, order: anOrder({ startsAtMs: NOW + HOUR }) }))
    expect(facts().orders.map(({ version, endedAtMs }) => [version, endedAtMs])).toEqual([
      [1, NOW + HOUR],
      [2, null],
    ])
    expect(facts().orders[0]?.verified).toEqual({ byId: SECOND_NURSE, atMs: NOW - 23 * HOUR })
  })

  it('refuse verification by the transcriber', () => {
    chart(anEvent('order-written', { orderId: idOf('own'), version: 1, order: anOrder() }))
    expect(() => {
      chart(anEvent('order-verified', { orderId: idOf('own'), version: 1 }))
    }).toThrow()
  })

  it('refuse one wristband for two present patients', () => {
    expect(() => {
      chart(anAdmission({ stayId: idOf('twin'), wristband: `W-${STAY}` }))
    }).toThrow()
  })
})

describe('tables outside the ledger', () => {
  const key = {
    nonce: 'n1',
    staffId: NURSE,
    form: 'reading',
    bodyHash: 'b1',
    answer: { status: 303, location: '/readings/x' },
    atMs: NOW,
  }
  beforeEach(() => {
    chart(...aSmallWard())
  })

  it('uses a one-time key once, for one person and one body, with its result', () => {
    expect(store.lookUpKey(key)).toEqual({ kind: 'fresh' })
    store.transact(() => {
      store.settleKey(key)
      return null
    })
    expect(store.lookUpKey(key)).toEqual({ kind: 'same', answer: key.answer })
    expect(store.lookUpKey({ ...key, bodyHash: 'b2' })).toEqual({ kind: 'other-body' })
    expect(store.lookUpKey({ ...key, staffId: SECOND_NURSE })).toEqual({ kind: 'not-yours' })
    expect(() =>
      store.transact(() => {
        store.settleKey(key)
        return null
      }),
    ).toThrow()
    expect(() => {
      store.settleKey({ ...key, nonce: 'n2' })
    }).toThrow(/transaction/)
  })

  it('keeps a key valid after a decision that was rolled back', () => {
    expect(() =>
      store.transact(() => {
        store.settleKey(key)
        throw new Error('refused')
      }),
    ).toThrow('refused')
    expect(store.lookUpKey(key)).toEqual({ kind: 'fresh' })
  })

  it('keeps sessions, PINs, secrets and drafts across opening', () => {
    const session = {
      tokenHash: 't1',
      staffId: NURSE,
      wardId: null,
      startedMonoMs: 1.5,
      lastSeenMonoMs: 2.5,
      meterId: null,
    }
    store.putSession(session)
    store.touchSession('t1', { wardId: WARD, lastSeenMonoMs: 9 })
    store.setPinHash(NURSE, 'first-hash-of-the-invented-pin')
    store.setPinHash(NURSE, 'second-hash-of-the-invented-pin')
    const secret = store.secret('form-keys')
    store.putDraft({ draftId: 'd1', staffId: NURSE, path: '/checks/x', fields: { value: '112' }, atMs: NOW })
    store.close()
    store = openStore({ file })
    expect(store.session('t1')).toEqual({ ...session, wardId: WARD, lastSeenMonoMs: 9 })
    expect(store.pinHash(NURSE)).toBe('second-hash-of-the-invented-pin')
    expect(store.secret('form-keys').equals(secret)).toBe(true)
    expect(store.secret('cookies').equals(secret)).toBe(false)
    expect(store.draft('d1', SECOND_NURSE)).toBeUndefined()
    for (const _again of [1, 2])
      expect(store.draft('d1', NURSE)).toEqual({ path: '/checks/x', fields: { value: '112' }, atMs: NOW })
    store.dropSession('t1')
    expect(store.session('t1')).toBeUndefined()
  })

  it('deletes a draft older than a day', () => {
    store.putDraft({ draftId: 'old', staffId: NURSE, path: '/x', fields: {}, atMs: NOW - 25 * HOUR })
    store.putDraft({ draftId: 'new', staffId: NURSE, path: '/x', fields: {}, atMs: NOW })
    expect(store.draft('old', NURSE)).toBeUndefined()
    expect(store.draft('new', NURSE)).toBeDefined()
  })

  it('finds people by id and badge', () => {
    expect(store.staffByBadge(`B-${NURSE}`)?.staffId).toBe(NURSE)
    expect(store.staffById(SECOND_NURSE)?.role).toBe('floor-nurse')
    expect(store.staffByBadge('B-nobody')).toBeUndefined()
  })

  it('reports an empty database until it has people', () => {
    const fresh = openStore({ file: ':memory:' })
    expect([fresh.isEmpty(), fresh.lastEventAtMs(), fresh.wardIds()]).toEqual([true, undefined, []])
    fresh.transact(() => {
      fresh.append([aPersonAdded(NURSE, 'administrator', [])])
      return null
    })
    expect(fresh.isEmpty()).toBe(false)
    fresh.close()
    expect([store.isEmpty(), store.lastEventAtMs(), store.wardIds()]).toEqual([false, NOW - HOUR, [WARD]])
  })

  it('writes in the health check, and reports when it cannot', () => {
    expect(store.probe()).toEqual({ readable: true, writable: true })
    store.close()
    expect(store.probe()).toEqual({ readable: false, writable: false })
  })
})
