/** Attacks on logins: fixed, stolen, set by a neighbour host, kept after a role or ward change, or forged. */
import type { AddressInfo } from 'node:net'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { routeTable } from '../../server/http/route.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { ALL, proposeDose, takeReading } from '../support/bedside.ts'
import { BoardStream } from '../support/board-stream.ts'
import type { Client } from '../support/client.ts'
import { ALDER, BIRCH, people, type Person } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World, type WorldOptions } from '../support/world.ts'

let world: World
const streams: BoardStream[] = []
const open = async (options: WorldOptions = {}): Promise<World> =>
  (world = await makeWorld({ at: '2026-03-10T07:30', ...options }))
beforeEach(() => open())
afterEach(async () => {
  for (const stream of streams.splice(0)) stream.close()
  await world.close()
})

const COOKIE = 'ward-login'
const entry = (person: Person): Readonly<Record<string, string>> => ({ badge: person.badge, pin: person.pin })
const holding = (token: string, name = COOKIE): Client => {
  const client = world.visitor()
  client.cookies.set(name, token)
  return client
}
const change = (
  person: Person,
  parts: { readonly role?: Person['role']; readonly wardIds?: readonly string[] },
): void => {
  const nowMs = world.clock.now()
  const event: LedgerEvent = {
    type: 'staff-changed',
    wardId: null,
    stayId: null,
    actorId: people.anna.staffId,
    happenedAtMs: nowMs,
    chartedAtMs: nowMs,
    body: {
      staffId: person.staffId,
      name: person.name,
      role: parts.role ?? person.role,
      wardIds: parts.wardIds ?? person.wardIds,
    },
  }
  world.store.transact(() => {
    world.store.append([event])
    return null
  })
}
async function listen(): Promise<string> {
  await world.server.app.listen({ host: '127.0.0.1', port: 0 })
  return `http://127.0.0.1:${String((world.server.app.server.address() as AddressInfo).port)}`
}

describe('session fixation', () => {
  it('replaces and ends a login that an attacker planted in the browser', async () => {
    const attacker = await world.signIn(people.omar)
    const planted = attacker.cookies.get(COOKIE) ?? ''
    const victim = holding(planted)
    expect((await victim.postRaw('/sign-in', entry(people.cora))).status).toBe(303)
    const given = victim.cookies.get(COOKIE)
    expect(given).not.toBe(planted)
    // the planted token the attacker holds is invalid for everybody
    expect((await attacker.get('/round')).location).toBe('/sign-in?next=%2Fround')
    expect((await victim.get('/round')).words()).toContain(people.cora.name)
  })

  it.each([
    ['nothing', ''],
    ['one letter', 'x'],
    ['201 letters', 'a'.repeat(201)],
    ['4000 letters', 'a'.repeat(4000)],
    ['a prototype', '__proto__'],
    ['null', 'null'],
    ['SQL', "' OR 1=1 --"],
    ['a NUL', '%00'],
    ['a letter beyond ASCII', 'é'],
  ])('rejects an invented token (%s), and sign-in gives another one', async (_name, token) => {
    const client = holding(token)
    expect((await client.get('/round')).status).toBe(303)
    await client.postRaw('/sign-in', entry(people.nora))
    expect(client.cookies.get(COOKIE)).not.toBe(token)
    expect((await holding(token).get('/round')).status).toBe(303)
  })

  it('takes no token from the URL or the form', async () => {
    const token = (await world.signIn(people.nora)).cookies.get(COOKIE) ?? ''
    for (const path of [`/round?${COOKIE}=${token}`, `/round?token=${token}`, `/round;${COOKIE}=${token}`])
      expect((await world.visitor().get(path)).status).not.toBe(200)
    expect((await world.visitor().postRaw('/ward', { wardId: ALDER, [COOKIE]: token })).location).toMatch(/^\/sign-in/)
  })

  it('stores only the token’s hash, so database content gives no access', async () => {
    const token = (await world.signIn(people.nora)).cookies.get(COOKIE) ?? ''
    let asked = ''
    const real = world.store.session.bind(world.store)
    Object.assign(world.store, {
      session: (hash: string) => {
        asked = hash
        return real(hash)
      },
    })
    expect((await holding(token).get('/ward')).status).toBe(200)
    expect(asked).toMatch(/^[0-9a-f]{64}$/)
    expect(token).not.toContain(asked)
    expect((await holding(asked).get('/ward')).status).toBe(303)
  })

  it('makes tokens of 256 random bits that never repeat', async () => {
    const tokens: string[] = []
    for (let time = 0; time < 30; time++) tokens.push((await world.signIn(people.nora)).cookies.get(COOKIE) ?? '')
    expect(new Set(tokens).size).toBe(30)
    for (const token of tokens) expect(token.split('.')[1]).toMatch(/^[\w-]{43}$/)
  })
})

