/** /metrics: absent unless a token is set, for requests with the token only, and without patients or people. */
import { afterEach, describe, expect, it } from 'vitest'
import { routeTable } from '../../server/http/route.ts'
import type { Services } from '../../server/http/services.ts'
import type { Store } from '../../server/store/contract.ts'
import { BoardStream } from '../support/board-stream.ts'
import { proposeDose, takeReading } from '../support/bedside.ts'
import { ALDER, people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World, type WorldOptions } from '../support/world.ts'

const TOKEN = 'figures-for-nobody-else'
let world: World
afterEach(() => world.close())
const open = async (options: WorldOptions = {}): Promise<World> =>
  (world = await makeWorld({ ...options, config: { metricsToken: TOKEN, ...options.config } }))
const collect = (token: string | null = TOKEN) =>
  world.visitor().get('/metrics', token === null ? {} : { headers: { authorization: `Bearer ${token}` } })

type Sample = { readonly name: string; readonly labels: Readonly<Record<string, string>>; readonly value: number }

/** Reads the text format 0.0.4: each line has a name, labels and a value; HELP and TYPE come first. */
function samples(text: string): readonly Sample[] {
  expect(text.endsWith('\n')).toBe(true)
  const typed = new Set<string>()
  return text.split('\n').flatMap((line): readonly Sample[] => {
    const type = /^# TYPE (\S+) (counter|gauge|histogram)$/.exec(line)
    if (type?.[1] !== undefined) typed.add(type[1])
    if (line === '' || line.startsWith('# ')) return []
    const [, name = '', labels = '', value = ''] = /^([a-z0-9_]+)(?:\{(.*)\})? (\S+)$/.exec(line) ?? []
    expect(name, line).not.toBe('')
    expect(typed.has(name) || typed.has(name.replace(/_(bucket|sum|count)$/, '')), line).toBe(true)
    return [
      {
        name,
        labels: Object.fromEntries(
          [...labels.matchAll(/([a-z]+)="([^"]*)"/g)].map(([, key = '', of = '']) => [key, of]),
        ),
        value: Number(value),
      },
    ]
  })
}
const figures = async (): Promise<readonly Sample[]> => samples((await collect()).text)
const valueOf = (
  all: readonly Sample[],
  name: string,
  labels: Readonly<Record<string, string>> = {},
): number | undefined =>
  all.find((one) => one.name === name && Object.entries(labels).every(([key, of]) => one.labels[key] === of))?.value

describe('without a token', () => {
  it('answers 404, counts nothing and changes no response', async () => {
    world = await makeWorld()
    expect((await collect()).status).toBe(404)
    expect(routeTable(world.server).some(({ url }) => url === '/metrics')).toBe(false)
    expect(world.server.appContext.metrics).toBeNull()
  })
})

describe('collector', () => {
  it('gets figures for the whole token, otherwise 401', async () => {
    await open()
    const got = await collect()
    expect([got.status, got.headers['content-type'], got.headers['cache-control']]).toEqual([
      200,
      'text/plain; version=0.0.4; charset=utf-8',
      'no-store',
    ])
    for (const token of [null, '', TOKEN.slice(0, -1), `${TOKEN}x`, TOKEN.toUpperCase(), ` ${TOKEN}`]) {
      const refused = await collect(token)
      expect([refused.status, refused.headers['www-authenticate'], refused.text.includes('ward_')]).toEqual([
        401,
        'Bearer',
        false,
      ])
    }
    for (const headers of [
      { authorization: TOKEN },
      { authorization: `Basic ${TOKEN}` },
      { authorization: `bearer ${TOKEN}` },
    ])
      expect((await world.visitor().get('/metrics', { headers })).status).toBe(401)
    // an administrator's login does not help, nor does the token in the URL
    expect((await (await world.signIn(people.anna)).get(`/metrics?token=${TOKEN}`)).status).toBe(401)
    expect((await world.visitor().postRaw('/metrics', {})).status).toBe(404)
  })

  it('separates two services in one process', async () => {
    await open()
    const other = await makeWorld({ config: { metricsToken: TOKEN } })
    for (let time = 0; time < 3; time++) await other.visitor().get('/sign-in')
    expect(valueOf(await figures(), 'ward_http_answer_duration_seconds_count', { route: '/sign-in' })).toBeUndefined()
    await other.close()
  })
})

