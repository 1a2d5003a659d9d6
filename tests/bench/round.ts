/**
 * The Round page of a 40-bed ward and the recording of a reading, each against its baseline in the same run, and the
 * transfer sizes. Ratios are ours ÷ baseline in requests a second: 1 is the speed of the baseline.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { gunzipSync } from 'node:zlib'
import { GZIP_LEVEL } from '../../server/http/page.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { newId } from '../../server/http/ids.ts'
import { startChild, type Child } from './child.ts'
import { Connection, drive, type HttpResponse, type Asked } from './client.ts'
import type { FloorPage } from './floor-page.ts'
import type { FloorRecord } from './floor-record.ts'
import { measureInTurns, type Ratio } from './measure.ts'
import type { Ours, Question } from './ours.ts'
import { changesBetween, copyDatabase, snapshot } from './rows.ts'
import { bedNumbers, fullWard, METERS, PEOPLE, PIN, wristbandOf, ZONE } from './ward.ts'

const BEDS = 40
const PAGE_TURNS = 11
const PAGE_TURN_MS = 1000
const CHANGED_PAGE_TURNS = 5
const RECORDING_TURNS = 15
/** Few enough in each turn that no stay's last days hold more readings than a sick patient's. */
const RECORDINGS_A_TURN = 240
const CONNECTIONS = 8

export type RoundBench = {
  /** A Round that is unchanged since it was drawn, from several browsers at once. */
  readonly page: Ratio
  /** The first Round after a recording, which derives and draws the whole ward again; one request at a time. */
  readonly pageAfterRecording: Ratio
  readonly recording: Ratio
  readonly pageBytes: number
  readonly firstLoadBytes: number
  readonly recordingAnswerBytes: number
  readonly recordingRows: number
}

export async function bench(): Promise<RoundBench> {
  const folder = mkdtempSync(join(tmpdir(), 'ward-bench-'))
  const children: Child[] = []
  const start = async (name: string, setUp: unknown): Promise<Child> => {
    const child = await startChild(name, setUp)
    children.push(child)
    return child
  }
  try {
    return await measure(folder, start)
  } finally {
    for (const child of children) await child.stop()
    rmSync(folder, { recursive: true, force: true })
  }
}

async function measure(folder: string, start: (name: string, setUp: unknown) => Promise<Child>): Promise<RoundBench> {
  const databaseFile = join(folder, 'ward.sqlite')
  const setUp: Ours = {
    databaseFile,
    headFile: join(folder, 'head.json'),
    ward: fullWard(BEDS),
    atMs: localToUtc('2026-03-10', '06:10', ZONE),
  }
  const ours = await start('ours', setUp)
  const nurse = await Nurse.signIn(ours)

  // each patient has an earlier reading, and the ward is in the middle of its round
  for (const asked of await nurse.recordings(BEDS)) await nurse.ask(asked, 303)
  await nurse.later(70)

  const packed = await nurse.ask(nurse.page('/round'), 200)
  const page = gunzipSync(packed.body).toString('utf8')
  const floorPage = await start('floor-page', {
    databaseFile: join(folder, 'page.sqlite'),
    pieces: cut(page, BEDS),
    encoding: 'gzip',
    level: GZIP_LEVEL,
  } satisfies FloorPage)
  const loadOf = (port: number, asked: Asked) => () =>
    drive({ port, connections: CONNECTIONS, forMs: PAGE_TURN_MS, expect: 200, next: () => asked })
  const pageRatio = await measureInTurns(
    PAGE_TURNS,
    loadOf(ours.port, nurse.page('/round')),
    loadOf(floorPage.port, nurse.page('/round')),
  )

  // one recording, to learn its rows and the size of its response
  const before = snapshot(databaseFile)
  const [one] = await nurse.recordings(1)
  if (one === undefined) throw new Error('no recording was made')
  const recorded = await nurse.ask(one, 303)
  const result = await nurse.ask(nurse.page(/\r\nlocation: (\S+)/i.exec(recorded.headers)?.[1] ?? '/'), 200)
  const changes = changesBetween(databaseFile, before, snapshot(databaseFile)).filter(
    ({ table }) => table !== 'access_log' && table !== 'session',
  )
  const copy = join(folder, 'floor.sqlite')
  copyDatabase(databaseFile, copy)
  const floorRecord = await start('floor-record', { databaseFile: copy, changes } satisfies FloorRecord)
  const turn = (port: number) => async (): Promise<number> => {
    const recordings = await nurse.recordings(RECORDINGS_A_TURN)
    let next = 0
    const perSecond = await drive({
      port,
      connections: CONNECTIONS,
      forMs: 60_000,
      expect: 303,
      next: () => recordings[next++] ?? null,
    })
    // moves on by days, so that the last 72 hours of a stay never hold more than one turn's readings
    if (port === ours.port) await nurse.later(73 * 60)
    return perSecond
  }
  const recording = await measureInTurns(RECORDING_TURNS, turn(ours.port), turn(floorRecord.port))

  const changedPage = await measureInTurns(
    CHANGED_PAGE_TURNS,
    () => nurse.changedPages(ours.port),
    () => nurse.changedPages(floorPage.port),
  )

  return {
    page: pageRatio,
    pageAfterRecording: changedPage,
    recording,
    pageBytes: packed.body.length,
    firstLoadBytes: await nurse.firstLoadBytes(page, packed),
    recordingAnswerBytes: sizeOf(recorded) + sizeOf(result),
    recordingRows: changes.length,
  }
}

