/**
 * /setup/service: what an administrator reads about the database, the head file and the backups, and that others
 * cannot open it.
 */
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { BackupStatus } from '../../server/backup/schedule.ts'
import type { Store } from '../../server/store/contract.ts'
import { NOT_WELL, type NotWell } from '../../views/words/service.ts'
import { people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { alderTime, makeWorld, type World, type WorldOptions } from '../support/world.ts'

let folder: string
let world: World | null
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-service-'))
  world = null
})
afterEach(async () => {
  await world?.close()
  rmSync(folder, { recursive: true })
})

const AT = '2026-03-10T07:20'
const status = (over: Partial<BackupStatus> = {}): BackupStatus => ({
  state: 'well',
  newest: { atMs: alderTime('2026-03-10T06:55'), ageMs: 25 * 60_000 },
  kept: 12,
  failure: null,
  sameDisk: false,
  ...over,
})
/** A ward with a database file, a backup and the head file beside it. */
const open = async (options: WorldOptions = {}): Promise<World> => {
  const [file, headFile] = [join(folder, 'ward.sqlite'), join(folder, 'head.json')]
  return (world = await makeWorld({
    at: AT,
    file,
    headFile,
    backups: { status: () => status() },
    ...options,
    config: { headFile, backupFolder: '/srv/copies', backupEveryMin: 30, backupKeep: 12, ...options.config },
  }))
}
const page = async (options: WorldOptions = {}): Promise<string> => {
  const client = await (await open(options)).signIn(people.anna)
  // the head is written a second after an entry
  await expect.poll(() => existsSync(join(folder, 'head.json'))).toBe(true)
  return (await client.get('/setup/service')).words()
}
const over = (store: Store, change: Partial<Store>): Store => Object.assign(Object.create(store) as Store, change)
const warned = (words: string): readonly string[] =>
  Object.entries(NOT_WELL)
    .filter(([, sentence]) => words.includes(sentence))
    .map(([reason]) => reason)
    .filter((reason) => reason !== 'little-room')

describe('/setup/service', () => {
  it('shows figures, head and backups, and no patient', async () => {
    const words = await page()
    const { store } = world as World
    const { head, schema } = store.recordFacts()
    expect(words).toMatch(/Reads and writes/)
    expect(words).toMatch(/Size \d+\.\d MB/)
    expect(words).toMatch(/Free on its disk \d+\.\d [GM]B/)
    expect(words).toContain(`Schema ${String(schema)}`)
    expect(words).toContain(`${String(head.count)} rows, the last with the hash ${head.hash}`)
    expect(words).toContain('/srv/copies')
    expect(words).toContain('every 30 min; the newest 12 are kept')
    expect(words).toContain('06:55, 25 min ago')
    expect(words).toContain('Kept now 12')
    for (const { familyName, wristband } of Object.values(stays))
      for (const secret of [familyName, wristband]) expect(words).not.toContain(secret)
  })

  it('is linked from Setup and open for administrators only', async () => {
    const w = await open()
    expect((await (await w.signIn(people.anna)).get('/setup')).text).toContain('href="/setup/service"')
    for (const person of [people.nora, people.cora, people.edda]) {
      const client = await w.signIn(person)
      expect((await client.get('/setup/service')).status).toBe(403)
      expect((await client.get('/setup')).text).not.toContain('/setup/service')
    }
    expect((await w.visitor().get('/setup/service')).location).toMatch(/^\/sign-in/)
    expect((await (await w.signIn(people.anna)).postRaw('/setup/service', {})).status).toBe(404)
  })

  it.each<readonly [string, readonly NotWell[], WorldOptions]>([
    [
      'no folder for backups',
      ['backups-off'],
      {
        backups: { status: () => status({ state: 'off', newest: null, kept: 0, sameDisk: null }) },
        config: { backupFolder: null },
      },
    ],
    ['backups that are late', ['backups-late'], { backups: { status: () => status({ state: 'late' }) } }],
    ['backups on the same disk', ['backups-same-disk'], { backups: { status: () => status({ sameDisk: true }) } }],
    [
      'backups that fail',
      ['backups-failing'],
      {
        backups: {
          status: () =>
            status({
              state: 'failing',
              failure: { atMs: alderTime('2026-03-10T07:10'), sentence: 'The disk of /srv/copies is full. <b>' },
            }),
        },
      },
    ],
    [
      'a database that cannot be written',
      ['not-writable'],
      { wrapStore: (store) => over(store, { probe: () => ({ readable: true, writable: false }) }) },
    ],
    [
      'a database that cannot be read',
      ['not-readable'],
      { wrapStore: (store) => over(store, { probe: () => ({ readable: false, writable: false }) }) },
    ],
    [
      'a head that cannot be written',
      ['head-failing'],
      { wrapStore: (store) => over(store, { recordFacts: () => ({ ...store.recordFacts(), headFailing: true }) }) },
    ],
  ])('warns of %s and says what to do', async (_name, reasons, options) => {
    // head and database are on one disk in this test
    expect(warned(await page(options))).toEqual(
      [...new Set<string>(['head-same-disk', ...reasons])].sort(
        (a, b) => Object.keys(NOT_WELL).indexOf(a) - Object.keys(NOT_WELL).indexOf(b),
      ),
    )
  })

  it('shows when and why a backup failed, as text', async () => {
    const words = await page({
      backups: {
        status: () =>
          status({
            state: 'failing',
            failure: { atMs: alderTime('2026-03-10T07:10'), sentence: 'The disk of /srv/copies is full. <b>' },
          }),
      },
    })
    expect(words).toContain('Failed 07:10 The disk of /srv/copies is full. <b>')
  })

  it('warns when the head is missing or unreadable', async () => {
    const w = await open()
    const client = await w.signIn(people.anna)
    await expect.poll(() => existsSync(join(folder, 'head.json'))).toBe(true)
    rmSync(join(folder, 'head.json'))
    expect(warned((await client.get('/setup/service')).words())).toContain('head-missing')
    writeFileSync(join(folder, 'head.json'), 'half')
    expect(warned((await client.get('/setup/service')).words())).toContain('head-missing')
  })

  it('shows what is known of an in-memory database', async () => {
    world = await makeWorld({ at: AT })
    const words = (await (await world.signIn(people.anna)).get('/setup/service')).words()
    expect(words).toContain('Size not known')
    expect(warned(words)).toEqual(['head-not-kept', 'backups-off'])
  })
})
