/** A browser without a screen: keeps cookies, fills in forms, and sends what a browser would send. */
import type { FastifyInstance } from 'fastify'
import { formTo, formsOf, parseHtml, textOf } from './html.ts'

export type Fields = Readonly<Record<string, string>>
export type Extra = { readonly headers?: Readonly<Record<string, string>> }

export type Got = {
  readonly status: number
  readonly headers: Readonly<Record<string, string | string[] | number | undefined>>
  /** The target of a redirect (303), or null. */
  readonly location: string | null
  readonly text: string
  /** The visible text of the page. */
  readonly words: () => string
  readonly root: () => ReturnType<typeof parseHtml>
}

const HOST = 'ward.test'

export class Client {
  readonly #app: FastifyInstance
  readonly cookies = new Map<string, string>()
  /** The last page that a GET answered with 200, with its path: the first place to look for a form's key. */
  #lastPage: { readonly path: string; readonly got: Got } | null = null

  constructor(app: FastifyInstance) {
    this.#app = app
  }

  async get(path: string, { headers = {} }: Extra = {}): Promise<Got> {
    const got = await this.#ask('GET', path, null, { 'sec-fetch-site': 'same-origin', ...headers })
    if (got.status === 200) this.#lastPage = { path, got }
    return got
  }

  /**
   * Sends a form the way a person does. The one-time key comes from the page with the form, which is the form's own
   * path unless `from` says otherwise. A `key` among the fields is sent unchanged.
   */
  async post(
    path: string,
    fields: Fields,
    { headers = {}, from = path }: Extra & { readonly from?: string } = {},
  ): Promise<Got> {
    if ('key' in fields) return this.postRaw(path, fields, { headers })
    const key = await this.keyOf(path, from)
    return this.postRaw(path, key === null ? fields : { ...fields, key }, { headers })
  }

  /** Sends exactly these fields. A text is sent unchanged as the body. */
  postRaw(path: string, body: Fields | string, { headers = {} }: Extra = {}): Promise<Got> {
    const text = typeof body === 'string' ? body : new URLSearchParams(body).toString()
    return this.#ask('POST', path, text, {
      origin: `http://${HOST}`,
      'sec-fetch-site': 'same-origin',
      'content-type': 'application/x-www-form-urlencoded',
      ...headers,
    })
  }

  /** The one-time key of the form sent to `path`, from the page at `from`. Null: no such form. */
  async keyOf(path: string, from = path): Promise<string | null> {
    const got = await this.get(from)
    const root = got.root()
    return (
      formTo(root, path)?.fields['key'] ?? formsOf(root).find((form) => 'key' in form.fields)?.fields['key'] ?? null
    )
  }

  /** Follows the redirect. Throws when there is none, because the test expected one. */
  async follow(got: Got): Promise<Got> {
    if (got.location === null)
      throw new Error(`answered ${String(got.status)} and leads nowhere: ${got.words().slice(0, 600)}`)
    return this.get(got.location)
  }

  get lastPage(): { readonly path: string; readonly got: Got } | null {
    return this.#lastPage
  }

  async #ask(
    method: 'GET' | 'POST',
    path: string,
    payload: string | null,
    headers: Readonly<Record<string, string>>,
  ): Promise<Got> {
    const cookie = [...this.cookies].map(([name, value]) => `${name}=${value}`).join('; ')
    const response = await this.#app.inject({
      method,
      url: path,
      headers: { host: HOST, ...headers, ...(cookie === '' ? {} : { cookie }) },
      ...(payload === null ? {} : { payload }),
    })
    for (const { name, value, maxAge, expires } of response.cookies) {
      // a test's clock is fixed: only a cookie that the server clears is dropped
      if (value === '' || maxAge === 0 || (expires !== undefined && expires.getTime() === 0)) this.cookies.delete(name)
      else this.cookies.set(name, value)
    }
    const { location } = response.headers
    const text = response.body
    let root: ReturnType<typeof parseHtml> | null = null
    return {
      status: response.statusCode,
      headers: response.headers,
      location: typeof location === 'string' ? location : null,
      text,
      root: () => (root ??= parseHtml(text)),
      words: () => textOf((root ??= parseHtml(text))),
    }
  }
}
