/**
 * Power loss during a low: killed after each request, the service restarts with the same next step and the same
 * times.
 */
import { spawn, type ChildProcess } from 'node:child_process'
import { once } from 'node:events'
import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it } from 'vitest'
import { packageRoot } from '../../server/paths.ts'
import { verifyStore } from '../../server/store/verify.ts'
import { attr, byClass, byId, findAll, formsOf, formTo, parseHtml, textOf } from '../support/html.ts'
import { ALDER, people } from '../support/people.ts'
import { lots, meters, stays } from '../support/wards.ts'

const SERVICE = join(packageRoot, 'dist/tests/faults/low-service.js')
const who = stays.ines

let folder: string
let service: ChildProcess | null = null
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ward-low-'))
})
afterEach(() => {
  service?.kill('SIGKILL')
  rmSync(folder, { recursive: true })
})

type Page = { readonly status: number; readonly location: string | null; readonly root: ReturnType<typeof parseHtml> }
type Fields = Readonly<Record<string, string>>

/** A browser on the running service. Its login ends with the process. */
class Nurse {
  readonly #origin: string
  #cookie = ''
  private constructor(origin: string) {
    this.#origin = origin
  }

  static async signIn(origin: string): Promise<Nurse> {
    const nurse = new Nurse(origin)
    expect((await nurse.send('/sign-in', { badge: people.nora.badge, pin: people.nora.pin })).status).toBe(303)
    expect((await nurse.fill('/ward', { wardId: ALDER })).status).toBe(303)
    return nurse
  }

  get(path: string): Promise<Page> {
    return this.#ask(path, null)
  }

  send(path: string, fields: Fields): Promise<Page> {
    return this.#ask(path, new URLSearchParams(fields))
  }

  /** Opens the page with the form, and sends its values with these fields. */
  async fill(path: string, fields: Fields, from = path): Promise<Page> {
    const { root } = await this.get(from)
    const form = formTo(root, path) ?? formsOf(root).find((one) => 'key' in one.fields)
    return this.send(path, { ...form?.fields, ...fields })
  }

  async #ask(path: string, body: URLSearchParams | null): Promise<Page> {
    const headers = {
      origin: this.#origin,
      'sec-fetch-site': 'same-origin',
      ...(this.#cookie === '' ? {} : { cookie: this.#cookie }),
    }
    const response = await fetch(this.#origin + path, {
      method: body === null ? 'GET' : 'POST',
      redirect: 'manual',
      headers,
      ...(body === null ? {} : { body }),
    })
    const [set] = response.headers.getSetCookie()
    if (set !== undefined) this.#cookie = set.split(';')[0] ?? ''
    return {
      status: response.status,
      location: response.headers.get('location'),
      root: parseHtml(await response.text()),
    }
  }
}

async function start(at: string): Promise<Nurse> {
  const child = spawn(process.execPath, [SERVICE, join(folder, 'ward.sqlite'), at], {
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  service = child
  let said = ''
  for await (const chunk of child.stdout) {
    said += String(chunk)
    if (said.includes('\n')) break
  }
  return Nurse.signIn(`http://127.0.0.1:${said.trim()}`)
}

async function kill(): Promise<void> {
  if (service === null) return
  const gone = once(service, 'exit')
  service.kill('SIGKILL')
  expect((await gone)[1]).toBe('SIGKILL')
  service = null
}

/** The treatment page with the instant of every clock, without form keys and its own time. */
async function looksLike(
  nurse: Nurse,
  path: string,
): Promise<{ readonly words: string; readonly clocks: readonly (string | null)[]; readonly next: string | null }> {
  const { status, root } = await nurse.get(path)
  expect(status).toBe(200)
  const main = byId(root, 'main')
  const [now] = byClass(root, 'low-now')
  if (main === null) throw new Error('a page without its main part')
  const clocks = findAll(main).flatMap((element) => attr(element, 'data-due') ?? [])
  return { words: textOf(main), clocks, next: now === undefined ? null : textOf(now).slice(0, 60) }
}

it('keeps clocks and next step after a kill at each request, and the whole ledger', async () => {
  expect(existsSync(SERVICE), 'npm run build comes first').toBe(true)
  let lowPath = ''
  const measure =
    (key: () => string, glucose: string, extra: Fields = {}) =>
    async (nurse: Nurse): Promise<Page> => {
      const path = `/checks/${key()}`
      const confirmed = await nurse.send(`${path}/patient`, { wristband: who.wristband })
      return nurse.send(path, {
        ...formTo(confirmed.root, path)?.fields,
        glucose,
        meterId: meters.alder.meterId,
        stripLot: lots.good,
        ...extra,
      })
    }
  const cycle = (number: number) => (): string => `low.${lowPath.slice('/lows/'.length)}.${String(number)}`
  const look = (nurse: Nurse): Promise<Page> =>
    nurse.fill(`${lowPath}/answers`, { swallowing: 'safely', iv: 'none' }, lowPath)
  const give = (nurse: Nurse): Promise<Page> => nurse.fill(`${lowPath}/treatments`, {}, lowPath)
  const told = { told: 'Dr. Vera Kim', readBack: 'yes', ordered: '' }
  const requests: readonly (readonly [at: string, next: RegExp | null, request: (nurse: Nurse) => Promise<Page>])[] = [
    [
      '03:00',
      /^Look before you treat/,
      measure(() => `extra.${who.stayId}.first00000000000`, '52', { extraReason: 'symptoms' }),
    ],
    ['03:01', /^Give now 20 g/, look],
    ['03:01', /^Recheck due 03:16/, give],
    ['03:16', /^Look again before/, measure(cycle(1), '63')],
    ['03:17', /^Give now 15 g/, look],
    ['03:18', /^Recheck due 03:33/, give],
    ['03:33', /^Tell the prescriber was due 03:30/, measure(cycle(2), '96')],
    ['03:34', /^Tell the prescriber/, (nurse) => nurse.fill(`${lowPath}/food`, { grams: '20', what: 'toast' })],
    [
      '03:35',
      /^Tell the prescriber/,
      (nurse) => nurse.fill(`${lowPath}/insulin-question`, { decision: 'hold', ...told }),
    ],
    ['03:36', /^Follow-up recheck due 04:33/, (nurse) => nurse.fill(`${lowPath}/prescriber-calls`, told)],
    ['04:33', /^Recovered, followed up, told/, measure(cycle(3), '104')],
    [
      '04:35',
      null,
      (nurse) => nurse.fill(`${lowPath}/close`, { cause: 'missed-or-delayed-meal', note: 'Supper refused' }),
    ],
  ]
  for (const [time, next, request] of requests) {
    const at = `2026-03-10T${time}`
    const nurse = await start(at)
    const answer = await request(nurse)
    expect(answer.status, `${time} ${textOf(answer.root).slice(0, 300)}`).toBe(303)
    if (lowPath === '')
      lowPath =
        findAll((await nurse.get(answer.location ?? '/')).root)
          .flatMap((element) => attr(element, 'href') ?? [])
          .find((href) => href.startsWith('/lows/')) ?? ''
    const before = await looksLike(nurse, lowPath)
    if (next === null) expect(before.next).toBe(null)
    else expect(before.next).toMatch(next)
    await kill()
    expect(await looksLike(await start(at), lowPath), time).toEqual(before)
    await kill()
  }
  expect(
    verifyStore({ file: join(folder, 'ward.sqlite'), headFile: null }).flatMap(({ differences }) => differences),
  ).toEqual([])
})
