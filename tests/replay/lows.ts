/** Follows each stay's low by counting, so that the replay can close it when it is over. Independent of the rules. */
import type { GlucoseUnit } from '../../shared/glucose/value.ts'

const MINUTE_MS = 60_000

/** Limits of the replay's policy in the typed count: mg/dL, or mmol/L times ten. */
export const LIMITS: Readonly<
  Record<GlucoseUnit, { readonly low: number; readonly criticalLow: number; readonly criticalHigh: number }>
> = {
  'mg/dL': { low: 70, criticalLow: 50, criticalHigh: 400 },
  'mmol/L': { low: 39, criticalLow: 28, criticalHigh: 222 },
}

/** The typed text as a whole count; HI and LO are beyond all others. */
export function countOf(typed: string, unit: GlucoseUnit): number {
  if (typed === 'LO') return -1
  if (typed === 'HI') return Number.MAX_SAFE_INTEGER
  return Math.round(Number(typed) * (unit === 'mg/dL' ? 1 : 10))
}

export function isLow(typed: string, unit: GlucoseUnit): boolean {
  return countOf(typed, unit) < LIMITS[unit].low
}

export function isCritical(typed: string, unit: GlucoseUnit): boolean {
  const count = countOf(typed, unit)
  return count < LIMITS[unit].criticalLow || count > LIMITS[unit].criticalHigh
}

type Open = { readonly openedMs: number; recoveredMs: number | null }

/** The sets chart no treatment and no recheck, so a stay's next values count for recovery and follow-up. */
export class Lows {
  readonly #unit: GlucoseUnit
  readonly #open = new Map<string, Open>()
  constructor(unit: GlucoseUnit) {
    this.#unit = unit
  }

  /**
   * Adds a value. opened: a new low event. over: the event is recovered and followed up (a second number at or above
   * the limit, at least 45 min after the first) and may be closed.
   */
  take(stay: string, typed: string, atMs: number): 'opened' | 'over' | null {
    const open = this.#open.get(stay)
    if (isLow(typed, this.#unit)) {
      if (open !== undefined) {
        open.recoveredMs = null
        return null
      }
      this.#open.set(stay, { openedMs: atMs, recoveredMs: null })
      return 'opened'
    }
    // within ten minutes of the first low and untreated it repeats a doubtful value; HI shows no recovery
    if (open === undefined || typed === 'HI' || atMs - open.openedMs <= 10 * MINUTE_MS) return null
    if (open.recoveredMs === null) {
      open.recoveredMs = atMs
      return null
    }
    if (atMs - open.recoveredMs < 45 * MINUTE_MS) return null
    this.#open.delete(stay)
    return 'over'
  }

  isOpen(stay: string): boolean {
    return this.#open.has(stay)
  }
}
