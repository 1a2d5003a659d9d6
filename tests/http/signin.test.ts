/** The door: signing in and out, limits, idle lock, ward and beds, the first administrator. */
import { afterEach, describe, expect, it } from 'vitest'
import type { Store } from '../../server/store/contract.ts'
import { ADDRESS_LIMIT, BADGE_LIMIT } from '../../server/http/attempts.ts'
import { checkHtml, errorOf, formTo, formsOf } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, BIRCH, people } from '../support/people.ts'
import { meters } from '../support/wards.ts'
import { makeWorld, type World, type WorldOptions } from '../support/world.ts'

let world: World | null = null
const open = async (options: WorldOptions = {}): Promise<World> => (world = await makeWorld(options))
afterEach(async () => {
  await world?.close()
  world = null
})

const nora = { badge: people.nora.badge, pin: people.nora.pin }

describe('signing in', () => {
  it('shows a valid page with the cursor in the badge', async () => {
    const got = await (await open()).visitor().get('/sign-in')
    expect(got.status).toBe(200)
    expect(await checkHtml(got.text)).toEqual([])
    const form = formTo(got.root(), '/sign-in')
    expect(form?.names).toEqual(['next', 'draft', 'badge', 'pin'])
    expect(form?.element.tagName).toBe('form')
  })

  it('badge and PIN let a nurse in and on to her ward and beds', async () => {
    const client = (await open()).visitor()
    const got = await client.postRaw('/sign-in', nora)
    expect([got.status, got.location]).toEqual([303, '/ward'])
    expect((await client.get('/ward')).words()).toContain('Nora Lind')
  })

  it('a scanned badge alone asks for the PIN and counts as no attempt', async () => {
    const client = (await open()).visitor()
    for (let time = 0; time < BADGE_LIMIT.most + 3; time++) {
      const got = await client.postRaw('/sign-in', { badge: nora.badge, pin: '' })
      expect(got.status).toBe(422)
      expect(errorOf(got.root(), 'pin')).toContain('Type your PIN.')
      expect(formTo(got.root(), '/sign-in')?.fields['badge']).toBe(nora.badge)
    }
    expect((await client.postRaw('/sign-in', nora)).status).toBe(303)
  })

  it('answers an unknown badge and a wrong PIN word for word alike, and never sends a PIN back', async () => {
    const client = (await open()).visitor()
    const wrongPin = await client.postRaw('/sign-in', { badge: nora.badge, pin: '998877' })
    const unknown = await client.postRaw('/sign-in', { badge: 'N9999', pin: '998877' })
    expect([wrongPin.status, unknown.status]).toEqual([422, 422])
    expect(unknown.text.replaceAll('N9999', nora.badge)).toBe(wrongPin.text)
    expect(wrongPin.text).not.toContain('998877')
    expect(wrongPin.words()).toContain('Badge and PIN do not match')
    expect(await checkHtml(wrongPin.text)).toEqual([])
  })

  it('hashes for an unknown badge too: the same work', async () => {
    const { server, visitor } = await open()
    const before = server.appContext.decoyPinHash.used
    await visitor().postRaw('/sign-in', { badge: 'N9999', pin: '998877' })
    expect(server.appContext.decoyPinHash.used).toBe(before + 1)
  })

  it('forty malformed posts: 422 or, once the limit is reached, 429; never a fault, nobody signed in', async () => {
    const { visitor } = await open()
    const posts = malformedPosts({ ...nora, next: '/', draft: '' }, null, 'badge')
    expect(posts.length).toBeGreaterThanOrEqual(40)
    for (const { name, body } of posts) {
      const client = visitor()
      const got = await client.postRaw('/sign-in', body)
      expect([422, 429], `${name}: ${String(got.status)}`).toContain(got.status)
      expect(formTo(got.root(), '/sign-in'), name).toBeDefined()
      expect(client.cookies.size, name).toBe(0)
    }
  })

  it('gives a new token each time, whatever the browser held before (no fixation)', async () => {
    const { visitor, store } = await open()
    const client = visitor()
    client.cookies.set('ward-login', 'chosen.by.somebody.else')
    await client.postRaw('/sign-in', nora)
    const first = client.cookies.get('ward-login')
    expect(first).not.toBe('chosen.by.somebody.else')
    await client.postRaw('/sign-in', nora)
    const second = client.cookies.get('ward-login')
    expect(second).not.toBe(first)
    const other = visitor()
    other.cookies.set('ward-login', first ?? '')
    expect((await other.get('/ward')).location).toBe('/sign-in?next=%2Fward')
    expect(store.session(second ?? '')).toBeUndefined()
  })

  it('sends the cookie HttpOnly and SameSite=Strict, and Secure under its own name when configured', async () => {
    const plain = await (await open()).visitor().postRaw('/sign-in', nora)
    expect(String(plain.headers['set-cookie'])).toMatch(/^ward-login=[\w.-]+; Path=\/; HttpOnly; SameSite=Strict$/)
    await world?.close()
    const secure = await (await open({ config: { secureCookies: true } })).visitor().postRaw('/sign-in', nora)
    expect(String(secure.headers['set-cookie'])).toMatch(
      /^__Host-ward-login=[\w.-]+; Path=\/; HttpOnly; Secure; SameSite=Strict$/,
    )
  })

  it.each([
    ['/stays/abc', '/stays/abc'],
    ['/print/round?paper=letter', '/print/round?paper=letter'],
    ['https://elsewhere.example/', '/ward'],
    ['//elsewhere.example/', '/ward'],
    ['/\\elsewhere.example/', '/ward'],
    ['\\\\elsewhere.example', '/ward'],
    ['/a\\..\\b', '/ward'],
    ['/\t/elsewhere.example', '/ward'],
    ['/%09/elsewhere.example', '/%09/elsewhere.example'],
    ['javascript:alert(1)', '/ward'],
    ['/..//elsewhere.example', '/ward'],
    ['/sign-out', '/ward'],
    ['/sign-in?next=/sign-in', '/ward'],
    [' /round', '/ward'],
    ['/ok\r\nset-cookie: a=b', '/ward'],
    ['', '/ward'],
  ])('next %j leads to %j: never to another site', async (next, location) => {
    const client = (await open()).visitor()
    const got = await client.postRaw('/sign-in', { ...nora, next })
    expect([got.status, got.location]).toEqual([303, location])
  })

  it('an administrator and an educator come to a page of their own', async () => {
    const { visitor } = await open()
    for (const who of [people.anna, people.edda]) {
      const client = visitor()
      expect((await client.postRaw('/sign-in', { badge: who.badge, pin: who.pin })).location).toBe('/')
      const start = await client.follow(await client.get('/'))
      expect(start.status).toBe(200)
      expect(start.words()).toContain(who.name)
      expect(await checkHtml(start.text)).toEqual([])
    }
  })
})

