/**
 * The access log of one application: entries wait in memory and are written to the store in batches. A loss of power
 * loses at most one second of them.
 */
import { MINUTE_MS } from '../../shared/time/span.ts'
import type { AccessEntry, Store } from '../store/contract.ts'

/** Longest wait of an entry in memory, in milliseconds. */
export const ACCESS_BATCH_MS = 1000

export class AccessLog {
  readonly #store: Store
  #waiting: AccessEntry[] = []
  #timer: NodeJS.Timeout | null = null
  /** Told when a batch could not be written; the entries then stay and are tried again. */
  readonly #failed: (error: unknown) => void
  /** What was noted in the running minute of ward time: a page that refreshes itself is one look a minute. */
  #minute = 0
  readonly #noted = new Set<string>()

  constructor(store: Store, failed: (error: unknown) => void) {
    this.#store = store
    this.#failed = failed
  }

  add(entry: AccessEntry): void {
    this.#waiting.push(entry)
    this.#timer ??= setTimeout(() => {
      this.#timer = null
      try {
        this.flush()
      } catch (error) {
        this.#failed(error)
      }
    }, ACCESS_BATCH_MS)
  }

  /** Adds the entry unless the same person was shown the same by the same page in the same minute. */
  addOncePerMinute(entry: AccessEntry): void {
    const minute = Math.floor(entry.atMs / MINUTE_MS)
    if (minute !== this.#minute) this.#noted.clear()
    this.#minute = minute
    const same = `${entry.staffId} ${entry.stayId ?? ''} ${entry.wardId ?? ''} ${entry.page}`
    if (this.#noted.has(same)) return
    this.#noted.add(same)
    this.add(entry)
  }

  /** Writes what is waiting. Throws when the store does, and then keeps the entries for the next time. */
  flush(): void {
    if (this.#waiting.length === 0) return
    this.#store.logAccess(this.#waiting)
    this.#waiting = []
  }

  /** Writes the rest and stops the timer. */
  close(): void {
    if (this.#timer !== null) clearTimeout(this.#timer)
    this.#timer = null
    this.flush()
  }
}
