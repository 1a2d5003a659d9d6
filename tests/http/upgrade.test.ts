/**
 * Today's program opens a database of an earlier one: a verified copy first, then the whole upgrade or none of it,
 * the same facts on the pages, and rollback.
 */
import Database from 'better-sqlite3'
import { execFile, spawnSync } from 'node:child_process'
import { createHash } from 'node:crypto'
import { existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { promisify } from 'node:util'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { restoreBackup } from '../../server/restore/restore.ts'
import { askForRebuild, inspectCopy } from '../../server/store/backup.ts'
import { connect } from '../../server/store/connection.ts'
import type { Store } from '../../server/store/contract.ts'
import { ledgerOf } from '../../server/store/ledger.ts'
import { knownSchema } from '../../server/store/migrate.ts'
import { openStore } from '../../server/store/open.ts'
import { verifyStore } from '../../server/store/verify.ts'
import { VOID_WORDS } from '../../views/words/dose.ts'
import { built, tamper } from '../support/backups.ts'
import { ALL, dose } from '../support/bedside.ts'
import { FATES, fateOf } from '../support/every-void.ts'
import { filesBelow, textOf } from '../support/house.ts'
import { anEvent, idOf } from '../support/makers.ts'
import { oldProgram, type OldProgram } from '../support/old-databases.ts'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld } from '../support/world.ts'

const PROGRAMS = ['schema-5-early', 'schema-5', 'schema-8', 'schema-9'].map(oldProgram)
const OLD = PROGRAMS[1] as OldProgram

/** The migrations of the programs above, in order: the first 16 hex digits of the SHA-256 of each. */
const RUN_BEFORE = [
  '7fdea884b5b766c9',
  '0ae4514d47ca44c7',
  '3651089015c2512a',
  '095b213eb887a349',
  '2483a48d57ea24c4',
  'cd253f3858820437',
  '948cb8a4a0684d61',
  'efdd4f2c2de840bc',
  '7912de3199f6f017',
  '37eeeabf204d111e',
]

let folder: string
let file: string
let headFile: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-upgrade-'))
  file = join(folder, 'ward.sqlite')
  headFile = join(folder, 'head.json')
})
afterEach(() => {
  rmSync(folder, { recursive: true, force: true })
})

function ask<T>(of: string, question: (db: Database.Database) => T): T {
  const db = new Database(of, { readonly: true })
  try {
    return question(db)
  } finally {
    db.close()
  }
}
const schemaOf = (of: string): unknown => ask(of, (db) => db.pragma('user_version', { simple: true }))
const ledgerRows = (of: string): readonly unknown[] =>
  ask(of, (db) => db.prepare('SELECT * FROM ledger ORDER BY seq').all())
/** Everything in the database but what a health check counts: tables, indexes, triggers, and every row. */
const contents = (of: string): unknown =>
  ask(of, (db) => {
    const schema = db
      .prepare<[], { type: string; name: string; sql: string | null }>(
        'SELECT type, name, sql FROM sqlite_schema ORDER BY type, name',
      )
      .all()
    const tables = schema.filter(({ type, name }) => type === 'table' && name !== 'probe')
    return { schema, rows: tables.map(({ name }) => [name, db.prepare(`SELECT * FROM "${name}"`).all()]) }
  })
const tablesOf = (of: string): unknown =>
  ask(of, (db) => db.prepare('SELECT type, name, sql FROM sqlite_schema ORDER BY type, name').all())
const aNewDatabase = (): string => {
  const fresh = join(folder, 'new.sqlite')
  openStore({ file: fresh }).close()
  return fresh
}
let tables: unknown
/** What a new database has, looked at once. */
const tablesOfNew = (): unknown => (tables ??= tablesOf(aNewDatabase()))
const copies = (): readonly string[] =>
  readdirSync(folder)
    .filter((name) => name.startsWith('ward.sqlite.schema-'))
    .map((name) => join(folder, name))
    .sort()
const differences = () => verifyStore({ file, headFile }).flatMap((line) => line.differences)
const open = () => {
  openStore({ file, headFile }).close()
}