describe('login CSRF', () => {
  it('refuses sign-in and sign-out sent by another site', async () => {
    const victim = await world.signIn(people.nora)
    const held = victim.cookies.get(COOKIE)
    const elsewhere = { headers: { origin: 'http://elsewhere.example', 'sec-fetch-site': 'cross-site' } }
    expect((await victim.postRaw('/sign-in', entry(people.omar), elsewhere)).status).toBe(403)
    expect((await victim.postRaw('/sign-out', {}, elsewhere)).status).toBe(403)
    expect(victim.cookies.get(COOKIE)).toBe(held)
    expect((await victim.get('/ward')).words()).toContain(people.nora.name)
  })

  it('signs nobody in or out on GET', async () => {
    const client = world.visitor()
    await client.get(`/sign-in?badge=${people.nora.badge}&pin=${people.nora.pin}`)
    expect(client.cookies.size).toBe(0)
    const nora = await world.signIn(people.nora)
    expect((await nora.get('/sign-out')).status).toBe(404)
    expect((await nora.get('/ward')).status).toBe(200)
  })
})

describe('cookie tossing', () => {
  it('accepts only the __Host- cookie over HTTPS, which a sister host or plain HTTP cannot set', async () => {
    await world.close()
    await open({ config: { secureCookies: true } })
    const nora = world.visitor()
    await nora.postRaw('/sign-in', entry(people.nora))
    const token = nora.cookies.get('__Host-ward-login') ?? ''
    expect((await holding(token, '__Host-ward-login').get('/ward')).status).toBe(200)
    // a browser can send a name that begins with an odd blank; it must not match the real name
    for (const name of [
      'ward-login',
      '__Secure-ward-login',
      '__host-ward-login',
      '\u00a0__Host-ward-login',
      '\u0085__Host-ward-login',
    ])
      expect((await holding(token, name).get('/ward')).status, name).toBe(303)
  })

  it('sets the cookie for this host only, the whole path, and not for scripts', async () => {
    for (const secureCookies of [true, false]) {
      await world.close()
      await open({ config: { secureCookies } })
      const set = String((await world.visitor().postRaw('/sign-in', entry(people.nora))).headers['set-cookie'])
      expect(set).not.toMatch(/domain/i)
      for (const part of ['Path=/;', 'HttpOnly', 'SameSite=Strict']) expect(set).toContain(part)
      expect(set.includes('Secure')).toBe(secureCookies)
    }
  })
})

