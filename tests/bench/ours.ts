/** The service as a child process: a loaded ward on a scratch file, with a clock moved by the bench. */
import type { AddressInfo } from 'node:net'
import { buildServer } from '../../server/app.ts'
import { defaultConfig } from '../../server/config.ts'
import { newId } from '../../server/http/ids.ts'
import { hashPin } from '../../server/http/pins.ts'
import { loadInto } from '../../server/load/load.ts'
import type { LoadFileInput } from '../../server/load/schema.ts'
import type { Store } from '../../server/store/contract.ts'
import { openStore } from '../../server/store/open.ts'
import { CHEAP_PIN } from '../support/people.ts'
import { serveParent } from './child.ts'
import { chartYesterday } from './yesterday.ts'

export type Ours = {
  readonly databaseFile: string
  readonly headFile: string
  readonly ward: LoadFileInput
  readonly atMs: number
  /** Fixed, unless ward time runs on. */
  readonly clock?: 'runs'
  /**
   * A hospital behind its proxy: more load files, every patient's checks of the day before, and each tablet's own
   * address trusted.
   */
  readonly hospital?: { readonly more: readonly LoadFileInput[]; readonly pin: string }
}

/** Used by the service since its start: CPU of all threads; and memory now. */
export type Used = { readonly cpuMs: number; readonly rssMiB: number }

/** The bench's requests to the service besides pages. */
export type Question =
  /** Moves the ward clock on. */
  | { readonly kind: 'later'; readonly minutes: number }
  /** Sets the ward clock and its speed relative to real time from now on. */
  | { readonly kind: 'clock'; readonly atMs: number; readonly times: number }
  /** One-time keys as on the form's page. Returns string[]. */
  | { readonly kind: 'keys'; readonly badge: string; readonly form: string; readonly count: number }
  /** The ids of the patients by their wristbands. Returns string[]. */
  | { readonly kind: 'stays'; readonly wristbands: readonly string[] }
  /** The ids of the ward's meters, by serial number. Returns Record<string, string>. */
  | { readonly kind: 'meters'; readonly badge: string }
  /** Returns `Used`. */
  | { readonly kind: 'used' }

serveParent<Ours>(async ({ databaseFile, headFile, ward, atMs, clock, hospital }) => {
  const store = openStore({ file: databaseFile, headFile })
  let clockNow = { sinceMs: performance.now(), atMs, times: clock === 'runs' ? 1 : 0 }
  const now = (): number => clockNow.atMs + Math.round((performance.now() - clockNow.sinceMs) * clockNow.times)
  for (const file of [ward, ...(hospital?.more ?? [])]) {
    const loaded = await loadInto(file, {
      store,
      nowMs: atMs,
      newId,
      ...(hospital === undefined ? {} : { pinCost: CHEAP_PIN }),
    })
    if (!loaded.ok) throw new Error(`the ward file is refused: ${JSON.stringify(loaded.faults)}`)
  }
  if (hospital !== undefined) {
    await giveOnePin(store, hospital.pin)
    chartYesterday(store, atMs)
  }
  const server = await buildServer({
    store,
    now,
    mono: () => performance.now(),
    newId,
    demoClock: null,
    config: {
      ...defaultConfig(),
      databaseFile,
      headFile,
      port: 0,
      secureCookies: false,
      logLevel: 'error',
      sessionHours: 13,
      ...(hospital === undefined ? {} : { trustProxy: ['127.0.0.1'] }),
    },
  })
  const person = (badge: string) => {
    const found = store.staffByBadge(badge)
    if (found === undefined) throw new Error(`nobody has the badge ${badge}`)
    return found
  }
  const answer = (question: unknown): unknown => {
    const asked = question as Question
    switch (asked.kind) {
      case 'later':
        clockNow = { sinceMs: performance.now(), atMs: now() + asked.minutes * 60_000, times: clockNow.times }
        return now()
      case 'clock':
        clockNow = { sinceMs: performance.now(), atMs: asked.atMs, times: asked.times }
        return now()
      case 'used': {
        const { user, system } = process.cpuUsage()
        return { cpuMs: (user + system) / 1000, rssMiB: process.memoryUsage().rss / 2 ** 20 }
      }
      case 'keys': {
        const { staffId } = person(asked.badge)
        return Array.from({ length: asked.count }, () => server.appContext.formKeys.make(staffId, asked.form))
      }
      case 'stays':
        return asked.wristbands.map((wristband) => store.stayByWristband(wristband)?.stayId)
      case 'meters': {
        const { staffId, role, wardIds } = person(asked.badge)
        const facts = store.wardFacts({ staffId, role, wardIds }, wardIds[0] ?? '', now())
        return Object.fromEntries((facts?.meters ?? []).map(({ serial, meterId }) => [serial, meterId]))
      }
    }
  }
  await server.app.listen({ host: '127.0.0.1', port: 0 })
  return {
    port: (server.app.server.address() as AddressInfo).port,
    answer,
    close: () => store.close(),
  }
})

/**
 * Everybody has the same PIN with one hash at the ward's real cost. Each verification costs what it does on a ward,
 * and hashing for hundreds of people would take minutes.
 */
async function giveOnePin(store: Store, pin: string): Promise<void> {
  const hash = await hashPin(pin)
  store.transact(() => {
    for (const { staffId } of store.staffList({ staffId: 'loader', role: 'administrator', wardIds: store.wardIds() }))
      store.setPinHash(staffId, hash)
    return null
  })
}