/**
 * On the first day a dose by direction did not yet ask whether one had been given already. Verify reports such a
 * dose, and should.
 */
const isKnown = ({ name }: OldProgram, difference: string): boolean =>
  name === 'schema-5-early' &&
  /^dose \w+: guards: stored (?!.*already-dosed.* worked out).*worked out .*"already-dosed"/.test(difference)

describe.each(PROGRAMS)('database of commit $commit ($name)', (program) => {
  it('holds every kind of event that its tests charted', () => {
    const found = new Set<string>()
    program.databases.forEach(({ rows }, index) => {
      const one = join(folder, `${String(index)}.sqlite`)
      program.write(index, one)
      const types = ask(one, (db) => db.prepare<[], { type: string }>('SELECT type FROM ledger').all())
      expect(types).toHaveLength(rows)
      for (const { type } of types) found.add(type)
      expect(schemaOf(one)).toBe(program.schema)
    })
    expect([...found].sort()).toEqual(program.types)
    expect(program.types).toEqual(expect.arrayContaining(['reading-recorded', 'dose-given', 'outside-dose-recorded']))
  })

  it.each(program.databases.map(({ made }, index) => ({ made, index })))('opens: $made', async ({ index }) => {
    const { atMs, shown } = program.databases[index] as OldProgram['databases'][number]
    program.write(index, file)
    const [before, rows] = [contents(file), ledgerRows(file)]
    const store = openStore({ file, headFile })
    const { upgraded } = store
    store.close()
    expect(schemaOf(file)).toBe(knownSchema())
    expect(ledgerRows(file)).toEqual(rows)
    // the first day's ledger keeps a second index over its hashes, which harms nothing
    if (program.name !== 'schema-5-early') expect(tablesOf(file)).toEqual(tablesOfNew())
    expect(differences().filter((one) => !isKnown(program, one))).toEqual([])
    if (program.schema < knownSchema()) {
      const [copy = '', ...more] = copies()
      expect(more).toEqual([])
      expect(upgraded).toBe(
        `From schema ${String(program.schema)} to ${String(knownSchema())}. The database from before it is kept as ${copy}.`,
      )
      expect(copy).toMatch(new RegExp(`\\.schema-${String(program.schema)}-\\d{8}T\\d{9}Z$`))
      expect(contents(copy)).toEqual(before)
      expect(inspectCopy(copy, null)).toMatchObject({ schema: program.schema, faults: [] })
      expect(statSync(copy).mode & 0o777).toBe(0o600)
    }
    // a second opening does nothing
    const again = openStore({ file, headFile })
    expect(again.upgraded).toBeNull()
    again.close()
    expect(copies().length).toBeLessThan(2)
    if (Object.keys(shown).length === 0) return
    const world = await makeWorld({ file, headFile })
    try {
      world.clock.set(atMs)
      // signs in with the PIN of that day
      const clients = [await world.signIn(people.cora), await world.signIn(people.carl)]
      for (const [stayId, facts] of Object.entries(shown)) {
        const pages = await Promise.all(clients.map((client) => client.get(`/stays/${stayId}`)))
        const words = pages.find(({ status }) => status === 200)?.words() ?? ''
        expect(
          facts.filter((fact) => !words.includes(fact)),
          stayId,
        ).toEqual([])
      }
    } finally {
      await world.close()
    }
    expect(differences().filter((one) => !isKnown(program, one))).toEqual([])
  })
})

