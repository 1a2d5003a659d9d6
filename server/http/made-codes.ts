/** One-time codes for a PIN, between the answer that leads to their page and that page. In memory only. */
import { MINUTE_MS } from '../../shared/time/span.ts'

/** How long a made code waits in memory for its page, which the browser asks for at once. */
const WAITS_MS = 2 * MINUTE_MS

/** One code for each login, taken once. */
export class MadeCodes {
  readonly #waiting = new Map<string, { readonly staffId: string; readonly code: string; readonly monoMs: number }>()

  put(tokenHash: string, staffId: string, code: string, monoMs: number): void {
    this.#dropOld(monoMs)
    this.#waiting.set(tokenHash, { staffId, code, monoMs })
  }

  take(tokenHash: string, staffId: string, monoMs: number): string | null {
    this.#dropOld(monoMs)
    const waiting = this.#waiting.get(tokenHash)
    if (waiting?.staffId !== staffId) return null
    this.#waiting.delete(tokenHash)
    return waiting.code
  }

  #dropOld(monoMs: number): void {
    for (const [tokenHash, waiting] of this.#waiting)
      if (monoMs - waiting.monoMs >= WAITS_MS) this.#waiting.delete(tokenHash)
  }
}
