/** Attacks on forms and links: posts from another site, frames, extra fields and redirects. */
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { routeTable } from '../../server/http/route.ts'
import { ALL, charted } from '../support/bedside.ts'
import type { Client, Fields, Got } from '../support/client.ts'
import { fillIn } from '../support/filled-form.ts'
import { attr, byTag } from '../support/html.ts'
import { ALDER, BIRCH, people, type Person } from '../support/people.ts'
import { FORM_SENTENCES } from '../../views/words/http.ts'
import { addressesOn, makeTwoWardsHeld, type TwoWards } from '../support/two-wards.ts'
import { lots, stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

const HOST = 'ward.test'

describe('one ward', () => {
  let world: World
  let nora: Client
  beforeEach(async () => {
    world = await makeWorld({ at: '2026-03-10T07:40', demo: true })
    nora = await world.signIn(people.nora)
  })
  afterEach(() => world.close())

  describe('CSRF', () => {
    const PATH = `/stays/${stays.ruth.stayId}/outside-dose`
    const GOOD = {
      source: 'paper',
      insulin: 'insulin lispro',
      units: '4',
      givenAt: '2026-03-10T06:40',
      givenBy: 'Nora Lind',
      checkedBy: 'Omar Reyes',
    }

    it.each<[string, Readonly<Record<string, string>>]>([
      ['another site', { origin: 'https://elsewhere.example', 'sec-fetch-site': 'cross-site' }],
      ['a sister host', { origin: `http://x.${HOST}`, 'sec-fetch-site': 'same-site' }],
      [
        'another site over plain HTTP, where a browser says no more',
        { origin: 'http://elsewhere.example', 'sec-fetch-site': '' },
      ],
      ['a sandboxed frame', { origin: 'null' }],
      ['a page of another port', { origin: `http://${HOST}:8081`, 'sec-fetch-site': '' }],
    ])(
      'refuses insulin charted from %s with a valid login and key: 403, nothing charted',
      async (_name, { 'sec-fetch-site': site = 'cross-site', origin = '' }) => {
        const key = (await nora.keyOf(PATH)) ?? ''
        const before = charted(world, stays.ruth)
        const headers = { origin, ...(site === '' ? {} : { 'sec-fetch-site': site }) }
        const cookie = [...nora.cookies].map(([name, value]) => `${name}=${value}`).join('; ')
        const got = await world.server.app.inject({
          method: 'POST',
          url: PATH,
          payload: new URLSearchParams({ ...GOOD, key }).toString(),
          headers: { host: HOST, cookie, 'content-type': 'application/x-www-form-urlencoded', ...headers },
        })
        expect(got.statusCode).toBe(403)
        expect(charted(world, stays.ruth)).toBe(before)
        // the ward's own page may send the same form, so the sender caused the refusal
        expect((await nora.postRaw(PATH, { ...GOOD, key })).status).toBe(303)
      },
    )

    it('refuses a key made for the attacker or for another form', async () => {
      const omar = await world.signIn(people.omar)
      const before = charted(world, stays.ruth)
      for (const key of [
        (await omar.keyOf(PATH)) ?? '',
        (await nora.keyOf(`/stays/${stays.ruth.stayId}/tray`)) ?? '',
        '',
        'a.b',
        `${'a'.repeat(16)}.${'A'.repeat(43)}`,
      ]) {
        expect((await nora.postRaw(PATH, { ...GOOD, key })).status).toBe(409)
      }
      expect(charted(world, stays.ruth)).toBe(before)
    })

    it.each(['application/json', 'text/plain', 'multipart/form-data; boundary=x', 'application/xml', ''])(
      'does not read a body sent as %j, which another site may send without preflight',
      async (type) => {
        const key = (await nora.keyOf(PATH)) ?? ''
        const before = charted(world, stays.ruth)
        const cookie = [...nora.cookies].map(([name, value]) => `${name}=${value}`).join('; ')
        const got = await world.server.app.inject({
          method: 'POST',
          url: PATH,
          payload:
            type === 'application/json'
              ? JSON.stringify({ ...GOOD, key })
              : new URLSearchParams({ ...GOOD, key }).toString(),
          headers: { host: HOST, cookie, origin: `http://${HOST}`, ...(type === '' ? {} : { 'content-type': type }) },
        })
        expect([415, 409]).toContain(got.statusCode)
        expect(charted(world, stays.ruth)).toBe(before)
      },
    )

    it('charts nothing on GET: a link or picture on another site can only read', async () => {
      const version = world.store.wardVersion(ALL, ALDER)
      const last = world.store.lastEventAtMs()
      world.clock.advance(1)
      for (const spec of routeTable(world.server).filter(({ method }) => method === 'GET')) {
        for (const hole of [stays.ruth.stayId, stays.ruth.orderId, '1'])
          await nora.get(
            `${spec.url.replace(/:\w+/g, hole)}?${new URLSearchParams({ ...GOOD, served: 'yes', meal: 'breakfast' }).toString()}`,
          )
      }
      expect([world.store.wardVersion(ALL, ALDER), world.store.lastEventAtMs()]).toEqual([version, last])
    })
  })

  it('clickjacking: no response of any status can be framed, including assets and the stream’s page', async () => {
    const answers: Got[] = []
    for (const client of [world.visitor(), nora, await world.signIn(people.edda), await world.signIn(people.anna)]) {
      for (const spec of routeTable(world.server)) {
        const path = spec.url
          .replace(':stayId', stays.ruth.stayId)
          .replace(':orderId', stays.ruth.orderId)
          .replace(':version', '1')
          .replace(/:\w+/g, 'x')
        answers.push(
          spec.method === 'GET'
            ? await client.get(path)
            : spec.url === '/sign-out'
              ? await client.get(path)
              : await client.postRaw(path, {}),
        )
      }
    }
    answers.push(
      await nora.get('/no-such-page'),
      await nora.get('/%E0%A4%A'),
      await nora.postRaw('/ward', 'x'.repeat(70_000)),
      await nora.postRaw('/ward', '{}', { headers: { 'content-type': 'application/json' } }),
      await nora.postRaw('/ward', {}, { headers: { origin: 'http://elsewhere.example' } }),
    )
    const asset = attr(byTag((await nora.get('/ward')).root(), 'script')[0] ?? expect.fail('no script'), 'src') ?? ''
    answers.push(await nora.get(asset))
    const statuses = new Set(answers.map(({ status }) => status))
    for (const status of [200, 303, 403, 404, 409, 413, 415, 422]) expect(statuses).toContain(status)
    for (const { headers } of answers) {
      expect(headers['content-security-policy']).toContain("frame-ancestors 'none'")
      expect(headers['x-frame-options']).toBe('DENY')
    }
  })

  describe('open redirect', () => {
    const AWAY = [
      'https://elsewhere.example',
      '//elsewhere.example',
      '///elsewhere.example',
      '/\\elsewhere.example',
      '\\/elsewhere.example',
      '/%2f/elsewhere.example',
      '/..//elsewhere.example',
      '/.//elsewhere.example',
      '/./\\elsewhere.example',
      ' //elsewhere.example',
      '\t//elsewhere.example',
      '/\t/elsewhere.example',
      '/\n/elsewhere.example',
      'javascript:alert(1)',
      'data:text/html,x',
      'http:elsewhere.example',
      '/@elsewhere.example',
      'ward.test.elsewhere.example',
      '/round#//elsewhere.example',
      '/sign-in?next=//elsewhere.example',
      '//elsewhere.example/%2f..',
      '/x/..//elsewhere.example',
      '/;@elsewhere.example',
    ]
    const BASE = `http://${HOST}`
    /** True when a browser that follows the redirect stays on this service. */
    const staysHere = (location: string | null): boolean => location !== null && new URL(location, BASE).origin === BASE

    it.each(AWAY)('refuses %j in next, the demo’s return path, htmx headers and the URL itself', async (away) => {
      const visitor = world.visitor()
      const entered = await visitor.postRaw('/sign-in', { badge: people.omar.badge, pin: people.omar.pin, next: away })
      expect(staysHere(entered.location), `next ${String(entered.location)}`).toBe(true)
      const form = await world.visitor().get(`/sign-in?next=${encodeURIComponent(away)}`)
      for (const element of [...byTag(form.root(), 'a'), ...byTag(form.root(), 'form')])
        expect(staysHere(attr(element, 'href') ?? attr(element, 'action') ?? '/')).toBe(true)
      expect(staysHere((await world.visitor().postRaw('/demo/clock', { minutes: '5', back: away })).location)).toBe(
        true,
      )
      for (const said of [away, `${BASE}${away}`]) {
        // a header cannot hold line ends or keep an inner tab: such a value cannot be sent
        if (/[\n\t]/.test(said)) continue
        const asked = await world
          .visitor()
          .get('/round/list', { headers: { 'hx-request': 'true', 'hx-current-url': said } })
        expect(asked.status).toBe(303)
        expect(staysHere(asked.location)).toBe(true)
        // nor after sign-in, through the stored return path
        const next = new URL(asked.location ?? '/', BASE).searchParams.get('next') ?? '/'
        expect(staysHere(next), next).toBe(true)
      }
      const path = away.startsWith('/') && !/[\s\\]/.test(away) ? away : '/round'
      const direct = await world.server.app.inject({
        method: 'GET',
        url: path,
        headers: { host: HOST, 'x-forwarded-host': 'elsewhere.example' },
      })
      if (direct.headers.location !== undefined) expect(staysHere(String(direct.headers.location))).toBe(true)
    })
  })
})

describe('two wards', () => {
  let two: TwoWards
  const appended: LedgerEvent[] = []
  beforeAll(async () => {
    two = await makeTwoWardsHeld(appended)
  })
  afterAll(() => two.world.close())

  /** Names of record fields that no form has and an attacker would try. */
  const PLANTED: readonly (readonly [string, string])[] = [
    ['actorId', people.cora.staffId],
    ['byId', people.omar.staffId],
    ['proposedById', people.omar.staffId],
    ['staffId', people.cora.staffId],
    ['chartedAtMs', '0'],
    ['happenedAtMs', '0'],
    ['wardIds', BIRCH],
    ['verified', 'yes'],
    ['agreed', 'yes'],
    ['secondCheckRequired', 'no'],
    ['outcome', 'given'],
    ['locked', ''],
    ['pinHash', 'x'],
    ['type', 'dose-given'],
    ['__proto__', 'x'],
    ['constructor', 'x'],
    ['prototype', 'x'],
    ['__proto__[role]', 'administrator'],
    ['constructor[prototype][role]', 'administrator'],
    ['toString', 'x'],
    ['hasOwnProperty', 'x'],
  ]

  /** Forms that chart nothing ignore unknown fields. */
  const READS_ONLY = ['/scan', '/checks/:key/patient', '/orders/preview']

  it('mass assignment and prototype pollution: each form refuses each extra field', async () => {
    const accepted = new Set<string>()
    const refused = new Set<string>()
    for (const person of [two.alder.first, two.alder.charge, people.edda, people.anna] satisfies Person[]) {
      const client = await two.world.signIn(person)
      for (const spec of routeTable(two.world.server).filter(
        ({ method, roles }) => method === 'POST' && roles !== 'anyone' && roles.includes(person.role),
      )) {
        if (accepted.has(spec.url)) continue
        for (const path of spec.url.includes(':') ? addressesOn(two.alder, spec) : [spec.url]) {
          appended.length = 0
          const good = await fillIn(client, path, knownFor(spec.url))
          const taken = good?.got.status === 303
          // events are charted in the name of the signed-in person, whatever was typed
          for (const { actorId } of appended) expect(actorId, spec.url).toBe(person.staffId)
          for (const [name, value] of taken
            ? PLANTED
            : PLANTED.filter(([planted]) => planted === 'actorId' || planted === '__proto__')) {
            appended.length = 0
            const got = await client.postRaw(path, { ...good?.fields, [name]: value })
            if (taken) expect([spec.url, name, got.status, appended]).toEqual([spec.url, name, 422, []])
            else
              expect([
                spec.url,
                name,
                appended,
                READS_ONLY.includes(spec.url) || got.words().includes(FORM_SENTENCES['unknown-field']),
              ]).toEqual([spec.url, name, [], true])
          }
          ;(taken ? accepted : refused).add(spec.url)
        }
      }
    }
    const all = routeTable(two.world.server)
      .filter(({ method, roles }) => method === 'POST' && roles !== 'anyone')
      .map(({ url }) => url)
    expect(all.filter((url) => !accepted.has(url) && !refused.has(url))).toEqual([])
    expect(accepted.size, [...accepted].join()).toBeGreaterThanOrEqual(35)
    const plain: Readonly<Record<string, unknown>> = {}
    expect([plain['role'], plain['x']]).toEqual([undefined, undefined])
  })

  it('prototype pollution through a query changes nothing', async () => {
    const client = await two.world.signIn(two.alder.first)
    for (const query of [
      '__proto__=x',
      '__proto__[role]=administrator',
      'constructor[prototype][role]=administrator',
      '__proto__.role=administrator',
    ]) {
      for (const path of ['/round', '/ward', '/audit', '/sign-in', '/setup/meters'])
        expect((await client.get(`${path}?${query}`)).status, `${path}?${query}`).toBeLessThan(500)
    }
    const plain: Readonly<Record<string, unknown>> = {}
    expect(plain['role']).toBeUndefined()
  })

  it('names no patient in a de-identified export without a recorded reason, for any form input', async () => {
    two.world.clock.set('2026-03-12T07:30')
    const edda = await two.world.signIn(people.edda)
    const good = {
      what: 'readings',
      format: 'csv',
      ward: ALDER,
      from: '2026-03-09',
      to: '2026-03-10',
      reason: '',
      key: 'any',
    }
    const words = two.alder.words.filter((word) => word !== 'Alder')
    const tries: readonly Fields[] = [
      {},
      { identified: '' },
      { identified: 'no' },
      { identified: 'true' },
      { identified: 'YES' },
      { identified: 'yes' },
      { identified: 'yes', reason: '   ' },
      { Identified: 'yes', reason: 'x' },
      { 'identified[]': 'yes', reason: 'x' },
      { names: 'yes' },
      { what: 'stays' },
      { what: 'readings,identified' },
      { format: 'csv;identified' },
      { ward: '*' },
      { ward: `${ALDER},${BIRCH}` },
    ]
    let files = 0
    for (const fields of tries) {
      appended.length = 0
      const got = await edda.postRaw('/audit/export', { ...good, ...fields })
      expect(
        words.filter((word) => got.text.includes(word)),
        JSON.stringify(fields),
      ).toEqual([])
      if (got.status === 200) files++
      else expect([got.status, appended], JSON.stringify(fields)).toEqual([422, []])
    }
    const twice = await edda.postRaw(
      '/audit/export',
      `${new URLSearchParams(good).toString()}&identified=no&identified=yes`,
    )
    expect(twice.status).toBe(422)
    expect(files).toBeGreaterThan(0)
    // an educator of Alder gets no row of Birch, with or without names
    const one = await two.world.signIn(two.alderEducator)
    for (const ward of [BIRCH, 'all', '']) {
      const got = await one.postRaw('/audit/export', { ...good, ward, identified: 'yes', reason: 'Incident 14' })
      expect(
        two.birch.words.filter((word) => word !== 'Birch' && got.text.includes(word)),
        ward,
      ).toEqual([])
    }
  })
})

/** What a form needs besides its first choices to be accepted. */
function knownFor(url: string): Fields {
  if (url.startsWith('/setup/beds/') || url.startsWith('/setup/discharged/')) return { wristband: 'W9999' }
  if (url.startsWith('/setup/people/')) return { badge: 'N7771' }
  return { wristband: stays.ruth.wristband, lot: lots.good, badge: people.omar.badge, pin: people.omar.pin }
}
