/**
 * `npm run bench -- ward`: plays a 1,000-bed hospital's morning in one minute, and finds the highest multiple of it
 * that this machine sustains. `-- ward quick` plays a fifth of that morning once, at the same rate, as a check. The
 * mix is in morning-plan.ts, the steps in morning-journeys.ts.
 *
 * The wards' work and their clock run 45 times as fast. So everything timed in ward minutes comes as often in the
 * minute as in the three quarters of an hour. Refreshing pages and boards keep real seconds, since a hospital has as
 * many of them open in either.
 *
 * Bench, boards and service share the machine, so the service has only a part of it. Sustained means: no error, every
 * value on its board, and 99 of 100 requests answered within 250 ms of when they were due.
 */
import { hash, verify } from '@node-rs/argon2'
import { WARD_PIN_COST } from '../../server/http/pins.ts'
import { round } from './measure.ts'
import { BEDS, WARDS_A_HOSPITAL } from './morning-plan.ts'
import { runMorning, type Morning } from './morning-run.ts'
import { mostHeld } from './morning-search.ts'
import { PIN } from './ward.ts'

const P99_BELOW_MS = 250
const SEED = 20_260_310
/** The search ends when sustained and failed load are this close, or its time is over. */
const NEAR = 1.1
const BUDGET_MS = 600_000
/**
 * Real seconds in which checks begin: the whole morning once, two thirds of it in each further try, a fifth in a
 * quick one.
 */
const SECONDS = { whole: 60, further: 40, quick: 12 } as const
const LEAST_WARDS = 3

export type MorningBench = {
  readonly p99BelowMs: number
  /** Processor time of one PIN verification. */
  readonly pinCpuMs: number
  readonly once: Morning
  readonly held: { readonly multiple: number; readonly beds: number } | null
  readonly notHeld: { readonly multiple: number; readonly beds: number } | null
  readonly runs: readonly Pick<Morning, 'multiple' | 'requestsASecond' | 'all' | 'boards' | 'cpu' | 'memoryMiB'>[]
}

export async function bench(): Promise<MorningBench> {
  const quick = process.argv[3] === 'quick'
  const startedMs = performance.now()
  const pinCpuMs = await costOfPin()
  const runs: Morning[] = []
  let longestMs = 0
  const held = async (wards: number): Promise<boolean> => {
    const beganMs = performance.now()
    const morning = await runMorning({
      wards,
      seconds: quick ? SECONDS.quick : runs.length === 0 ? SECONDS.whole : SECONDS.further,
      seed: SEED,
      pinCpuMs,
    })
    longestMs = Math.max(longestMs, performance.now() - beganMs)
    runs.push(morning)
    console.error(lineOf(morning))
    return isHeld(morning)
  }
  const found = await mostHeld({
    held,
    first: WARDS_A_HOSPITAL,
    least: LEAST_WARDS,
    near: NEAR,
    mayGoOn: () => !quick && performance.now() - startedMs + longestMs < BUDGET_MS,
  })
  const [once] = runs
  if (once === undefined) throw new Error('nothing was run')
  const of = (wards: number | null): MorningBench['held'] =>
    wards === null ? null : { multiple: round(wards / WARDS_A_HOSPITAL, 2), beds: wards * BEDS }
  console.log(tableOf(once, runs))
  return {
    p99BelowMs: P99_BELOW_MS,
    pinCpuMs,
    once,
    held: of(found.held),
    notHeld: of(found.notHeld),
    runs: runs.map(({ multiple, requestsASecond, all, boards, cpu, memoryMiB }) => ({
      multiple,
      requestsASecond,
      all,
      boards,
      cpu,
      memoryMiB,
    })),
  }
}

function isHeld({ all, boards }: Morning): boolean {
  return all.errors === 0 && boards.neverShown === 0 && boards.ended === 0 && all.p99 < P99_BELOW_MS
}

/** Processor time of one PIN verification at the ward's own cost, in milliseconds. */
async function costOfPin(): Promise<number> {
  const kept = await hash(PIN, {
    memoryCost: WARD_PIN_COST.memoryKiB,
    timeCost: WARD_PIN_COST.passes,
    parallelism: WARD_PIN_COST.lanes,
  })
  await verify(kept, PIN)
  const begun = process.cpuUsage()
  const proofs = 20
  for (let at = 0; at < proofs; at++) await verify(kept, PIN)
  const { user, system } = process.cpuUsage(begun)
  return round((user + system) / 1000 / proofs, 1)
}

function lineOf(morning: Morning): string {
  const { multiple, beds, requestsASecond, all, boards, cpu, memoryMiB, signIn, faults } = morning
  const words = [
    `${String(multiple)} times (${String(beds)} beds): ${isHeld(morning) ? 'held' : 'not held'}, ${String(requestsASecond)} requests a second`,
    `p50 ${String(all.p50)}, p99 ${String(all.p99)}, most ${String(all.most)} ms, ${String(all.errors)} errors`,
    `boards p99 ${String(boards.p99)} ms`,
    `CPU ${String(cpu.service)} (PINs ${String(cpu.pins)}, bench ${String(cpu.bench)}), ${String(memoryMiB)} MiB`,
    `${String(signIn.people)} signed in within ${String(signIn.seconds)} s`,
  ]
  return [words.join('; '), ...faults].join('\n  ')
}

function tableOf({ byKind, all }: Morning, runs: readonly Morning[]): string {
  const kinds = [...Object.entries(byKind), ['all', all] as const]
  const width = Math.max(...kinds.map(([kind]) => kind.length))
  const row = (name: string, ...cells: readonly (string | number)[]): string =>
    [name.padEnd(width), ...cells.map((cell) => String(cell).padStart(8))].join(' ')
  return [
    row('once', 'asked', 'p50 ms', 'p99 ms', 'errors'),
    ...kinds.map(([kind, one]) => row(kind, one.asked, one.p50, one.p99, one.errors)),
    '',
    ...runs.map(lineOf),
  ].join('\n')
}
