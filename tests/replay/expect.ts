/**
 * The expected result of each value, worked out from the log: which dose, if any. Independent of the service's rules:
 * it uses only the published scale, the replay's windows and counting. So a missing dose is found as well as a wrong
 * one.
 */
import type { Occasion } from '../../shared/check/check.ts'
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import type { LogEntry } from './log.ts'
import { countOf, isCritical, isLow, LIMITS, Lows } from './lows.ts'
import { lookUp, type PrintedRow } from './table.ts'
import { minutesOf, WINDOWS } from './occasion.ts'

const MINUTE_MS = 60_000
/** Rapid insulin: 4 h between corrections away from an occasion of the order's own. */
const INTERVAL_MIN = 240
/** A value within this of a critical high is in doubt with it, until one within 10 min and 20 % agrees. */
const IN_DOUBT_MIN = 60
const REPEAT_MIN = 10
const REPEAT_PERCENT = 20
/** The start of each round in hours after midnight. Overnight is not an occasion of the order. */
const ROUNDS: readonly (readonly [number, Occasion])[] = [
  [20, 'bedtime'],
  [15, 'before-supper'],
  [10, 'before-lunch'],
  [5, 'before-breakfast'],
  [0, 'overnight'],
]

export type Expected = {
  /** Units by the table. Null: no dose. */
  readonly units: number | null
  readonly low: 'opened' | 'over' | null
}

type Value = { readonly count: number; readonly atMs: number }
type Given = { readonly atMs: number; readonly occasion: string }

/** `set.rows` is the printed scale. Values of a stay come in the order in which they were taken. */
export class Expectation {
  readonly #unit: GlucoseUnit
  readonly #rows: readonly PrintedRow[]
  readonly #lows: Lows
  readonly #values = new Map<string, Value[]>()
  readonly #given = new Map<string, Given[]>()

  constructor(set: { readonly unit: GlucoseUnit; readonly rows: readonly PrintedRow[] }) {
    this.#unit = set.unit
    this.#rows = set.rows
    this.#lows = new Lows(set.unit)
  }

  /** `planned`: the planned check of the value. Null: an extra check. An expected dose counts as given at once. */
  take(entry: LogEntry, planned: Occasion | null, atMs: number): Expected {
    const before = this.#values.get(entry.stay) ?? []
    const low = this.#lows.take(entry.stay, entry.typed, atMs)
    const units = this.#unitsFor(entry, planned, atMs, before)
    this.#values.set(entry.stay, [...before.slice(-20), { count: countOf(entry.typed, this.#unit), atMs }])
    return { units, low }
  }

  #unitsFor(entry: LogEntry, planned: Occasion | null, atMs: number, before: readonly Value[]): number | null {
    // a paper record's time is fictitious: it is entered past the age at which a reading may lead to insulin
    if (entry.onPaper || entry.typed === 'HI' || isLow(entry.typed, this.#unit) || this.#lows.isOpen(entry.stay))
      return null
    if (this.#isInDoubt(entry, atMs, before)) return null
    const { occasion, own } = occasionOf(entry, planned)
    if (occasion === 'overnight') return null
    const units = lookUp(this.#rows, entry.typed)
    if (units === 0) return 0
    const given = this.#given.get(entry.stay) ?? []
    const here = `${entry.date} ${occasion}`
    const recent = given.some((dose) => atMs - dose.atMs < INTERVAL_MIN * MINUTE_MS)
    const first = own && !given.some((dose) => dose.occasion === here)
    if (recent && !first) return null
    this.#given.set(entry.stay, [...given, { atMs, occasion: here }])
    return units
  }

  #isInDoubt(entry: LogEntry, atMs: number, before: readonly Value[]): boolean {
    const recent = before.filter((value) => atMs - value.atMs <= IN_DOUBT_MIN * MINUTE_MS)
    const firstHigh = recent.findIndex(({ count }) => count > LIMITS[this.#unit].criticalHigh)
    if (firstHigh === -1) return isCritical(entry.typed, this.#unit)
    const count = countOf(entry.typed, this.#unit)
    const agrees = (value: Value): boolean =>
      value.count !== Number.MAX_SAFE_INTEGER &&
      atMs - value.atMs <= REPEAT_MIN * MINUTE_MS &&
      Math.abs(value.count - count) * 100 <= REPEAT_PERCENT * value.count
    return !recent.slice(firstHigh).some(agrees)
  }
}

/** `own`: at one of the order's own occasions, by its planned check or inside its window. */
function occasionOf(entry: LogEntry, planned: Occasion | null): { readonly occasion: Occasion; readonly own: boolean } {
  if (planned !== null) return { occasion: planned, own: true }
  const at = minutesOf(entry.time)
  const inside = WINDOWS.find(({ opens, closes }) => at >= opens && at < closes)
  if (inside !== undefined) return { occasion: inside.occasion, own: true }
  const round = ROUNDS.find(([hour]) => at >= hour * 60)
  return { occasion: round?.[1] ?? 'overnight', own: false }
}