describe('a stale session', () => {
  it('uses the present role from the next request on', async () => {
    const cora = await world.signIn(people.cora)
    expect((await cora.get('/board/assign')).status).toBe(200)
    change(people.cora, { role: 'floor-nurse' })
    expect((await cora.get('/board/assign')).status).not.toBe(200)
    const again = await world.signIn(people.cora)
    expect((await again.get('/board/assign')).status).toBe(403)
  })

  it('cannot read or chart on a ward that was taken away', async () => {
    const pia = await world.signIn(people.pia, { wardId: ALDER })
    const nora = await world.signIn(people.nora)
    const readingId = await takeReading(nora, stays.ruth, '243')
    const doseId = await proposeDose(nora, readingId)
    const key = await pia.keyOf(`/stays/${stays.ruth.stayId}/tray`)
    change(people.pia, { wardIds: [BIRCH] })
    const version = world.store.wardVersion(ALL, ALDER)
    for (const path of [
      `/stays/${stays.ruth.stayId}`,
      `/readings/${readingId}`,
      `/doses/${doseId}`,
      `/checks/${stays.tomas.stayId}.2026-03-10.before-breakfast`,
    ]) {
      const got = await pia.get(path)
      expect([404, 303]).toContain(got.status)
      expect(got.text).not.toContain(stays.ruth.familyName)
    }
    for (const path of ['/round', '/board', '/handover', '/second-checks', '/print/round']) {
      const got = await pia.get(path)
      expect(got.text, path).not.toMatch(/Ashby|Brandt|Calder/)
    }
    expect(
      (await pia.postRaw(`/stays/${stays.ruth.stayId}/tray`, { meal: 'breakfast', served: 'yes', key: key ?? '' }))
        .status,
    ).not.toBe(200)
    expect(world.store.wardVersion(ALL, ALDER)).toBe(version)
  })

  it('charts nothing from another tab after signing out', async () => {
    const nora = await world.signIn(people.nora)
    const tab = holding(nora.cookies.get(COOKIE) ?? '')
    const path = `/stays/${stays.ruth.stayId}/outside-dose`
    const key = await tab.keyOf(path)
    await nora.postRaw('/sign-out', {})
    const version = world.store.wardVersion(ALL, ALDER)
    const got = await tab.postRaw(path, {
      source: 'paper',
      insulin: 'insulin lispro',
      units: '4',
      givenAt: '2026-03-10T06:40',
      givenBy: 'A',
      checkedBy: 'B',
      key: key ?? '',
    })
    expect(got.location).toMatch(/^\/sign-in/)
    expect(world.store.wardVersion(ALL, ALDER)).toBe(version)
  })

  it('cache of patient pages: stores no patient page, so Back after sign-out requests it again', async () => {
    const nora = await world.signIn(people.nora)
    const readingId = await takeReading(nora, stays.ruth, '243')
    for (const path of [
      '/round',
      '/round/list',
      '/board',
      '/handover',
      '/print/round',
      '/print/handover',
      `/stays/${stays.ruth.stayId}`,
      `/stays/${stays.ruth.stayId}/history`,
      `/readings/${readingId}`,
      `/print/orders/${stays.ruth.orderId}/1`,
    ]) {
      const got = await nora.get(path)
      expect([path, got.status, got.headers['cache-control']]).toEqual([path, 200, 'no-store'])
      expect(got.headers['etag'] ?? got.headers['last-modified'], path).toBeUndefined()
    }
    await nora.postRaw('/sign-out', {})
    expect((await nora.get(`/stays/${stays.ruth.stayId}`)).status).toBe(303)
  })

  it('ends a board’s stream at sign-out and starts none with the old login', async () => {
    const origin = await listen()
    const nora = await world.signIn(people.nora)
    const token = nora.cookies.get(COOKIE) ?? ''
    const stream = await BoardStream.open(origin, nora.cookies)
    streams.push(stream)
    const pass = (await stream.next('pass')).data.pass ?? ''
    await nora.postRaw('/sign-out', {})
    expect((await stream.next('ended')).data.reason).toBe('login')
    const again = await BoardStream.open(origin, new Map([[COOKIE, token]]), `?pass=${pass}`)
    streams.push(again)
    expect((await again.next('ended')).data.reason).toBe('login')
    expect(again.messages.map(({ event }) => event)).toEqual(['ended'])
  })
})

describe('a forged board pass', () => {
  it('of any form gets an end message and no open stream', async () => {
    const origin = await listen()
    const nora = await world.signIn(people.nora)
    const stream = await BoardStream.open(origin, nora.cookies)
    streams.push(stream)
    const [until = '', mac = ''] = ((await stream.next('pass')).data.pass ?? '').split('.')
    Object.assign(world.server.appContext, { bootId: 'another boot' })
    const forged = [
      '',
      '.',
      mac,
      `${until}.`,
      `9${until}.${mac}`,
      `${until}.${'0'.repeat(64)}`,
      `${until}.${'é'.repeat(64)}`,
      `${until}.${'%00'.repeat(64)}`,
      `-1.${mac}`,
      `1e99.${mac}`,
      `${until}.${mac.toUpperCase()}`,
      `${until}.${mac}.${mac}x`.slice(0, 40),
      `${until}0.${mac}`,
    ]
    for (const pass of forged) {
      const tried = await BoardStream.open(origin, nora.cookies, `?pass=${encodeURIComponent(pass)}`)
      streams.push(tried)
      expect((await tried.next('ended')).data.reason, pass).toBe('login')
    }
    const twice = await BoardStream.open(origin, nora.cookies, `?pass=${until}.${mac}&pass=${until}.${mac}`)
    streams.push(twice)
    expect((await twice.next('ended')).data.reason).toBe('login')
    // the real pass still works
    const right = await BoardStream.open(origin, nora.cookies, `?pass=${until}.${mac}`)
    streams.push(right)
    await right.next('full')
  })
})

it('ends every login at a restart: tokens of another start have no access', async () => {
  const nora = await world.signIn(people.nora)
  Object.assign(world.server.appContext, { bootId: 'another boot' })
  const asked = routeTable(world.server).filter(
    ({ method, roles, url }) => method === 'GET' && roles !== 'anyone' && !url.includes(':'),
  )
  expect(asked.length).toBeGreaterThan(20)
  for (const { url } of asked) expect([url, (await nora.get(url)).status]).toEqual([url, 303])
})
