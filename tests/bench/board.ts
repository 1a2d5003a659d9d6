/**
 * Open boards against the same service without boards: the speed of charting, the cost of an idle open board, and the
 * cost of polling instead of a stream. `-- board SECONDS BOARDS` (60 and 300).
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { newId } from '../../server/http/ids.ts'
import type { LoadFileInput } from '../../server/load/schema.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import type { Boards, BoardsSeen } from './boards-child.ts'
import { startChild, type Child } from './child.ts'
import { Connection, drive, type Asked } from './client.ts'
import { median, round } from './measure.ts'
import type { Ours, Question, Used } from './ours.ts'
import { bedNumbers, fullWard, PIN, ZONE } from './ward.ts'

const WARDS = 10
const BEDS = 40
const CHARTS_A_SECOND = 20
const STREAMS_PER_LOGIN = 3
const TURNS = 5
const A_TURN = 200
const CONNECTIONS = 8
/** How long the idle boards are measured: at least ten heartbeats. */
const IDLE_MS = 40_000
/** A conditional poll would need this interval to be as live. */
const POLL_EVERY_MS = 2000

type Latencies = { readonly p50: number; readonly p99: number; readonly answered: number }

/** Ten wards of forty beds, each with its own names, numbers and people. */
function wards(): LoadFileInput {
  const all = Array.from({ length: WARDS }, (_, index): LoadFileInput => {
    const text = JSON.stringify(fullWard(BEDS))
    const own = String(index + 1).padStart(2, '0')
    return JSON.parse(
      text
        .replaceAll('Ward 4 East', `Ward ${own}`)
        .replaceAll('N-1001', `N-${own}`)
        .replaceAll('C-2001', `C-${own}`)
        .replaceAll('"W-55', `"W${own}-`)
        .replaceAll('MTR-', `M${own}-`)
        .replaceAll('LOT-22A', `L-${own}`),
    ) as LoadFileInput
  })
  const [first] = all
  if (first === undefined) throw new Error('no ward')
  return {
    ...first,
    wards: all.flatMap((one) => one.wards ?? []),
    staff: all.flatMap((one) => one.staff ?? []),
    meters: all.flatMap((one) => one.meters ?? []),
    stripLots: all.flatMap((one) => one.stripLots ?? []),
    stays: all.flatMap((one) => one.stays ?? []),
  }
}

export async function bench(): Promise<object> {
  const [seconds, boards] = [Number(process.argv[3] ?? 60), Number(process.argv[4] ?? 300)]
  const folder = mkdtempSync(join(tmpdir(), 'ward-boards-'))
  const children: Child[] = []
  try {
    const setUp: Ours = {
      databaseFile: join(folder, 'ward.sqlite'),
      headFile: join(folder, 'head.json'),
      ward: wards(),
      atMs: localToUtc('2026-03-10', '06:40', ZONE),
      clock: 'runs',
    }
    const service = await startChild('ours', setUp)
    children.push(service)
    const nurses: Nurse[] = []
    for (let ward = 1; ward <= WARDS; ward++) nurses.push(await Nurse.signIn(service, String(ward).padStart(2, '0')))
    const cookies: string[] = []
    for (let board = 0; board < boards; board++) {
      if (board % (WARDS * STREAMS_PER_LOGIN) < WARDS)
        cookies.push(await signIn(service.port, `C-${String((board % WARDS) + 1).padStart(2, '0')}`))
      else cookies.push(cookies[board - WARDS] ?? '')
    }
    const watching = await startChild('boards-child', { port: service.port, cookies } satisfies Boards)
    children.push(watching)
    const see = async (kind: 'open' | 'close' | 'seen'): Promise<BoardsSeen> =>
      (await watching.ask({ kind })) as BoardsSeen
    return await measure({ service, nurses, see, seconds, boards, cookies })
  } finally {
    for (const child of children) await child.stop()
    rmSync(folder, { recursive: true, force: true })
  }
}

type Measured = {
  readonly service: Child
  readonly nurses: readonly Nurse[]
  readonly see: (kind: 'open' | 'close' | 'seen') => Promise<BoardsSeen>
  readonly seconds: number
  readonly boards: number
  readonly cookies: readonly string[]
}

