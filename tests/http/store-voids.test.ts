/**
 * The voids as events against the voids as they were implied: over days made up at random, the events that decisions
 * store today leave every derived table as the same events do without a single `dose-voided`, by the frozen rules.
 */
import Database from 'better-sqlite3'
import { getTableConfig } from 'drizzle-orm/sqlite-core'
import fc from 'fast-check'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { DoseVoidReason } from '../../shared/dose/dose.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { rebuilderOf } from '../../server/store/apply.ts'
import { connect } from '../../server/store/connection.ts'
import type { Store } from '../../server/store/contract.ts'
import { canonical, eventOf, ledgerOf } from '../../server/store/ledger.ts'
import { migrate } from '../../server/store/migrate.ts'
import { openStore } from '../../server/store/open.ts'
import { keyOf } from '../../server/store/rows.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import { DERIVED } from '../../server/store/tables.ts'
import { verifyStore } from '../../server/store/verify.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import { VOID_WORDS } from '../../views/words/dose.ts'
import {
  aDose,
  anEvent,
  anOrderInForce,
  aReading,
  aScope,
  aSmallWard,
  idOf,
  mgPerDl,
  MINUTE,
  NOW,
  NURSE,
  SECOND_NURSE,
  STAY,
  TODAY,
  ZONE,
} from '../support/makers.ts'
import { oldProgram } from '../support/old-databases.ts'
import { people } from '../support/people.ts'
import { aDay, dayBefore, VoidDay, type Command } from '../support/void-days.ts'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-voids-'))
})
afterEach(() => {
  rmSync(folder, { recursive: true })
})

/** Every row of every derived table; a ward's count of its changes is left out, since voids count among them now. */
function tablesOf(db: Database.Database): unknown {
  return DERIVED.map((table) => {
    const { name } = getTableConfig(table)
    const key = keyOf(table).map((column) => column.name)
    const rows = db.prepare<[], Record<string, unknown>>(`SELECT * FROM ${name} ORDER BY ${key.join(', ')}`).all()
    return [name, rows.map(({ data_version: _version, ...row }) => row)]
  })
}

/** Stores the day as decisions do, each command in a transaction of its own. Answers what was accepted, voids left out. */
function chartDay(of: string, day: readonly Command[]): readonly LedgerEvent[] {
  const store = openStore({ file: of })
  const made = new VoidDay()
  const accepted: LedgerEvent[] = []
  const tryToStore = (events: readonly LedgerEvent[]): boolean => {
    try {
      store.transact(() => {
        storeEvents(store, events)
        return null
      })
    } catch {
      // a step on a dose that is void or settled, say: no decision would come to it
      return false
    }
    accepted.push(...events)
    return true
  }
  try {
    if (!tryToStore(dayBefore())) throw new Error('the day cannot begin')
    for (const command of day) {
      const events = made.eventsOf(command)
      if (events.length > 0 && tryToStore(events)) made.accepted()
    }
  } finally {
    store.close()
  }
  return accepted
}

/** The tables that the events make, applied as a ledger without a marker. */
function tablesByImpliedVoids(events: readonly LedgerEvent[]): unknown {
  const connection = connect(':memory:')
  try {
    migrate(connection.raw)
    const apply = rebuilderOf(connection)
    connection.raw.transaction(() => {
      for (const event of events) apply(asStored(event))
    })()
    return tablesOf(connection.raw)
  } finally {
    connection.raw.close()
  }
}

/** As a row of the ledger holds it. */
const asStored = (event: LedgerEvent): LedgerEvent => JSON.parse(canonical(event)) as LedgerEvent
const storedIn = (of: string): readonly LedgerEvent[] => {
  const connection = connect(of, 'read-only')
  try {
    return [...ledgerOf(connection).rows()].map(eventOf)
  } finally {
    connection.raw.close()
  }
}

/** True when a low was charted after a value that was taken later, or by a correction. */
function hasLateLow(accepted: readonly LedgerEvent[]): boolean {
  const readings = accepted.flatMap((event) => (event.type === 'reading-recorded' ? [event.body.reading] : []))
  return readings.some(
    ({ stayId, takenAtMs, glucose, supersedes }, index) =>
      (glucose.value === 'LO' || (typeof glucose.value === 'number' && glucose.value < 70)) &&
      (supersedes !== null ||
        readings.slice(0, index).some((other) => other.stayId === stayId && other.takenAtMs >= takenAtMs)),
  )
}

