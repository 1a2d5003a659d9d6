/** Rules for every route: roles, origin, headers, caching, and error pages without detail. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { Role } from '../../shared/ledger/events.ts'
import { routeTable } from '../../server/http/route.ts'
import type { RouteSpec } from '../../server/http/route-spec.ts'
import { attr, byTag, checkHtml } from '../support/html.ts'
import { people, type Person } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
beforeEach(async () => {
  world = await makeWorld({ demo: true })
})
afterEach(() => world.close())

const ONE_OF: Readonly<Record<Role, Person>> = {
  'floor-nurse': people.nora,
  'charge-nurse': people.cora,
  educator: people.edda,
  administrator: people.anna,
}
const ROLES = Object.keys(ONE_OF) as Role[]

/** The route's path with an unknown id in each parameter. */
const filled = (spec: RouteSpec): string => spec.url.replace(/:\w+/g, 'nobodys000000000')
const ask = (client: ReturnType<World['visitor']>, spec: RouteSpec) =>
  spec.method === 'GET' ? client.get(filled(spec)) : client.postRaw(filled(spec), {})

describe('roles', () => {
  it('lists every route with its roles in the table', () => {
    const table = routeTable(world.server)
    expect(table.length).toBeGreaterThan(10)
    for (const spec of table) expect(spec.roles === 'anyone' || spec.roles.length > 0, spec.url).toBe(true)
    const names = table.map((spec) => `${spec.method} ${spec.url}`)
    expect(new Set(names).size).toBe(names.length)
  })

  it('stops the start for a route outside the table', async () => {
    await expect(
      makeWorld({
        register: (server) => {
          server.app.get('/back-door', async () => 'x')
        },
      }),
    ).rejects.toThrow('routes without roles: GET /back-door')
  })

  it('needs no login for these only', () => {
    expect(
      routeTable(world.server)
        .filter((spec) => spec.roles === 'anyone')
        .map((spec) => `${spec.method} ${spec.url}`)
        .sort(),
    ).toEqual([
      'GET /assets/:file',
      'GET /first-administrator',
      'GET /healthz',
      'GET /set-pin',
      'GET /sign-in',
      'POST /demo/clock',
      'POST /first-administrator',
      'POST /set-pin',
      'POST /sign-in',
      'POST /sign-out',
    ])
  })

  it('redirects every other route to sign-in without a login', async () => {
    for (const spec of routeTable(world.server)) {
      if (spec.roles === 'anyone') continue
      const got = await ask(world.visitor(), spec)
      expect(got.status, `${spec.method} ${spec.url}`).toBe(303)
      expect(got.location, `${spec.method} ${spec.url}`).toMatch(/^\/sign-in(\?next=|$)/)
      expect(got.text, `${spec.method} ${spec.url}`).toBe('')
    }
  })

  it.each(ROLES)('%s: allowed where the table says so, 403 elsewhere, and no fault', async (role) => {
    for (const spec of routeTable(world.server)) {
      const client = await world.signIn(ONE_OF[role])
      const got = await ask(client, spec)
      const name = `${spec.method} ${spec.url}`
      expect(got.status, name).toBeLessThan(500)
      if (spec.roles === 'anyone' || spec.roles.includes(role)) {
        expect(got.words(), name).not.toContain('Your role may not open this page')
        expect(got.location ?? '', name).not.toMatch(spec.url === '/sign-out' ? /^$/ : /^\/sign-in\?next=/)
      } else {
        expect(got.status, name).toBe(403)
        expect(got.words(), name).toContain('Your role may not open this page')
      }
    }
  })

  it('applies a removed role from the next request on', async () => {
    const client = await world.signIn(people.nora)
    expect((await client.get('/ward')).status).toBe(200)
    const real = world.store.staffById.bind(world.store)
    Object.assign(world.store, {
      staffById: (id: string) => {
        const staff = real(id)
        return staff === undefined ? undefined : { ...staff, role: 'administrator' }
      },
    })
    expect((await client.get('/ward')).status).toBe(403)
    Object.assign(world.store, { staffById: () => undefined })
    expect((await client.get('/ward')).status).toBe(303)
  })
})

