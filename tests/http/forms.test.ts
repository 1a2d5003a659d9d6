/** Charting forms: one-time keys, refusals, conflicts, and drafts kept when a login ends. */
import { afterEach, describe, expect, it } from 'vitest'
import { z } from 'zod'
import { formRoute, newFormKey } from '../../server/http/forms.ts'
import { page } from '../../server/http/page.ts'
import { sha256 } from '../../server/http/ids.ts'
import { route, type Server } from '../../server/http/route.ts'
import type { FormSpec, RequestContext } from '../../server/http/request-context.ts'
import type { Store } from '../../server/store/contract.ts'
import { accept, refuse } from '../../shared/outcome.ts'
import { html } from '../../views/html.ts'
import { field, form, problem } from '../../views/parts.ts'
import type { Client } from '../support/client.ts'
import { checkHtml, errorOf, formTo } from '../support/html.ts'
import { malformedPosts } from '../support/malformed.ts'
import { ALDER, people } from '../support/people.ts'
import { meters } from '../support/wards.ts'
import { makeWorld, type World, type WorldOptions } from '../support/world.ts'

type Fields = { minutes: number; note: string; pin?: string | undefined }
type Refusal = 'beds-too-many' | 'taken' | 'forbidden' | 'gone' | 'wrong-band' | 'wrong-pin'

/** What the database says within the transaction, by the minutes typed. */
const FAULTS: Readonly<Record<number, { readonly message: string; readonly code: string }>> = {
  95: { message: 'UNIQUE constraint failed', code: 'SQLITE_CONSTRAINT_UNIQUE' },
  96: { message: 'CHECK constraint failed', code: 'SQLITE_CONSTRAINT_CHECK' },
  97: { message: 'database is locked', code: 'SQLITE_BUSY' },
}

/** A form for these tests: charts a meter control, and refuses in every way, chosen by the number typed. */
const spec: FormSpec<Fields, Refusal, RequestContext, string> = {
  name: 'probe',
  schema: z.strictObject({
    minutes: z
      .string()
      .regex(/^\d{1,3}$/, { error: 'Minutes are a whole number.' })
      .transform(Number),
    note: z.string().max(60, { error: 'A note has at most 60 characters.' }),
    pin: z.string().max(20).optional(),
  }),
  initial: () => ({ minutes: '5', note: 'as usual' }),
  draw: (ctx, state) =>
    (ctx.request.query as { absent?: string }).absent === '1'
      ? undefined
      : {
          title: 'Probe',
          body: html`<h1>Probe</h1>${problem(state.problem)}${form({
            action: 'probe',
            key: state.values['key'] ?? '',
            submit: 'Chart',
            body: html`
${field({ name: 'minutes', label: 'Minutes', value: state.values['minutes'] ?? '', error: state.errors['minutes'] ?? null })}
${field({ name: 'note', label: 'Note', value: state.values['note'] ?? '', error: state.errors['note'] ?? null })}
${field({ name: 'pin', label: 'PIN', value: '', error: state.errors['pin'] ?? null, type: 'password' })}`,
          })}`,
        },
  before: async (fields) =>
    fields.pin === '000000' ? refuse('wrong-pin') : accept(`prepared ${String(fields.minutes)}`),
  decide: (fields, ctx, prepared) => {
    if (prepared !== `prepared ${String(fields.minutes)}`) throw new Error('not what was prepared')
    if (fields.minutes > 100) return refuse('beds-too-many', { most: 100 })
    if (fields.minutes === 91) return refuse('taken')
    if (fields.minutes === 92) return refuse('forbidden')
    if (fields.minutes === 93) return refuse('gone')
    if (fields.minutes === 94) return refuse('wrong-band')
    return accept({
      events: [
        {
          type: 'meter-controlled',
          wardId: ALDER,
          stayId: null,
          actorId: ctx.actor.staffId,
          happenedAtMs: ctx.nowMs,
          chartedAtMs: ctx.nowMs,
          body: { meterId: meters.alder.meterId, passed: true },
        },
      ],
      location: `/charted/${String(fields.minutes)}`,
      effects:
        fields.minutes === 98
          ? [{ kind: 'session-meter', meterId: meters.alder.meterId }]
          : fields.minutes in FAULTS
            ? [{ kind: 'session-meter', meterId: `fault ${String(fields.minutes)}` }]
            : [],
    })
  },
  sentences: {
    'beds-too-many': ({ most }) => `At most ${String(most)} minutes.`,
    taken: () => 'Somebody charted this.',
    forbidden: () => 'You may not.',
    gone: () => 'It is gone.',
    'wrong-band': () => 'Wrong wristband.',
    'wrong-pin': () => 'Wrong PIN.',
  },
  fieldOf: { 'beds-too-many': 'minutes', 'wrong-pin': 'pin' },
  statusOf: { taken: 409, forbidden: 403, gone: 404 },
  keep: (reason, _fields, ctx) =>
    reason !== 'wrong-band'
      ? []
      : [
          {
            type: 'wristband-mismatched',
            wardId: ALDER,
            stayId: null,
            actorId: ctx.actor.staffId,
            happenedAtMs: ctx.nowMs,
            chartedAtMs: ctx.nowMs,
            body: { expectedStayId: 'stayw73010000000', foundStayId: null, at: 'check' },
          },
        ],
  secretFields: ['pin'],
}

