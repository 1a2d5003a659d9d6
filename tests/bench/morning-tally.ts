/** The requests, the latency of each, and the errors. */
import { round } from './measure.ts'

export type Shares = { readonly asked: number; readonly p50: number; readonly p99: number; readonly errors: number }

export class Tally {
  readonly #took = new Map<string, number[]>()
  readonly #errors = new Map<string, number>()
  /** The first few, as text. */
  readonly faults: string[] = []

  add(kind: string, ms: number): void {
    const list = this.#took.get(kind)
    if (list === undefined) this.#took.set(kind, [ms])
    else list.push(ms)
  }

  fail(kind: string, why: string): void {
    this.#errors.set(kind, (this.#errors.get(kind) ?? 0) + 1)
    if (this.faults.length < 5) this.faults.push(`${kind}: ${why}`)
  }

  get errors(): number {
    return [...this.#errors.values()].reduce((sum, count) => sum + count, 0)
  }

  /** Milliseconds over all kinds. */
  whole(): Shares & { readonly most: number } {
    const all = [...this.#took.values()].flat()
    return { ...this.#shares(all, this.errors), most: round(Math.max(0, ...all), 0) }
  }

  byKind(): Readonly<Record<string, Shares>> {
    const kinds = [...new Set([...this.#took.keys(), ...this.#errors.keys()])].sort()
    return Object.fromEntries(
      kinds.map((kind) => [kind, this.#shares(this.#took.get(kind) ?? [], this.#errors.get(kind) ?? 0)]),
    )
  }

  #shares(list: readonly number[], errors: number): Shares {
    return { asked: list.length, p50: percentile(list, 0.5), p99: percentile(list, 0.99), errors }
  }
}

/** The value that this share of the list does not exceed (nearest rank); NaN for an empty list. */
export function percentile(list: readonly number[], part: number): number {
  const sorted = [...list].sort((a, b) => a - b)
  return round(sorted[Math.max(0, Math.ceil(sorted.length * part) - 1)] ?? Number.NaN, 1)
}
