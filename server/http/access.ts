/**
 * The log of who looked at which patient: written in batches off the response path. What was not yet written when the
 * machine loses power is lost: at most one second of it.
 */
import type { Store } from '../store/contract.ts'
import type { Visit } from './visit.ts'

/** Longest wait of an entry in memory, in milliseconds. */
export const ACCESS_BATCH_MS = 1000

type Entry = Parameters<Store['logAccess']>[0][number]

export class AccessLog {
  readonly #store: Store
  #waiting: Entry[] = []
  #timer: NodeJS.Timeout | null = null
  /** Told when a batch could not be written; the entries then stay and are tried again. */
  readonly #failed: (error: unknown) => void

  constructor(store: Store, failed: (error: unknown) => void) {
    this.#store = store
    this.#failed = failed
  }

  add(entry: Entry): void {
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

/** Notes that the signed-in person was shown this patient's page. */
export function recordPatientRead(visit: Visit, stayId: string): void {
  visit.house.accessLog.add({
    atMs: visit.nowMs,
    staffId: visit.actor.staffId,
    stayId,
    wardId: visit.wardId,
    page: visit.request.routeOptions.url ?? '',
    requestId: visit.request.id,
  })
}
