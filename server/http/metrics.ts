/**
 * Figures about the service for a collector, in Prometheus' text format: only where METRICS_TOKEN is set, and only for
 * who sends it. Off, nothing is counted. No figure has a ward, bed, person or patient for a label: every label is a
 * route's pattern, a method, a class of statuses, the reason of a refusal, or one of a few words, so their number has an end.
 */
import { monitorEventLoopDelay } from 'node:perf_hooks'
import { Counter, Gauge, Histogram, Registry } from 'prom-client'
import type { StoreFailure } from '../../views/words/http.ts'
import type { IdentifyRefusal } from './pins.ts'
import type { Services } from './services.ts'

/** Upper bounds in seconds: from a page drawn before, to what a person no longer waits for. */
const DURATIONS_S = [0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 10]
/** How often the event loop is asked for its delay, in milliseconds. */
const LOOP_ASKED_MS = 20
const NANO = 1e9

/** The figures of one service; null where nobody may collect them. Each service has a registry of its own. */
export class Metrics {
  readonly registry = new Registry()
  readonly #answers: Histogram<'route' | 'method' | 'status'>
  readonly #streams: Gauge
  readonly #refusals: Counter<'reason'>
  readonly #notIdentified: Counter<'reason'>
  readonly #storeFailures: Counter<'failure'>
  readonly #loop = monitorEventLoopDelay({ resolution: LOOP_ASKED_MS })

  constructor({ store, backups, mono }: Services) {
    const registers = [this.registry]
    this.#answers = new Histogram({
      name: 'ward_http_answer_duration_seconds',
      help: 'Time from a request to its answer, by route pattern, method and class of status.',
      labelNames: ['route', 'method', 'status'],
      buckets: DURATIONS_S,
      registers,
    })
    this.#streams = new Gauge({ name: 'ward_open_streams', help: 'Boards kept open.', registers })
    this.#refusals = new Counter({
      name: 'ward_form_refusals_total',
      help: 'Charting forms refused, by reason.',
      labelNames: ['reason'],
      registers,
    })
    this.#notIdentified = new Counter({
      name: 'ward_identify_failures_total',
      help: 'Badges and PINs that were not taken, by reason.',
      labelNames: ['reason'],
      registers,
    })
    this.#storeFailures = new Counter({
      name: 'ward_database_failures_total',
      help: 'Answers given up because the database took or gave nothing, by what it was: busy, full and so on.',
      labelNames: ['failure'],
      registers,
    })
    new Counter({
      name: 'ward_ledger_rows_total',
      help: 'Rows of the record.',
      registers,
      collect() {
        this.reset()
        this.inc(store.recordFacts().head.count)
      },
    })
    const loop = this.#loop
    for (const [part, of] of [
      ['p50', () => loop.percentile(50)],
      ['p99', () => loop.percentile(99)],
      ['max', () => loop.max],
    ] as const) {
      new Gauge({
        name: `ward_event_loop_delay_${part}_seconds`,
        help: `Delay of the event loop since the last collection, ${part}.`,
        registers,
        // the delay counts from one asking to the next, which is itself no delay
        collect() {
          this.set(Math.max(0, (Number.isFinite(of()) ? of() : 0) / NANO - LOOP_ASKED_MS / 1000))
        },
      })
    }
    new Gauge({
      name: 'ward_memory_bytes',
      help: 'Memory of the process: resident, used heap, and buffers outside it.',
      labelNames: ['kind'],
      registers,
      collect() {
        const { rss, heapUsed, external } = process.memoryUsage()
        for (const [kind, bytes] of [
          ['resident', rss],
          ['heap', heapUsed],
          ['external', external],
        ] as const)
          this.set({ kind }, bytes)
      },
    })
    new Counter({
      name: 'ward_processor_seconds_total',
      help: 'Processor time used.',
      registers,
      collect() {
        const { user, system } = process.cpuUsage()
        this.reset()
        this.inc((user + system) / 1e6)
      },
    })
    const startedMs = mono()
    new Gauge({
      name: 'ward_up_seconds',
      help: 'Time since the service was started.',
      registers,
      collect() {
        this.set((mono() - startedMs) / 1000)
      },
    })
    if (backups !== undefined) {
      new Gauge({
        name: 'ward_backup_age_seconds',
        help: 'Age of the newest backup that was found whole; no value while none is known.',
        registers,
        collect() {
          const { newest } = backups.status()
          this.remove()
          if (newest !== null) this.set(newest.ageMs / 1000)
        },
      })
      new Gauge({
        name: 'ward_backup_failing',
        help: '1 while the last scheduled backup failed.',
        registers,
        collect() {
          this.set(backups.status().state === 'failing' ? 1 : 0)
        },
      })
    }
    this.#loop.enable()
  }

  /** One answer that went out. */
  answered(route: string, method: string, status: number, seconds: number): void {
    this.#answers
      .labels(route, METHODS.has(method) ? method : 'other', `${String(Math.floor(status / 100))}xx`)
      .observe(seconds)
  }

  streamOpened(): void {
    this.#streams.inc()
  }

  streamClosed(): void {
    this.#streams.dec()
  }

  /** A charting form was refused for this reason. */
  refused(reason: string): void {
    this.#refusals.labels(reason).inc()
  }

  /** Badge and PIN were not taken. */
  notIdentified(reason: IdentifyRefusal): void {
    this.#notIdentified.labels(reason).inc()
  }

  /** Nothing was saved, for this failure of the database. */
  storeFailed(failure: StoreFailure): void {
    this.#storeFailures.labels(failure).inc()
  }

  /** Everything as text; the event loop's delay counts anew from here. */
  async text(): Promise<string> {
    const text = await this.registry.metrics()
    this.#loop.reset()
    return text
  }

  close(): void {
    this.#loop.disable()
  }
}

const METHODS = new Set(['GET', 'POST', 'HEAD'])
