/**
 * Attacks on PINs and codes: what response times and messages reveal about a badge, and how many guesses are allowed.
 */
import type { verify, Options } from '@node-rs/argon2'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { ADDRESS_LIMIT, BADGE_LIMIT, NETWORK_LIMIT, networkOf } from '../../server/http/attempts.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import { ALL, charted, productFields, proposeDose, takeReading, answer } from '../support/bedside.ts'
import type { Client, Fields, Got } from '../support/client.ts'
import { ALDER, CHEAP_PIN, cheapHash, people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World, type WorldOptions } from '../support/world.ts'

/** Each call to the hashing library, in order. */
const work = vi.hoisted(() => ({ verified: [] as string[], hashed: 0 }))
vi.mock('@node-rs/argon2', async (original) => {
  const real = await original<{ verify: typeof verify; hash: (pin: string, options?: Options) => Promise<string> }>()
  return {
    ...real,
    verify: (kept: string, pin: string) => {
      work.verified.push(kept)
      return real.verify(kept, pin)
    },
    hash: (pin: string, options?: Options) => {
      work.hashed++
      return real.hash(pin, options)
    },
  }
})

let world: World
let nora: Client
/** A dose that waits for its second check, worked out by Nora, and one whose product must be read. */
let doses: { readonly waiting: string; readonly agreed: string }

const append = (...events: readonly Pick<LedgerEvent, 'type' | 'body'>[]): void => {
  const nowMs = world.clock.now()
  world.store.transact(() => {
    world.store.append(
      events.map(
        (event) =>
          ({
            wardId: null,
            stayId: null,
            actorId: people.anna.staffId,
            happenedAtMs: nowMs,
            chartedAtMs: nowMs,
            ...event,
          }) as LedgerEvent,
      ),
    )
    return null
  })
}

async function open(options: WorldOptions = {}): Promise<void> {
  world = await makeWorld({ at: '2026-03-10T07:30', ...options })
  nora = await world.signIn(people.nora)
  const waiting = await proposeDose(nora, await takeReading(nora, stays.ruth, '243'))
  const agreed = await proposeDose(
    nora,
    await takeReading(nora, stays.maud, '243', {
      key: `extra.${stays.maud.stayId}.attack0000000000`,
      extraReason: 'other',
    }),
  )
  await answer(nora, agreed, people.omar, '243', '4')
  doses = { waiting, agreed }
  // five badges of the same length, so that a response that repeats them has the same length
  for (const badge of ['N3001', 'N3002', 'N3003'])
    append({
      type: 'staff-added',
      body: {
        staffId: `staff${badge.toLowerCase()}00000`.padEnd(16, '0'),
        badge,
        name: `Person ${badge}`,
        role: 'floor-nurse',
        wardIds: [ALDER],
      },
    })
  const hash = await cheapHash('640917')
  world.store.transact(() => {
    for (const id of ['staffn300100000', 'staffn300200000']) world.store.setPinHash(id.padEnd(16, '0'), hash)
    return null
  })
  append(
    { type: 'staff-locked', body: { staffId: 'staffn3001000000', reason: 'lost' } },
    { type: 'staff-left', body: { staffId: 'staffn3002000000' } },
  )
}
beforeEach(() => open())
afterEach(() => world.close())

/** Every form that takes a badge, with a badge and its secret. */
const DOORS: readonly (readonly [
  name: string,
  send: (badge: string, secret: string, key: string | null) => Promise<Got>,
  keyOf: () => Promise<string | null>,
])[] = [
  ['sign-in', (badge, pin) => world.visitor().postRaw('/sign-in', { badge, pin }), async () => null],
  [
    'set-pin',
    (badge, code) => world.visitor().postRaw('/set-pin', { badge, code, pin: '839201', pinAgain: '839201' }),
    async () => null,
  ],
  [
    'second check',
    (badge, pin, key) =>
      nora.postRaw(`/doses/${doses.waiting}/second-check`, { glucose: '243', units: '4', badge, pin, key: key ?? '' }),
    () => nora.keyOf(`/doses/${doses.waiting}/second-check`),
  ],
  [
    'product',
    (badge, pin, key) =>
      nora.postRaw(`/doses/${doses.agreed}/product`, {
        ...productFields(stays.maud, people.omar, '4'),
        badge,
        pin,
        key: key ?? '',
      }),
    () => nora.keyOf(`/doses/${doses.agreed}/product`),
  ],
]
/** A secret that nobody has, for each form: six digits for a PIN, eight characters for a code. */
const wrongAt = (door: string): string => (door === 'set-pin' ? 'ACDEFHJK' : '998877')

const KINDS: readonly (readonly [name: string, badge: string])[] = [
  ['a badge with another PIN', people.omar.badge],
  ['an unknown badge', 'N9999'],
  ['a locked badge', 'N3001'],
  ['a badge whose owner left', 'N3002'],
  ['a badge without a PIN', 'N3003'],
]