describe('the voids that decisions store', () => {
  it('are those that the frozen rules imply: same doses, reasons and instants, and every other table alike', () => {
    const reasons = new Map<string, number>()
    const steps = new Map<string, number>()
    let number = 0
    let compared = 0
    fc.assert(
      fc.property(aDay, (day) => {
        number += 1
        const of = join(folder, `${String(number)}.sqlite`)
        const accepted = chartDay(of, day)
        const db = new Database(of, { readonly: true })
        const live = tablesOf(db)
        db.close()
        // a low charted late voids more by today's rule than by the frozen ones
        if (!hasLateLow(accepted)) {
          compared += 1
          expect(live).toEqual(tablesByImpliedVoids(accepted))
        }
        const stored = storedIn(of)
        for (const event of stored) {
          steps.set(event.type, (steps.get(event.type) ?? 0) + 1)
          if (event.type === 'dose-voided') reasons.set(event.body.reason, (reasons.get(event.body.reason) ?? 0) + 1)
        }
        // what was stored besides the voids and the marker is what was decided
        const others = stored.filter(({ type }) => type !== 'dose-voided' && type !== 'voids-are-events')
        expect(others).toEqual(accepted.map(asStored))
        // and the ledger rebuilt is what stands in the tables
        const report = verifyStore({ file: of, headFile: null }).filter(({ what }) => what !== 'doses worked out again')
        expect(report.flatMap(({ differences }) => differences)).toEqual([])
        rmSync(of)
      }),
      { numRuns: Number(process.env['VOID_DAYS'] ?? 20), seed: 20261201, endOnFailure: true },
    )
    expect(compared).toBeGreaterThan(5)
    // the days would prove nothing if they held no voids, or no steps beside them
    expect([...reasons.keys()].sort()).toEqual(Object.keys(VOID_WORDS).sort())
    for (const type of [
      'dose-verified',
      'dose-given',
      'dose-not-given',
      'dose-started-again',
      'insulin-question-answered',
    ])
      expect(steps.get(type) ?? 0, type).toBeGreaterThan(3)
  })
})

describe('the store', () => {
  const dose = aDose()
  const begin = (): Store => {
    const store = openStore({ file: join(folder, 'ward.sqlite') })
    store.transact(() => {
      storeEvents(store, [
        ...aSmallWard(),
        ...anOrderInForce(),
        anEvent('reading-recorded', { reading: aReading() }),
        anEvent('dose-proposed', { dose }),
      ])
      return null
    })
    return store
  }
  const voided = (reason: DoseVoidReason, doseId = dose.doseId): LedgerEvent =>
    anEvent('dose-voided', { doseId, reason }, { happenedAtMs: NOW + MINUTE })
  const stopped = anEvent('order-stopped', { orderId: idOf('order'), reason: 'x' }, { happenedAtMs: NOW + MINUTE })

  it.each<readonly [string, readonly LedgerEvent[], RegExp]>([
    ['leaves a void out', [stopped], /dose dose0+ is void \(order-changed\) after order-stopped, and no event says so/],
    ['names another reason', [stopped, voided('stay-moved')], /nothing voids dose dose0+ \(stay-moved\)/],
    ['voids a dose for nothing', [voided('order-changed')], /nothing voids dose/],
    ['voids twice', [stopped, voided('order-changed'), voided('order-changed')], /nothing voids dose/],
    [
      'voids too late',
      [stopped, anEvent('tray-charted', { date: TODAY, meal: 'lunch', servedAtMs: NOW })],
      /no event says/,
    ],
  ])('refuses a batch that %s, and keeps nothing of it', (_name, events, sentence) => {
    const store = begin()
    try {
      expect(() => {
        store.transact(() => {
          store.append(events)
          return null
        })
      }).toThrow(sentence)
      expect(store.doseById(aScope(), dose.doseId)).toMatchObject({ voided: null, outcome: null })
      expect(store.orderVersions(aScope(), STAY).map(({ endedAtMs }) => endedAtMs)).toEqual([null])
      store.transact(() => {
        store.append([stopped, voided('order-changed')])
        return null
      })
      expect(store.doseById(aScope(), dose.doseId)?.voided).toEqual({ reason: 'order-changed', atMs: NOW + MINUTE })
    } finally {
      store.close()
    }
  })

  it('takes no step on a dose that a policy set ahead has made void by time alone', () => {
    const store = begin()
    const put = (...events: readonly LedgerEvent[]): void => {
      store.transact(() => {
        storeEvents(store, events)
        return null
      })
    }
    const at = (minutes: number) => ({ happenedAtMs: NOW + minutes * MINUTE })
    const answered = (minutes: number): LedgerEvent =>
      anEvent(
        'second-check-answered',
        {
          doseId: dose.doseId,
          answer: { byId: SECOND_NURSE, atMs: NOW, glucose: mgPerDl(182), units: 2, agreed: minutes < 5 },
        },
        { actorId: SECOND_NURSE, ...at(minutes) },
      )
    const policy = defaultPolicy('mg/dL', ZONE)
    try {
      put(
        anEvent('policy-set-from', { version: 2, policy, fromMs: NOW + 5 * MINUTE, changeId: null }, { stayId: null }),
      )
      expect(() => {
        put(answered(5))
      }).toThrow(/settled/)
      put(answered(4))
      expect(store.doseById(aScope(), dose.doseId)?.answers).toHaveLength(1)
      expect(() => {
        put(anEvent('dose-not-given', { doseId: dose.doseId, kind: 'withheld', reason: 'x' }, at(6)))
      }).toThrow(/settled/)
    } finally {
      store.close()
    }
  })

  it('answers ids alone of the doses that an event may void', () => {
    const store = begin()
    const { open } = store.openDosesForVoiding(stopped)
    store.close()
    expect(open).toHaveLength(1)
    expect(Object.keys(open[0] ?? {}).sort()).toEqual([
      'doseId',
      'hasHold',
      'insulin',
      'kind',
      'knownReadingAtMs',
      'lowFollowed',
      'orderId',
      'readingId',
      'restsOn',
      'slotKey',
      'stayId',
      'wardId',
    ])
    for (const word of ['Okafor', 'Ines', 'W-stay', '182']) expect(JSON.stringify(open)).not.toContain(word)
  })
})

