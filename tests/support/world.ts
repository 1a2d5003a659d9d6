/** A fresh service for one test: its own store, its own application, a clock that only the test moves. */
import { buildServer } from '../../server/app.ts'
import { defaultConfig, type Config } from '../../server/config.ts'
import { newId } from '../../server/http/ids.ts'
import type { Server } from '../../server/http/route.ts'
import type { Services } from '../../server/http/services.ts'
import type { Store } from '../../server/store/contract.ts'
import { openStore } from '../../server/store/open.ts'
import { localToUtc } from '../../shared/time/zone.ts'
import { Client } from './client.ts'
import { emptyImage } from './image.ts'
import { CHEAP_PIN, cheapHash, people, type Person } from './people.ts'
import { ALDER_ZONE, seedEvents, type SeedOptions } from './wards.ts'

/** Ward time that stands until the test moves it. Moving it forward moves the monotonic clock by as much. */
export class HeldClock {
  #nowMs: number
  #monoMs = 1_000_000
  constructor(nowMs: number) {
    this.#nowMs = nowMs
  }
  now(): number {
    return this.#nowMs
  }
  mono(): number {
    return this.#monoMs
  }
  /** To an instant, or to a ward-local time of Alder: "2026-03-10T07:20". */
  set(to: number | string): void {
    const toMs = typeof to === 'number' ? to : alderTime(to)
    this.#monoMs += Math.max(0, toMs - this.#nowMs)
    this.#nowMs = toMs
  }
  advance(minutes: number): void {
    this.set(this.#nowMs + minutes * 60_000)
  }
  /** Ward time as a step of the machine's clock would move it: the monotonic clock does not follow. */
  stepWardTime(minutes: number): void {
    this.#nowMs += minutes * 60_000
  }
}

/** The instant of a time on Alder, "2026-03-10T07:20". */
export function alderTime(local: string): number {
  const [date = '', time = ''] = local.split('T')
  return localToUtc(date, time, ALDER_ZONE)
}

export type WorldOptions = Omit<SeedOptions, 'atMs'> & {
  /** Ward time on Alder, "2026-03-10T07:20" unless said otherwise. */
  readonly at?: string
  /** True: nothing and nobody in the database. */
  readonly empty?: boolean
  /** A real file instead of memory. */
  readonly file?: string
  readonly headFile?: string
  readonly config?: Partial<Config>
  readonly setUpCode?: string
  /** How the scheduled backups stand; none are made unless said otherwise. */
  readonly backups?: NonNullable<Services['backups']>
  /** True: the demo's banner and route. */
  readonly demo?: boolean
  /** Where log lines go instead of the standard output. */
  readonly logTo?: { readonly write: (line: string) => void }
  /** Adds routes of the test's own, before the service is ready. */
  readonly register?: (server: Server) => void
  /** Wraps the store, to make it fail. */
  readonly wrapStore?: (store: Store) => Store
}

export type World = {
  readonly server: Server
  readonly services: Services
  readonly store: Store
  readonly clock: HeldClock
  /** A browser where nobody is signed in. */
  readonly visitor: () => Client
  /** A browser where this person has signed in, and has chosen the ward (the first of hers unless said otherwise). */
  readonly signIn: (person: Person, options?: { readonly wardId?: string }) => Promise<Client>
  readonly close: () => Promise<void>
}

export const TEST_CONFIG: Config = {
  ...defaultConfig(),
  databaseFile: ':memory:',
  headFile: '',
  port: 0,
  secureCookies: false,
  logLevel: 'silent',
  sessionHours: 13,
}

export async function makeWorld(options: WorldOptions = {}): Promise<World> {
  const { at = '2026-03-10T07:20', empty = false, file = ':memory:', headFile = null } = options
  const clock = new HeldClock(alderTime(at))
  const real = openStore({ file, headFile, ...(file === ':memory:' ? { image: emptyImage } : {}) })
  if (!empty && real.isEmpty()) {
    const hashes = await Promise.all(
      Object.values(people).map(async ({ staffId, pin }) => ({ staffId, hash: await cheapHash(pin) })),
    )
    real.transact(() => {
      real.append(seedEvents({ ...options, atMs: clock.now() }))
      for (const { staffId, hash } of hashes) real.setPinHash(staffId, hash)
      return null
    })
  }
  const store = options.wrapStore?.(real) ?? real
  const services: Services = {
    store,
    now: () => clock.now(),
    mono: () => clock.mono(),
    newId,
    config: { ...TEST_CONFIG, databaseFile: file, ...options.config },
    demoClock:
      options.demo === true
        ? {
            zone: ALDER_ZONE,
            advanceMinutes: (minutes) => {
              clock.advance(minutes)
            },
          }
        : null,
    setUpCode: options.setUpCode ?? null,
    pinCost: CHEAP_PIN,
    ...(options.backups === undefined ? {} : { backups: options.backups }),
  }
  const server = await buildServer(services, options.logTo)
  options.register?.(server)
  await server.app.ready()
  const visitor = (): Client => new Client(server.app)
  return {
    server,
    services,
    store,
    clock,
    visitor,
    signIn: async (person, { wardId = person.wardIds[0] } = {}) => {
      const client = visitor()
      const signedIn = await client.postRaw('/sign-in', { badge: person.badge, pin: person.pin })
      if (signedIn.status !== 303)
        throw new Error(`${person.name} could not sign in: ${String(signedIn.status)} ${signedIn.words()}`)
      if (wardId !== undefined) {
        const chosen = await client.post('/ward', { wardId })
        if (chosen.status !== 303)
          throw new Error(`${person.name} could not choose a ward: ${String(chosen.status)} ${chosen.words()}`)
      }
      return client
    },
    close: async () => {
      await server.app.close()
      real.close()
    },
  }
}
