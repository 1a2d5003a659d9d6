/**
 * The store refuses writes while the service runs. The form comes back with a message and the same unused key,
 * nothing is half saved, reading works, and the form sent again charts once.
 */
import Database from 'better-sqlite3'
import { isDeepStrictEqual } from 'node:util'
import { afterEach, describe, expect, it, vi } from 'vitest'
import { routeTable } from '../../server/http/route.ts'
import { storeFailureOf } from '../../server/http/store-failures.ts'
import { NOT_SIGNED_IN_SENTENCES, STORE_SENTENCES, type StoreFailure } from '../../views/words/http.ts'
import { ALL, DATE, dose, proposeDose, takeReading } from '../support/bedside.ts'
import type { Client, Got } from '../support/client.ts'
import { checkHtml, errorOf, formTo } from '../support/html.ts'
import { people } from '../support/people.ts'
import { lots, meters, stays } from '../support/wards.ts'
import { makeWorld, type World, type WorldOptions } from '../support/world.ts'

let world: World | null = null
afterEach(async () => {
  vi.restoreAllMocks()
  await world?.close()
  world = null
})

/** A world and its own connection to the database. */
async function open(options: WorldOptions = {}): Promise<{ readonly w: World; readonly raw: Database.Database }> {
  const pragma = vi.spyOn(Database.prototype, 'pragma')
  const w = (world = await makeWorld(options))
  const raw = pragma.mock.contexts[0] as Database.Database
  pragma.mockRestore()
  return { w, raw }
}

/** A world whose transactions fail with a code of SQLite while one is set. */
async function openFailing(): Promise<{ readonly w: World; readonly failWith: (code: string | null) => void }> {
  let code: string | null = null
  const changes = (): unknown => opened?.raw.prepare('SELECT total_changes() AS made').get()
  let opened: Awaited<ReturnType<typeof open>> | null = null
  opened = await open({
    wrapStore: (store) =>
      Object.assign(Object.create(store) as typeof store, {
        transact: (work: () => never) =>
          store.transact(() => {
            const before = changes()
            const result = work()
            // fails at the end, and only with something to write, as a commit on a full disk does
            if (code !== null && !isDeepStrictEqual(before, changes())) throw new Database.SqliteError('it is so', code)
            return result
          }),
      }),
  })
  const { w } = opened
  return {
    w,
    failWith: (next) => {
      code = next
    },
  }
}

const KEY = `${stays.ruth.stayId}.${DATE}.before-breakfast`
const rows = (w: World): number => w.store.stayFacts(ALL, stays.ruth.stayId, w.clock.now())?.readings.length ?? -1

/** The check's form after the wristband step, filled in. */
async function filledCheck(client: Client): Promise<Readonly<Record<string, string>>> {
  const confirmed = await client.postRaw(`/checks/${KEY}/patient`, { wristband: stays.ruth.wristband })
  return {
    ...formTo(confirmed.root(), `/checks/${KEY}`)?.fields,
    glucose: '212',
    meterId: meters.alder.meterId,
    stripLot: lots.good,
  }
}

const CODES: readonly (readonly [code: string, failure: StoreFailure])[] = [
  ['SQLITE_FULL', 'full'],
  ['SQLITE_IOERR_SHMSIZE', 'full'],
  ['SQLITE_READONLY', 'read-only'],
  ['SQLITE_READONLY_DBMOVED', 'read-only'],
  ['SQLITE_READONLY_DIRECTORY', 'read-only'],
  ['SQLITE_IOERR', 'failing'],
  ['SQLITE_IOERR_WRITE', 'failing'],
  ['SQLITE_IOERR_FSYNC', 'failing'],
  ['SQLITE_CANTOPEN', 'failing'],
  ['SQLITE_CORRUPT', 'damaged'],
  ['SQLITE_CORRUPT_INDEX', 'damaged'],
  ['SQLITE_NOTADB', 'damaged'],
  ['SQLITE_BUSY', 'busy'],
  ['SQLITE_BUSY_SNAPSHOT', 'busy'],
]