async function measure({ service, nurses, see, seconds, boards, cookies }: Measured): Promise<object> {
  const used = async (): Promise<Used> => (await service.ask({ kind: 'used' } satisfies Question)) as Used
  // warms up machine and service, and gives every board something to show
  await throughput(service, nurses)

  const alone = await used()
  const charting = await atRate(service, nurses, seconds)
  const aloneCpuMs = (await used()).cpuMs - alone.cpuMs
  const without = { charting, ...(await costOf(used, () => quiet(IDLE_MS))) }
  await see('open')
  await see('seen')
  const before = await used()
  const withBoards = await atRate(service, nurses, seconds)
  const busy = await used()
  const received = await see('seen')
  await quiet(2000)
  await see('seen')
  const idle = await costOf(used, () => quiet(IDLE_MS))
  const idleSeen = await see('seen')
  await see('close')

  const turns: { none: number[]; boards: number[] } = { none: [], boards: [] }
  for (let turn = 0; turn < TURNS; turn++) {
    for (const who of turn % 2 === 0 ? (['none', 'boards'] as const) : (['boards', 'none'] as const)) {
      if (who === 'boards') await see('open')
      turns[who].push(await throughput(service, nurses))
      if (who === 'boards') await see('close')
    }
  }
  if (received.ended > 0 || received.open !== boards)
    throw new Error(
      `${String(received.ended)} boards were ended, ${String(received.open)} of ${String(boards)} are open`,
    )
  const perMinute = (idleMs: number, ms: number): number => round((idleMs * 60_000) / ms / boards, 3)
  const pollMs = await pollCost(service, cookies, used)
  return {
    boards,
    wards: WARDS,
    seconds,
    chartsASecond: CHARTS_A_SECOND,
    chartMs: { withoutBoards: without.charting, withBoards },
    chartingSpeedRatio: {
      withoutBoards: round(median(turns.none), 1),
      withBoards: round(median(turns.boards), 1),
      ratio: round(median(turns.boards.map((one, turn) => one / (turns.none[turn] ?? Number.NaN))), 3),
    },
    busyCpuShare: {
      withoutBoards: round(aloneCpuMs / (seconds * 1000), 3),
      withBoards: round((busy.cpuMs - before.cpuMs) / (seconds * 1000), 3),
    },
    memoryMiB: { withoutBoards: without.rssMiB, withBoards: round(busy.rssMiB, 0) },
    received: { changes: received.changes, bytesABoardASecond: round(received.bytes / boards / seconds, 0) },
    idle: {
      serviceAloneMsAMinute: round((without.cpuMs * 60_000) / IDLE_MS, 1),
      streamMsABoardAMinute: perMinute(Math.max(0, idle.cpuMs - without.cpuMs), IDLE_MS),
      beats: idleSeen.beats,
      pollMsABoardAMinute: round((pollMs * 60_000) / POLL_EVERY_MS, 3),
      pollEveryMs: POLL_EVERY_MS,
    },
  }
}

async function costOf(used: () => Promise<Used>, work: () => Promise<unknown>): Promise<Used> {
  const before = await used()
  await work()
  const after = await used()
  return { cpuMs: after.cpuMs - before.cpuMs, rssMiB: round(after.rssMiB, 0) }
}

function quiet(ms: number): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, ms))
}

/** Charts at the fixed rate, whether or not the last response has come; milliseconds of each response. */
async function atRate(service: Child, nurses: readonly Nurse[], seconds: number): Promise<Latencies> {
  const count = seconds * CHARTS_A_SECOND
  const asked = await charts(nurses, count)
  const free: Connection[] = await Promise.all(Array.from({ length: CONNECTIONS }, () => Connection.open(service.port)))
  const all = [...free]
  const took: number[] = []
  const startedAt = performance.now()
  await Promise.all(
    asked.map(async (one, index) => {
      const dueAt = startedAt + (index * 1000) / CHARTS_A_SECOND
      await quiet(Math.max(0, dueAt - performance.now()))
      let connection = free.pop()
      if (connection === undefined) all.push((connection = await Connection.open(service.port)))
      const answer = await connection.ask(one)
      if (answer.status !== 303) throw new Error(`a chart answered ${String(answer.status)}`)
      took.push(performance.now() - dueAt)
      free.push(connection)
    }),
  )
  for (const connection of all) connection.close()
  const sorted = took.sort((a, b) => a - b)
  const at = (part: number): number =>
    round(sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * part))] ?? Number.NaN, 1)
  return { p50: at(0.5), p99: at(0.99), answered: took.length }
}

