/** The log: one line for each response with the same request number, and no patient or person in any line. */
import { connect } from 'node:net'
import { afterEach, describe, expect, it } from 'vitest'
import { z } from 'zod'
import { faultOf } from '../../server/http/log.ts'
import { routeTable } from '../../server/http/route.ts'
import type { RouteSpec } from '../../server/http/route-spec.ts'
import type { Store } from '../../server/store/contract.ts'
import { DATE, proposeDose, takeReading } from '../support/bedside.ts'
import { people, type Person } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
let lines: string[] = []
afterEach(() => world.close())

type Line = Readonly<Record<string, unknown>>
const parsed = (): readonly Line[] => lines.map((line) => JSON.parse(line) as Line)

async function open(options: Parameters<typeof makeWorld>[0] = {}): Promise<World> {
  lines = []
  world = await makeWorld({
    config: { logLevel: 'info', metricsToken: 'figures-for-nobody-else' },
    alderPolicy: { idleLockMin: 100_000 },
    logTo: {
      write: (line) => {
        lines.push(line)
      },
    },
    demo: true,
    ...options,
  })
  return world
}

const { ruth } = stays
const WHO: readonly Person[] = [people.nora, people.cora, people.edda, people.anna]
/** Values that no log line may contain. None of them can occur by chance. */
const MARKS = [
  'Ashby',
  'Quillfeather',
  ruth.wristband,
  ruth.stayId,
  ruth.orderId,
  people.nora.badge,
  people.nora.pin,
  'N4077',
  '860153',
  '734.5',
  'outward-number',
  '1948-02-17',
  'whispered',
]
/** Everything that a log line may contain. */
const KEYS = new Set([
  'level',
  'time',
  'pid',
  'hostname',
  'reqId',
  'msg',
  'method',
  'route',
  'status',
  'ms',
  'code',
  'form',
  'err',
  'address',
])
const MESSAGES = new Set([
  'answered',
  'not accepted',
  'fault',
  'fault while telling of a fault',
  'the access log could not be written; it is tried again',
  'the database did not answer',
  'too many attempts with a badge and PIN or code',
  'charted by somebody else in the meantime',
  'not HTTP',
])

function expectClean(): void {
  const routes = new Set(['none', ...routeTable(world.server).map(({ url }) => url)])
  for (const line of parsed()) {
    expect(
      [...Object.keys(line)].filter((key) => !KEYS.has(key)),
      JSON.stringify(line),
    ).toEqual([])
    expect(
      MESSAGES.has(String(line['msg'])) || String(line['msg']).startsWith('Server listening at'),
      JSON.stringify(line),
    ).toBe(true)
    if ('route' in line) expect(routes.has(String(line['route'])), JSON.stringify(line)).toBe(true)
  }
  const all = lines.join('')
  expect(MARKS.filter((mark) => all.includes(mark))).toEqual([])
}

/** Paths of the route with markers in each parameter and in the query. */
const addresses = ({ url }: RouteSpec): readonly string[] => [
  `${url.replace(/:\w+/g, ruth.stayId)}?wristband=${ruth.wristband}&name=Ashby&born=1948-02-17`,
  `${url.replace(/:\w+/g, `${ruth.stayId}.${DATE}.Quillfeather`)}?glucose=734.5`,
  url.replace(/:\w+/g, 'Quillfeather%20Ashby'),
]
const FIELDS = {
  wristband: ruth.wristband,
  familyName: 'Quillfeather',
  givenName: 'Ashby',
  bornOn: '1948-02-17',
  badge: 'N4077',
  pin: '860153',
  newPin: '860153',
  glucose: '734.5',
  reason: 'whispered',
  note: 'whispered',
  stayId: ruth.stayId,
  key: 'outward-number.x.y',
}
const HEADERS = {
  'x-request-id': 'outward-number',
  'request-id': 'outward-number',
  'user-agent': 'Quillfeather',
  'hx-current-url': `http://ward.test/stays/${ruth.stayId}?name=Ashby`,
}

