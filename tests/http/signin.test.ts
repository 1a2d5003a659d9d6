/** Signing in and out, limits, idle lock, ward and beds, and the first administrator. */
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
  it('shows a valid page with focus in the badge field', async () => {
    const got = await (await open()).visitor().get('/sign-in')
    expect(got.status).toBe(200)
    expect(await checkHtml(got.text)).toEqual([])
    const form = formTo(got.root(), '/sign-in')
    expect(form?.names).toEqual(['next', 'draft', 'badge', 'pin'])
    expect(form?.element.tagName).toBe('form')
  })

  it('lets a nurse in by badge and PIN, on to the ward and beds', async () => {
    const client = (await open()).visitor()
    const got = await client.postRaw('/sign-in', nora)
    expect([got.status, got.location]).toEqual([303, '/ward'])
    expect((await client.get('/ward')).words()).toContain('Nora Lind')
  })

  it('asks for the PIN after a scanned badge and counts no attempt', async () => {
    const client = (await open()).visitor()
    for (let time = 0; time < BADGE_LIMIT.most + 3; time++) {
      const got = await client.postRaw('/sign-in', { badge: nora.badge, pin: '' })
      expect(got.status).toBe(422)
      expect(errorOf(got.root(), 'pin')).toContain('Type your PIN.')
      expect(formTo(got.root(), '/sign-in')?.fields['badge']).toBe(nora.badge)
    }
    expect((await client.postRaw('/sign-in', nora)).status).toBe(303)
  })

  it('answers an unknown badge and a wrong PIN alike, and never returns a PIN', async () => {
    const client = (await open()).visitor()
    const wrongPin = await client.postRaw('/sign-in', { badge: nora.badge, pin: '998877' })
    const unknown = await client.postRaw('/sign-in', { badge: 'N9999', pin: '998877' })
    expect([wrongPin.status, unknown.status]).toEqual([422, 422])
    expect(unknown.text.replaceAll('N9999', nora.badge)).toBe(wrongPin.text)
    expect(wrongPin.text).not.toContain('998877')
    expect(wrongPin.words()).toContain('Badge and PIN do not match')
    expect(await checkHtml(wrongPin.text)).toEqual([])
  })

  it('does the same hashing work for an unknown badge', async () => {
    const { server, visitor } = await open()
    const before = server.appContext.decoyPinHash.used
    await visitor().postRaw('/sign-in', { badge: 'N9999', pin: '998877' })
    expect(server.appContext.decoyPinHash.used).toBe(before + 1)
  })

  it('answers forty malformed posts with 422 or 429, never a fault, and signs nobody in', async () => {
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
  ])('with next %j leads to %j, never to another site', async (next, location) => {
    const client = (await open()).visitor()
    const got = await client.postRaw('/sign-in', { ...nora, next })
    expect([got.status, got.location]).toEqual([303, location])
  })

  it('leads administrators and educators to their own pages', async () => {
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
  it('allow five tries for a badge, then wait, also with the right PIN', async () => {
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

  it('are the same for an unknown badge', async () => {
    const client = (await open()).visitor()
    for (let time = 0; time < BADGE_LIMIT.most; time++)
      expect((await client.postRaw('/sign-in', { badge: 'N9999', pin: '000000' })).status).toBe(422)
    expect((await client.postRaw('/sign-in', { badge: 'N9999', pin: '000000' })).status).toBe(429)
    expect((await client.postRaw('/sign-in', nora)).status).toBe(303)
  })

  it('count attempts sent at the same time', async () => {
    const client = (await open()).visitor()
    const all = await Promise.all(
      Array.from({ length: 20 }, () => client.postRaw('/sign-in', { badge: nora.badge, pin: '000000' })),
    )
    expect(all.filter((got) => got.status === 422)).toHaveLength(BADGE_LIMIT.most)
    expect(all.filter((got) => got.status === 429)).toHaveLength(20 - BADGE_LIMIT.most)
  })

  it('do not end when the ward clock is moved on', async () => {
    const { visitor, clock } = await open()
    const client = visitor()
    for (let time = 0; time < BADGE_LIMIT.most; time++)
      await client.postRaw('/sign-in', { badge: nora.badge, pin: '000000' })
    clock.stepWardTime(600)
    expect((await client.postRaw('/sign-in', nora)).status).toBe(429)
  })

  it('cover all badges from one address, and success returns its attempt', async () => {
    const { visitor } = await open()
    const client = visitor()
    for (let time = 0; time < 2 * ADDRESS_LIMIT.most; time++)
      expect((await client.postRaw('/sign-in', nora)).status).toBe(303)
    for (let time = 0; time < ADDRESS_LIMIT.most; time++)
      expect((await client.postRaw('/sign-in', { badge: `X${String(time)}`, pin: '000000' })).status).toBe(422)
    expect((await client.postRaw('/sign-in', nora)).status).toBe(429)
  })

  it('count by address, with X-Forwarded-For only from a trusted proxy', async () => {
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

describe('session end', () => {
  it('by signing out: the token is no longer valid', async () => {
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

  it('after the idle minutes of the ward policy since the last use', async () => {
    const { signIn, clock } = await open({ alderPolicy: { idleLockMin: 4 } })
    const client = await signIn(people.nora)
    clock.advance(3)
    expect((await client.get('/ward')).status).toBe(200)
    clock.advance(3)
    expect((await client.get('/ward')).status).toBe(200)
    clock.advance(4)
    expect((await client.get('/ward')).location).toBe('/sign-in?next=%2Fward')
  })

  it('is not delayed by a page that refreshes itself', async () => {
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

  it('does not depend on the ward clock', async () => {
    const { signIn, clock } = await open()
    const client = await signIn(people.nora)
    clock.stepWardTime(1000)
    expect((await client.get('/ward')).status).toBe(200)
    clock.stepWardTime(-2000)
    clock.advance(11)
    expect((await client.get('/ward')).status).toBe(303)
  })

  it('after the configured hours, even when busy', async () => {
    const { signIn, clock } = await open({ config: { sessionHours: 1 } })
    const client = await signIn(people.nora)
    for (let minute = 0; minute < 59; minute += 1) {
      clock.advance(1)
      expect((await client.get('/ward')).status).toBe(200)
    }
    clock.advance(1)
    expect((await client.get('/ward')).status).toBe(303)
  })

  it('when the service restarts', async () => {
    const { signIn, server } = await open()
    const client = await signIn(people.nora)
    expect((await client.get('/ward')).status).toBe(200)
    Object.assign(server.appContext, { bootId: 'another boot' })
    expect((await client.get('/ward')).location).toBe('/sign-in?next=%2Fward')
  })

  it('keeps the ward for the same person’s next sign-in only', async () => {
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
  it('offer only the person’s wards, on a valid page', async () => {
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

  it('save the beds on the ward and select them the next time', async () => {
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

  it('fill the chosen meter in at the next check, and refuse another ward’s meter', async () => {
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

  it('refuse another person’s ward, unknown beds, and beds of another ward', async () => {
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

  it('answer forty malformed posts with the form and save no bed', async () => {
    const { signIn, store } = await open()
    const client = await signIn(people.nora)
    const scope = { staffId: people.nora.staffId, role: people.nora.role, wardIds: people.nora.wardIds }
    const before = store.wardVersion(scope, ALDER)
    const posts = malformedPosts({ wardId: ALDER, [`bed.${ALDER}.2`]: 'yes' }, await client.keyOf('/ward'), 'wardId')
    for (const { name, body } of posts) {
      const got = await client.postRaw('/ward', body)
      // an unknown ward of that name is "not found", shown as the form again
      expect([422, 404], `${name}: ${String(got.status)}`).toContain(got.status)
      expect(formTo(got.root(), '/ward'), name).toBeDefined()
    }
    expect(store.wardVersion(scope, ALDER)).toBe(before)
  })
})

describe('the first administrator', () => {
  const filled = { code: 'ABCDE-FGHJK', name: 'Ada Brook', badge: 'A0001', pin: '480517', pinAgain: '480517' }

  it('signs in once with the console’s code; then the page is gone', async () => {
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
    // the first administrator's next page says what to do
    expect(hub.words()).toContain('Add people, and make each a code for a PIN')
    expect(await checkHtml(hub.text)).toEqual([])
    expect(store.staffByBadge('A0001')).toMatchObject({ name: 'Ada Brook', role: 'administrator' })
    expect((await client.get('/first-administrator')).status).toBe(404)
    expect((await visitor().postRaw('/first-administrator', { ...filled, badge: 'A0002' })).status).toBe(404)
    expect((await visitor().postRaw('/sign-in', { badge: 'A0001', pin: filled.pin })).status).toBe(303)
  })

  it('records that a PIN was set, and not the PIN', async () => {
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

  it('is added once when sent twice at once', async () => {
    const { visitor } = await open({ empty: true, setUpCode: filled.code })
    const answers = await Promise.all([
      visitor().postRaw('/first-administrator', filled),
      visitor().postRaw('/first-administrator', { ...filled, badge: 'A0002' }),
    ])
    expect(answers.map((got) => got.status).sort()).toEqual([303, 404])
  })

  it('gets 404 when the database has people, or no code was made', async () => {
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
  ])('refuses %s beside the field and returns no secret', async (_name, change, field) => {
    const { visitor, store } = await open({ empty: true, setUpCode: filled.code })
    const got = await visitor().postRaw('/first-administrator', { ...filled, ...change })
    expect(got.status).toBe(422)
    expect(errorOf(got.root(), field)).not.toBeNull()
    expect(got.text).not.toContain(filled.pin)
    expect(got.text).not.toContain(filled.code)
    expect(formsOf(got.root())[0]?.fields['badge']).toBe({ ...filled, ...change }.badge)
    expect(store.isEmpty()).toBe(true)
  })

  it('limits guesses at the code', async () => {
    const { visitor } = await open({ empty: true, setUpCode: filled.code })
    for (let time = 0; time < BADGE_LIMIT.most; time++)
      expect((await visitor().postRaw('/first-administrator', { ...filled, code: 'X' })).status).toBe(422)
    expect((await visitor().postRaw('/first-administrator', filled)).status).toBe(429)
  })

  it('answers forty malformed posts with the form and adds nobody', async () => {
    const { visitor, store } = await open({ empty: true, setUpCode: filled.code })
    for (const { name, body } of malformedPosts(filled, null, 'pin')) {
      const got = await visitor().postRaw('/first-administrator', body)
      expect(got.status, name).toBe(422)
      expect(formTo(got.root(), '/first-administrator'), name).toBeDefined()
    }
    expect(store.isEmpty()).toBe(true)
  })
})