describe('attempt limits', () => {
  it('a badge is heard five times, then waits, also with the right PIN; then it is heard again', async () => {
    const { visitor, clock } = await open()
    const client = visitor()
    for (let time = 0; time < BADGE_LIMIT.most; time++)
      expect((await client.postRaw('/sign-in', { badge: nora.badge, pin: '000000' })).status).toBe(422)
    const limited = await client.postRaw('/sign-in', nora)
    expect(limited.status).toBe(429)
    expect(limited.words()).toContain('Too many attempts. Wait 5 minutes')
    clock.advance(5)
    expect((await client.postRaw('/sign-in', nora)).status).toBe(303)
  })

  it('is the same for a badge that nobody has', async () => {
    const client = (await open()).visitor()
    for (let time = 0; time < BADGE_LIMIT.most; time++)
      expect((await client.postRaw('/sign-in', { badge: 'N9999', pin: '000000' })).status).toBe(422)
    expect((await client.postRaw('/sign-in', { badge: 'N9999', pin: '000000' })).status).toBe(429)
    expect((await client.postRaw('/sign-in', nora)).status).toBe(303)
  })

  it('counts attempts sent at the same time', async () => {
    const client = (await open()).visitor()
    const all = await Promise.all(
      Array.from({ length: 20 }, () => client.postRaw('/sign-in', { badge: nora.badge, pin: '000000' })),
    )
    expect(all.filter((got) => got.status === 422)).toHaveLength(BADGE_LIMIT.most)
    expect(all.filter((got) => got.status === 429)).toHaveLength(20 - BADGE_LIMIT.most)
  })

  it('is not lifted by setting the ward clock on', async () => {
    const { visitor, clock } = await open()
    const client = visitor()
    for (let time = 0; time < BADGE_LIMIT.most; time++)
      await client.postRaw('/sign-in', { badge: nora.badge, pin: '000000' })
    clock.stepWardTime(600)
    expect((await client.postRaw('/sign-in', nora)).status).toBe(429)
  })

  it('an address is limited over all badges, and success gives its attempt back', async () => {
    const { visitor } = await open()
    const client = visitor()
    for (let time = 0; time < 2 * ADDRESS_LIMIT.most; time++)
      expect((await client.postRaw('/sign-in', nora)).status).toBe(303)
    for (let time = 0; time < ADDRESS_LIMIT.most; time++)
      expect((await client.postRaw('/sign-in', { badge: `X${String(time)}`, pin: '000000' })).status).toBe(422)
    expect((await client.postRaw('/sign-in', nora)).status).toBe(429)
  })

  it('another address than the limited one is heard, and X-Forwarded-For counts only behind a trusted proxy', async () => {
    for (const [trustProxy, heard] of [
      [false, 429],
      [['10.9.9.9'], 429],
      [['127.0.0.1'], 303],
    ] as const) {
      const { visitor } = await open({ config: { trustProxy } })
      const client = visitor()
      const from = (address: string) => ({ headers: { 'x-forwarded-for': address } })
      for (let time = 0; time < ADDRESS_LIMIT.most; time++)
        await client.postRaw('/sign-in', { badge: `X${String(time)}`, pin: '0' }, from('10.0.0.1'))
      expect((await client.postRaw('/sign-in', nora, from('10.0.0.2'))).status).toBe(heard)
      await world?.close()
    }
    world = null
  })
})

