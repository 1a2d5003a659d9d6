/**
 * One morning on a fresh database: the hospital is loaded, everybody signs in, the service warms up, then the
 * measurement starts.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { localToUtc } from '../../shared/time/zone.ts'
import { startChild, type Child } from './child.ts'
import { round } from './measure.ts'
import { MorningBoards } from './morning-boards.ts'
import {
  chargeBadge,
  hospitalFiles,
  meterSerial,
  nurseBadge,
  supervisorBadge,
  WARM_UP,
  wristband,
} from './morning-hospital.ts'
import {
  allWards,
  bedsOf,
  boardLooks,
  check,
  DATE,
  roundRefreshes,
  type Told,
  type WardPlace,
} from './morning-journeys.ts'
import { BEDS, chanceOf, NURSES, planMorning, TIMES, WARD_MINUTE_MS, WARDS_A_HOSPITAL } from './morning-plan.ts'
import { Tablet } from './morning-tablet.ts'
import { percentile, Tally, type Shares } from './morning-tally.ts'
import type { Question, Used } from './ours.ts'
import { PIN, ZONE } from './ward.ts'

/** The ward's clock: trays come at 08:00, checks open at 07:00. */
const WARM_UP_AT = '07:04'
const MORNING_AT = '07:15'
/** Browsers signing in at once before the measurement. */
const AT_ONCE = 8
/** The warm-up's forty checks begin within this time, at a multiple of the morning's pace. */
const WARM_UP_MS = 6000
const WARM_UP_PACE = 4
/** A board collects changes for up to 1.5 s, so the run waits for the last ones. */
const LAST_CHANGES_MS = 2500

export type MorningAsked = {
  readonly wards: number
  readonly seconds: number
  readonly seed: number
  /** of one PIN verification, in milliseconds of processor time */ readonly pinCpuMs: number
}

export type Morning = {
  /** Of a hospital of 25 wards and 1,000 beds. */
  readonly multiple: number
  readonly wards: number
  readonly beds: number
  readonly nurses: number
  readonly checks: number
  readonly requestsASecond: number
  /** Milliseconds from when each request was due, over all of them. */
  readonly all: Shares & { readonly most: number }
  readonly byKind: Readonly<Record<string, Shares>>
  /** Milliseconds from a chart's response to the ward's board; `neverShown` must be 0. */
  readonly boards: {
    readonly open: number
    readonly p50: number
    readonly p99: number
    readonly neverShown: number
    readonly ended: number
  }
  /**
   * Shares of one core while checks begin: the service with its PIN threads, the PINs' part of that, and the bench
   * itself.
   */
  readonly cpu: { readonly service: number; readonly pins: number; readonly bench: number }
  readonly memoryMiB: number
  /** Everybody's sign-in, one PIN each, before the measurement. */
  readonly signIn: { readonly people: number; readonly seconds: number }
  readonly faults: readonly string[]
}

export async function runMorning(asked: MorningAsked): Promise<Morning> {
  const folder = mkdtempSync(join(tmpdir(), 'ward-morning-'))
  const [first, ...more] = hospitalFiles(asked.wards)
  if (first === undefined) throw new Error('no hospital')
  let service: Child | null = null
  const boards = new MorningBoards()
  const tablets: Tablet[] = []
  try {
    service = await startChild('ours', {
      databaseFile: join(folder, 'ward.sqlite'),
      headFile: join(folder, 'head.json'),
      ward: first,
      atMs: atOf(WARM_UP_AT),
      hospital: { more, pin: PIN },
    })
    return await measure(service, asked, boards, tablets)
  } finally {
    boards.close()
    for (const tablet of tablets) tablet.close()
    await service?.stop()
    rmSync(folder, { recursive: true, force: true })
  }
}