async function expectBack(
  got: Got,
  failure: StoreFailure,
  form: string,
  sent: Readonly<Record<string, string>>,
  secrets: readonly string[] = [],
): Promise<void> {
  expect(got.status).toBe(503)
  expect(got.headers['ward-form']).toBe('kept')
  expect(got.words()).toContain(STORE_SENTENCES[failure])
  expect(await checkHtml(got.text)).toEqual([])
  const back = formTo(got.root(), form)?.fields ?? {}
  for (const [name, value] of Object.entries(sent))
    expect([name, back[name]]).toEqual([
      name,
      secrets.includes(name) ? '' : name === 'takenAt' ? '2026-03-10 07:20:00' : value,
    ])
}

describe('a posted form', () => {
  it.each(CODES)('%s: comes back filled in with its key, and charts once when sent again', async (code, failure) => {
    const { w, failWith } = await openFailing()
    const nora = await w.signIn(people.nora)
    const sent = await filledCheck(nora)
    const before = w.store.lastEventAtMs()
    failWith(code)
    for (const headers of [{}, { 'hx-request': 'true', 'hx-boosted': 'true' }]) {
      const got = await nora.postRaw(`/checks/${KEY}`, sent, { headers })
      await expectBack(got, failure, `/checks/${KEY}`, sent)
      expect(got.headers['hx-retarget']).toBe('hx-request' in headers ? '#page' : undefined)
    }
    expect([rows(w), w.store.lastEventAtMs()]).toEqual([0, before])
    failWith(null)
    const first = await nora.postRaw(`/checks/${KEY}`, sent)
    const second = await nora.postRaw(`/checks/${KEY}`, sent)
    expect([first.status, second.status, second.location, rows(w)]).toEqual([303, 303, first.location, 1])
  })

  it('does not return the PIN, and asks for it again', async () => {
    const { w, failWith } = await openFailing()
    const nora = await w.signIn(people.nora)
    const doseId = await proposeDose(nora, await takeReading(nora, stays.ruth, '212'))
    const path = `/doses/${doseId}/second-check`
    const sent = {
      glucose: '212',
      units: '4',
      badge: people.omar.badge,
      pin: people.omar.pin,
      key: (await nora.keyOf(path)) ?? '',
    }
    failWith('SQLITE_FULL')
    const got = await nora.postRaw(path, sent)
    await expectBack(got, 'full', path, sent, ['pin'])
    expect(got.text).not.toContain(people.omar.pin)
    expect(got.words()).toContain('A PIN has to be typed again.')
    expect(dose(w.store, doseId).answers).toEqual([])
    failWith(null)
    expect((await nora.postRaw(path, sent)).status).toBe(303)
    expect(dose(w.store, doseId).answers).toHaveLength(1)
  })

  it('reports other faults as a server error', async () => {
    const { w, failWith } = await openFailing()
    const nora = await w.signIn(people.nora)
    const sent = await filledCheck(nora)
    failWith('SQLITE_CONSTRAINT_CHECK')
    const got = await nora.postRaw(`/checks/${KEY}`, sent)
    expect([got.status, got.headers['ward-form']]).toEqual([500, undefined])
    expect([
      storeFailureOf(new Error('x')),
      storeFailureOf('SQLITE_FULL'),
      storeFailureOf(Object.assign(new Error('x'), { code: 'SQLITE_FULLNESS' })),
    ]).toEqual([null, null, null])
  })

  it('reports a wrong wristband although it cannot be saved', async () => {
    const { w, failWith } = await openFailing()
    const nora = await w.signIn(people.nora)
    const sent = await filledCheck(nora)
    const words: string[] = []
    for (const code of [null, 'SQLITE_FULL']) {
      failWith(code)
      const confirmed = await nora.postRaw(`/checks/${KEY}/patient`, { wristband: stays.tomas.wristband })
      const charted = await nora.postRaw(`/checks/${KEY}`, {
        ...sent,
        wristband: stays.tomas.wristband,
        glucose: code === null ? '210' : '211',
      })
      expect([confirmed.status, charted.status]).toEqual([409, 409])
      words.push(`${confirmed.words()} ${charted.words().replace('211', '210')}`)
    }
    expect(words[1]).toBe(words[0])
    const kept = w.store.nearMisses(ALL, { wardIds: ALL.wardIds, fromMs: 0, toMs: Number.MAX_SAFE_INTEGER })
    expect(kept).toHaveLength(2)
  })
})