describe('how a login ends', () => {
  it('by signing out: the token is worth nothing afterwards', async () => {
    const { signIn, visitor } = await open()
    const client = await signIn(people.nora)
    const token = client.cookies.get('ward-login') ?? ''
    const got = await client.postRaw('/sign-out', {})
    expect([got.status, got.location]).toEqual([303, '/sign-in'])
    expect(client.cookies.size).toBe(0)
    const thief = visitor()
    thief.cookies.set('ward-login', token)
    expect((await thief.get('/ward')).status).toBe(303)
  })

  it('after the idle minutes of the ward policy, counted from the last use', async () => {
    const { signIn, clock } = await open({ alderPolicy: { idleLockMin: 4 } })
    const client = await signIn(people.nora)
    clock.advance(3)
    expect((await client.get('/ward')).status).toBe(200)
    clock.advance(3)
    expect((await client.get('/ward')).status).toBe(200)
    clock.advance(4)
    expect((await client.get('/ward')).location).toBe('/sign-in?next=%2Fward')
  })

  it('is not kept from locking by a page that refreshes itself', async () => {
    const { signIn, clock } = await open({ alderPolicy: { idleLockMin: 4 } })
    const client = await signIn(people.nora)
    for (let minute = 0; minute < 3; minute++) {
      clock.advance(1)
      expect(
        (await client.get('/ward', { headers: { 'hx-request': 'true', 'hx-current-url': 'http://ward.test/round' } }))
          .status,
      ).toBe(200)
    }
    clock.advance(1)
    const locked = await client.get('/ward', {
      headers: { 'hx-request': 'true', 'hx-current-url': 'http://ward.test/round' },
    })
    expect(locked.location).toBe('/sign-in?next=%2Fround')
  })

  it('is not ended or kept alive by the ward clock', async () => {
    const { signIn, clock } = await open()
    const client = await signIn(people.nora)
    clock.stepWardTime(1000)
    expect((await client.get('/ward')).status).toBe(200)
    clock.stepWardTime(-2000)
    clock.advance(11)
    expect((await client.get('/ward')).status).toBe(303)
  })

  it('after the configured hours, however busy', async () => {
    const { signIn, clock } = await open({ config: { sessionHours: 1 } })
    const client = await signIn(people.nora)
    for (let minute = 0; minute < 59; minute += 1) {
      clock.advance(1)
      expect((await client.get('/ward')).status).toBe(200)
    }
    clock.advance(1)
    expect((await client.get('/ward')).status).toBe(303)
  })

  it('when the service starts again', async () => {
    const { signIn, server } = await open()
    const client = await signIn(people.nora)
    expect((await client.get('/ward')).status).toBe(200)
    Object.assign(server.appContext, { bootId: 'another boot' })
    expect((await client.get('/ward')).location).toBe('/sign-in?next=%2Fward')
  })

  it('keeps the same person’s ward over signing in again, and gives it to nobody else', async () => {
    const { signIn, clock } = await open()
    const client = await signIn(people.pia, { wardId: BIRCH })
    clock.advance(30)
    await client.postRaw('/sign-in', { badge: people.pia.badge, pin: people.pia.pin, next: '/ward' })
    expect(formTo((await client.get('/ward')).root(), '/ward')?.fields['wardId']).toBe(BIRCH)
    await client.postRaw('/sign-in', nora)
    expect((await client.get('/ward')).words()).toContain('Alder')
  })
})

