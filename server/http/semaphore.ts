/**
 * Work that keeps a core busy, so much of it at once and the rest in the order in which it came: two hundred people
 * signing in at the start of a shift must not take every core from those who chart.
 */
export class Semaphore {
  readonly #waiting: (() => void)[] = []
  #free: number

  /** `atOnce`: 1 or more. */
  constructor(atOnce: number) {
    this.#free = atOnce
  }

  /** Does the work when its turn comes, and gives its result or its fault. */
  async run<T>(work: () => Promise<T>): Promise<T> {
    if (this.#free > 0) this.#free--
    else await new Promise<void>((resolve) => this.#waiting.push(resolve))
    try {
      return await work()
    } finally {
      // handed on, not given back: somebody who asks just now must not come before those who wait
      const next = this.#waiting.shift()
      if (next === undefined) this.#free++
      else next()
    }
  }
}