/** Equal pieces of the page, so that the baseline reads one row for each bed and sends the same bytes. */
function cut(page: string, pieces: number): readonly string[] {
  const size = Math.ceil(page.length / pieces)
  return Array.from({ length: pieces }, (_, index) => page.slice(index * size, (index + 1) * size))
}

function sizeOf(answer: HttpResponse): number {
  return Buffer.byteLength(answer.headers) + answer.body.length
}

/** A signed-in nurse's browser. */
class Nurse {
  readonly #service: Child
  readonly #cookie: string
  readonly #stays: readonly string[]
  readonly #meterId: string

  private constructor(service: Child, cookie: string, stays: readonly string[], meterId: string) {
    this.#service = service
    this.#cookie = cookie
    this.#stays = stays
    this.#meterId = meterId
  }

  static async signIn(service: Child): Promise<Nurse> {
    const say = (question: Question): Promise<unknown> => service.ask(question)
    const badge = PEOPLE.first.badge
    const stays = (await say({ kind: 'stays', wristbands: bedNumbers(BEDS).map(wristbandOf) })) as string[]
    const meters = (await say({ kind: 'meters', badge })) as Record<string, string>
    const signedIn = await askOnce(service.port, {
      method: 'POST',
      path: '/sign-in',
      headers: headers(''),
      body: form({ badge, pin: PIN, next: '/', draft: '' }),
    })
    const cookie = /\r\nset-cookie: ([^;]+)/i.exec(signedIn.headers)?.[1]
    const meterId = meters[METERS.usable]
    if (cookie === undefined || meterId === undefined) throw new Error(`signing in answered ${signedIn.status}`)
    // she has one ward, so it is chosen at sign-in
    return new Nurse(service, cookie, stays, meterId)
  }

  page(path: string): Asked {
    return { method: 'GET', path, headers: headers(this.#cookie) }
  }

  async ask(asked: Asked, expected: number): Promise<HttpResponse> {
    const answer = await askOnce(this.#service.port, asked)
    if (answer.status !== expected)
      throw new Error(`${asked.method} ${asked.path} answered ${answer.status}: ${readable(answer).slice(0, 2000)}`)
    return answer
  }

  async later(minutes: number): Promise<void> {
    await this.#service.ask({ kind: 'later', minutes } satisfies Question)
  }

  /** Readings in the target range as extra checks, bed by bed, each with its own one-time key. */
  async recordings(count: number): Promise<readonly Asked[]> {
    const keys = (await this.#service.ask({
      kind: 'keys',
      badge: PEOPLE.first.badge,
      form: 'check',
      count,
    } satisfies Question)) as string[]
    return keys.map((key, index) => {
      const bed = index % this.#stays.length
      const fields = {
        key,
        wristband: wristbandOf(String(bed + 1)),
        glucose: String(110 + (index % 30)),
        finger: 'left-middle',
        meterId: this.#meterId,
        stripLot: '',
        takenAt: '',
        lateReason: '',
        extraReason: 'other',
      }
      return {
        method: 'POST',
        path: `/checks/extra.${this.#stays[bed] ?? ''}.${newId()}`,
        headers: headers(this.#cookie),
        body: form(fields),
      }
    })
  }

  /** Round pages a second, one by one, each after a recording that is not timed; every bed once. */
  async changedPages(port: number): Promise<number> {
    const connection = await Connection.open(port)
    let tookMs = 0
    for (const recording of await this.recordings(BEDS)) {
      await this.ask(recording, 303)
      const startedAt = performance.now()
      const { status } = await connection.ask(this.page('/round'))
      tookMs += performance.now() - startedAt
      if (status !== 200) throw new Error(`the page answered ${status}`)
    }
    connection.close()
    await this.later(73 * 60)
    return (BEDS * 1000) / tookMs
  }

  /** Everything that a browser requests for its first Round, compressed, headers included. */
  async firstLoadBytes(page: string, packed: HttpResponse): Promise<number> {
    const assets = [...new Set([...page.matchAll(/(?:href|src)="(\/assets\/[^"]+)"/g)].map(([, path = '']) => path))]
    if (assets.length < 3) throw new Error('the page names fewer assets than it must have')
    let bytes = sizeOf(packed)
    for (const path of assets) bytes += sizeOf(await this.ask(this.page(path), 200))
    return bytes
  }
}

async function askOnce(port: number, asked: Asked): Promise<HttpResponse> {
  const connection = await Connection.open(port)
  try {
    return await connection.ask(asked)
  } finally {
    connection.close()
  }
}

function headers(cookie: string): Readonly<Record<string, string>> {
  return { 'accept-encoding': 'gzip', 'sec-fetch-site': 'same-origin', ...(cookie === '' ? {} : { cookie }) }
}

function form(fields: Readonly<Record<string, string>>): string {
  return new URLSearchParams(fields).toString()
}

function readable(answer: HttpResponse): string {
  const text = /\r\ncontent-encoding: gzip/i.test(answer.headers)
    ? gunzipSync(answer.body).toString('utf8')
    : answer.body.toString('utf8')
  return text.replace(/<[^>]+>/g, ' ').replace(/\s+/g, ' ')
}