describe('ward and beds', () => {
  it('offers the wards of the person only, on a valid page', async () => {
    const { signIn } = await open()
    const client = await signIn(people.nora)
    const got = await client.get('/ward')
    expect(await checkHtml(got.text)).toEqual([])
    expect(got.words()).toContain('Alder')
    expect(got.words()).not.toContain('Birch')
    const both = await (await signIn(people.pia)).get('/ward')
    expect(both.words()).toContain('Alder')
    expect(both.words()).toContain('Birch')
  })

  it('keeps the beds as a fact of the ward and ticks them the next time', async () => {
    const { signIn, store, clock } = await open()
    const client = await signIn(people.nora)
    const got = await client.post('/ward', { wardId: ALDER, [`bed.${ALDER}.2`]: 'yes', [`bed.${ALDER}.3`]: 'yes' })
    expect([got.status, got.location]).toEqual([303, '/round'])
    const scope = { staffId: people.cora.staffId, role: people.cora.role, wardIds: people.cora.wardIds }
    const taken = store
      .wardFacts(scope, ALDER, clock.now())
      ?.bedsTaken.find((one) => one.staffId === people.nora.staffId)
    expect(taken?.beds).toEqual(['2', '3'])
    const fields = formTo((await client.get('/ward')).root(), '/ward')?.fields ?? {}
    expect(Object.keys(fields).filter((name) => name.startsWith('bed.'))).toEqual([`bed.${ALDER}.2`, `bed.${ALDER}.3`])
  })

  it('takes a meter along, which the next check then names; refuses another ward’s', async () => {
    const { signIn } = await open()
    const client = await signIn(people.nora)
    const got = await client.post('/ward', { wardId: ALDER, [`meter-${ALDER}`]: meters.alderNoControl.meterId })
    expect(got.status).toBe(303)
    expect(formTo((await client.get('/ward')).root(), '/ward')?.fields).toMatchObject({
      [`meter-${ALDER}`]: meters.alderNoControl.meterId,
    })
    const wrong = await client.post('/ward', { wardId: ALDER, [`meter-${ALDER}`]: meters.birch.meterId })
    expect(wrong.status).toBe(422)
    expect(wrong.words()).toContain('This meter is not one of Alder')
  })

  it('refuses another’s ward, a bed that is not there, and beds of a ward that was not chosen', async () => {
    const { signIn } = await open()
    const nurse = await signIn(people.nora)
    expect((await nurse.post('/ward', { wardId: BIRCH })).status).toBe(404)
    expect((await nurse.post('/ward', { wardId: ALDER, [`bed.${ALDER}.99`]: 'yes' })).status).toBe(422)
    const both = await signIn(people.pia)
    const got = await both.post('/ward', { wardId: ALDER, [`bed.${BIRCH}.A`]: 'yes' })
    expect(got.status).toBe(422)
    expect(got.words()).toContain('A ticked bed is not on Alder')
    expect(formTo(got.root(), '/ward')?.fields).toMatchObject({ wardId: ALDER, [`bed.${BIRCH}.A`]: 'yes' })
    expect(await checkHtml(got.text)).toEqual([])
  })

  it('forty malformed posts: the form again, no bed taken', async () => {
    const { signIn, store } = await open()
    const client = await signIn(people.nora)
    const scope = { staffId: people.nora.staffId, role: people.nora.role, wardIds: people.nora.wardIds }
    const before = store.wardVersion(scope, ALDER)
    const posts = malformedPosts({ wardId: ALDER, [`bed.${ALDER}.2`]: 'yes' }, await client.keyOf('/ward'), 'wardId')
    for (const { name, body } of posts) {
      const got = await client.postRaw('/ward', body)
      // a ward of that name that is not there is "not found", drawn as the form again
      expect([422, 404], `${name}: ${String(got.status)}`).toContain(got.status)
      expect(formTo(got.root(), '/ward'), name).toBeDefined()
    }
    expect(store.wardVersion(scope, ALDER)).toBe(before)
  })
})