describe('no log line contains a patient or person', () => {
  it('on any route, for any role and without a login, with markers in path, query, fields and headers', async () => {
    await open()
    for (const who of [null, ...WHO]) {
      for (const spec of routeTable(world.server)) {
        const client = who === null ? world.visitor() : await world.signIn(who)
        for (const path of addresses(spec)) {
          const got =
            spec.method === 'GET'
              ? await client.get(path, { headers: HEADERS })
              : await client.postRaw(path, FIELDS, { headers: HEADERS })
          expect(got.status, path).toBeLessThan(500)
        }
      }
    }
    expect(lines.length).toBeGreaterThan(1000)
    expectClean()
  })

  it('from the wristband to the dose, and at sign-in', async () => {
    await open()
    const nora = await world.signIn(people.nora)
    const reading = await takeReading(nora, ruth, '215')
    const dose = await proposeDose(nora, reading)
    for (let time = 0; time < 8; time++) await world.visitor().postRaw('/sign-in', { badge: 'N4077', pin: '860153' })
    await nora.postRaw(`/doses/${dose}/second-check`, { ...FIELDS, badge: people.nora.badge, pin: people.nora.pin })
    expect(lines.join('')).not.toContain(reading)
    expect(lines.join('')).not.toContain(dose)
    expectClean()
  })

  it('when the store fails on any route with markers in its error', async () => {
    let failing = false
    let count = 0
    const KEEP = new Set([
      'session',
      'staffById',
      'wardPolicy',
      'secret',
      'close',
      'onWrite',
      'isEmpty',
      'logAccess',
      'putDraft',
    ])
    const wrapStore = (store: Store): Store =>
      new Proxy(store, {
        get: (target, name) => {
          const value: unknown = Reflect.get(target, name)
          if (!failing || typeof value !== 'function' || KEEP.has(String(name))) return value
          return () => {
            throw faultsOf()[count++ % faultsOf().length] ?? new Error('none')
          }
        },
      })
    await open({ wrapStore })
    let faults = 0
    for (const who of WHO) {
      for (const spec of routeTable(world.server)) {
        failing = false
        const client = await world.signIn(who)
        failing = true
        const [path = ''] = addresses(spec)
        const got = spec.method === 'GET' ? await client.get(path) : await client.postRaw(path, FIELDS)
        if (got.status >= 500 && spec.url !== '/healthz') {
          faults++
          expect(got.text, path).toContain(String(got.headers['x-request-id']))
          // the demo's banner links back to the requested path
          expect(
            MARKS.filter((mark) => mark !== ruth.stayId && got.text.includes(mark)),
            path,
          ).toEqual([])
        }
      }
    }
    failing = false
    expect(faults).toBeGreaterThan(100)
    const told = parsed().filter(({ err }) => err !== undefined)
    expect(told.length).toBeGreaterThanOrEqual(faults)
    for (const { err } of told) expect((err as { stack: string }).stack).toMatch(/^at /)
    expectClean()
  })

  /** Real failures: damaged JSON in a table, a missing row, a failed schema, a wrapped error. */
  function faultsOf(): readonly Error[] {
    const thrown = (work: () => unknown): Error => {
      try {
        work()
      } catch (error) {
        if (error instanceof Error) return error
      }
      throw new Error('nothing was thrown')
    }
    return [
      thrown(() => JSON.parse(`{"familyName":"Ashby","wristband":"${ruth.wristband}"`)),
      thrown(() => JSON.parse('Quillfeather')),
      thrown(() => z.strictObject({ a: z.literal('b') }).parse({ Quillfeather: 1, a: ruth.wristband })),
      new Error(`no row ${ruth.stayId} in stay`),
      new Error(`"Ashby" is not “Quillfeather” and not 'whispered': 734.5\nAshby on the next line`),
      new Error('could not be read', {
        cause: new Error(`wristband ${ruth.wristband} of order ${ruth.orderId}`, { cause: new SyntaxError('Ashby') }),
      }),
      Object.assign(new Error('UNIQUE constraint failed: stay.wristband'), { code: 'SQLITE_CONSTRAINT_CHECK' }),
    ]
  }
})