describe('the marker', () => {
  const file = (): string => join(folder, 'ward.sqlite')
  const types = (): readonly string[] => storedIn(file()).map(({ type }) => type)
  const put = (events: readonly LedgerEvent[], then?: () => void): void => {
    const store = openStore({ file: file() })
    try {
      store.transact(() => {
        storeEvents(store, events)
        then?.()
        return null
      })
    } finally {
      store.close()
    }
  }
  const locked = anEvent('staff-locked', { staffId: NURSE, reason: 'x' }, { wardId: null, stayId: null })

  it('is the second row of a new ledger, whose first row stays its own, and there is one', () => {
    put(aSmallWard().slice(0, 1))
    expect(types()).toEqual(['ward-opened'])
    put(aSmallWard().slice(1))
    put([locked])
    expect(types().slice(0, 3)).toEqual(['ward-opened', 'voids-are-events', 'policy-set'])
    expect(types().filter((type) => type === 'voids-are-events')).toHaveLength(1)
    const db = new Database(file())
    db.function('no_hash', () => '0'.repeat(64))
    expect(() =>
      db.exec(
        `INSERT INTO ledger SELECT max(seq) + 1, 'voids-are-events', NULL, NULL, 'x', 0, 0, '{}', (SELECT hash FROM ledger ORDER BY seq DESC LIMIT 1), no_hash() FROM ledger`,
      ),
    ).toThrow(/UNIQUE/)
    db.close()
  })

  it('is gone with a transaction that is rolled back, and comes with the next', () => {
    put(aSmallWard().slice(0, 1))
    expect(() => {
      put(aSmallWard().slice(1), () => {
        throw new Error('decided otherwise')
      })
    }).toThrow('decided otherwise')
    expect(types()).toEqual(['ward-opened'])
    put(aSmallWard().slice(1))
    expect(types()[1]).toBe('voids-are-events')
  })

  it('comes into an older ledger with the first row that this program adds; nothing before it changes', () => {
    const old = oldProgram('schema-9')
    old.write(0, file())
    const before = storedIn(file())
    openStore({ file: file() }).close()
    expect(storedIn(file())).toEqual(before)
    put([{ ...locked, body: { staffId: people.omar.staffId, reason: 'x' } } as LedgerEvent])
    expect(storedIn(file()).slice(0, before.length)).toEqual(before)
    expect(types().slice(before.length)).toEqual(['voids-are-events', 'staff-locked'])
    const report = verifyStore({ file: file(), headFile: null })
    expect(report.flatMap(({ differences }) => differences)).toEqual([])
  })

  it('after it nothing is void without an event, and no step is taken on a void dose, in a rebuild either', () => {
    const given = anEvent(
      'second-check-answered',
      {
        doseId: idOf('dose'),
        answer: { byId: SECOND_NURSE, atMs: NOW, glucose: mgPerDl(182), units: 2, agreed: true },
      },
      { actorId: SECOND_NURSE },
    )
    const begun = [
      ...aSmallWard(),
      ...anOrderInForce(),
      anEvent('reading-recorded', { reading: aReading() }),
      anEvent('dose-proposed', { dose: aDose() }),
    ]
    const stops = anEvent('order-stopped', { orderId: idOf('order'), reason: 'x' })
    const isVoid = (events: readonly LedgerEvent[]): unknown => {
      const connection = connect(':memory:')
      try {
        migrate(connection.raw)
        const apply = rebuilderOf(connection)
        for (const event of events) apply(asStored(event))
        return connection.raw.prepare("SELECT json_extract(fact, '$.voided.reason') AS reason FROM dose").get()
      } finally {
        connection.raw.close()
      }
    }
    const marker = anEvent('voids-are-events', {}, { wardId: null, stayId: null })
    expect(isVoid([...begun, stops])).toEqual({ reason: 'order-changed' })
    expect(isVoid([marker, ...begun, stops])).toEqual({ reason: null })
    expect(isVoid([...begun, stops, given])).toEqual({ reason: 'order-changed' })
    expect(() => isVoid([...begun, stops, marker, given])).toThrow(/is settled/)
  })
})