describe('the first administrator', () => {
  const filled = { code: 'ABCDE-FGHJK', name: 'Ada Brook', badge: 'A0001', pin: '480517', pinAgain: '480517' }

  it('comes in by the console’s code once; then the page is gone', async () => {
    const { visitor, store } = await open({ empty: true, setUpCode: filled.code })
    const client = visitor()
    expect((await client.get('/sign-in')).words()).toContain('first administrator')
    const page = await client.get('/first-administrator')
    expect(page.status).toBe(200)
    expect(await checkHtml(page.text)).toEqual([])
    const got = await client.postRaw('/first-administrator', filled)
    expect([got.status, got.location]).toEqual([303, '/setup'])
    const hub = await client.follow(got)
    expect(hub.words()).toContain('Ada Brook')
    // what to do next, on the page that the first administrator comes to
    expect(hub.words()).toContain('Add people, and make each a code for a PIN')
    expect(await checkHtml(hub.text)).toEqual([])
    expect(store.staffByBadge('A0001')).toMatchObject({ name: 'Ada Brook', role: 'administrator' })
    expect((await client.get('/first-administrator')).status).toBe(404)
    expect((await visitor().postRaw('/first-administrator', { ...filled, badge: 'A0002' })).status).toBe(404)
    expect((await visitor().postRaw('/sign-in', { badge: 'A0001', pin: filled.pin })).status).toBe(303)
  })

  it('leaves a trace of the PIN, and not the PIN', async () => {
    const traces: unknown[] = []
    const wrapStore = (store: Store): Store => ({
      ...store,
      append: (events) => {
        store.append(events)
        traces.push(...events.map(({ type, actorId, body }) => [type, actorId, body]))
      },
    })
    const { visitor, store } = await open({ empty: true, setUpCode: filled.code, wrapStore })
    expect((await visitor().postRaw('/first-administrator', filled)).status).toBe(303)
    const staffId = store.staffByBadge('A0001')?.staffId
    expect(traces).toContainEqual(['pin-set', staffId, { staffId, by: 'self' }])
    expect(JSON.stringify(traces)).not.toContain(filled.pin)
  })

  it('sent twice at once makes one', async () => {
    const { visitor } = await open({ empty: true, setUpCode: filled.code })
    const answers = await Promise.all([
      visitor().postRaw('/first-administrator', filled),
      visitor().postRaw('/first-administrator', { ...filled, badge: 'A0002' }),
    ])
    expect(answers.map((got) => got.status).sort()).toEqual([303, 404])
  })

  it('is not there when somebody is in the database, or when no code was made', async () => {
    const full = await open({ setUpCode: filled.code })
    expect((await full.visitor().get('/first-administrator')).status).toBe(404)
    expect((await full.visitor().postRaw('/first-administrator', filled)).status).toBe(404)
    await full.close()
    const none = await open({ empty: true })
    expect((await none.visitor().postRaw('/first-administrator', { ...filled, code: '' })).status).toBe(404)
  })

  it.each([
    ['a wrong code', { code: 'ABCDE-FGHJX' }, 'code'],
    ['no code', { code: '' }, 'code'],
    ['no name', { name: ' ' }, 'name'],
    ['no badge', { badge: '' }, 'badge'],
    ['a PIN of five digits', { pin: '48051', pinAgain: '48051' }, 'pin'],
    ['a PIN of letters', { pin: 'abcdef', pinAgain: 'abcdef' }, 'pin'],
    ['one digit again and again', { pin: '777777', pinAgain: '777777' }, 'pin'],
    ['digits in a row', { pin: '345678', pinAgain: '345678' }, 'pin'],
    ['digits in a row downward', { pin: '987654', pinAgain: '987654' }, 'pin'],
    ['two different PINs', { pinAgain: '480518' }, 'pinAgain'],
  ])('refuses %s beside the field, and sends no secret back', async (_name, change, field) => {
    const { visitor, store } = await open({ empty: true, setUpCode: filled.code })
    const got = await visitor().postRaw('/first-administrator', { ...filled, ...change })
    expect(got.status).toBe(422)
    expect(errorOf(got.root(), field)).not.toBeNull()
    expect(got.text).not.toContain(filled.pin)
    expect(got.text).not.toContain(filled.code)
    expect(formsOf(got.root())[0]?.fields['badge']).toBe({ ...filled, ...change }.badge)
    expect(store.isEmpty()).toBe(true)
  })

  it('guessing the code is limited', async () => {
    const { visitor } = await open({ empty: true, setUpCode: filled.code })
    for (let time = 0; time < BADGE_LIMIT.most; time++)
      expect((await visitor().postRaw('/first-administrator', { ...filled, code: 'X' })).status).toBe(422)
    expect((await visitor().postRaw('/first-administrator', filled)).status).toBe(429)
  })

  it('forty malformed posts: the form again, nobody added', async () => {
    const { visitor, store } = await open({ empty: true, setUpCode: filled.code })
    for (const { name, body } of malformedPosts(filled, null, 'pin')) {
      const got = await visitor().postRaw('/first-administrator', body)
      expect(got.status, name).toBe(422)
      expect(formTo(got.root(), '/first-administrator'), name).toBeDefined()
    }
    expect(store.isEmpty()).toBe(true)
  })
})
