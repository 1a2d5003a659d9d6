/** Deliberately wrong values, queries, headers and bodies that no form of the service sends. */

export type Random = () => number

export function pick<T>(random: Random, list: readonly T[]): T {
  const one = list[Math.floor(random() * list.length)]
  if (one === undefined) throw new Error('nothing to pick from')
  return one
}

const VALUES = [
  '',
  ' ',
  '0',
  '-1',
  '1e999',
  'NaN',
  'Infinity',
  '9'.repeat(400),
  '١١٢',
  '１１２',
  '0x10',
  '1,5',
  '1.5.5',
  'null',
  'undefined',
  'true',
  '{}',
  '[]',
  '{"$gt":""}',
  '__proto__',
  'constructor',
  'toString',
  '<script>alert(1)</script>',
  '"><img src=x onerror=alert(1)>',
  "'; DROP TABLE ledger; --",
  '../../etc/passwd',
  '..%2f..%2f',
  '%',
  '%zz',
  '%00',
  '%E0%A4%A',
  '${7*7}',
  '{{7*7}}',
  'a\r\nset-cookie: a=b',
  'x'.repeat(5000),
  '🩸',
  `e${'\u0301'.repeat(60)}`,
  '1\u200b2',
  '2026-02-30',
  '25:61',
  '0000-00-00T00:00',
  '275760-09-13T00:00',
  '-271821-04-20',
  'U-500',
  'HI',
  'LO',
  '40000',
]

/** Characters that are never charted, in any field of any form. */
const ODD = ['\u0000', '\u0007', '\u001b[31m', '\u202e12', '\u2066x', '\ufeff12', '\uffff', '\ud83d']

export const junkValue = (random: Random): string => pick(random, VALUES)
export const oddValue = (random: Random): string =>
  `${pick(random, ['', '1', 'abc'])}${pick(random, ODD)}${pick(random, ['', '2'])}`

/** Half a surrogate pair has no UTF-8: it is sent as the bytes that a faulty program produces. */
const percent = (text: string): string =>
  text
    .split('\ud83d')
    .map((part) => encodeURIComponent(part.replaceAll(/[\ud800-\udfff](?![\udc00-\udfff])/g, '')))
    .join('%ED%A0%BD')
const safePercent = (text: string): string => {
  try {
    return encodeURIComponent(text)
  } catch {
    return percent(text)
  }
}

export const encodePairs = (pairs: readonly (readonly [string, string])[]): string =>
  pairs.map(([name, value]) => `${safePercent(name)}=${safePercent(value)}`).join('&')

/** A path segment: encoded, half encoded or not at all. */
export function junkParameter(random: Random): string {
  const value = junkValue(random)
  return pick(random, [
    encodeURIComponent,
    (text: string) => text.replaceAll(/[^\x21-\x7e]/g, ''),
    (text: string) => encodeURIComponent(encodeURIComponent(text)),
  ])(value)
}

const QUERY_NAMES = [
  'draft',
  'next',
  'pin',
  'from',
  'to',
  'date',
  'ward',
  'wardId',
  'shift',
  'page',
  'key',
  'seen',
  'lot',
  'meterId',
  'from[]',
  '__proto__',
  'constructor[prototype]',
  'a'.repeat(300),
  '',
]

export function junkQuery(random: Random): string {
  const count = pick(random, [0, 0, 1, 1, 2, 5, 40])
  if (count === 0) return ''
  return `?${Array.from({ length: count }, () => `${encodeURIComponent(pick(random, QUERY_NAMES))}=${pick(random, [safePercent, (text: string) => text.replaceAll(/[^\x21-\x7e]/g, '')])(random() < 0.3 ? oddValue(random) : junkValue(random))}`).join('&')}`
}

const HEADERS: readonly string[] = [
  'accept: text/event-stream',
  'accept-encoding: gzip;q=0, br',
  `accept-language: ${'x'.repeat(3000)}`,
  'hx-request: true',
  'hx-current-url: //evil.invalid/',
  'hx-current-url: \x01',
  'if-none-match: *',
  'range: bytes=0-99999999999',
  'x-forwarded-for: 1.1.1.1, , ,%',
  'x-forwarded-proto: javascript',
  'forwarded: for="_x"',
  'x-http-method-override: DELETE',
  'expect: 100-continue',
  'expect: nothing',
  'upgrade: websocket',
  'cookie: a',
  'cookie: ;;;=;__proto__=1',
  `cookie: ward-login=${'y'.repeat(300)}`,
  'cookie: ward-login=%00',
  'te: trailers',
  'content-encoding: gzip',
  'origin: null',
  'referer: \xff\xfe',
  'authorization: Basic ////',
  'x-a: \x00',
  ': no name',
  'no colon',
]

export const junkHeader = (random: Random): string => pick(random, HEADERS)
export const JUNK_TYPES = [
  'application/json',
  'multipart/form-data; boundary=x',
  'text/plain',
  'application/xml',
  '',
  '/',
  'a'.repeat(2000),
] as const
export const JUNK_BODIES: readonly string[] = [
  '{"a":',
  '[]',
  '{"__proto__":{"x":1}}',
  '&&&===&%&a',
  '=',
  '%',
  'a[b][c][d]=1',
  `a=${'x'.repeat(70_000)}`,
  Array.from({ length: 2000 }, (_, at) => `f${String(at)}=1`).join('&'),
  '--x\r\ncontent-disposition: form-data; name="a"\r\n\r\n1\r\n--x--',
  '<?xml version="1.0"?><a/>',
  '\x00\x01\x02',
]
export const JUNK_LINES: readonly string[] = [
  'GET',
  'GET / HTTP/9.9',
  'FOO / HTTP/1.1',
  'GET http://[::1/ HTTP/1.1',
  `GET /${'a'.repeat(20_000)} HTTP/1.1`,
  'GET /\x00 HTTP/1.1',
  'GET //../..//etc HTTP/1.1',
  'GET * HTTP/1.1',
  'OPTIONS * HTTP/1.1',
  'get / HTTP/1.1',
  '\x16\x03\x01\x02',
  'CONNECT a:1 HTTP/1.1',
  'TRACE / HTTP/1.1',
  'PROPFIND /round HTTP/1.1',
  'HEAD /round HTTP/1.1',
  'GET /round HTTP/1.0',
  'GET /%c0%ae%c0%ae HTTP/1.1',
  'GET /healthz%00 HTTP/1.1',
  'GET /?%ff=%fe HTTP/1.1',
]