describe('logged errors', () => {
  it('keep class, code, place and message', () => {
    const told = faultOf(Object.assign(new RangeError('the disk is full'), { code: 'SQLITE_FULL' }))
    expect(told).toMatchObject({ type: 'RangeError', code: 'SQLITE_FULL', message: 'the disk is full' })
    expect(told.stack).toContain('logs.test.ts')
  })

  it.each([
    ['an id', `dose ${ruth.stayId} is settled`, 'dose … is settled'],
    ['quoted text', 'no "Ruth Ashby" here', 'no … here'],
    ['a quote that never ends', 'no “Ruth Ashby', 'no …'],
    ['a number', 'value 215 of W7301', 'value … of …'],
    ['an apostrophe in a word', "doesn't hold", "doesn't hold"],
  ])('%s', (_name, message, told) => {
    expect(faultOf(new Error(message)).message).toBe(told)
  })

  it('leave out values that are no error, and codes that are no code', () => {
    expect(JSON.stringify(faultOf('Ashby'))).not.toContain('Ashby')
    expect(faultOf(Object.assign(new Error('x'), { code: 'Ruth Ashby' }))).not.toHaveProperty('code')
  })

  it('stop at a cause that refers to itself', () => {
    const error = new Error('one')
    error.cause = error
    expect(JSON.stringify(faultOf(error)).length).toBeLessThan(10_000)
  })
})

describe('the request number', () => {
  it('is in a header of each response and in one log line, and is generated here', async () => {
    await open()
    const numbers: string[] = []
    for (const spec of routeTable(world.server)) {
      const client = await world.signIn(people.nora)
      const before = lines.length
      const path = spec.url.replace(/:\w+/g, 'nobodys000000000')
      const got =
        spec.method === 'GET'
          ? await client.get(path, { headers: HEADERS })
          : await client.postRaw(path, {}, { headers: HEADERS })
      const number = String(got.headers['x-request-id'])
      expect(number, path).toMatch(/^[a-z0-9]{16}$/)
      const own = lines
        .slice(before)
        .map((line) => JSON.parse(line) as Line)
        .filter(({ reqId, msg }) => reqId === number && msg === 'answered')
      expect([path, own.map(({ method, route, status }) => [method, route, status])]).toEqual([
        path,
        [[spec.method, spec.url === '/assets/:file' ? 'none' : spec.url, got.status]],
      ])
      numbers.push(number)
    }
    expect(new Set(numbers).size).toBe(numbers.length)
  })

  it.each<
    [
      string,
      number,
      (w: World) => Promise<{
        readonly status: number
        readonly words: () => string
        readonly headers: Readonly<Record<string, unknown>>
      }>,
    ]
  >([
    ['not found', 404, async (w) => (await w.signIn(people.nora)).get('/no-such-page')],
    ['not on a ward of hers', 404, async (w) => (await w.signIn(people.bo)).get(`/stays/${ruth.stayId}`)],
    ['not for the role', 403, async (w) => (await w.signIn(people.anna)).get('/round')],
    [
      'from another site',
      403,
      async (w) =>
        w
          .visitor()
          .postRaw('/sign-in', {}, { headers: { origin: 'http://elsewhere.example', 'sec-fetch-site': 'cross-site' } }),
    ],
    [
      'no form',
      415,
      async (w) => w.visitor().postRaw('/sign-in', '{}', { headers: { 'content-type': 'application/json' } }),
    ],
    ['too long', 413, async (w) => w.visitor().postRaw('/sign-in', `badge=${'x'.repeat(70_000)}`)],
  ])('is shown on the page: %s', async (_name, status, ask) => {
    await open()
    const got = await ask(world)
    expect(got.status).toBe(status)
    const number = /Number of this answer: ([a-z0-9]{16})/.exec(got.words())?.[1]
    expect(number).toBe(got.headers['x-request-id'])
    expect(parsed().filter(({ reqId, msg }) => reqId === number && msg === 'answered')).toHaveLength(1)
  })

  it('is shown where a form no longer exists (409)', async () => {
    await open()
    const nora = await world.signIn(people.nora)
    const key = world.server.appContext.formKeys.make(people.nora.staffId, 'stop-order')
    const got = await nora.postRaw(`/orders/${'q'.repeat(16)}/stop`, { key: `${key}x` })
    expect(got.status).toBe(409)
    expect(got.words()).toContain(`Number of this answer: ${String(got.headers['x-request-id'])}`)
  })

  it('is the same on page, header and log for a fault, also when the error page fails', async () => {
    let broken: 'wards' | 'all' = 'wards'
    await open({
      wrapStore: (store) =>
        Object.assign(Object.create(store) as Store, {
          wards: () => {
            throw new Error('the disk is on fire')
          },
          session: (hash: string) => {
            if (broken === 'all') throw new Error('gone')
            return store.session(hash)
          },
        }),
    })
    const client = world.visitor()
    await client.postRaw('/sign-in', { badge: people.nora.badge, pin: people.nora.pin })
    for (const now of ['wards', 'all'] as const) {
      broken = now
      const got = await client.get('/ward')
      expect(got.status).toBe(500)
      const number = /Number of this answer: ([a-z0-9]{16})/.exec(got.text)?.[1]
      expect(number).toBe(got.headers['x-request-id'])
      expect(parsed().filter(({ reqId, err }) => reqId === number && err !== undefined).length).toBeGreaterThan(0)
    }
  })
})

