/** The service itself as a child process: a loaded ward on a scratch file, its clock moved by the bench. */
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
import { asChild } from './child.ts'
import { chartYesterday } from './yesterday.ts'

export type Ours = {
  readonly databaseFile: string
  readonly headFile: string
  readonly ward: LoadFileInput
  readonly atMs: number
  /** Held unless it says that ward time runs on. */
  readonly clock?: 'runs'
  /** A hospital behind its proxy: more files to load, every patient's checks of the day before, and each tablet's own address believed. */
  readonly hospital?: { readonly more: readonly LoadFileInput[]; readonly pin: string }
}

/** What the service has used since it began: CPU of all its threads, and memory now. */
export type Used = { readonly cpuMs: number; readonly rssMiB: number }

/** What the bench asks of the service besides its pages. */
export type Question =
  /** Moves the ward clock on. */
  | { readonly kind: 'later'; readonly minutes: number }
  /** Sets the ward clock, and how many times as fast as the wall's it runs from now on. */
  | { readonly kind: 'clock'; readonly atMs: number; readonly times: number }
  /** One-time keys as the form's page would carry them. Answers string[]. */
  | { readonly kind: 'keys'; readonly badge: string; readonly form: string; readonly count: number }
  /** The ids of the patients by their wristbands. Answers string[]. */
  | { readonly kind: 'stays'; readonly wristbands: readonly string[] }
  /** The ids of the ward's meters, by serial number. Answers Record<string, string>. */
  | { readonly kind: 'meters'; readonly badge: string }
  /** Answers `Used`. */
  | { readonly kind: 'used' }

asChild<Ours>(async ({ databaseFile, headFile, ward, atMs, clock, hospital }) => {
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

/** Everybody's PIN is one and the same with one hash of the ward's real cost: each proof of it costs what it does on a ward, and hashing it anew for hundreds of people would take minutes. */
async function giveOnePin(store: Store, pin: string): Promise<void> {
  const hash = await hashPin(pin)
  store.transact(() => {
    for (const { staffId } of store.staffList({ staffId: 'loader', role: 'administrator', wardIds: store.wardIds() }))
      store.setPinHash(staffId, hash)
    return null
  })
}