function register(server: Server): void {
  const roles = ['floor-nurse'] as const
  formRoute(server, { url: '/probe', roles, spec })
  route(server, { method: 'GET', url: '/list', roles }, (ctx) =>
    page(ctx, 200, {
      title: 'List',
      body: html`<h1>List</h1>${form({ action: 'probe', key: newFormKey(ctx, 'probe'), submit: 'Chart', body: html`<input type="hidden" name="minutes" value="7"><input type="hidden" name="note" value="">` })}`,
    }),
  )
}

let world: World | null = null
/** A store in which what is kept with the login fails for these minutes, after the events. */
const wrapStore = (store: Store): Store => ({
  ...store,
  touchSession: (tokenHash, change) => {
    const fault = FAULTS[Number(/^fault (\d+)$/.exec(change.meterId ?? '')?.[1])]
    if (fault !== undefined) throw Object.assign(new Error(fault.message), { code: fault.code })
    store.touchSession(tokenHash, change)
  },
})
const open = async (options: WorldOptions = {}): Promise<World> =>
  (world = await makeWorld({ register, wrapStore, ...options }))
afterEach(async () => {
  await world?.close()
  world = null
})

/** The ward's version: each event increments it. */
const written = ({ store }: World): number =>
  store.wardVersion({ staffId: people.nora.staffId, role: 'floor-nurse', wardIds: [ALDER] }, ALDER) ?? -1
const good = { minutes: '12', note: 'control done' }
const values = async (client: Client, path: string) => formTo((await client.get(path)).root(), '/probe')?.fields ?? {}