describe('doses that were void without an event', () => {
  const VOIDS = PROGRAMS[3] as OldProgram
  const { atMs, doses = {} } = VOIDS.databases[0] as OldProgram['databases'][number]
  const doseOf = (store: Store, doseId: string): unknown => {
    const { voided, outcome, product } = dose(store, doseId)
    return { doseId, voided, outcome: outcome?.kind ?? null, signed: product !== null }
  }
  const questions = (store: Store): readonly string[] =>
    [stays.ines, stays.leo].map(
      ({ stayId }) =>
        store.stayFacts(ALL, stayId, atMs)?.openItems.find(({ kind }) => kind === 'insulin-question')?.kind ?? 'none',
    )

  it('the database holds every reason, doses of each outcome among them, and what the day came to', () => {
    const found = Object.values(doses)
    const reasons = new Set(found.flatMap(({ voided }) => voided?.reason ?? []))
    expect([...reasons].sort()).toEqual(Object.keys(VOID_WORDS).sort())
    for (const outcome of ['given', 'withheld', 'refused'])
      expect(
        found.some((one) => one.voided !== null && one.signed && one.outcome === outcome),
        outcome,
      ).toBe(true)
    VOIDS.write(0, file)
    const store = openStore({ file, headFile })
    const fates = Object.entries(doses).map(([name, { doseId }]) => [name, fateOf(dose(store, doseId))])
    store.close()
    expect(Object.fromEntries(fates)).toEqual(FATES)
  })

  it.each([
    ['as it was left', false],
    ['filled anew from its ledger', true],
  ])('each keeps its reason, its instant and its outcome: %s', (_how, rebuilt) => {
    VOIDS.write(0, file)
    if (rebuilt) askForRebuild(file)
    const store = openStore({ file, headFile })
    const [found, open_] = [Object.values(doses).map(({ doseId }) => doseOf(store, doseId)), questions(store)]
    store.close()
    expect(found).toEqual(Object.values(doses))
    expect(open_).toEqual(['insulin-question', 'none'])
    const report = verifyStore({ file, headFile })
    expect(report.flatMap((line) => line.differences)).toEqual([])
    expect(report.find(({ what }) => what === 'doses worked out again')?.checked).toBe(found.length)
  })
})

it('some of those pages showed readings, doses and lows', () => {
  const shown = PROGRAMS.flatMap(({ databases }) => databases.flatMap((one) => Object.values(one.shown).flat()))
  for (const kind of [/mg\/dL/, /units? of insulin/, /Low event open/, /Low event closed/, /entered in error/])
    expect(
      shown.some((fact) => kind.test(fact)),
      String(kind),
    ).toBe(true)
})

it('no migration that a ward may have run is changed: a database says by its number alone what it has (a new one is added here when it is shipped)', () => {
  const found = filesBelow('migrations', ['.sql'])
    .slice(0, RUN_BEFORE.length)
    .map((name) => createHash('sha256').update(textOf(name)).digest('hex').slice(0, 16))
  expect(found).toEqual(RUN_BEFORE)
})

