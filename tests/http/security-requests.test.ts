/** Attacks by raw requests, most of them byte by byte: paths, methods, headers, hosts, sizes and speed. */
import { connect, type AddressInfo } from 'node:net'
import { gunzipSync } from 'node:zlib'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { routeTable } from '../../server/http/route.ts'
import { ALL } from '../support/bedside.ts'
import type { Client } from '../support/client.ts'
import { ALDER, people } from '../support/people.ts'
import { stays } from '../support/wards.ts'
import { makeWorld, type World } from '../support/world.ts'

let world: World
let nora: Client
beforeEach(async () => {
  world = await makeWorld({ demo: true })
  nora = await world.signIn(people.nora)
})
afterEach(() => world.close())

const HOST = 'ward.test'
const cookieOf = (client: Client): string => [...client.cookies].map(([name, value]) => `${name}=${value}`).join('; ')

async function port(): Promise<number> {
  await world.server.app.listen({ host: '127.0.0.1', port: 0 })
  return (world.server.app.server.address() as AddressInfo).port
}

/** Sends the bytes unchanged and returns the response until the service closes the connection. */
function raw(at: number, bytes: string): Promise<string> {
  return new Promise((resolve, reject) => {
    let text = ''
    const socket = connect(at, '127.0.0.1', () => {
      socket.write(Buffer.from(bytes, 'latin1'))
    })
    socket.on('data', (chunk: Buffer) => {
      text += chunk.toString('latin1')
    })
    socket.on('close', () => {
      resolve(text)
    })
    socket.on('error', reject)
  })
}
const get = (at: number, path: string, headers = ''): Promise<string> =>
  raw(at, `GET ${path} HTTP/1.1\r\nhost: ${HOST}\r\nconnection: close\r\n${headers}\r\n`)
const statusOf = (answer: string): number => Number(/^HTTP\/1\.1 (\d{3})/.exec(answer)?.[1] ?? 0)
const headOf = (answer: string): string => answer.split('\r\n\r\n')[0] ?? ''