describe('a form', () => {
  it('is valid HTML with its initial values and a new key each time', async () => {
    const client = await (await open()).signIn(people.nora)
    const got = await client.get('/probe')
    expect(await checkHtml(got.text)).toEqual([])
    const first = formTo(got.root(), '/probe')?.fields
    expect(first).toMatchObject({ minutes: '5', note: 'as usual' })
    expect(first?.['key']).toMatch(/^[a-z0-9]{16}\.[\w-]{43}$/)
    expect((await values(client, '/probe'))['key']).not.toBe(first?.['key'])
  })

  it('charts once and redirects; a repeat gets the same response and charts nothing', async () => {
    const w = await open()
    const client = await w.signIn(people.nora)
    const key = (await client.keyOf('/probe')) ?? ''
    const before = written(w)
    const answers = [await client.postRaw('/probe', { ...good, key }), await client.postRaw('/probe', { ...good, key })]
    for (const got of answers) expect([got.status, got.location]).toEqual([303, '/charted/12'])
    expect(written(w)).toBe(before + 1)
  })

  it('sent twice at the same moment charts once', async () => {
    const w = await open()
    const client = await w.signIn(people.nora)
    const key = (await client.keyOf('/probe')) ?? ''
    const before = written(w)
    const answers = await Promise.all(Array.from({ length: 8 }, () => client.postRaw('/probe', { ...good, key })))
    expect(answers.map((got) => [got.status, got.location])).toEqual(
      Array.from({ length: 8 }, () => [303, '/charted/12']),
    )
    expect(written(w)).toBe(before + 1)
  })

  it('answers 409 to a used key with other contents and returns them with a new key', async () => {
    const w = await open()
    const client = await w.signIn(people.nora)
    const key = (await client.keyOf('/probe')) ?? ''
    await client.postRaw('/probe', { ...good, key })
    const before = written(w)
    const got = await client.postRaw('/probe', { ...good, minutes: '13', key })
    expect(got.status).toBe(409)
    expect(written(w)).toBe(before)
    const fields = formTo(got.root(), '/probe')?.fields
    expect(fields?.['minutes']).toBe('13')
    expect(fields?.['key']).not.toBe(key)
    expect(got.words()).toContain('already sent with other contents')
    expect((await client.postRaw('/probe', { ...good, minutes: '13', key: fields?.['key'] ?? '' })).status).toBe(303)
  })

  it('leaves the PIN out of the body hash: nothing in the database reveals it', async () => {
    const w = await open()
    const client = await w.signIn(people.nora)
    const key = (await client.keyOf('/probe')) ?? ''
    expect((await client.postRaw('/probe', { ...good, pin: '123123', key })).status).toBe(303)
    expect((await client.postRaw('/probe', { ...good, pin: '000000', key })).status).toBe(303)
  })

  it.each(['minutes', 'note'])('keeps the key valid after a 422 (%s)', async (at) => {
    const w = await open()
    const client = await w.signIn(people.nora)
    const key = (await client.keyOf('/probe')) ?? ''
    const before = written(w)
    const refused = await client.postRaw('/probe', { ...good, [at]: 'x'.repeat(61), key })
    expect(refused.status).toBe(422)
    expect(errorOf(refused.root(), at)).not.toBeNull()
    expect(formTo(refused.root(), '/probe')?.fields).toMatchObject({ ...good, [at]: 'x'.repeat(61), key })
    expect(await checkHtml(refused.text)).toEqual([])
    expect(written(w)).toBe(before)
    expect((await client.postRaw('/probe', { ...good, key })).status).toBe(303)
  })

  it.each([
    ['101', 422, 'At most 100 minutes.', 'minutes'],
    ['91', 409, 'Somebody charted this.', null],
    ['92', 403, 'You may not.', null],
    ['93', 404, 'It is gone.', null],
  ])(
    'a refused decision (%s minutes) answers %i with its message, writes nothing and keeps the key',
    async (minutes, status, sentence, at) => {
      const w = await open()
      const client = await w.signIn(people.nora)
      const key = (await client.keyOf('/probe')) ?? ''
      const before = written(w)
      const got = await client.postRaw('/probe', { minutes, note: 'kept', key })
      expect(got.status).toBe(status)
      expect(got.words()).toContain(sentence)
      if (at !== null) expect(errorOf(got.root(), at)).toContain(sentence)
      expect(formTo(got.root(), '/probe')?.fields).toMatchObject({ minutes, note: 'kept', key })
      expect(written(w)).toBe(before)
      expect((await client.postRaw('/probe', { ...good, key })).status).toBe(303)
    },
  )

  it('shows a refused second person beside the PIN and never returns the PIN', async () => {
    const client = await (await open()).signIn(people.nora)
    const got = await client.post('/probe', { ...good, pin: '000000' })
    expect(got.status).toBe(422)
    expect(errorOf(got.root(), 'pin')).toContain('Wrong PIN.')
    expect(got.text).not.toContain('000000')
  })

  it('charts a refusal that is a fact once for each key and content', async () => {
    const w = await open()
    const client = await w.signIn(people.nora)
    const key = (await client.keyOf('/probe')) ?? ''
    const before = written(w)
    for (let time = 0; time < 3; time++)
      expect((await client.postRaw('/probe', { minutes: '94', note: '', key })).status).toBe(422)
    expect(written(w)).toBe(before + 1)
    await client.postRaw('/probe', { minutes: '94', note: 'again', key })
    expect(written(w)).toBe(before + 2)
    expect((await client.postRaw('/probe', { ...good, key })).status).toBe(303)
  })

  it.each([
    ['95', 'charted by somebody else in the meantime', 409],
    ['96', 'a broken rule of the database', 500],
    ['97', 'a busy database', 503],
  ])('rolls back after a fault in the transaction (%s: %s) and answers %i', async (minutes, _what, status) => {
    const w = await open()
    const client = await w.signIn(people.nora)
    const before = written(w)
    const key = (await client.keyOf('/probe')) ?? ''
    const got = await client.postRaw('/probe', { minutes, note: '', key })
    expect(got.status).toBe(status)
    expect(got.text).not.toContain('constraint')
    expect(got.words()).toMatch(/Not saved|Nothing was saved/)
    expect(await checkHtml(got.text)).toEqual([])
    expect(written(w)).toBe(before)
    expect((await client.postRaw('/probe', { ...good, key })).status).toBe(303)
    expect(written(w)).toBe(before + 1)
  })

  it('saves a choice of the login together with the facts', async () => {
    const w = await open()
    const client = await w.signIn(people.nora)
    await client.post('/probe', { minutes: '98', note: '' })
    expect(w.store.session(sha256(client.cookies.get('ward-login') ?? ''))?.meterId).toBe(meters.alder.meterId)
  })

  it.each(['%ED%A0%BD', '%FF', '5%C3', '%E0%A4%A', '%EF%BF%BD'])(
    'refuses invalid bytes (%s) beside the field, also in free text',
    async (bytes) => {
      const w = await open()
      const client = await w.signIn(people.nora)
      const key = (await client.keyOf('/probe')) ?? ''
      const before = written(w)
      const got = await client.postRaw('/probe', `minutes=7&note=${bytes}&key=${encodeURIComponent(key)}`)
      expect([got.status, errorOf(got.root(), 'note')]).toEqual([422, expect.stringContaining('cannot be charted')])
      expect(written(w)).toBe(before)
      // a percent sign that somebody typed is text
      expect((await client.post('/probe', { minutes: '7', note: bytes })).status).toBe(303)
    },
  )

  it('has its own key inside another page', async () => {
    const client = await (await open()).signIn(people.nora)
    const got = await client.post('/probe', { minutes: '7', note: '' }, { from: '/list' })
    expect(got.location).toBe('/charted/7')
  })

  it('answers 404 with its own message when it cannot be drawn', async () => {
    const client = await (await open()).signIn(people.nora)
    expect((await client.get('/probe?absent=1')).status).toBe(404)
    const key = (await client.keyOf('/probe')) ?? ''
    expect((await client.postRaw('/probe?absent=1', { minutes: 'x', note: '', key })).status).toBe(404)
    const conflict = await client.postRaw('/probe?absent=1', { minutes: '91', note: '', key })
    expect(conflict.status).toBe(409)
    expect(conflict.words()).toContain('Somebody charted this.')
  })
})

