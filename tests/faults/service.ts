/**
 * The service as started on a ward, in a separate process with a real file and clocks that the test moves. The first
 * message sets it up, later ones are requests; it ends with its parent.
 */
import { defaultConfig } from '../../server/config.ts'
import { hashPin } from '../../server/http/pins.ts'
import { startService } from '../../server/start.ts'
import { openStore } from '../../server/store/open.ts'
import { connectionsFromHere, queryOnly } from './disk.ts'
import { controlPassed, PIN, staffIdOf, wardEvents, type WardOf } from './ward.ts'

export type SetUp = WardOf & {
  readonly file: string
  readonly headFile: string
  /** Ward time at the start; it runs on from there. */
  readonly atMs: number
}

export type Question =
  /** Sets the machine's clock forward or back; the monotonic clock does not follow. */
  | { readonly kind: 'step'; readonly minutes: number }
  /** Advances time. */
  | { readonly kind: 'pass'; readonly minutes: number }
  /** Stops and resumes every write, where the machine allows no full disk. */
  | { readonly kind: 'query-only'; readonly on: boolean }
  /** Charts passed controls, which a reading of a new day needs to give a dose. */
  | { readonly kind: 'control' }
  /** Returns `State`. */
  | { readonly kind: 'state' }

export type State = { readonly wallMs: number; readonly wardMs: number; readonly unhandled: readonly string[] }

const connections = connectionsFromHere()
const unhandled: string[] = []
process.on('unhandledRejection', (reason) => unhandled.push(`unhandled rejection: ${String(reason)}`))
process.on('uncaughtException', (error) => unhandled.push(`uncaught exception: ${error.stack ?? error.message}`))

async function start({ file, headFile, atMs, ...ward }: SetUp): Promise<{
  readonly port: number
  readonly answer: (question: Question) => unknown
  readonly stop: () => Promise<void>
}> {
  const store = openStore({ file, headFile })
  if (store.isEmpty()) {
    const hash = await hashPin(PIN)
    store.transact(() => {
      store.append(wardEvents({ atMs, ...ward }))
      for (let number = 1; number <= ward.nurses; number++) store.setPinHash(staffIdOf(number), hash)
      return null
    })
  }
  const begunMs = performance.now()
  let passedMs = 0
  let steppedMs = 0
  const mono = (): number => performance.now() + passedMs
  const wall = (): number => Math.floor(atMs + mono() - begunMs + steppedMs)
  const config = {
    ...defaultConfig(),
    databaseFile: file,
    headFile,
    host: '127.0.0.1',
    port: 0,
    secureCookies: false,
    trustProxy: ['127.0.0.1'],
    logLevel: 'silent' as const,
  }
  const running = await startService(config, { clocks: { now: wall, mono }, demoClock: null, store })
  return {
    port: Number(new URL(running.address).port),
    stop: running.stop,
    answer: (question) => {
      switch (question.kind) {
        case 'step':
          steppedMs += question.minutes * 60_000
          return null
        case 'pass':
          passedMs += question.minutes * 60_000
          return null
        case 'query-only':
          queryOnly(connections, question.on)
          return null
        case 'control': {
          const nowMs = running.services.now()
          store.transact(() => {
            store.append([controlPassed(nowMs)])
            return null
          })
          return null
        }
        case 'state':
          return { wallMs: wall(), wardMs: running.services.now(), unhandled } satisfies State
      }
    },
  }
}

process.once('message', (setUp) => {
  start(setUp as SetUp).then(
    ({ port, answer, stop }) => {
      process.on('message', (question) => process.send?.({ answer: answer(question as Question) }))
      process.once('disconnect', () => {
        stop()
          .finally(() => process.exit(0))
          .catch(() => undefined)
      })
      process.send?.({ port })
    },
    (error: unknown) => {
      process.send?.({ refused: error instanceof Error ? error.message : String(error) })
      process.exit(1)
    },
  )
})
