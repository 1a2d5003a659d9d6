/** A nurse's browser over a real socket: keeps the session cookie and the connection, sends forms as browsers do. */
import { Agent, request } from 'node:http'

export type Got = { readonly status: number; readonly location: string | null; readonly text: string }
export type Fields = Readonly<Record<string, string>>

export class NurseBrowser {
  readonly #port: number
  readonly #agent = new Agent({ keepAlive: true, maxSockets: 1 })
  #cookie = ''
  /** Requests sent, for the report. */
  requests = 0

  constructor(address: string) {
    this.#port = Number(new URL(address).port)
  }

  get(path: string): Promise<Got> {
    return this.#ask('GET', path, null)
  }

  post(path: string, fields: Fields): Promise<Got> {
    return this.#ask('POST', path, new URLSearchParams(fields).toString())
  }

  /** Opens the form at its path and sends it filled in, with the one-time key on the page. */
  async fillIn(path: string, fields: Fields): Promise<Got> {
    const page = await this.get(path)
    return this.post(path, { ...fields, key: keyIn(page.text) })
  }

  close(): void {
    this.#agent.destroy()
  }

  #ask(method: 'GET' | 'POST', path: string, body: string | null): Promise<Got> {
    this.requests += 1
    return new Promise((resolve, reject) => {
      const headers: Record<string, string> = { cookie: this.#cookie, 'sec-fetch-site': 'same-origin' }
      if (body !== null) headers['content-type'] = 'application/x-www-form-urlencoded'
      const sent = request(
        { host: '127.0.0.1', port: this.#port, method, path, headers, agent: this.#agent },
        (response) => {
          const [set] = response.headers['set-cookie'] ?? []
          if (set !== undefined) this.#cookie = set.slice(0, set.indexOf(';'))
          const parts: Buffer[] = []
          response.on('data', (part: Buffer) => parts.push(part))
          response.on('end', () => {
            resolve({
              status: response.statusCode ?? 0,
              location: response.headers.location ?? null,
              text: Buffer.concat(parts).toString('utf8'),
            })
          })
          response.on('error', reject)
        },
      )
      sent.on('error', reject)
      if (body !== null) sent.write(body)
      sent.end()
    })
  }
}

/** The one-time key of the page's charting form; empty when there is none. */
export function keyIn(page: string): string {
  return /<input type="hidden" name="key" value="([^"]*)">/.exec(page)?.[1] ?? ''
}

/** The present value of the named field or choice. */
export function valueIn(page: string, name: string): string {
  const chosen = new RegExp(`name="${name}" value="([^"]*)" checked`).exec(page)
  if (chosen !== null) return chosen[1] ?? ''
  const list = new RegExp(`<select id="${name}"[^]*?</select>`).exec(page)?.[0] ?? ''
  const selected = /<option value="([^"]*)" selected/.exec(list)
  return selected?.[1] ?? new RegExp(`name="${name}"[^>]*? value="([^"]*)"`).exec(page)?.[1] ?? ''
}

/** The message of a refused form: the first beside a field, else the one above the form. */
export function whyRefused(page: string): string {
  const field = /<p class="error"[^>]*>(?:<span[^>]*>[^<]*<\/span>)?\s*([^<]*)/.exec(page)?.[1]
  const above = /<div class="problem"[^>]*><p>(?:<span[^>]*>[^<]*<\/span>)?\s*([^<]*)/.exec(page)?.[1]
  return (field ?? above ?? 'no sentence').trim().replaceAll('&#39;', "'").replaceAll('&quot;', '"')
}