describe('an empty time field', () => {
  const newest = (w: World): number | undefined =>
    w.store.stayFacts(ALL, stays.ruth.stayId, w.clock.now())?.readings[0]?.takenAtMs

  it('uses the time of the first attempt: a delayed value keeps its age', async () => {
    const { w, failWith } = await openFailing()
    const nora = await w.signIn(people.nora)
    const sent = await filledCheck(nora)
    const takenAtMs = w.clock.now()
    failWith('SQLITE_FULL')
    let form = formTo((await nora.postRaw(`/checks/${KEY}`, sent)).root(), `/checks/${KEY}`)?.fields ?? {}
    for (const _again of [1, 2, 3]) {
      w.clock.advance(9)
      form = formTo((await nora.postRaw(`/checks/${KEY}`, form)).root(), `/checks/${KEY}`)?.fields ?? {}
    }
    failWith(null)
    // charted long after it was taken, it needs a reason like any late entry
    expect(errorOf((await nora.postRaw(`/checks/${KEY}`, form)).root(), 'lateReason')).not.toBeNull()
    expect((await nora.postRaw(`/checks/${KEY}`, { ...form, lateReason: 'system-unavailable' })).status).toBe(303)
    expect(newest(w)).toBe(takenAtMs)
  })

  it('uses the time of the first attempt also when the login ended', async () => {
    const { w } = await open()
    const nora = await w.signIn(people.nora)
    const sent = await filledCheck(nora)
    w.clock.advance(11)
    const sentAtMs = w.clock.now()
    const ended = await nora.postRaw(`/checks/${KEY}`, sent)
    w.clock.advance(20)
    const again = await w.signIn(people.nora)
    const back =
      formTo(
        (
          await again.get(`/checks/${KEY}?${new URL(ended.location ?? '', 'http://ward.test').searchParams.toString()}`)
        ).root(),
        `/checks/${KEY}`,
      )?.fields ?? {}
    expect((await again.postRaw(`/checks/${KEY}`, { ...back, lateReason: 'other' })).status).toBe(303)
    expect(newest(w)).toBe(sentAtMs)
  })

  it('uses it for a low’s treatment: the recheck time does not move', async () => {
    const { w, failWith } = await openFailing()
    const nora = await w.signIn(people.nora)
    await takeReading(nora, stays.tomas, '52')
    const lowOf = () => w.store.stayFacts(ALL, stays.tomas.stayId, w.clock.now())?.lows[0]
    const path = `/lows/${lowOf()?.lowId ?? ''}/treatments`
    expect(
      (
        await nora.post(
          path.replace('treatments', 'answers'),
          { swallowing: 'safely', iv: 'none' },
          { from: path.replace('/treatments', '') },
        )
      ).status,
    ).toBe(303)
    w.clock.advance(1)
    const given = formTo((await nora.get(path.replace('/treatments', ''))).root(), path)?.fields ?? {}
    const givenAtMs = w.clock.now()
    failWith('SQLITE_FULL')
    const back = formTo((await nora.postRaw(path, given)).root(), path)?.fields ?? {}
    w.clock.advance(8)
    failWith(null)
    expect((await nora.postRaw(path, { ...back, what: 'glucose 20 g' })).status).toBe(303)
    expect(lowOf()?.treatments.map(({ atMs }) => atMs)).toEqual([givenAtMs])
  })
})

describe('sign-in and sign-out', () => {
  it.each(CODES)('%s: says that sign-in is not possible, keeps the badge and no PIN', async (code, failure) => {
    const { w, failWith } = await openFailing()
    failWith(code)
    const visitor = w.visitor()
    const got = await visitor.postRaw('/sign-in', { badge: people.nora.badge, pin: people.nora.pin })
    expect([got.status, got.headers['ward-form'], got.headers['set-cookie']]).toEqual([503, 'kept', undefined])
    expect(got.words()).toContain(NOT_SIGNED_IN_SENTENCES[failure])
    expect(formTo(got.root(), '/sign-in')?.fields).toMatchObject({ badge: people.nora.badge, pin: '' })
    expect((await visitor.get('/round')).location).toMatch(/^\/sign-in/)
    failWith(null)
    expect((await visitor.postRaw('/sign-in', { badge: people.nora.badge, pin: people.nora.pin })).status).toBe(303)
  })

  it('ends the login although its row cannot be deleted', async () => {
    const { w, raw } = await open()
    const nora = await w.signIn(people.nora)
    const held = new Map(nora.cookies)
    raw.pragma('query_only = ON')
    expect((await nora.postRaw('/sign-out', {})).location).toBe('/sign-in')
    for (const [name, value] of held) nora.cookies.set(name, value)
    expect((await nora.get('/round')).location).toMatch(/^\/sign-in/)
    raw.pragma('query_only = OFF')
  })
})