describe.each(DOORS)('timing of PIN checks and badge enumeration at %s', (door, send, keyOf) => {
  it.each(KINDS)('%s: makes exactly one verification at the ward’s cost, and no other work', async (_kind, badge) => {
    const key = await keyOf()
    work.verified.length = 0
    work.hashed = 0
    expect((await send(badge, wrongAt(door), key)).status).toBe(422)
    expect(work.verified).toHaveLength(1)
    expect(work.verified[0]).toMatch(
      new RegExp(
        `^\\$argon2id\\$v=19\\$m=${String(CHEAP_PIN.memoryKiB)},t=${String(CHEAP_PIN.passes)},p=${String(CHEAP_PIN.lanes)}\\$`,
      ),
    )
    expect(work.hashed).toBe(0)
  })

  it('returns the same bytes and headers for every kind of badge', async () => {
    const key = await keyOf()
    const answers = []
    for (const [, badge] of KINDS) {
      const got = await send(badge, wrongAt(door), key)
      // the clock's second and the request number do not depend on the badge
      const { date: _date, 'x-request-id': _number, ...headers } = got.headers
      answers.push({ status: got.status, headers, text: got.text.replaceAll(badge, 'BADGE') })
    }
    expect(answers[0]?.status).toBe(422)
    for (const [at, one] of answers.entries()) expect(one, KINDS[at]?.[0]).toEqual(answers[0])
  })

  it('limits an unknown badge like any other, with the same message', async () => {
    const key = await keyOf()
    const last = async (badge: string): Promise<string> => {
      for (let time = 0; time < BADGE_LIMIT.most; time++)
        expect((await send(badge, wrongAt(door), key)).status).toBe(422)
      const got = await send(badge, wrongAt(door), key)
      return `${String(got.status)} ${got.text.replaceAll(badge, 'BADGE')}`
    }
    const real = await last(people.pia.badge)
    expect(real).toContain('Too many attempts')
    expect(await last('N9998')).toBe(real)
  })
})

it('timing of PIN checks: the first unknown badge after a start takes no longer than the next', async () => {
  const fresh = await makeWorld()
  work.verified.length = 0
  work.hashed = 0
  await fresh.visitor().postRaw('/sign-in', { badge: 'N9999', pin: '998877' })
  expect([work.verified.length, work.hashed]).toEqual([1, 0])
  await fresh.close()
})

describe('brute force', () => {
  it.each<[string, (pin: string) => Promise<Got>]>([
    [
      'the second check',
      (pin) =>
        nora.post(`/doses/${doses.waiting}/second-check`, {
          glucose: '243',
          units: '4',
          badge: people.omar.badge,
          pin,
        }),
    ],
    [
      'the product',
      (pin) => nora.post(`/doses/${doses.agreed}/product`, { ...productFields(stays.maud, people.omar, '4'), pin }),
    ],
  ])('limits guesses at a colleague’s PIN at %s together with that badge’s other forms', async (_name, guess) => {
    const before = [charted(world, stays.ruth), charted(world, stays.maud)]
    for (let time = 0; time < BADGE_LIMIT.most; time++) expect((await guess(`90000${String(time)}`)).status).toBe(422)
    const limited = await guess(people.omar.pin)
    expect(limited.words()).toContain('Too many attempts. Wait 5 minutes')
    expect([charted(world, stays.ruth), charted(world, stays.maud)]).toEqual(before)
    expect((await world.visitor().postRaw('/sign-in', { badge: people.omar.badge, pin: people.omar.pin })).status).toBe(
      429,
    )
    // the guesser's own badge has its own count
    expect((await world.visitor().postRaw('/sign-in', { badge: people.nora.badge, pin: people.nora.pin })).status).toBe(
      303,
    )
  })

  it('counts PINs at a dose of another ward too, and a right PIN gives no access', async () => {
    const bo = await world.signIn(people.bo)
    const key = world.server.appContext.formKeys.make(people.bo.staffId, 'second-check')
    const guess = (pin: string): Promise<Got> =>
      bo.postRaw(`/doses/${doses.waiting}/second-check`, {
        glucose: '243',
        units: '4',
        badge: people.omar.badge,
        pin,
        key,
      })
    for (let time = 0; time < BADGE_LIMIT.most; time++) expect((await guess(`90000${String(time)}`)).status).toBe(404)
    expect((await guess(people.omar.pin)).status).toBe(404)
    expect((await world.visitor().postRaw('/sign-in', { badge: people.omar.badge, pin: people.omar.pin })).status).toBe(
      429,
    )
  })

  it('limits guesses at the one-time code of an empty service; the right code then waits too', async () => {
    const empty = await makeWorld({ empty: true, setUpCode: 'ABCDE-FGHJK-LMNPQ-RSTUV' })
    const guess = (code: string): Promise<Got> =>
      empty.visitor().postRaw('/first-administrator', {
        code,
        name: 'Anna Quill',
        badge: 'A1001',
        pin: '839201',
        pinAgain: '839201',
      })
    for (let time = 0; time < BADGE_LIMIT.most; time++)
      expect((await guess(`AAAAA-AAAAA-AAAAA-AAAA${String(time)}`)).status).toBe(422)
    expect((await guess('ABCDE-FGHJK-LMNPQ-RSTUV')).status).toBe(429)
    expect(empty.store.isEmpty()).toBe(true)
    empty.clock.advance(5)
    expect((await guess('ABCDE-FGHJK-LMNPQ-RSTUV')).status).toBe(303)
    // afterwards that page does not exist
    expect((await guess('ABCDE-FGHJK-LMNPQ-RSTUV')).status).toBe(404)
    await empty.close()
  })

  it('limits by IPv6 network, since one machine can use any of its addresses', async () => {
    await world.close()
    await open({ config: { trustProxy: ['127.0.0.1'] } })
    const from = (address: string, body: Fields): Promise<Got> =>
      world.visitor().postRaw('/sign-in', body, { headers: { 'x-forwarded-for': address } })
    for (let time = 0; time < NETWORK_LIMIT.most; time++)
      expect(
        (await from(`2001:db8:0:7::${time.toString(16)}`, { badge: `X${String(time)}`, pin: '000000' })).status,
      ).toBe(422)
    const right = { badge: people.omar.badge, pin: people.omar.pin }
    expect((await from('2001:db8:0:7:ffff::1', right)).status).toBe(429)
    expect((await from('2001:db8:0:8::1', right)).status).toBe(303)
  })

  it.each([
    ['2001:db8:0:7::1', '2001:db8:0:7'],
    ['2001:0DB8:0000:0007:1:2:3:4', '2001:db8:0:7'],
    ['2001:db8::', '2001:db8:0:0'],
    ['::1', '0:0:0:0'],
    ['fe80::1%eth0', 'fe80:0:0:0'],
    ['1:2:3:4:5::6', '1:2:3:4'],
    ['::2:3:4:5:6:7', '0:0:2:3'],
    ['10.1.2.3', null],
    ['::ffff:10.1.2.3', null],
    ['', null],
    ['no address', null],
  ])('the network of %j is %j', (address, network) => {
    expect(networkOf(address)).toBe(network)
  })

  it('logs a reached limit once, with the address and without a badge', async () => {
    const lines: string[] = []
    const logged = await makeWorld({
      config: { logLevel: 'warn' },
      logTo: {
        write: (line) => {
          lines.push(line)
        },
      },
    })
    const client = logged.visitor()
    const guess = (badge: string): Promise<Got> => client.postRaw('/sign-in', { badge, pin: '000000' })
    for (let time = 0; time < BADGE_LIMIT.most + 4; time++) await guess('482039')
    expect(lines).toHaveLength(1)
    expect(JSON.parse(lines[0] ?? '{}')).toMatchObject({
      level: 40,
      address: '127.0.0.1',
      msg: expect.stringContaining('too many attempts') as string,
    })
    expect(lines.join('')).not.toContain('482039')
    for (let time = 0; time < ADDRESS_LIMIT.most; time++) await guess(`X${String(time)}`)
    expect(lines).toHaveLength(2)
    logged.clock.advance(5)
    for (let time = 0; time < BADGE_LIMIT.most + 4; time++) await guess('482039')
    expect(lines).toHaveLength(3)
    await logged.close()
  })
})