describe('keys', () => {
  it.each([
    ['none', () => undefined],
    ['an empty one', () => ''],
    ['an invented one', () => `abcdefghijklmnop.${'A'.repeat(43)}`],
    ['one with a changed id', (key: string) => `${key.startsWith('a') ? 'b' : 'a'}${key.slice(1)}`],
    ['one with a changed signature', (key: string) => `${key.slice(0, -2)}${key.endsWith('AA') ? 'BB' : 'AA'}`],
    ['one with more behind it', (key: string) => `${key}.x`],
    ['its id alone', (key: string) => key.slice(0, 16)],
  ])('answers 409 to %s and returns the contents with a valid key', async (_name, change) => {
    const w = await open()
    const client = await w.signIn(people.nora)
    const before = written(w)
    const key = change((await client.keyOf('/probe')) ?? '')
    const got = await client.postRaw('/probe', key === undefined ? good : { ...good, key })
    expect(got.status).toBe(409)
    expect(written(w)).toBe(before)
    const fields = formTo(got.root(), '/probe')?.fields
    expect(fields).toMatchObject(good)
    expect((await client.postRaw('/probe', { ...good, key: fields?.['key'] ?? '' })).status).toBe(303)
  })

  it('refuses another person’s key, used or unused', async () => {
    const w = await open()
    const nora = await w.signIn(people.nora)
    const omar = await w.signIn(people.omar)
    const key = (await nora.keyOf('/probe')) ?? ''
    expect((await omar.postRaw('/probe', { ...good, key })).status).toBe(409)
    expect((await nora.postRaw('/probe', { ...good, key })).status).toBe(303)
    const before = written(w)
    const got = await omar.postRaw('/probe', { ...good, key })
    expect(got.status).toBe(409)
    expect(got.location).toBeNull()
    expect(written(w)).toBe(before)
  })

  it('refuses another form’s key', async () => {
    const client = await (await open()).signIn(people.nora)
    const key = (await client.keyOf('/ward')) ?? ''
    expect((await client.postRaw('/probe', { ...good, key })).status).toBe(409)
  })

  it('keeps the key and its response across signing in again', async () => {
    const w = await open()
    const client = await w.signIn(people.nora)
    const key = (await client.keyOf('/probe')) ?? ''
    await client.postRaw('/sign-out', {})
    const again = await w.signIn(people.nora)
    const before = written(w)
    expect((await again.postRaw('/probe', { ...good, key })).status).toBe(303)
    expect(written(w)).toBe(before + 1)
    const third = await w.signIn(people.nora)
    const after = written(w)
    expect((await third.postRaw('/probe', { ...good, key })).location).toBe('/charted/12')
    expect(written(w)).toBe(after)
  })
})

