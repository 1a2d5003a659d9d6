/** Starts a service out of its configuration and clocks: the same way for a real ward and for the demo. */
import type { FastifyBaseLogger } from 'fastify'
import { randomBytes } from 'node:crypto'
import { buildApp } from './app.ts'
import { scheduleBackups } from './backup/schedule.ts'
import { monotonicWardTime, type Clocks } from './clocks.ts'
import type { Config } from './config.ts'
import { newId } from './http/ids.ts'
import type { DemoClock, Services } from './http/services.ts'
import type { Store } from './store/contract.ts'
import { openStore } from './store/open.ts'

export type Running = {
  /** "http://127.0.0.1:8080" */
  readonly address: string
  readonly services: Services
  /** Finishes the requests in flight, writes what waits, checkpoints and closes. Safe to call twice. */
  readonly stop: () => Promise<void>
}

export type StartOptions = {
  readonly clocks: Clocks
  readonly demoClock: DemoClock | null
  /** A store that is already open (the demo seeds it first); else the configured file is opened. */
  readonly store?: Store
}

/** Opens the store, builds the application and listens. Whatever fails closes the store again. */
export async function startService(config: Config, options: StartOptions): Promise<Running> {
  const store = options.store ?? openStore({ file: config.databaseFile, headFile: config.headFile })
  try {
    let log: FastifyBaseLogger | null = null
    const now = monotonicWardTime(options.clocks, store.lastEventAtMs() ?? 0, (behindMs) => {
      log?.error(
        { behindSeconds: Math.round(behindMs / 1000) },
        'the machine’s clock is behind ward time: ward time goes on without it; set the clock right',
      )
    })
    const backups = scheduleBackups({ config, now: options.clocks.now, mono: options.clocks.mono })
    const services: Services = {
      store,
      backups,
      now,
      mono: options.clocks.mono,
      newId,
      config,
      demoClock: options.demoClock,
      setUpCode: store.isEmpty() ? newSetUpCode() : null,
    }
    const app = await buildApp(services)
    log = app.log
    now()
    const address = await app.listen({ host: config.host, port: config.port })
    if (store.upgraded !== null) app.log.warn({ upgrade: store.upgraded }, 'the database was upgraded')
    backups.start(app.log)
    let stopped: Promise<void> | null = null
    const stop = async (): Promise<void> => {
      try {
        await Promise.all([backups.stop(), app.close()])
      } finally {
        store.close()
      }
    }
    return { address, services, stop: () => (stopped ??= stop()) }
  } catch (error) {
    store.close()
    throw error
  }
}

/** Twenty letters and digits without those that are taken for one another, in groups of five: 99 bits. */
function newSetUpCode(): string {
  const letters = 'ABCDEFGHJKLMNPQRSTUVWXYZ23456789'
  const code = [...randomBytes(20)].map((byte) => letters[byte % letters.length] ?? '').join('')
  return code.replace(/.{5}(?=.)/g, '$&-')
}