describe('a failed upgrade', () => {
  const before = (): unknown => {
    OLD.write(0, file)
    return contents(file)
  }

  it('a migration that fails: the file is what it was, for the program that made it', () => {
    OLD.write(0, file)
    // a table that a later migration makes is there already, after others have run
    const db = new Database(file)
    db.exec('CREATE TABLE ward_day (anything TEXT)')
    db.close()
    const was = contents(file)
    expect(open).toThrow(/tables in .* are not the ones/)
    expect(schemaOf(file)).toBe(OLD.schema)
    expect(contents(file)).toEqual(was)
    // the backup made before the attempt stays
    expect(copies()).toHaveLength(1)
  })

  it('a record that cannot be applied any more: the same', () => {
    OLD.write(0, file)
    const connection = connect(file)
    ledgerOf(connection).append(
      anEvent('dose-given', {
        doseId: idOf('nobodys'),
        site: { area: 'thigh', side: 'left' },
        food: 'not-with-a-meal',
      }),
    )
    connection.raw.close()
    const was = contents(file)
    expect(open).toThrow()
    expect([schemaOf(file), contents(file)]).toEqual([OLD.schema, was])
  })

  it('a damaged database is not upgraded, and the row is named', () => {
    OLD.write(0, file)
    tamper(file, (db) => {
      db.exec("UPDATE ledger SET body = replace(body, 'Alder', 'Elder') WHERE seq = 1")
    })
    const was = contents(file)
    expect(open).toThrow(/not upgraded: row 1 is not what its hash was made from/)
    expect([contents(file), copies()]).toEqual([was, []])
  })

  it('no room for the copy', () => {
    const small = join(folder, 'small')
    mkdirSync(small)
    if (spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=640k', 'tmpfs', small]).status !== 0) return
    try {
      file = join(small, 'ward.sqlite')
      const was = before()
      expect(open).toThrow(/is full/)
      expect(contents(file)).toEqual(was)
      expect(readdirSync(small).filter((name) => !name.startsWith('ward.sqlite-'))).toEqual(['ward.sqlite'])
    } finally {
      spawnSync('umount', [small])
    }
  })

  it('programs started at once: one upgrades completely, and every copy has the old schema', async () => {
    before()
    const start = () =>
      promisify(execFile)(process.execPath, [
        '--input-type=module',
        '-e',
        `import { openStore } from ${JSON.stringify(built('server/store/open.js'))}; openStore({ file: ${JSON.stringify(file)} }).close()`,
      ])
    const ended = await Promise.allSettled([start(), start(), start()])
    expect(ended.filter(({ status }) => status === 'fulfilled').length).toBeGreaterThan(0)
    // SQLite blocks others while the first program closes; that gets a message and no partial upgrade
    for (const one of ended)
      if (one.status === 'rejected') expect(String(one.reason)).toContain('is held by another program')
    expect([schemaOf(file), differences()]).toEqual([
      knownSchema(),
      ['there is no head at ' + headFile + ': a tail that was cut off would not show'],
    ])
    expect(copies().length).toBeGreaterThan(0)
    expect(copies().map(schemaOf)).toEqual(copies().map(() => OLD.schema))
  })
})

describe('rollback', () => {
  it('puts the copy back, tells what was charted since, and the upgrade can be done again', () => {
    OLD.write(1, file)
    const was = contents(file)
    open()
    const store = openStore({ file, headFile })
    const people_ = store.staffByBadge(people.cora.badge)
    store.transact(() => {
      store.append([
        anEvent(
          'staff-locked',
          { staffId: people_?.staffId ?? '', reason: 'a test' },
          { wardId: null, stayId: null, happenedAtMs: Date.UTC(2026, 2, 12) },
        ),
      ])
      return null
    })
    store.close()
    const [copy = ''] = copies()
    const done = restoreBackup({ backupFile: copy, databaseFile: file, headFile, nowMs: Date.UTC(2026, 2, 13) })
    expect(done).toMatchObject({
      ok: true,
      value: {
        schema: OLD.schema,
        // the marker comes before the first row that this program adds
        difference: { kind: 'one-chain', more: 2, chartedFromMs: Date.UTC(2026, 2, 12) },
        tables: [],
        doses: [],
      },
    })
    expect(contents(file)).toEqual(was)
    expect(existsSync(copy)).toBe(true)
    // what was set aside is the upgraded one
    expect(schemaOf(join(folder, 'ward.sqlite.set-aside-20260313T000000000Z'))).toBe(knownSchema())
    open()
    expect([schemaOf(file), differences()]).toEqual([knownSchema(), []])
  })

  it('a backup whose record this program cannot apply is refused, and nothing is touched', () => {
    const backup = join(folder, 'old.sqlite')
    OLD.write(0, backup)
    const connection = connect(backup)
    ledgerOf(connection).append(
      anEvent('dose-given', {
        doseId: idOf('nobodys'),
        site: { area: 'thigh', side: 'left' },
        food: 'not-with-a-meal',
      }),
    )
    connection.raw.close()
    OLD.write(1, file)
    open()
    const was = contents(file)
    expect(restoreBackup({ backupFile: backup, databaseFile: file, headFile, nowMs: 0 })).toMatchObject({
      ok: false,
      reason: 'does-not-apply',
      details: { faults: expect.stringMatching(/nobodys/) as string },
    })
    expect(contents(file)).toEqual(was)
    expect(
      readdirSync(folder).filter(
        (name) => name.includes('.part') || name.includes('set-aside') || name.includes('upgraded'),
      ),
    ).toEqual([])
  })
})