describe('malformed posts', () => {
  it('answer 422 to forty of them with the form, write nothing and keep the key', async () => {
    const w = await open()
    const client = await w.signIn(people.nora)
    const key = (await client.keyOf('/probe')) ?? ''
    const before = written(w)
    const posts = malformedPosts(good, key, 'minutes')
    expect(posts.length).toBeGreaterThanOrEqual(40)
    for (const { name, body } of posts) {
      const got = await client.postRaw('/probe', body)
      expect(got.status, name).toBe(422)
      const back = formTo(got.root(), '/probe')
      expect(back?.fields['key'], name).toBe(key)
      expect(got.words(), name).toMatch(/Not saved/)
      expect(got.root().childNodes.length, name).toBeGreaterThan(0)
      expect(await checkHtml(got.text), name).toEqual([])
    }
    expect(written(w)).toBe(before)
    expect((await client.postRaw('/probe', { ...good, key })).status).toBe(303)
  })

  it('refuses a body over the limit unread, and JSON or other content types', async () => {
    const w = await open()
    const client = await w.signIn(people.nora)
    const before = written(w)
    expect((await client.postRaw('/probe', `note=${'x'.repeat(70_000)}`)).status).toBe(413)
    expect(
      (await client.postRaw('/probe', '{"minutes":"12"}', { headers: { 'content-type': 'application/json' } })).status,
    ).toBe(415)
    expect((await client.postRaw('/probe', 'minutes=12', { headers: { 'content-type': 'text/plain' } })).status).toBe(
      415,
    )
    expect(
      (await client.postRaw('/probe', '', { headers: { 'content-type': 'multipart/form-data; boundary=x' } })).status,
    ).toBe(415)
    expect(written(w)).toBe(before)
  })
})

describe('htmx and plain requests', () => {
  it('get the same status and page', async () => {
    const client = await (await open()).signIn(people.nora)
    const key = (await client.keyOf('/probe')) ?? ''
    const plain = await client.postRaw('/probe', { minutes: 'x', note: '', key })
    const htmx = await client.postRaw(
      '/probe',
      { minutes: 'x', note: '', key },
      { headers: { 'hx-request': 'true', 'hx-boosted': 'true' } },
    )
    expect([htmx.status, htmx.text]).toEqual([plain.status, plain.text])
    expect(htmx.headers['hx-retarget']).toBe('#page')
    expect(plain.headers['hx-retarget']).toBeUndefined()
    expect((await client.postRaw('/probe', { ...good, key }, { headers: { 'hx-request': 'true' } })).status).toBe(303)
  })
})

