/**
 * Figures about the service for a collector, in Prometheus' text format: only where METRICS_TOKEN is set, and only for
 * who sends it. Off, nothing is counted. No figure has a ward, bed, person or patient for a label: every label is a
 * route's pattern, a method, a class of statuses, the reason of a refusal, or one of a few words, so their number has an end.
 */
import { collectDefaultMetrics, Counter, Gauge, Histogram, Registry } from 'prom-client'
import type { StoreFailure } from '../../views/words/http.ts'
import type { IdentifyRefusal } from '../../views/words/http.ts'
import type { Services } from './services.ts'

/** Upper bounds in seconds: from a page drawn before, to what a person no longer waits for. */
const DURATIONS_S = [0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 10]
/** How often the event loop's delay is measured, in milliseconds. */
const LOOP_EVERY_MS = 20

let ofProcess: Registry | undefined

/**
 * Figures of the process and its event loop, by the library's own collector under its standard names. They are of the
 * process and not of one service, and the collector cannot be stopped, so there is one for all.
 */
function processFigures(): Registry {
  if (ofProcess === undefined) {
    ofProcess = new Registry()
    collectDefaultMetrics({ register: ofProcess, eventLoopMonitoringPrecision: LOOP_EVERY_MS })
  }
  return ofProcess
}

/** The figures of one service; null where nobody may collect them. Each service has a registry of its own. */
export class Metrics {
  readonly registry = new Registry()
  readonly #answers: Histogram<'route' | 'method' | 'status'>
  readonly #streams: Gauge
  readonly #refusals: Counter<'reason'>
  readonly #notIdentified: Counter<'reason'>
  readonly #storeFailures: Counter<'failure'>

  constructor({ store, backups }: Services) {
    processFigures()
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
    return `${await processFigures().metrics()}\n${await this.registry.metrics()}`
  }
}

const METHODS = new Set(['GET', 'POST', 'HEAD'])