describe('a read-only database', () => {
  it('opens every page for every role, and /healthz says that it cannot write', async () => {
    const { w, raw } = await open()
    const nora = await w.signIn(people.nora)
    const readingId = await takeReading(nora, stays.ruth, '212')
    const doseId = await proposeDose(nora, readingId)
    await takeReading(nora, stays.tomas, '52')
    const lowId = w.store.stayFacts(ALL, stays.tomas.stayId, w.clock.now())?.lows[0]?.lowId ?? ''
    const known: Readonly<Record<string, string>> = {
      ':key': KEY,
      ':stayId': stays.ruth.stayId,
      ':id': readingId,
      ':lowId': lowId,
      ':orderId': stays.ruth.orderId,
      ':version': '1',
      ':bed': '7',
      ':wardId': stays.ruth.wardId,
      ':staffId': people.omar.staffId,
      ':meterId': meters.alder.meterId,
      ':part': 'checks',
      ':slot': '21:00',
      ':changeId': 'none',
      ':itemId': 'none',
      ':file': 'none',
    }
    const paths = routeTable(w.server)
      .filter(({ method, url }) => method === 'GET' && url !== '/board/stream' && url !== '/healthz')
      .map(({ url }) => (url.startsWith('/doses/') ? url.replace(':id', doseId) : url))
      .map((url) => url.replaceAll(/:[A-Za-z]+/g, (name) => known[name] ?? 'none'))
    const clients = await Promise.all(
      [people.nora, people.cora, people.edda, people.anna].map((person) => w.signIn(person)),
    )
    const statuses = async (): Promise<readonly string[]> => {
      const found: string[] = []
      for (const [at, client] of clients.entries())
        for (const path of paths) found.push(`${String(at)} ${path} ${String((await client.get(path)).status)}`)
      return found
    }
    const before = await statuses()
    expect(before.filter((line) => line.endsWith(' 200')).length).toBeGreaterThan(100)
    raw.pragma('query_only = ON')
    expect(await statuses()).toEqual(before)
    w.clock.advance(1)
    const health = await w.visitor().get('/healthz')
    expect([health.status, JSON.parse(health.text).database]).toEqual([503, { readable: true, writable: false }])
    expect((await nora.postRaw(`/checks/${stays.maud.stayId}.${DATE}.x/excuse`, {})).status).not.toBe(303)
    raw.pragma('query_only = OFF')
    w.clock.advance(1)
    expect((await w.visitor().get('/healthz')).status).toBe(200)
  })

  it('shows what was typed when a login ended, and says when it could not be saved', async () => {
    const { w, raw } = await open()
    const nora = await w.signIn(people.nora)
    const sent = await filledCheck(nora)
    w.clock.advance(11)
    const ended = await nora.postRaw(`/checks/${KEY}`, sent)
    const draft = new URL(ended.location ?? '', 'http://ward.test').searchParams.get('draft') ?? ''
    const again = await w.signIn(people.nora)
    const other = await w.signIn(people.omar)
    raw.pragma('query_only = ON')
    for (const _reload of [1, 2])
      expect(
        formTo((await again.get(`/checks/${KEY}?draft=${draft}`)).root(), `/checks/${KEY}`)?.fields['glucose'],
      ).toBe('212')
    // as a value of its own: keys and the names of assets hold any digits
    expect((await other.get(`/checks/${KEY}?draft=${draft}`)).text).not.toMatch(/\b212\b/)
    w.clock.advance(11)
    const lost = await again.postRaw(`/checks/${KEY}`, sent)
    expect([lost.status, lost.headers['ward-form']]).toEqual([503, undefined])
    expect(lost.words()).toContain('can be read but not written. Nothing was saved. Go back to what you typed')
    raw.pragma('query_only = OFF')
  })
})
