/** A nurse's browser on a service in another process: keeps its session and connection, fills in forms. */
import { Agent, request } from 'node:http'
import { formTo, formsOf, parseHtml, textOf } from '../support/html.ts'
import { badgeOf, LOT, METER, PIN, type Patient } from './ward.ts'

export type Fields = Readonly<Record<string, string>>
export type Page = {
  readonly status: number
  readonly location: string | null
  readonly text: string
  readonly headers: Readonly<Record<string, unknown>>
}

/** The visible text of the page, for a failure message. */
export function wordsOf(page: Page): string {
  return textOf(parseHtml(page.text)).slice(0, 400)
}

export class Nurse {
  readonly number: number
  readonly #port: number
  readonly #agent = new Agent({ keepAlive: true, maxSockets: 16 })
  #cookie = ''

  private constructor(port: number, number: number) {
    this.#port = port
    this.number = number
  }

  /** Signs in and chooses the ward. Each nurse has a separate address. */
  static async signIn(port: number, number: number): Promise<Nurse> {
    const nurse = new Nurse(port, number)
    const answer = await nurse.send('/sign-in', { badge: badgeOf(number), pin: PIN })
    if (answer.status !== 303)
      throw new Error(`nurse ${String(number)} could not sign in: ${String(answer.status)} ${wordsOf(answer)}`)
    return nurse
  }

  get cookie(): string {
    return this.#cookie
  }

  get(path: string): Promise<Page> {
    return this.#ask('GET', path, null)
  }

  send(path: string, fields: Fields): Promise<Page> {
    return this.#ask('POST', path, new URLSearchParams(fields).toString())
  }

  /** The values of the form sent to `path`, from the page at `from`. Null: no such form. */
  async form(path: string, from = path): Promise<Fields | null> {
    const page = await this.get(from)
    const root = parseHtml(page.text)
    return formTo(root, path)?.fields ?? formsOf(root).find((form) => 'key' in form.fields)?.fields ?? null
  }

  /** Opens the form and sends it with these fields. */
  async fill(path: string, fields: Fields, from = path): Promise<Page> {
    return this.send(path, { ...(await this.form(path, from)), ...fields })
  }

  /** The check's form after the wristband step, filled in. Null: nothing left to fill in. */
  async check(key: string, patient: Patient, glucose: string, extraReason?: string): Promise<Fields | null> {
    const confirmed = await this.send(`/checks/${key}/patient`, { wristband: patient.wristband })
    const form = formTo(parseHtml(confirmed.text), `/checks/${key}`)
    return form === undefined
      ? null
      : {
          ...form.fields,
          glucose,
          meterId: METER,
          stripLot: LOT,
          ...(extraReason === undefined ? {} : { extraReason }),
        }
  }

  close(): void {
    this.#agent.destroy()
  }

  #ask(method: 'GET' | 'POST', path: string, body: string | null): Promise<Page> {
    const headers: Record<string, string> = {
      'sec-fetch-site': 'same-origin',
      'x-forwarded-for': `10.0.0.${String(this.number)}`,
      ...(this.#cookie === '' ? {} : { cookie: this.#cookie }),
    }
    if (body !== null) {
      headers['content-type'] = 'application/x-www-form-urlencoded'
      headers['content-length'] = String(Buffer.byteLength(body))
    }
    return new Promise((resolve, reject) => {
      const asked = request(
        { host: '127.0.0.1', port: this.#port, method, path, headers, agent: this.#agent },
        (response) => {
          const chunks: Buffer[] = []
          response.on('data', (chunk: Buffer) => chunks.push(chunk))
          response.on('error', reject)
          response.on('end', () => {
            const set = response.headers['set-cookie']?.[0]
            if (set !== undefined) this.#cookie = set.split(';')[0] ?? ''
            resolve({
              status: response.statusCode ?? 0,
              location: response.headers.location ?? null,
              text: Buffer.concat(chunks).toString('utf8'),
              headers: response.headers,
            })
          })
        },
      )
      asked.on('error', reject)
      asked.end(body ?? undefined)
    })
  }
}