describe('path traversal', () => {
  it.each([
    '/assets/../package.json',
    '/assets/../../../../etc/passwd',
    '/assets/..%2fpackage.json',
    '/assets/%2e%2e/package.json',
    '/assets/%2e%2e%2fpackage.json',
    '/assets/..%252fpackage.json',
    '/assets/..\\package.json',
    '/assets/..%5cpackage.json',
    '/assets/ward.css',
    '/assets/ward.js%00.css',
    '/assets//etc/passwd',
    '/assets/%2fetc%2fpasswd',
    '/assets/....//package.json',
    '/assets/htmx.min.js',
    '/assets/C:%5cwindows',
    '//assets/../package.json',
    '/package.json',
    '/.env',
    '/.git/config',
    '/data/ward.sqlite',
    '/server/main.ts',
    '/views/assets/ward.css',
    '/../package.json',
    '/%c0%ae%c0%ae/package.json',
    '/assets/..;/package.json',
    'http://ward.test/../package.json',
  ])('%s: returns no file', async (path) => {
    const answer = await get(await port(), path, `cookie: ${cookieOf(nora)}\r\n`)
    expect([400, 404]).toContain(statusOf(answer))
    expect(answer).not.toMatch(/"dependencies"|root:x:|SQLite format|better-sqlite3|import \{/)
  })
})

describe('odd paths', () => {
  it.each([
    '//round',
    '/round/',
    '/ROUND',
    '/round%2f',
    '/%2fround',
    '/./round',
    '/x/../round',
    '/round;x=1',
    '/round%00',
    '/round%20',
    '/round/.',
    '/sign-in/../round',
    '/assets/../round',
    '/rou%6ed%',
  ])('%s does not bypass sign-in or roles', async (path) => {
    const at = await port()
    expect(await get(at, path)).not.toMatch(/Ashby|Brandt/)
    const anna = await world.signIn(people.anna)
    expect(await get(at, path, `cookie: ${cookieOf(anna)}\r\n`)).not.toMatch(/Ashby|Brandt/)
  })

  it('answers 404 for a path parameter that is too long, odd or a prototype’s name', async () => {
    for (const spec of routeTable(world.server).filter(({ method, url }) => method === 'GET' && url.includes(':'))) {
      for (const hole of [
        'a'.repeat(121),
        '__proto__',
        'constructor',
        'toString',
        '%27%20OR%201=1--',
        '%00',
        '..%2f',
        '%F0%9F%A9%B8',
        '-1',
        'null',
        'x'.repeat(16),
      ]) {
        const got = await nora.get(spec.url.replace(/:\w+/g, hole))
        expect(got.status, `${spec.url} ${hole}`).toBeLessThan(500)
        expect(got.text, `${spec.url} ${hole}`).not.toMatch(/Ashby|Brandt|SqliteError|\.ts:/)
      }
    }
  })

  it('refuses an overlong request line and answers the next request', async () => {
    const at = await port()
    expect(statusOf(await get(at, `/${'a'.repeat(100_000)}`))).toBe(431)
    expect(statusOf(await get(at, '/sign-in', `x-long: ${'a'.repeat(100_000)}\r\n`))).toBe(431)
    expect(statusOf(await get(at, '/sign-in'))).toBe(200)
  })
})

describe('methods', () => {
  it('answers each route’s own methods only, and HEAD shows no patient', async () => {
    const urls = [...new Set(routeTable(world.server).map(({ url }) => url))]
    const version = world.store.wardVersion(ALL, ALDER)
    for (const method of ['HEAD', 'OPTIONS', 'PUT', 'DELETE', 'PATCH'] as const) {
      for (const url of urls) {
        const got = await world.server.app.inject({
          method,
          url: url.replace(':stayId', stays.ruth.stayId).replace(/:\w+/g, 'x'),
          headers: { host: HOST, cookie: cookieOf(nora), origin: `http://${HOST}`, 'sec-fetch-site': 'same-origin' },
        })
        expect([404, 405, 415], `${method} ${url} ${String(got.statusCode)}`).toContain(got.statusCode)
        expect(got.body, `${method} ${url}`).not.toMatch(/Ashby/)
        expect(got.headers['access-control-allow-origin'], `${method} ${url}`).toBeUndefined()
      }
    }
    expect(world.store.wardVersion(ALL, ALDER)).toBe(version)
  })

  it.each(['TRACE', 'CONNECT', 'PROPFIND', 'get', 'FOO', 'PURGE', 'MKCOL'])(
    'refuses %s over the wire',
    async (method) => {
      const answer = await raw(
        await port(),
        `${method} /round HTTP/1.1\r\nhost: ${HOST}\r\ncookie: ${cookieOf(nora)}\r\nconnection: close\r\n\r\n`,
      )
      expect(answer === '' || statusOf(answer) >= 400).toBe(true)
      expect(answer).not.toMatch(/Ashby|ward-login=/)
    },
  )

  it('does not turn a GET into a POST by a header or field', async () => {
    const got = await nora.get('/sign-out?_method=POST', {
      headers: { 'x-http-method-override': 'POST', 'x-method-override': 'POST' },
    })
    expect(got.status).toBe(404)
    expect((await nora.get('/ward')).status).toBe(200)
  })
})

describe('header injection', () => {
  const NEEDLES = [
    '\r\nx-planted: yes',
    '%0d%0ax-planted:%20yes',
    '%E5%98%8A%E5%98%8Dx-planted:%20yes',
    '\u560a\u560dx-planted: yes',
    '\nx-planted: yes',
    '%0ax-planted:%20yes',
  ]

  it.each(NEEDLES)(
    'response splitting by %j in each redirect adds no header and no second response',
    async (needle) => {
      const at = await port()
      const cookie = `cookie: ${cookieOf(nora)}\r\n`
      const post = (path: string, fields: Readonly<Record<string, string>>): Promise<string> => {
        const body = new URLSearchParams(fields).toString()
        return raw(
          at,
          `POST ${path} HTTP/1.1\r\nhost: ${HOST}\r\norigin: http://${HOST}\r\nconnection: close\r\n${cookie}content-type: application/x-www-form-urlencoded\r\ncontent-length: ${String(Buffer.byteLength(body))}\r\n\r\n${body}`,
        )
      }
      const inPath = encodeURI(needle)
      const answers = [
        await post('/sign-in', { badge: people.omar.badge, pin: people.omar.pin, next: `/round${needle}` }),
        await post('/sign-in', { badge: people.omar.badge, pin: people.omar.pin, next: '/round', draft: needle }),
        await post('/demo/clock', { minutes: '5', back: `/${needle}` }),
        await get(at, `/stays/${inPath}`),
        await get(at, `/round?x=${inPath}`),
        await get(
          at,
          `/round/list?x=${inPath}`,
          `hx-request: true\r\nhx-current-url: http://${HOST}/round${inPath}\r\n`,
        ),
        await get(at, `/sign-in?next=/round${inPath}`),
        await get(at, '/round', `x-request-id: ${inPath}\r\nx-forwarded-host: ${inPath}\r\n`),
      ]
      for (const [number, answer] of answers.entries()) {
        expect(statusOf(answer), String(number)).toBeGreaterThan(0)
        expect(statusOf(answer), String(number)).toBeLessThan(500)
        expect(headOf(answer).toLowerCase(), String(number)).not.toMatch(/^x-planted/m)
        expect(answer.match(/^HTTP\/1\.1 /gm), String(number)).toHaveLength(1)
      }
    },
  )

  it('refuses two lengths, or a length beside chunks (request smuggling)', async () => {
    const at = await port()
    const start = `POST /sign-out HTTP/1.1\r\nhost: ${HOST}\r\norigin: http://${HOST}\r\ncookie: ${cookieOf(nora)}\r\ncontent-type: application/x-www-form-urlencoded\r\n`
    for (const rest of [
      'content-length: 6\r\ntransfer-encoding: chunked\r\n\r\n0\r\n\r\nG',
      'content-length: 5\r\ncontent-length: 6\r\n\r\nhello!',
      'transfer-encoding: xchunked\r\n\r\n0\r\n\r\n',
      'content-length: +5\r\n\r\nhello',
    ]) {
      const answer = await raw(at, start + rest)
      expect([400, 501], rest).toContain(statusOf(answer))
    }
    expect((await nora.get('/ward')).status).toBe(200)
  })
})

describe('Host header and DNS rebinding', () => {
  it('uses the Host of a request only for the comparison with Origin', async () => {
    for (const host of ['elsewhere.example', 'ward.test:81', 'localhost', 'ward.test@elsewhere.example']) {
      for (const path of ['/sign-in', '/round', '/ward', '/no-such-page', '/']) {
        const got = await world.server.app.inject({
          method: 'GET',
          url: path,
          headers: {
            host,
            cookie: cookieOf(nora),
            'x-forwarded-host': 'elsewhere.example',
            'x-forwarded-proto': 'https',
            'x-original-url': '/setup',
            'x-rewrite-url': '/setup',
            forwarded: 'host=elsewhere.example',
          },
        })
        expect(`${got.body}${JSON.stringify(got.headers)}`, `${host} ${path}`).not.toContain('elsewhere.example')
      }
    }
  })

  it('a page on a rebound name sends no cookie, so it reads and charts nothing', async () => {
    const rebound = {
      host: 'elsewhere.example',
      origin: 'http://elsewhere.example',
      'sec-fetch-site': 'same-origin',
      'content-type': 'application/x-www-form-urlencoded',
    }
    const got = await world.server.app.inject({
      method: 'POST',
      url: '/ward',
      payload: `wardId=${ALDER}`,
      headers: rebound,
    })
    expect([got.statusCode, got.headers.location]).toEqual([303, '/sign-in?next=%2Fward'])
    const set = String(
      (await world.visitor().postRaw('/sign-in', { badge: people.nora.badge, pin: people.nora.pin })).headers[
        'set-cookie'
      ],
    )
    expect(set).not.toMatch(/domain=/i)
  })
})

describe('X-Forwarded-For', () => {
  it('does not let a client choose its address, however the header is written', async () => {
    const lines: string[] = []
    const plain = await makeWorld({
      config: { logLevel: 'warn' },
      logTo: {
        write: (line) => {
          lines.push(line)
        },
      },
    })
    const client = plain.visitor()
    for (let time = 0; time < 45; time++) {
      const address = `10.0.0.${String(time)}`
      await client.postRaw(
        '/sign-in',
        { badge: `X${String(time)}`, pin: '000000' },
        {
          headers: {
            'x-forwarded-for': address,
            'x-real-ip': address,
            forwarded: `for=${address}`,
            'x-client-ip': address,
            'true-client-ip': address,
          },
        },
      )
    }
    expect(
      (
        await client.postRaw(
          '/sign-in',
          { badge: people.nora.badge, pin: people.nora.pin },
          { headers: { 'x-forwarded-for': '10.0.0.99' } },
        )
      ).status,
    ).toBe(429)
    expect(lines.join('')).not.toContain('10.0.0.')
    await plain.close()
  })
})

describe('slow requests', () => {
  it('must arrive within 30 s, and silent connections end after 60 s', () => {
    const { requestTimeout, headersTimeout, timeout, keepAliveTimeout } = world.server.app.server
    expect({ requestTimeout, timeout, keepAliveTimeout }).toEqual({
      requestTimeout: 30_000,
      timeout: 60_000,
      keepAliveTimeout: 65_000,
    })
    expect(headersTimeout).toBeLessThanOrEqual(60_000)
  })

  it('fifty unfinished requests do not block other requests', async () => {
    const at = await port()
    const slow = Array.from({ length: 50 }, () => connect(at, '127.0.0.1'))
    for (const socket of slow) {
      socket.on('error', () => undefined)
      socket.write('POST /sign-in HTTP/1.1\r\nhost: ward.test\r\ncontent-length: 1000\r\n\r\nbad')
    }
    expect(statusOf(await get(at, '/sign-in'))).toBe(200)
    for (const socket of slow) socket.destroy()
  })
})

describe('compression side channel (BREACH)', () => {
  const asked = async (
    site: string | null,
  ): Promise<{ readonly packed: boolean; readonly length: number; readonly text: string }> => {
    const got = await world.server.app.inject({
      method: 'GET',
      url: '/round?beds=Ashby',
      headers: {
        host: HOST,
        cookie: cookieOf(nora),
        'accept-encoding': 'gzip',
        ...(site === null ? {} : { 'sec-fetch-site': site }),
      },
    })
    const packed = got.headers['content-encoding'] === 'gzip'
    return {
      packed,
      length: got.rawPayload.length,
      text: (packed ? gunzipSync(got.rawPayload) : got.rawPayload).toString('utf8'),
    }
  }

  it('does not compress a page requested by another site, so its length reveals nothing', async () => {
    for (const [site, packed] of [
      ['same-origin', true],
      ['none', true],
      [null, true],
      ['cross-site', false],
      ['same-site', false],
    ] as const) {
      const got = await asked(site)
      expect([site, got.packed, got.text.includes('Ashby')]).toEqual([site, packed, true])
    }
  })

  it('changes the only secret of a page each time it is drawn', async () => {
    const path = `/stays/${stays.ruth.stayId}/tray`
    const keys = [await nora.keyOf(path), await nora.keyOf(path), await nora.keyOf(path)]
    expect(new Set(keys).size).toBe(3)
    const token = nora.cookies.get('ward-login') ?? 'none'
    for (const page of ['/round', '/ward', path, '/my-pin'])
      expect((await nora.get(page)).text, page).not.toContain(token.split('.')[1])
  })
})