describe('a POST from another origin', () => {
  const noHeaders = { origin: '', 'sec-fetch-site': '' }
  it.each<[string, Record<string, string>, boolean]>([
    ['from this page, as a browser says it', { origin: 'http://ward.test', 'sec-fetch-site': 'same-origin' }, true],
    ['from this page over plain HTTP (no Sec-Fetch-Site)', { origin: 'http://ward.test' }, true],
    ['with Sec-Fetch-Site alone', { 'sec-fetch-site': 'same-origin' }, true],
    ['from another site', { origin: 'http://elsewhere.example', 'sec-fetch-site': 'cross-site' }, false],
    ['from another site over plain HTTP', { origin: 'http://elsewhere.example' }, false],
    ['from a sister site', { origin: 'http://other.ward.test', 'sec-fetch-site': 'same-site' }, false],
    ['from another port', { origin: 'http://ward.test:81' }, false],
    ['with an origin that starts like ours', { origin: 'http://ward.test.elsewhere.example' }, false],
    ['with an opaque origin', { origin: 'null' }, false],
    ['with an opaque origin and a lie about the site', { origin: 'null', 'sec-fetch-site': 'same-origin' }, false],
    ['typed into the address bar', { 'sec-fetch-site': 'none' }, false],
    ['with nothing that says where from', {}, false],
  ])('%s', async (_name, headers, accepted) => {
    const inject = (url: string, payload: string) =>
      world.server.app.inject({
        method: 'POST',
        url,
        payload,
        headers: { host: 'ward.test', 'content-type': 'application/x-www-form-urlencoded', ...headers },
      })
    expect(Object.keys(noHeaders)).toHaveLength(2)
    for (const url of ['/sign-in', '/ward', '/no-such-page']) {
      const got = await inject(url, `badge=${people.nora.badge}&pin=${people.nora.pin}`)
      if (accepted) expect(got.statusCode, url).not.toBe(403)
      else {
        expect(got.statusCode, url).toBe(403)
        expect(got.headers['set-cookie'], url).toBeUndefined()
        expect(got.body).toContain('Nothing was saved')
      }
    }
  })
})

describe('headers', () => {
  it('restrict content to this origin, without inline scripts', async () => {
    const { headers } = await world.visitor().get('/sign-in')
    expect(headers['content-security-policy']).toBe(
      "default-src 'none';script-src 'self';style-src 'self';img-src 'self';font-src 'self';connect-src 'self';form-action 'self';base-uri 'none';frame-ancestors 'none'",
    )
    expect(headers['x-content-type-options']).toBe('nosniff')
    expect(headers['x-frame-options']).toBe('DENY')
    expect(headers['referrer-policy']).toBe('same-origin')
    expect(headers['cross-origin-opener-policy']).toBe('same-origin')
    expect(headers['x-powered-by']).toBeUndefined()
    expect(headers['strict-transport-security']).toBeUndefined()
  })

  it('require HTTPS where cookies are secure', async () => {
    const secure = await makeWorld({ config: { secureCookies: true } })
    expect((await secure.visitor().get('/sign-in')).headers['strict-transport-security']).toBe('max-age=31536000')
    await secure.close()
  })

  it('forbid storage of every response except assets, with any login and status', async () => {
    for (const client of [world.visitor(), await world.signIn(people.nora)]) {
      for (const spec of routeTable(world.server)) {
        if (spec.url === '/assets/:file' || spec.url === '/sign-out') continue
        const got = await ask(client, spec)
        expect(got.headers['cache-control'], `${spec.method} ${spec.url} ${String(got.status)}`).toBe('no-store')
      }
      expect((await client.get('/no-such-page')).headers['cache-control']).toBe('no-store')
    }
  })

  it('name assets by content and cache them for good; an unknown name is 404', async () => {
    const client = world.visitor()
    const page = (await client.get('/sign-in')).root()
    const paths = [
      ...byTag(page, 'link').map((link) => attr(link, 'href')),
      ...byTag(page, 'script').map((script) => attr(script, 'src')),
    ]
    expect(paths).toHaveLength(4)
    for (const path of paths) {
      expect(path).toMatch(/^\/assets\/\w+\.[0-9a-f]{12}\.(css|js|svg)$/)
      const got = await client.get(path ?? '')
      expect(got.status).toBe(200)
      expect(got.headers['cache-control']).toBe('public, max-age=31536000, immutable')
      expect((await client.get(path ?? '', { headers: { 'if-none-match': String(got.headers['etag']) } })).status).toBe(
        304,
      )
    }
    for (const wrong of [
      '/assets/ward.css',
      '/assets/ward.000000000000.css',
      '/assets/..%2f..%2fpackage.json',
      '/assets/%2e%2e/%2e%2e/package.json',
      '/assets/',
    ]) {
      expect((await client.get(wrong)).status, wrong).toBe(404)
    }
  })

  it('disable htmx page history and script evaluation', async () => {
    const page = (await world.visitor().get('/sign-in')).root()
    const meta = byTag(page, 'meta').find((one) => attr(one, 'name') === 'htmx-config')
    const config = JSON.parse(meta === undefined ? '{}' : (attr(meta, 'content') ?? '{}')) as Record<string, unknown>
    expect(config).toMatchObject({
      historyCacheSize: 0,
      allowEval: false,
      includeIndicatorStyles: false,
      selfRequestsOnly: true,
    })
    const handling = config['responseHandling'] as { code: string; swap: boolean }[]
    const swaps = (status: number): boolean | undefined =>
      handling.find(({ code }) => new RegExp(code).test(String(status)))?.swap
    expect([200, 303, 403, 404, 409, 422].map(swaps)).toEqual([true, true, true, true, true, true])
    expect([204, 500, 502, 503].map(swaps)).toEqual([false, false, false, false])
  })
})