async function measure(
  service: Child,
  { wards, seconds, seed, pinCpuMs }: MorningAsked,
  boards: MorningBoards,
  tablets: Tablet[],
): Promise<Morning> {
  const say = (question: Question): Promise<unknown> => service.ask(question)
  const setUp = new Tally()
  const tabletFor = (badge: string): Tablet => {
    const number = tablets.length
    const tablet = new Tablet(
      service.port,
      badge,
      `10.${String(number >> 16)}.${String((number >> 8) & 255)}.${String(number & 255)}`,
      setUp,
    )
    tablets.push(tablet)
    return tablet
  }
  const numbers = Array.from({ length: wards + 1 }, (_, ward) => ward)
  const nurses = numbers.map((ward) => Array.from({ length: NURSES }, (_, nurse) => tabletFor(nurseBadge(ward, nurse))))
  const charges = numbers.map((ward) => tabletFor(chargeBadge(ward)))
  const supervisors = Array.from({ length: Math.ceil(wards / WARDS_A_HOSPITAL) }, (_, hospital) =>
    tabletFor(supervisorBadge(hospital)),
  )

  const beganSignIn = performance.now()
  await someAtOnce(tablets, (tablet) => tablet.signIn())
  const signIn = { people: tablets.length, seconds: round((performance.now() - beganSignIn) / 1000, 1) }
  const places = await Promise.all(numbers.map((ward) => placeOf(say, ward, nurses[ward] ?? [])))
  await someAtOnce(
    places.flatMap((place) => place.nurses.map((nurse, at) => ({ place, nurse, at }))),
    async ({ place, nurse, at }) => {
      const key =
        /name="key" value="([^"]+)"/.exec((await nurse.get('ward and beds', performance.now(), '/ward')).text())?.[1] ??
        ''
      await nurse.post('ward and beds', performance.now(), '/ward', {
        key,
        wardId: place.wardId,
        [`meter-${place.wardId}`]: place.meterId,
        ...bedsOf(place, at),
      })
    },
  )
  await warmUp(say, places[WARM_UP], charges, supervisors)
  if (setUp.errors > 0) throw new Error(`setting up failed: ${setUp.faults.join('; ')}`)

  const tally = new Tally()
  for (const tablet of tablets) {
    tablet.close()
    tablet.countIn(tally)
  }
  for (let ward = 1; ward <= wards; ward++) await boards.openBoard(service.port, ward, charges[ward]?.cookie ?? '')
  for (const { cookie } of supervisors) await boards.openAllWards(service.port, cookie)
  const chance = chanceOf(seed + 1)
  const planned = planMorning({ wards, seed, seconds })
  const told: Told = { boards, tally, pins: { proved: 0 } }
  await say({ kind: 'clock', atMs: atOf(MORNING_AT), times: TIMES })
  const before = { service: (await say({ kind: 'used' })) as Used, bench: process.cpuUsage() }
  const fromMs = performance.now()
  const untilMs = fromMs + seconds * 1000
  const shares = sharesAt(untilMs, async () => {
    const used = (await say({ kind: 'used' })) as Used
    const { user, system } = process.cpuUsage(before.bench)
    const wallMs = performance.now() - fromMs
    return {
      service: round((used.cpuMs - before.service.cpuMs) / wallMs, 3),
      pins: round((told.pins.proved * pinCpuMs) / wallMs, 3),
      bench: round((user + system) / 1000 / wallMs, 3),
    }
  })
  await Promise.all([
    ...planned.map((one) =>
      check(placeAt(places, one.ward + 1), { ...one, ward: one.ward + 1 }, fromMs + one.dueMs, told),
    ),
    ...places
      .slice(1)
      .flatMap(({ nurses: all }) => all.map((nurse) => roundRefreshes(nurse, chance(), fromMs, untilMs, tally))),
    ...charges.slice(1).map((charge) => boardLooks(charge, chance(), fromMs, untilMs, tally)),
    ...supervisors.map((supervisor) => allWards(supervisor, chance(), fromMs, untilMs, tally)),
  ])
  const endedMs = performance.now()
  await new Promise((resolve) => setTimeout(resolve, LAST_CHANGES_MS))
  const after = (await say({ kind: 'used' })) as Used
  const { delays, neverShown, ended } = boards.delays()
  const all = tally.whole()
  return {
    multiple: round(wards / WARDS_A_HOSPITAL, 2),
    wards,
    beds: wards * BEDS,
    nurses: wards * NURSES,
    checks: planned.length,
    requestsASecond: round(all.asked / ((endedMs - fromMs) / 1000), 1),
    all,
    byKind: tally.byKind(),
    boards: { open: wards, p50: percentile(delays, 0.5), p99: percentile(delays, 0.99), neverShown, ended },
    cpu: await shares,
    memoryMiB: round(after.rssMiB, 0),
    signIn,
    faults: tally.faults,
  }
}