describe('PINs and patients in logs', () => {
  it('keeps PINs, names, badges, wristbands and patient ids out of the log, and PINs out of URLs and the record', async () => {
    const lines: string[] = []
    await world.close()
    await open({
      config: { logLevel: 'info' },
      logTo: {
        write: (line) => {
          lines.push(line)
        },
      },
    })
    const visitor = world.visitor()
    const wrong = ['771204', '771205', '771206']
    await visitor.postRaw('/sign-in', { badge: people.pia.badge, pin: wrong[0] ?? '' })
    // typed in the wrong field, which happens
    await visitor.postRaw('/sign-in', { badge: wrong[1] ?? '', pin: people.pia.badge })
    await visitor.get(`/sign-in?badge=${people.pia.badge}&pin=${wrong[2] ?? ''}`)
    await nora.post(`/doses/${doses.waiting}/second-check`, {
      glucose: '243',
      units: '4',
      badge: people.omar.badge,
      pin: people.omar.pin,
    })
    const own = await nora.post('/my-pin', { oldPin: people.nora.pin, pin: '628104', pinAgain: '628104' })
    expect(own.status).toBe(303)
    await nora.postRaw('/scan', { wristband: stays.gwen.wristband })
    await nora.get(`/no-such-page?name=${stays.ruth.familyName}`)
    await nora.get(`/stays/${stays.ruth.stayId}`)
    const log = lines.join('')
    expect(lines.length).toBeGreaterThan(10)
    const secrets = [
      ...wrong,
      people.nora.pin,
      people.omar.pin,
      '628104',
      ...[stays.ruth, stays.gwen].flatMap(({ wristband, familyName, givenName, stayId }) => [
        wristband,
        familyName,
        givenName,
        stayId,
      ]),
      people.pia.badge,
    ]
    expect(secrets.filter((secret) => log.includes(secret))).toEqual([])
    expect(own.location).toBe('/my-pin?changed=yes')
    const facts = JSON.stringify(world.store.stayFacts(ALL, stays.ruth.stayId, world.clock.now()))
    expect([people.omar.pin, people.nora.pin].filter((pin) => facts.includes(pin))).toEqual([])
  })
})
