/** /healthz, the access log, and a clean stop. */
import { afterEach, describe, expect, it } from 'vitest'
import { z } from 'zod'
import { recordPatientRead } from '../../server/http/access-log.ts'
import { page } from '../../server/http/page.ts'
import { text } from '../../server/http/parameters.ts'
import { route, type Server } from '../../server/http/route.ts'
import type { Store } from '../../server/store/contract.ts'
import { html } from '../../views/html.ts'
import { ALDER, people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World, type WorldOptions } from '../support/world.ts'

let world: World | null = null
const open = async (options: WorldOptions = {}): Promise<World> => (world = await makeWorld(options))
afterEach(async () => {
  await world?.close()
  world = null
})

/** The store with some of its methods replaced. */
const over = (store: Store, change: Partial<Store>): Store => Object.assign(Object.create(store) as Store, change)

describe('/healthz', () => {
  it('says that the database answers and can be written', async () => {
    const got = await (await open()).visitor().get('/healthz')
    expect(got.status).toBe(200)
    expect(JSON.parse(got.text)).toEqual({
      status: 'well',
      database: { readable: true, writable: true },
      backup: 'off',
    })
  })

  it.each([[{ readable: true, writable: false }], [{ readable: false, writable: false }]])(
    'answers 503 when it is %j',
    async (health) => {
      const got = await (
        await open({ wrapStore: (store) => over(store, { probe: () => health }) })
      )
        .visitor()
        .get('/healthz')
      expect(got.status).toBe(503)
      expect(JSON.parse(got.text)).toEqual({ status: 'not well', database: health, backup: 'off' })
    },
  )

  it.each(['off', 'well', 'late', 'failing'] as const)(
    'reports backups as %s in one word; the status depends on the database alone',
    async (state) => {
      const status = () => ({
        state,
        newest: { atMs: 0, ageMs: 0 },
        kept: 7,
        failure: { atMs: 0, sentence: 'The disk of /srv/copies is full.' },
        sameDisk: true,
      })
      const got = await (await open({ backups: { status } })).visitor().get('/healthz')
      expect(got.status).toBe(200)
      expect(JSON.parse(got.text)).toEqual({
        status: 'well',
        database: { readable: true, writable: true },
        backup: state,
      })
    },
  )

  it('answers 503 when the database throws', async () => {
    const got = await (
      await open({
        wrapStore: (store) =>
          over(store, {
            probe: () => {
              throw new Error('gone')
            },
          }),
      })
    )
      .visitor()
      .get('/healthz')
    expect(got.status).toBe(503)
    expect(got.text).not.toContain('gone')
  })

  it('writes at most once a second, however often it is requested', async () => {
    let probes = 0
    const w = await open({
      wrapStore: (store) =>
        over(store, {
          probe: () => {
            probes++
            return { readable: true, writable: true }
          },
        }),
    })
    for (let time = 0; time < 20; time++) await w.visitor().get('/healthz')
    expect(probes).toBe(1)
    w.clock.advance(1)
    await w.visitor().get('/healthz')
    expect(probes).toBe(2)
  })
})

describe('the access log', () => {
  const register = (server: Server): void => {
    route(
      server,
      { method: 'GET', url: '/look/:stayId', roles: ['floor-nurse'], params: z.object({ stayId: text }) },
      (ctx) => {
        recordPatientRead(ctx, stays.ruth.stayId)
        return page(ctx, 200, { title: 'Look', body: html`<h1>Look</h1>` })
      },
    )
  }

  it('writes reads in one batch outside the request, and the rest at stop', async () => {
    const batches: Parameters<Store['logAccess']>[0][] = []
    const w = await open({
      register,
      wrapStore: (store) =>
        over(store, {
          logAccess: (entries) => {
            batches.push(entries)
          },
        }),
    })
    const client = await w.signIn(people.nora)
    for (let time = 0; time < 3; time++) await client.get('/look/x')
    expect(batches).toEqual([])
    await w.server.app.close()
    expect(batches).toHaveLength(1)
    expect(batches[0]).toHaveLength(3)
    expect(batches[0]?.[0]).toMatchObject({
      atMs: w.clock.now(),
      staffId: people.nora.staffId,
      stayId: stays.ruth.stayId,
      wardId: ALDER,
      page: '/look/:stayId',
    })
  })

  it('keeps rows that could not be written and writes them next time', async () => {
    let fails = true
    const written: unknown[] = []
    const w = await open({
      register,
      wrapStore: (store) =>
        over(store, {
          logAccess: (entries) => {
            if (fails) throw new Error('full')
            written.push(...entries)
          },
        }),
    })
    const client = await w.signIn(people.nora)
    await client.get('/look/x')
    expect(() => {
      w.server.appContext.accessLog.flush()
    }).toThrow('full')
    fails = false
    await client.get('/look/x')
    w.server.appContext.accessLog.flush()
    expect(written).toHaveLength(2)
  })

  it('is written to the real store too', async () => {
    const w = await open({ register })
    const client = await w.signIn(people.nora)
    await client.get('/look/x')
    expect(() => {
      w.server.appContext.accessLog.flush()
    }).not.toThrow()
  })
})