describe('what is counted', () => {
  it('responses by pattern, method and status class, with their times', async () => {
    await open()
    const nora = await world.signIn(people.nora)
    for (let time = 0; time < 3; time++) await nora.get(`/stays/${stays.ruth.stayId}`)
    await nora.get('/stays/nobodys000000000')
    await nora.get('/no-such-page')
    const all = await figures()
    const count = (labels: Readonly<Record<string, string>>) =>
      valueOf(all, 'ward_http_answer_duration_seconds_count', labels)
    expect(count({ route: '/stays/:stayId', method: 'GET', status: '2xx' })).toBe(3)
    expect(count({ route: '/stays/:stayId', method: 'GET', status: '4xx' })).toBe(1)
    expect(count({ route: 'none', method: 'GET', status: '4xx' })).toBe(1)
    expect(count({ route: '/sign-in', method: 'POST', status: '3xx' })).toBe(1)
    expect(
      valueOf(all, 'ward_http_answer_duration_seconds_bucket', { route: '/stays/:stayId', status: '2xx', le: '+Inf' }),
    ).toBe(3)
    expect(
      valueOf(all, 'ward_http_answer_duration_seconds_sum', { route: '/stays/:stayId', status: '2xx' }),
    ).toBeGreaterThan(0)
  })

  it('refusals by reason, failed badges and PINs, rows of the record', async () => {
    await open()
    const nora = await world.signIn(people.nora)
    const before = await figures()
    const reading = await takeReading(nora, stays.ruth, '215')
    const dose = await proposeDose(nora, reading)
    await nora.post(`/doses/${dose}/second-check`, {
      glucose: '215',
      units: '4',
      badge: people.omar.badge,
      pin: '000001',
    })
    await world.visitor().postRaw('/sign-in', { badge: 'N0000', pin: '860153' })
    const after = await figures()
    expect(valueOf(after, 'ward_identify_failures_total', { reason: 'identify-wrong' })).toBe(2)
    expect(valueOf(after, 'ward_form_refusals_total', { reason: 'identify-wrong' })).toBe(1)
    const rows = (all: readonly Sample[]): number => valueOf(all, 'ward_ledger_rows_total') ?? Number.NaN
    expect(rows(after) - rows(before)).toBeGreaterThanOrEqual(2)
    expect(rows(after)).toBe(world.store.recordFacts().head.count)
  })

  it('a database that cannot be written, by cause, on pages and in forms', async () => {
    let fails: 'nothing' | 'stayFacts' | 'append' = 'nothing'
    const unless = (name: 'stayFacts' | 'append'): void => {
      if (fails === name)
        throw Object.assign(new Error('it failed'), { code: name === 'append' ? 'SQLITE_FULL' : 'SQLITE_BUSY' })
    }
    await open({
      wrapStore: (store) =>
        Object.assign(Object.create(store) as Store, {
          stayFacts: (...asked: Parameters<Store['stayFacts']>) => {
            unless('stayFacts')
            return store.stayFacts(...asked)
          },
          append: (...given: Parameters<Store['append']>) => {
            unless('append')
            store.append(...given)
          },
        }),
    })
    const nora = await world.signIn(people.nora)
    const path = `/stays/${stays.tomas.stayId}/discharge`
    const key = (await nora.keyOf(path)) ?? ''
    fails = 'stayFacts'
    expect((await nora.get(`/stays/${stays.tomas.stayId}`)).status).toBe(503)
    fails = 'append'
    expect((await nora.postRaw(path, { at: '07:10', key })).status).toBe(503)
    fails = 'nothing'
    const all = await figures()
    expect([
      valueOf(all, 'ward_database_failures_total', { failure: 'busy' }),
      valueOf(all, 'ward_database_failures_total', { failure: 'full' }),
    ]).toEqual([1, 1])
  })

  it('open boards', async () => {
    await open()
    const nora = await world.signIn(people.nora)
    const address = await world.server.app.listen({ host: '127.0.0.1', port: 0 })
    expect(valueOf(await figures(), 'ward_open_streams')).toBe(0)
    const board = await BoardStream.open(address, nora.cookies)
    expect(valueOf(await figures(), 'ward_open_streams')).toBe(1)
    // their duration is not a response time
    board.close()
    await expect.poll(async () => valueOf(await figures(), 'ward_open_streams')).toBe(0)
    expect((await figures()).some(({ labels }) => labels['route'] === '/board/stream')).toBe(false)
  })

  it('process and event loop', async () => {
    await open()
    const all = await figures()
    for (const name of [
      'process_resident_memory_bytes',
      'nodejs_heap_size_used_bytes',
      'nodejs_external_memory_bytes',
      'process_cpu_seconds_total',
    ])
      expect(valueOf(all, name), name).toBeGreaterThan(0)
    for (const part of ['p50', 'p99', 'max'])
      expect(valueOf(all, `nodejs_eventloop_lag_${part}_seconds`)).toBeGreaterThanOrEqual(0)
    const startedS = valueOf(all, 'process_start_time_seconds') ?? 0
    expect(Math.abs(Date.now() / 1000 - process.uptime() - startedS)).toBeLessThan(60)
  })

  it('measures a blocked event loop', async () => {
    await open()
    await collect()
    await new Promise((resolve) => setTimeout(resolve, 60))
    const until = performance.now() + 300
    while (performance.now() < until) {
      /* blocked */
    }
    await new Promise((resolve) => setTimeout(resolve, 60))
    expect(valueOf(await figures(), 'nodejs_eventloop_lag_max_seconds')).toBeGreaterThan(0.2)
  })

  it('the age of the newest backup and whether the last failed; no age when unknown', async () => {
    const { Metrics } = await import('../../server/http/metrics.ts')
    world = await makeWorld()
    let status: ReturnType<NonNullable<Services['backups']>['status']> = {
      state: 'off',
      newest: null,
      kept: 0,
      failure: null,
      sameDisk: null,
    }
    const metrics = new Metrics({ ...world.services, backups: { status: () => status } })
    expect(valueOf(samples(await metrics.text()), 'ward_backup_age_seconds')).toBeUndefined()
    status = { ...status, state: 'failing', newest: { atMs: 1, ageMs: 90_000 } }
    const all = samples(await metrics.text())
    expect([valueOf(all, 'ward_backup_age_seconds'), valueOf(all, 'ward_backup_failing')]).toEqual([90, 1])
    status = { ...status, state: 'late', newest: null }
    const later = samples(await metrics.text())
    expect([valueOf(later, 'ward_backup_age_seconds'), valueOf(later, 'ward_backup_failing')]).toEqual([undefined, 0])
  })
})