/** Charts a second, as fast as responses come. */
async function throughput(service: Child, nurses: readonly Nurse[]): Promise<number> {
  const asked = await charts(nurses, A_TURN)
  let next = 0
  return drive({
    port: service.port,
    connections: CONNECTIONS,
    forMs: 60_000,
    expect: 303,
    next: () => asked[next++] ?? null,
  })
}

/** Readings of every ward in turn. */
async function charts(nurses: readonly Nurse[], count: number): Promise<readonly Asked[]> {
  const each = await Promise.all(nurses.map((nurse) => nurse.recordings(Math.ceil(count / nurses.length))))
  return Array.from(
    { length: count },
    (_, index) => each[index % each.length]?.[Math.floor(index / each.length)],
  ).filter((one): one is Asked => one !== undefined)
}

/** Server CPU of one "not modified" response: the cost of each board every few seconds without a stream. */
async function pollCost(service: Child, cookies: readonly string[], used: () => Promise<Used>): Promise<number> {
  const polls = 2000
  let left = polls
  const cost = await costOf(used, () =>
    drive({
      port: service.port,
      connections: CONNECTIONS,
      forMs: 60_000,
      expect: 303,
      next: () =>
        left-- > 0
          ? { method: 'GET', path: '/board/stream', headers: headers(cookies[left % cookies.length] ?? '') }
          : null,
    }),
  )
  return cost.cpuMs / polls
}

function headers(cookie: string): Readonly<Record<string, string>> {
  return { 'sec-fetch-site': 'same-origin', ...(cookie === '' ? {} : { cookie }) }
}

async function signIn(port: number, badge: string): Promise<string> {
  const connection = await Connection.open(port)
  const answer = await connection.ask({
    method: 'POST',
    path: '/sign-in',
    headers: headers(''),
    body: new URLSearchParams({ badge, pin: PIN, next: '/', draft: '' }).toString(),
  })
  connection.close()
  const cookie = /\r\nset-cookie: ([^;]+)/i.exec(answer.headers)?.[1]
  if (cookie === undefined) throw new Error(`${badge} signing in answered ${String(answer.status)}`)
  return cookie
}

/** One ward's nurse, who charts. */
class Nurse {
  readonly #service: Child
  readonly #own: string
  readonly #cookie: string
  readonly #stays: readonly string[]
  readonly #meterId: string
  #count = 0

  private constructor(service: Child, own: string, cookie: string, stays: readonly string[], meterId: string) {
    this.#service = service
    this.#own = own
    this.#cookie = cookie
    this.#stays = stays
    this.#meterId = meterId
  }

  static async signIn(service: Child, own: string): Promise<Nurse> {
    const badge = `N-${own}`
    const stays = (await service.ask({
      kind: 'stays',
      wristbands: bedNumbers(BEDS).map((bed) => wristband(own, bed)),
    } satisfies Question)) as string[]
    const meters = (await service.ask({ kind: 'meters', badge } satisfies Question)) as Record<string, string>
    return new Nurse(service, own, await signIn(service.port, badge), stays, meters[`M${own}-0007`] ?? '')
  }

  /** Readings in the target range as extra checks, bed by bed. */
  async recordings(count: number): Promise<readonly Asked[]> {
    const keys = (await this.#service.ask({
      kind: 'keys',
      badge: `N-${this.#own}`,
      form: 'check',
      count,
    } satisfies Question)) as string[]
    return keys.map((key) => {
      const bed = this.#count++ % BEDS
      const fields = {
        key,
        wristband: wristband(this.#own, String(bed + 1)),
        glucose: String(110 + (this.#count % 30)),
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
        body: new URLSearchParams(fields).toString(),
      }
    })
  }
}

function wristband(own: string, bed: string): string {
  return `W${own}-${bed.padStart(2, '0')}1`
}