function atOf(time: string): number {
  return localToUtc(DATE, time, ZONE)
}

async function placeOf(
  say: (question: Question) => Promise<unknown>,
  ward: number,
  nurses: readonly Tablet[],
): Promise<WardPlace> {
  const stayIds = (await say({
    kind: 'stays',
    wristbands: Array.from({ length: BEDS }, (_, bed) => wristband(ward, bed)),
  })) as string[]
  const meters = (await say({ kind: 'meters', badge: nurseBadge(ward, 0) })) as Record<string, string>
  const wardPage = (await nurses[0]?.get('ward and beds', performance.now(), '/ward'))?.text() ?? ''
  return {
    ward,
    wardId: /bed\.([a-z0-9]{16})\.1"/.exec(wardPage)?.[1] ?? '',
    meterId: meters[meterSerial(ward)] ?? '',
    stayIds,
    nurses,
  }
}

function placeAt(places: readonly WardPlace[], ward: number): WardPlace {
  const place = places[ward]
  if (place === undefined) throw new Error(`there is no ward ${String(ward)}`)
  return place
}

/** Forty checks on a ward that is not measured, and the refreshing pages: a service in daily use is warm. */
async function warmUp(
  say: (question: Question) => Promise<unknown>,
  place: WardPlace | undefined,
  charges: readonly Tablet[],
  supervisors: readonly Tablet[],
): Promise<void> {
  if (place === undefined) throw new Error('no ward to warm up on')
  const tally = new Tally()
  for (const tablet of place.nurses) tablet.countIn(tally)
  await say({ kind: 'clock', atMs: atOf(WARM_UP_AT), times: TIMES })
  const fromMs = performance.now()
  const planned = planMorning({ wards: 1, seed: 1, seconds: 60 }).filter(({ outcome }) => outcome !== 'low')
  await Promise.all([
    ...planned.map((one) =>
      check(
        place,
        one,
        fromMs + (one.dueMs * WARM_UP_MS) / 60_000,
        { boards: null, tally, pins: { proved: 0 } },
        WARD_MINUTE_MS / WARM_UP_PACE,
      ),
    ),
    ...place.nurses.map((nurse, at) => roundRefreshes(nurse, at / NURSES, fromMs, fromMs + WARM_UP_MS, tally)),
    ...charges.map((charge) => boardLooks(charge, 0.1, fromMs, fromMs + WARM_UP_MS, tally)),
    ...supervisors.map((supervisor) => allWards(supervisor, 0.1, fromMs, fromMs + WARM_UP_MS, tally)),
  ])
  if (tally.errors > 0) throw new Error(`warming up failed: ${tally.faults.join('; ')}`)
}

async function sharesAt<T>(atMs: number, read: () => Promise<T>): Promise<T> {
  await new Promise((resolve) => setTimeout(resolve, Math.max(0, atMs - performance.now())))
  return read()
}

async function someAtOnce<T>(all: readonly T[], work: (one: T) => Promise<unknown>): Promise<void> {
  const left = [...all].reverse()
  await Promise.all(
    Array.from({ length: AT_ONCE }, async () => {
      for (let one = left.pop(); one !== undefined; one = left.pop()) await work(one)
    }),
  )
}
