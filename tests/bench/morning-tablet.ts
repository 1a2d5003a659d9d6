/**
 * One person's tablet: its session, its own address behind the hospital's proxy, and keep-alive connections like a
 * browser's. Each request has a due time, and its latency counts from there, so that waiting is included.
 */
import { gunzipSync } from 'node:zlib'
import { Connection, type HttpResponse, type Asked } from './client.ts'
import type { Tally } from './morning-tally.ts'
import { PIN } from './ward.ts'

export type Fields = Readonly<Record<string, string>>
export type Page = { readonly status: number; readonly location: string; readonly text: () => string }
/** `headers`: what htmx sends with a refreshing fragment. */
type Request = {
  readonly kind: string
  readonly dueMs: number
  readonly expect: readonly number[]
  readonly headers?: Fields
}

/** Thrown after an unexpected response was counted: the steps that depend on it are skipped. */
export class NotAsExpected extends Error {}

export class Tablet {
  readonly badge: string
  readonly #port: number
  readonly #address: string
  #tally: Tally
  #cookie = ''
  #free: Connection[] = []

  constructor(port: number, badge: string, address: string, tally: Tally) {
    this.#port = port
    this.badge = badge
    this.#address = address
    this.#tally = tally
  }

  get cookie(): string {
    return this.#cookie
  }

  /** Requests from now on count there. */
  countIn(tally: Tally): void {
    this.#tally = tally
  }

  async signIn(): Promise<void> {
    const answer = await this.#send(
      {
        method: 'POST',
        path: '/sign-in',
        body: encode({ badge: this.badge, pin: PIN, next: '/', draft: '' }),
        headers: {},
      },
      { kind: 'sign in', dueMs: performance.now(), expect: [303] },
    )
    this.#cookie = /\r\nset-cookie: ([^;]+)/i.exec(answer.headers)?.[1] ?? ''
  }

  /** Waits until it is due and requests a page or a fragment. */
  async get(
    kind: string,
    dueMs: number,
    path: string,
    how: Pick<Request, 'headers'> & { readonly expect?: readonly number[] } = {},
  ): Promise<Page> {
    return pageOf(
      await this.#send(
        { method: 'GET', path, headers: how.headers ?? {} },
        { kind, dueMs, expect: how.expect ?? [200] },
      ),
    )
  }

  /** Waits until it is due and sends a form. */
  async post(kind: string, dueMs: number, path: string, fields: Fields, expect = 303): Promise<Page> {
    return pageOf(
      await this.#send({ method: 'POST', path, headers: {}, body: encode(fields) }, { kind, dueMs, expect: [expect] }),
    )
  }

  close(): void {
    for (const connection of this.#free.splice(0)) connection.close()
  }

  async #send(asked: Asked, { kind, dueMs, expect }: Request): Promise<HttpResponse> {
    const waitMs = dueMs - performance.now()
    if (waitMs > 0) await new Promise((resolve) => setTimeout(resolve, waitMs))
    let answer: HttpResponse
    try {
      const connection = this.#open() ?? (await Connection.open(this.#port))
      answer = await connection.ask({
        ...asked,
        headers: {
          accept: 'text/html',
          'accept-encoding': 'gzip',
          'sec-fetch-site': 'same-origin',
          'x-forwarded-for': this.#address,
          ...(this.#cookie === '' ? {} : { cookie: this.#cookie }),
          ...asked.headers,
        },
      })
      this.#free.push(connection)
    } catch (error) {
      this.#tally.fail(kind, String(error))
      throw new NotAsExpected(kind)
    }
    this.#tally.add(kind, performance.now() - dueMs)
    if (expect.includes(answer.status)) return answer
    this.#tally.fail(
      kind,
      `answered ${String(answer.status)}: ${pageOf(answer)
        .text()
        .replace(/<style[\s\S]*?<\/style>|<[^>]+>/g, ' ')
        .replace(/\s+/g, ' ')
        .slice(0, 400)}`,
    )
    throw new NotAsExpected(kind)
  }

  #open(): Connection | undefined {
    for (let connection = this.#free.pop(); connection !== undefined; connection = this.#free.pop())
      if (connection.isOpen) return connection
    return undefined
  }
}

function encode(fields: Fields): string {
  return new URLSearchParams(fields).toString()
}

/** Decompressed only when read, so that the bench itself costs little. */
function pageOf({ status, headers, body }: HttpResponse): Page {
  const text = (): string => (/\r\ncontent-encoding: gzip/i.test(headers) ? gunzipSync(body) : body).toString('utf8')
  return { status, location: /\r\nlocation: (\S+)/i.exec(headers)?.[1] ?? '', text }
}

/** The hidden fields of the form sent to `path`, with its one-time key. Throws when the page has no such form. */
export function hiddenOf(page: string, path: string): Fields {
  const from = page.indexOf(`action="${path}"`)
  const form = from < 0 ? '' : page.slice(from, page.indexOf('</form>', from))
  const fields = Object.fromEntries(
    [...form.matchAll(/<input type="hidden" name="([^"]+)" value="([^"]*)"/g)].map(([, name = '', value = '']) => [
      name,
      value,
    ]),
  )
  if (fields['key'] === undefined)
    throw new Error(
      `no form to ${path} on the page: ${page
        .replace(/<[^>]+>/g, ' ')
        .replace(/\s+/g, ' ')
        .slice(0, 600)}`,
    )
  return fields
}