describe('a login that ends during typing', () => {
  const typed = { minutes: '44', note: 'typed before the lock', pin: '123123' }
  const lockAndSend = async (w: World): Promise<{ client: Client; signIn: string; key: string }> => {
    const client = await w.signIn(people.nora)
    const key = (await client.keyOf('/probe')) ?? ''
    w.clock.advance(30)
    const got = await client.postRaw('/probe', { ...typed, key })
    expect(got.status).toBe(303)
    expect(got.location).toMatch(/^\/sign-in\?next=%2Fprobe&draft=[a-z0-9]{16}$/)
    return { client, signIn: got.location ?? '', key }
  }
  const signInAs = async (client: Client, path: string, who: { badge: string; pin: string }) => {
    const fields = formTo((await client.get(path)).root(), '/sign-in')?.fields ?? {}
    return client.postRaw('/sign-in', { ...fields, badge: who.badge, pin: who.pin })
  }

  it('keeps the typed value; the same person finds it again and sends it', async () => {
    const w = await open()
    const before = written(w)
    const { client, signIn } = await lockAndSend(w)
    expect((await client.get(signIn)).words()).toContain('What you typed is kept')
    const back = await signInAs(client, signIn, people.nora)
    expect(back.location).toMatch(/^\/probe\?draft=/)
    const got = await client.follow(back)
    expect(got.status).toBe(200)
    expect(await checkHtml(got.text)).toEqual([])
    const fields = formTo(got.root(), '/probe')?.fields ?? {}
    expect(fields).toMatchObject({ minutes: '44', note: 'typed before the lock', pin: '' })
    expect(got.words()).toContain('What you typed is here again')
    expect(got.text).not.toContain('123123')
    expect(written(w)).toBe(before + 1) // the beds taken at sign-in, and nothing else
    expect((await client.postRaw('/probe', { ...fields, pin: '' })).location).toBe('/charted/44')
  })

  it('keeps the value hidden from another person who signs in first on that device', async () => {
    const w = await open()
    const { client, signIn } = await lockAndSend(w)
    const other = await signInAs(client, signIn, people.omar)
    const seen = await client.follow(other)
    expect(seen.text).not.toContain('typed before the lock')
    expect(formTo(seen.root(), '/probe')?.fields).toMatchObject({ minutes: '5', note: 'as usual' })
    const again = await client.follow(await signInAs(client, signIn, people.nora))
    expect(formTo(again.root(), '/probe')?.fields).toMatchObject({ note: 'typed before the lock' })
  })

  it('does not fill in another form, and an invented draft is ignored', async () => {
    const w = await open()
    const { client, signIn } = await lockAndSend(w)
    await signInAs(client, signIn, people.nora)
    const draft = new URL(signIn, 'http://ward.test').searchParams.get('draft') ?? ''
    expect((await client.get(`/ward?draft=${draft}`)).text).not.toContain('typed before the lock')
    for (const invented of ['aaaaaaaaaaaaaaaa', '', '../x', 'a'.repeat(400)]) {
      expect((await values(client, `/probe?draft=${encodeURIComponent(invented)}`))['note']).toBe('as usual')
    }
  })

  it('keeps nothing for somebody who was never signed in', async () => {
    const w = await open()
    const got = await w.visitor().postRaw('/probe', typed)
    expect(got.location).toBe('/sign-in?next=%2Fprobe')
  })

  it('lets the same person send the form after signing out: the key is unchanged', async () => {
    const w = await open()
    const client = await w.signIn(people.nora)
    const key = (await client.keyOf('/probe')) ?? ''
    await client.postRaw('/sign-out', {})
    expect((await client.postRaw('/probe', { ...good, key })).location).toBe('/sign-in?next=%2Fprobe')
    const again = await w.signIn(people.nora)
    expect((await again.postRaw('/probe', { ...good, key })).status).toBe(303)
  })
})
