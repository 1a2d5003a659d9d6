/** The service itself as a child process: a loaded ward on a scratch file, its clock moved by the bench. */
import type { AddressInfo } from 'node:net'
import { buildServer } from '../../server/app.ts'
import { defaultConfig } from '../../server/config.ts'
import { newId } from '../../server/http/ids.ts'
import { loadInto } from '../../server/load/load.ts'
import type { LoadFileInput } from '../../server/load/schema.ts'
import { openStore } from '../../server/store/open.ts'
import { asChild } from './child.ts'

export type Ours = { readonly databaseFile: string; readonly headFile: string; readonly ward: LoadFileInput; readonly atMs: number; /** held unless it says that ward time runs on */ readonly clock?: 'runs' }

/** What the service has used since it began: CPU of all its threads, and memory now. */
export type Used = { readonly cpuMs: number; readonly rssMiB: number }

/** What the bench asks of the service besides its pages. */
export type Question =
  /** Moves the ward clock on. */
  | { readonly kind: 'later'; readonly minutes: number }
  /** One-time keys as the form's page would carry them. Answers string[]. */
  | { readonly kind: 'keys'; readonly badge: string; readonly form: string; readonly count: number }
  /** The ids of the patients by their wristbands. Answers string[]. */
  | { readonly kind: 'stays'; readonly wristbands: readonly string[] }
  /** The ids of the ward's meters, by serial number. Answers Record<string, string>. */
  | { readonly kind: 'meters'; readonly badge: string }
  /** Answers `Used`. */
  | { readonly kind: 'used' }

asChild<Ours>(async ({ databaseFile, headFile, ward, atMs, clock }) => {
  const store = openStore({ file: databaseFile, headFile })
  let nowMs = atMs
  const startedAt = performance.now()
  const loaded = await loadInto(ward, { store, nowMs, newId })
  if (!loaded.ok) throw new Error(`the ward file is refused: ${JSON.stringify(loaded.faults)}`)
  const server = await buildServer({
    store,
    now: () => (clock === 'runs' ? nowMs + Math.round(performance.now() - startedAt) : nowMs),
    mono: () => performance.now(),
    newId,
    demoClock: null,
    config: { ...defaultConfig(), databaseFile, headFile, port: 0, secureCookies: false, logLevel: 'error', sessionHours: 13 },
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
        nowMs += asked.minutes * 60_000
        return nowMs
      case 'used': {
        const { user, system } = process.cpuUsage()
        return { cpuMs: (user + system) / 1000, rssMiB: process.memoryUsage().rss / 2 ** 20 }
      }
      case 'keys': {
        const { staffId } = person(asked.badge)
        return Array.from({ length: asked.count }, () => server.house.formKeys.make(staffId, asked.form))
      }
      case 'stays':
        return asked.wristbands.map((wristband) => store.stayByWristband(wristband)?.stayId)
      case 'meters': {
        const { staffId, role, wardIds } = person(asked.badge)
        const facts = store.wardFacts({ staffId, role, wardIds }, wardIds[0] ?? '', nowMs)
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
