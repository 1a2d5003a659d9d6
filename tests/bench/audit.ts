/**
 * The audit of a hospital-year against baselines on the same file in the same run, and the Round page on that file
 * against the Round page on a week's file. The files are built once, below data/, and used again (hospital.ts
 * describes their content). Only ratios are comparable. Times are processor time on this machine, so that other work
 * on it matters less. Everything here is read from memory after the first read.
 */
import { existsSync, mkdirSync, renameSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import { buildServer } from '../../server/app.ts'
import { defaultConfig } from '../../server/config.ts'
import { newId } from '../../server/http/ids.ts'
import { packageRoot } from '../../server/paths.ts'
import type { Scope, Store } from '../../server/store/contract.ts'
import { openStore } from '../../server/store/open.ts'
import { storeEvents } from '../../server/store/store-events.ts'
import { addDays } from '../../shared/time/zone.ts'
import { Client } from '../support/client.ts'
import { CHEAP_PIN } from '../support/people.ts'
import { buildHospital, NOW_MS, PEOPLE, TODAY, wardIdOf, WARDS, WEEK_DAYS, YEAR_DAYS } from './hospital.ts'
import { median, round, measureInTurns, type Ratio } from './measure.ts'

/** Increment when the content of the files changes. */
const VERSION = 1
const SHIFTS = 12
const MONTHS = 7
const YEAR_TURNS = 7
const ROUND_TURNS = 15
const ROUNDS_A_TURN = 20

export type AuditBench = {
  readonly file: {
    readonly readings: number
    readonly patientDays: number
    readonly doses: number
    readonly lows: number
    readonly megabytes: number
    readonly builtInSeconds: number | null
  }
  /** Milliseconds, medians over wards; goal for the shift 50. `wallMs` is elapsed time. */
  readonly shiftAudit: { readonly ms: number; readonly wallMs: number }
  readonly monthOfOneWard: { readonly pageMs: number; readonly sumsMs: number }
  readonly hospitalYear: {
    readonly oursMs: number
    readonly countAndMeanMs: number
    readonly groupByDayMs: number
    /** Speed relative to the group-by; goal 10. */
    readonly fasterThanGroupBy: number
    readonly fasterThanCountAndMean: number
  }
  /** Year's file against week's: each Round is loaded, derived and drawn again after an entry; goal 0.9. */
  readonly round: Ratio
}

export async function bench(): Promise<AuditBench> {
  const year = await fileOf('year', YEAR_DAYS)
  const week = await fileOf('week', WEEK_DAYS)
  const services = { year: await Service.start(year.file), week: await Service.start(week.file) }
  try {
    const result = await measure(year, services)
    console.log(tableOf(result))
    return result
  } finally {
    await services.year.stop()
    await services.week.stop()
  }
}

async function fileOf(name: string, days: number): Promise<{ readonly file: string; readonly seconds: number | null }> {
  const folder = join(packageRoot, 'data')
  const file = join(folder, `bench-hospital-${name}-${String(VERSION)}.sqlite`)
  if (existsSync(file)) return { file, seconds: null }
  mkdirSync(folder, { recursive: true })
  const draft = `${file}.building`
  rmSync(draft, { force: true })
  const built = await buildHospital(draft, days)
  renameSync(draft, file)
  console.error(`built ${name}: ${JSON.stringify(built)}`)
  return { file, seconds: built.seconds }
}

/** Milliseconds of processor time and of elapsed time. */
type Took = { readonly ms: number; readonly wallMs: number }

function startWatch(): () => Took {
  const [begun, wall] = [process.cpuUsage(), performance.now()]
  return () => {
    const { user, system } = process.cpuUsage(begun)
    return { ms: (user + system) / 1000, wallMs: performance.now() - wall }
  }
}

/** The service on one of the files, in this process: both compare the same work on two sizes. */
class Service {
  readonly store: Store
  readonly scope: Scope
  readonly educator: Client
  readonly nurse: Client
  readonly #clock: { nowMs: number }
  readonly #nurseId: string
  readonly #close: () => Promise<void>

  private constructor(parts: {
    store: Store
    scope: Scope
    educator: Client
    nurse: Client
    nurseId: string
    clock: { nowMs: number }
    close: () => Promise<void>
  }) {
    this.store = parts.store
    this.scope = parts.scope
    this.educator = parts.educator
    this.nurse = parts.nurse
    this.#clock = parts.clock
    this.#nurseId = parts.nurseId
    this.#close = parts.close
  }

  static async start(file: string): Promise<Service> {
    const store = openStore({ file, headFile: null })
    const clock = { nowMs: NOW_MS }
    const config = {
      ...defaultConfig(),
      databaseFile: file,
      headFile: '',
      port: 0,
      secureCookies: false,
      logLevel: 'silent',
      sessionHours: 13,
    } as const
    const server = await buildServer({
      store,
      now: () => clock.nowMs,
      mono: () => performance.now(),
      newId,
      demoClock: null,
      config,
      pinCost: CHEAP_PIN,
    })
    await server.app.ready()
    const signIn = async ({ badge, pin }: { readonly badge: string; readonly pin: string }): Promise<Client> => {
      const client = new Client(server.app)
      const signedIn = await client.postRaw('/sign-in', { badge, pin })
      if (signedIn.status !== 303) throw new Error(`signing in answered ${String(signedIn.status)}`)
      const chosen = await client.post('/ward', { wardId: wardIdOf(0) })
      if (chosen.status !== 303) throw new Error(`choosing the ward answered ${String(chosen.status)}`)
      return client
    }
    const educator = await signIn(PEOPLE.educator)
    const nurse = await signIn(PEOPLE.nurse)
    const [staff, nurseId] = [
      store.staffByBadge(PEOPLE.educator.badge),
      store.staffByBadge(PEOPLE.nurse.badge)?.staffId,
    ]
    if (staff === undefined || nurseId === undefined) throw new Error('the people are not in the file')
    return new Service({
      store,
      scope: staff,
      educator,
      nurse,
      nurseId,
      clock,
      close: async () => {
        await server.app.close()
        store.close()
      },
    })
  }

  /** One page. Any response other than 200 is an error. */
  async page(client: Client, path: string): Promise<Took> {
    const watch = startWatch()
    const { status, text } = await client.get(path)
    const took = watch()
    if (status !== 200) throw new Error(`${path} answered ${String(status)}: ${text.slice(0, 400)}`)
    return took
  }

  /** Round pages a second, each after an entry, so that the ward's facts are read again from the file. */
  async rounds(): Promise<number> {
    let took = 0
    for (let at = 0; at < ROUNDS_A_TURN; at++) {
      const { nowMs } = this.#clock
      this.store.transact(() => {
        storeEvents(this.store, [
          {
            type: 'beds-taken',
            wardId: wardIdOf(0),
            stayId: null,
            actorId: this.#nurseId,
            happenedAtMs: nowMs,
            chartedAtMs: nowMs,
            body: { staffId: this.#nurseId, beds: [] },
          },
        ])
        return null
      })
      took += (await this.page(this.nurse, '/round')).ms
    }
    return (ROUNDS_A_TURN * 1000) / took
  }

  stop(): Promise<void> {
    return this.#close()
  }
}

function timed(work: () => unknown): number {
  const watch = startWatch()
  work()
  return watch().ms
}

async function measure(
  file: Awaited<ReturnType<typeof fileOf>>,
  services: { readonly year: Service; readonly week: Service },
): Promise<AuditBench> {
  const { year, week } = services
  const db = new Database(file.file, { readonly: true })
  const count = (table: string): number =>
    (db.prepare(`SELECT count(*) AS count FROM ${table}`).get() as { count: number }).count
  const bytes = Number(db.pragma('page_count', { simple: true })) * Number(db.pragma('page_size', { simple: true }))

  // each ward uses another one of the last days, so that no page finds cached rows
  const shifts: Took[] = []
  for (let at = 0; at < SHIFTS; at++) {
    const date = addDays(TODAY, -2 - 13 * at)
    shifts.push(
      await year.page(
        year.educator,
        `/audit/shift?${new URLSearchParams({ ward: wardIdOf((at * 7) % WARDS), from: `${date}T07:00`, to: `${date}T19:00` }).toString()}`,
      ),
    )
  }
  const months: { page: number[]; sums: number[] } = { page: [], sums: [] }
  for (let at = 0; at < MONTHS; at++) {
    const [to, ward] = [addDays(TODAY, -2 - 31 * at), wardIdOf((at * 5 + 3) % WARDS)]
    const asked = { fromDate: addDays(to, -29), toDate: to }
    months.sums.push(timed(() => year.store.rateSums(year.scope, { wardIds: [ward], ...asked })))
    months.page.push(
      (
        await year.page(
          year.educator,
          `/audit/rates?${new URLSearchParams({ ward, from: asked.fromDate, to: asked.toDate }).toString()}`,
        )
      ).ms,
    )
  }

  const wholeYear = { wardIds: year.store.wardIds(), fromDate: addDays(TODAY, -YEAR_DAYS), toDate: addDays(TODAY, -1) }
  const countAndMean = db.prepare('SELECT count(*) AS count, avg(value) AS mean FROM reading')
  const groupByDay = db.prepare(GROUP_BY_DAY)
  const found: { ours: number[]; count: number[]; group: number[] } = { ours: [], count: [], group: [] }
  const sums = year.store.rateSums(year.scope, wholeYear)
  agree(sums, groupByDay.get() as Straight)
  for (let turn = 0; turn < YEAR_TURNS; turn++) {
    found.ours.push(timed(() => year.store.rateSums(year.scope, wholeYear)))
    found.count.push(timed(() => countAndMean.get()))
    found.group.push(timed(() => groupByDay.get()))
  }
  const [oursMs, countMs, groupMs] = [median(found.ours), median(found.count), median(found.group)]
  const counts = {
    readings: count('reading'),
    patientDays: count('patient_day'),
    doses: count('dose'),
    lows: count('low_event'),
  }
  db.close()
  return {
    file: { ...counts, megabytes: Math.round(bytes / 1_000_000), builtInSeconds: file.seconds },
    shiftAudit: {
      ms: round(median(shifts.map(({ ms }) => ms)), 1),
      wallMs: round(median(shifts.map(({ wallMs }) => wallMs)), 1),
    },
    monthOfOneWard: { pageMs: round(median(months.page), 1), sumsMs: round(median(months.sums), 2) },
    hospitalYear: {
      oursMs: round(oursMs, 1),
      countAndMeanMs: round(countMs, 1),
      groupByDayMs: round(groupMs, 1),
      fasterThanGroupBy: round(groupMs / oursMs, 1),
      fasterThanCountAndMean: round(countMs / oursMs, 2),
    },
    round: await measureInTurns(
      ROUND_TURNS,
      () => year.rounds(),
      () => week.rounds(),
    ),
  }
}

/** The patient-days straight from the readings, as a query without stored figures would get them. */
const GROUP_BY_DAY = `SELECT count(*) AS days, sum(numeric) AS numeric, sum(below_70 + lo > 0) AS days_below_70, sum(above_180 + hi > 0) AS days_above_180, avg(mean) AS mean FROM (
  SELECT sum(value IS NOT NULL) AS numeric, sum(value < 70) AS below_70, sum(value > 180) AS above_180, sum(out_of_range IS 'LO') AS lo, sum(out_of_range IS 'HI') AS hi, avg(value) AS mean
  FROM reading WHERE effective = 1 GROUP BY stay_id, ward_date)`

type Straight = {
  readonly days: number
  readonly numeric: number
  readonly days_below_70: number
  readonly days_above_180: number
}

/** The figures must be right before their speed counts. */
function agree(ours: ReturnType<Store['rateSums']>, straight: Straight): void {
  const [kept, counted] = [
    [ours.days.count, ours.numeric, ours.days.having.below70, ours.days.having.above180],
    [straight.days, straight.numeric, straight.days_below_70, straight.days_above_180],
  ]
  if (JSON.stringify(kept) !== JSON.stringify(counted))
    throw new Error(`the figures differ: ${JSON.stringify(kept)} kept, ${JSON.stringify(counted)} counted`)
}

function tableOf({ file, shiftAudit, monthOfOneWard, hospitalYear, round: rounds }: AuditBench): string {
  const rows: readonly (readonly [string, string, string])[] = [
    [
      'file',
      `${String(file.readings)} readings, ${String(file.patientDays)} patient-days, ${String(file.doses)} doses, ${String(file.lows)} lows, ${String(file.megabytes)} MB`,
      file.builtInSeconds === null ? 'used again' : `built in ${String(file.builtInSeconds)} s`,
    ],
    [
      'one shift of one ward, the whole page',
      `${String(shiftAudit.ms)} ms`,
      `goal 50 ms; on the wall ${String(shiftAudit.wallMs)} ms`,
    ],
    [
      'one month of one ward, the whole page',
      `${String(monthOfOneWard.pageMs)} ms`,
      `of which sums ${String(monthOfOneWard.sumsMs)} ms`,
    ],
    ['the hospital’s year by patient-day', `${String(hospitalYear.oursMs)} ms`, ''],
    [
      '  one count and mean over the readings',
      `${String(hospitalYear.countAndMeanMs)} ms`,
      `${String(hospitalYear.fasterThanCountAndMean)} times ours`,
    ],
    [
      '  a group-by over the readings',
      `${String(hospitalYear.groupByDayMs)} ms`,
      `${String(hospitalYear.fasterThanGroupBy)} times ours, goal 10`,
    ],
    [
      'Round on the year against the week',
      `${String(rounds.ours)} and ${String(rounds.floor)} a second`,
      `${String(rounds.ratio)}, goal 0.9`,
    ],
  ]
  const widths = [0, 1].map((column) => Math.max(...rows.map((row) => (row[column] ?? '').length)))
  return rows
    .map(([what, found, beside]) =>
      `${what.padEnd(widths[0] ?? 0)}  ${found.padEnd(widths[1] ?? 0)}  ${beside}`.trimEnd(),
    )
    .join('\n')
}