describe('requests that do not parse', () => {
  /** Sends bytes and returns the response. */
  const send = (port: number, text: string): Promise<string> =>
    new Promise((resolve, reject) => {
      const socket = connect(port, '127.0.0.1', () => {
        socket.write(text)
      })
      let got = ''
      socket.on('data', (chunk) => {
        got += chunk.toString()
      })
      socket.on('close', () => {
        resolve(got)
      })
      socket.on('error', reject)
    })

  it.each([
    ['no HTTP at all', 'Quillfeather Ashby\r\n\r\n', 400, 'not HTTP'],
    [
      'headers without end',
      `GET /stays/${ruth.stayId} HTTP/1.1\r\nhost: x\r\nname: ${'Ashby'.repeat(8000)}\r\n\r\n`,
      431,
      'not HTTP',
    ],
    [
      'an address that cannot be decoded',
      `GET /stays/%E0%A4%A?name=Ashby&w=${ruth.wristband} HTTP/1.1\r\nhost: x\r\nconnection: close\r\n\r\n`,
      400,
      'not accepted',
    ],
  ])('%s', async (_name, text, status, message) => {
    await open()
    const address = await world.server.app.listen({ host: '127.0.0.1', port: 0 })
    const got = await send(Number(new URL(address).port), text)
    expect(got).toMatch(new RegExp(`^HTTP/1\\.1 ${String(status)} `))
    const number = /^x-request-id: ([a-z0-9]{16})\r$/m.exec(got)?.[1]
    expect(parsed().filter(({ reqId, msg }) => reqId === number && msg === message)).toHaveLength(1)
    expect(MARKS.filter((mark) => got.includes(mark))).toEqual([])
    expectClean()
  })

  it('answers an undecodable path with the headers of every other response', async () => {
    await open()
    const got = await world.visitor().get('/%E0%A4%A')
    const other = await world.visitor().get('/no-such-page')
    for (const name of [
      'content-security-policy',
      'x-content-type-options',
      'x-frame-options',
      'referrer-policy',
      'cache-control',
    ])
      expect([name, got.headers[name]]).toEqual([name, other.headers[name]])
  })
})