describe('compression', () => {
  const get = (encoding: string | null) =>
    world.server.app.inject({
      method: 'GET',
      url: '/sign-in',
      headers: encoding === null ? {} : { 'accept-encoding': encoding },
    })
  it.each([
    ['gzip', 'gzip'],
    ['br, gzip;q=0.5', 'gzip'],
    ['gzip;q=0', undefined],
    ['br', undefined],
    [null, undefined],
  ])('asked for %j', async (asked, given) => {
    const got = await get(asked)
    expect(got.headers['content-encoding']).toBe(given)
    expect(got.headers['vary']).toContain('accept-encoding')
  })
})

describe('error pages', () => {
  it('offer a link on an unknown path, with and without a login', async () => {
    for (const client of [world.visitor(), await world.signIn(people.nora)]) {
      const got = await client.get('/no/such/page?name=Ashby')
      expect(got.status).toBe(404)
      expect(got.text).not.toContain('Ashby')
      expect(await checkHtml(got.text)).toEqual([])
    }
  })

  it('answer a malformed path without a server fault', async () => {
    expect((await world.visitor().get('/%E0%A4%A')).status).toBeLessThan(500)
    expect((await world.visitor().get(`/${'a'.repeat(3000)}`)).status).toBe(404)
  })

  it('show only a number; the log has number and cause, and no patient', async () => {
    const lines: string[] = []
    const broken = await makeWorld({
      config: { logLevel: 'error' },
      logTo: {
        write: (line) => {
          lines.push(line)
        },
      },
      wrapStore: (store) =>
        Object.assign(Object.create(store) as typeof store, {
          wards: () => {
            throw new Error('the disk is on fire')
          },
        }),
    })
    const client = broken.visitor()
    await client.postRaw('/sign-in', { badge: people.nora.badge, pin: people.nora.pin })
    const got = await client.get(`/ward?wristband=${stays.ruth.wristband}`)
    expect(got.status).toBe(500)
    expect(got.text).not.toContain('fire')
    expect(got.text).not.toContain('.ts')
    const number = /Number of this answer: ([a-z0-9]{16})/.exec(got.words())?.[1] ?? 'none'
    const log = lines.join('')
    expect(log).toContain(number)
    expect(log).toContain('the disk is on fire')
    expect(log).not.toContain(stays.ruth.wristband)
    expect(log).not.toContain(people.nora.pin)
    await broken.close()
  })
})

describe('the demo’s clock', () => {
  it('moves by its three buttons and stays on the page', async () => {
    const client = await world.signIn(people.nora)
    const before = world.clock.now()
    const page = await client.get('/ward')
    expect(page.words()).toContain('Demo. Ward clock 07:20. Invented patients.')
    expect(await checkHtml(page.text)).toEqual([])
    const got = await client.postRaw('/demo/clock', { minutes: '5', back: '/ward' })
    expect([got.status, got.location]).toEqual([303, '/ward'])
    expect(world.clock.now() - before).toBe(5 * 60_000)
    expect((await client.follow(got)).words()).toContain('Ward clock 07:25')
  })

  it.each([
    ['0', '/ward'],
    ['-5', '/ward'],
    ['5.0', '/ward'],
    ['600', '/ward'],
    ['', '/ward'],
  ])('refuses %j minutes', async (minutes, back) => {
    const before = world.clock.now()
    expect((await world.visitor().postRaw('/demo/clock', { minutes, back })).status).toBe(422)
    expect(world.clock.now()).toBe(before)
  })

  it('redirects to no other site', async () => {
    expect((await world.visitor().postRaw('/demo/clock', { minutes: '5', back: '//elsewhere.example' })).location).toBe(
      '/',
    )
  })

  it('does not exist in a real ward', async () => {
    const real = await makeWorld()
    expect(routeTable(real.server).some((spec) => spec.url.startsWith('/demo'))).toBe(false)
    expect((await real.visitor().postRaw('/demo/clock', { minutes: '5', back: '/' })).status).toBe(404)
    expect((await real.visitor().get('/sign-in')).words()).not.toContain('Demo')
    await real.close()
  })
})