describe('no patient or person', () => {
  it('is in any figure, and the set of labels is finite, whatever is requested', async () => {
    await open()
    const { ruth } = stays
    for (const who of [people.nora, people.cora, people.edda, people.anna]) {
      const client = await world.signIn(who)
      for (const { method, url } of routeTable(world.server)) {
        const path = `${url.replace(/:\w+/g, ruth.stayId)}?name=Ashby`
        if (method === 'GET') await client.get(path)
        else await client.postRaw(path, { wristband: ruth.wristband, badge: 'N4077', pin: '860153' })
      }
    }
    for (let time = 0; time < 50; time++) await world.visitor().get(`/nowhere/${String(time)}/Ashby`)
    await world.server.app.inject({ method: 'OPTIONS', url: '/Ashby' })
    const { text } = await collect()
    for (const mark of [
      'Ashby',
      'Ruth',
      ruth.wristband,
      ruth.stayId,
      ALDER,
      'Alder',
      people.nora.staffId,
      people.nora.badge,
      'N4077',
      '860153',
      'nowhere',
    ])
      expect([mark, text.includes(mark)]).toEqual([mark, false])
    const patterns = new Set(['none', ...routeTable(world.server).map(({ url }) => url)])
    // what the library says of the process and its event loop: kinds of things, never one of them
    const ofProcess = new Set(['type', 'space', 'kind', 'version', 'major', 'minor', 'patch', 'le'])
    for (const { name, labels } of samples(text)) {
      for (const [key, of] of Object.entries(labels)) {
        if (/^(process|nodejs)_/.test(name))
          expect([ofProcess.has(key), of]).toEqual([true, expect.stringMatching(/^[\w.+-]+$/)])
        else if (key === 'route') expect(patterns.has(of), of).toBe(true)
        else if (key === 'method') expect(['GET', 'POST', 'HEAD', 'other']).toContain(of)
        else if (key === 'status') expect(of).toMatch(/^[1-5]xx$/)
        else if (key === 'reason' || key === 'failure' || key === 'kind') expect(of).toMatch(/^[a-z0-9-]+$/)
        else expect(key).toBe('le')
      }
    }
  })
})
