/** Starts the demo: its own database file with the invented hospital, and its own ward clock. */
import { existsSync, mkdirSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { newId } from '../server/http/ids.ts'
import { hashPin, WARD_PIN_COST, type PinCost } from '../server/http/pins.ts'
import { defaultConfig } from '../server/config.ts'
import { startService, type Running } from '../server/start.ts'
import type { Store } from '../server/store/contract.ts'
import { noteInFile } from '../server/store/notes.ts'
import { openStore } from '../server/store/open.ts'
import { accept, refuse, type Outcome } from '../shared/outcome.ts'
import { localToUtc, wardDate, wardTime } from '../shared/time/zone.ts'
import { resumeMs, wardClock } from './clock.ts'
import { PEOPLE, ZONE } from './people.ts'
import { seedWeek } from './week.ts'

const MARK = 'demo'
const SAVE_EACH_MS = 10_000
const DEFAULT_AT = '07:20'

export type DemoOptions = {
  /** Folder of the demo's files. */
  readonly folder: string
  /** HH:MM. Null: 07:20 for a new demo, the saved time for an old one. */
  readonly at: string | null
  readonly fresh: boolean
  /** 0: any free port. */
  readonly port: number
  /** Real time, which gives today's date, and a monotonic clock. */
  readonly clocks: { readonly now: () => number; readonly mono: () => number }
  /** Cost of one PIN hash; the service's default when absent. */
  readonly pinCost?: PinCost
}

export type DemoRefusal = 'not-a-demo' | 'earlier-needs-fresh'

declare module '../shared/outcome.ts' {
  interface RefusalDetails {
    'not-a-demo': { file: string }
    /** HH:MM, ward-local. */
    'earlier-needs-fresh': { at: string; stands: string }
  }
}

export type RunningDemo = {
  readonly address: string
  readonly now: () => number
  readonly seeded: boolean
  readonly running: Running
  readonly stop: () => Promise<void>
}

/** Refuses a file that is not a demo's, and an earlier time without `fresh`. Changes neither file. */
export async function startDemo(options: DemoOptions): Promise<Outcome<RunningDemo, DemoRefusal>> {
  const file = join(options.folder, 'demo.sqlite')
  const headFile = join(options.folder, 'demo-ledger-head.json')
  if (existsSync(file) && noteInFile(file, MARK) === undefined) return refuse('not-a-demo', { file })
  if (options.fresh) for (const old of [file, `${file}-wal`, `${file}-shm`, headFile]) rmSync(old, { force: true })
  mkdirSync(options.folder, { recursive: true })
  const store = openStore({ file, headFile })
  try {
    const seeded = store.isEmpty()
    const startMs = seeded
      ? localToUtc(wardDate(options.clocks.now(), ZONE), options.at ?? DEFAULT_AT, ZONE)
      : startOfOld(store, options.at)
    if (startMs === null) {
      const stands = wardTime(resumeMs(store), ZONE)
      store.close()
      return refuse('earlier-needs-fresh', { at: options.at ?? '', stands })
    }
    if (seeded) await fill(store, startMs, options.pinCost ?? WARD_PIN_COST)
    return accept(await serve(store, { file, headFile, startMs, seeded }, options))
  } catch (error) {
    store.close()
    throw error
  }
}

/** Null: the requested time is earlier than the demo's time on its own day. */
function startOfOld(store: Store, at: string | null): number | null {
  const stands = resumeMs(store)
  if (at === null) return stands
  const asked = localToUtc(wardDate(stands, ZONE), at, ZONE)
  return asked < stands ? null : asked
}

async function fill(store: Store, startMs: number, pinCost: PinCost): Promise<void> {
  store.setNote(MARK, 'An invented hospital. No real patient.')
  const hashes = await Promise.all(PEOPLE.map(async ({ badge, pin }) => [badge, await hashPin(pin, pinCost)] as const))
  seedWeek({ store, newId, today: wardDate(startMs, ZONE), startMs, pinHashes: new Map(hashes) })
}

async function serve(
  store: Store,
  at: { readonly file: string; readonly headFile: string; readonly startMs: number; readonly seeded: boolean },
  options: DemoOptions,
): Promise<RunningDemo> {
  const { mono } = options.clocks
  const clock = wardClock(store, at.startMs, mono)
  const running = await startService(
    {
      ...defaultConfig(),
      databaseFile: at.file,
      headFile: at.headFile,
      port: options.port,
      // plain HTTP on this machine only: the browser would not return a secure cookie
      secureCookies: false,
      logLevel: 'warn',
    },
    { clocks: { now: clock.now, mono }, demoClock: clock.demoClock, store },
  )
  clock.save()
  const timer = setInterval(clock.save, SAVE_EACH_MS)
  timer.unref()
  let stopped = false
  const stop = async (): Promise<void> => {
    if (stopped) return
    stopped = true
    clearInterval(timer)
    clock.save()
    await running.stop()
  }
  return { address: running.address, now: clock.now, seeded: at.seeded, running, stop }
}
