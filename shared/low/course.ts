/**
 * The course of a low event, walked in the order in which things happened, however late they were charted: the one place
 * where readings and treatments become recovery, rechecks, cycles and what is owed now. Nothing of it is stored.
 */
import { parseCheckKey } from '../check/plan.ts'
import { compareAcross, limitIn } from '../glucose/convert.ts'
import { isBelow, isNumeric, type Glucose } from '../glucose/value.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { isEffective, type Reading } from '../reading/reading.ts'
import { lowLevel } from './level.ts'
import type { LowEvent, LowTreatment } from './low.ts'
import { MINUTE_MS } from '../time/span.ts'

/** Where a low event stands: not recovered, recovered and waiting for its follow-up, or followed up satisfactorily. */
export type LowPhase = 'open' | 'recovered' | 'followed-up'

/**
 * What a value was in the course: the first one; a repeat of it before treatment; a value sooner after a treatment than
 * says anything; one in doubt that is not low; still (or again) not recovered; recovery; one between recovery and
 * follow-up; the follow-up; a later one.
 */
export type ReadingPart =
  | 'first'
  | 'repeat'
  | 'early'
  | 'doubtful'
  | 'not-recovered'
  | 'no-number'
  | 'recovery'
  | 'between'
  | 'follow-up'
  | 'later'

export type LowCourse = {
  /** Taken at: the first value that counts, which can be charted after others and lie before what opened the event. */
  readonly startMs: number
  readonly phase: LowPhase
  /** Number of the next recheck check, from 1, and when it is due; null when the event waits for none. */
  readonly cycle: number
  readonly dueMs: number | null
  /** Since when a value waits for its treatment; null when none does. */
  readonly untreatedSinceMs: number | null
  /** When the present run without recovery began; recovery ends a run, a relapse begins one. */
  readonly runStartMs: number
  /** Values of the present run that were still not recovered after a treatment, by the time they were taken. */
  readonly failedAtMs: readonly number[]
  /**
   * The first value of the present run that has not recovered after as many treatments as `policy.low.maxCycles` within
   * `policy.low.treatmentsWithinMin`, whatever recovered between; null: none.
   */
  readonly manyTreatedAtMs: number | null
  readonly recoveredAtMs: number | null
  readonly followedUpAtMs: number | null
  /** Lowest value that counts, LO below every number; null when no low value counts any more. */
  readonly lowest: Glucose | null
  /** Newest value of the event that counts. */
  readonly last: Reading | null
  /** Each value of the event that counts, by the time it was taken. */
  readonly parts: readonly { readonly reading: Reading; readonly part: ReadingPart }[]
}

/** The cycle that a check key names for this low event, or null when it is no recheck of it. */
function cycleOf(lowId: string, checkKey: string | null): number | null {
  const parsed = checkKey === null ? null : parseCheckKey(checkKey)
  return parsed?.kind === 'recheck' && parsed.lowId === lowId ? parsed.cycle : null
}

/** By time taken; at the same instant by time charted, then by id, so that the order never depends on arrival. */
function byTimeTaken(a: Reading, b: Reading): number {
  return a.takenAtMs - b.takenAtMs || a.chartedAtMs - b.chartedAtMs || (a.readingId < b.readingId ? -1 : 1)
}

/**
 * Follows a low event through its readings and treatments. Superseded and voided readings are left out; readings of
 * other stays must not be given.
 * - It starts with the earliest low value since the event before it was closed, whichever was charted first.
 * - A recheck is due `policy.low.recheckMin` after the last treatment since the last low value, or after that low value
 *   when none is charted (15 min: World J Diabetes 2021;12:2036 table 1; R).
 * - Recovered: a number at or above `policy.limits.recovered`. HI is no number and shows no recovery: fruit juice on
 *   the finger reads high. It asks for no further treatment either.
 * - Such a number sooner than `policy.low.recheckNotBeforeMin` after the last treatment (10 min: JBDS 01, 2023; R), or
 *   than `policy.low.recheckMin` after the low when none was given for it, ends nothing and moves no clock: sugar in the
 *   mouth or on the finger reads high before it reaches the brain. It asks for no further treatment.
 * - For a low that was charted after it was over, a fit number at least `policy.low.followUpMin` after it that was taken
 *   before the charting is recovery and follow-up at once.
 * - A number whose meter or strips are in doubt begins a low and never ends one (the ward's own rule). It asks for no
 *   further treatment, and for a value of a fit meter or the laboratory at once.
 * - Then a follow-up is due `policy.low.followUpMin` after the recovery (60 min: common practice); a number at or above
 *   the recovery value, at most one recheck interval early, satisfies it. A value below it starts rechecks again.
 * - A reading within `policy.critical.repeatWithinMin` of the first low with no treatment before it, and not taken as
 *   a recheck, is a repeat of a doubtful value: it shows no recovery and moves no clock.
 * - A value sooner than `policy.low.recheckNotBeforeMin` after a treatment (10 min: same table) that has not recovered
 *   moves no clock and asks for no second treatment, unless its level is worse than the value before.
 */
export function lowCourse(low: LowEvent, readings: readonly Reading[], policy: WardPolicy): LowCourse {
  const { previousClosedAtMs } = low
  // a low charted after the closing can have been taken before it: then it is the first of its event all the same
  const afterMs = Math.min(previousClosedAtMs ?? -Infinity, low.openedAtMs - 1)
  const counting = readings.filter((reading) => isEffective(reading) && reading.takenAtMs > afterMs).sort(byTimeTaken)
  const startMs = Math.min(
    low.openedAtMs,
    counting.find((reading) => lowLevel(reading.glucose, policy) !== null)?.takenAtMs ?? low.openedAtMs,
  )
  const own = counting.filter(
    (reading) =>
      reading.takenAtMs >= startMs &&
      (low.closedAtMs === null || reading.takenAtMs <= low.closedAtMs) &&
      reading.takenAtMs < (low.charted.next?.atMs ?? Infinity),
  )
  const walk = new Walk(low, startMs, policy)
  const treatments = [...low.treatments].sort((a, b) => a.atMs - b.atMs)
  let next = 0
  for (const reading of own) {
    for (let one = treatments[next]; one !== undefined && one.atMs < reading.takenAtMs; one = treatments[next]) {
      walk.treat(one)
      next += 1
    }
    walk.read(reading)
  }
  for (const one of treatments.slice(next)) walk.treat(one)
  return walk.end()
}

/** The state while walking. A treatment at the very instant of a value comes after it: it was given for it. */
class Walk {
  readonly #low: LowEvent
  readonly #policy: WardPolicy
  readonly #startMs: number
  readonly #parts: { reading: Reading; part: ReadingPart }[] = []
  #lowAtMs: number
  /** The last value that has not recovered, HI left aside. */
  #lowValueAtMs: number
  /** When that value was charted. */
  #lowChartedAtMs = -Infinity
  /** A value in doubt since the last one that moved the clock: a fit one is due at once. */
  #doubtAtMs: number | null = null
  #untreatedSinceMs: number | null
  #treatedAtMs: number | null = null
  #runStartMs: number
  #failedAtMs: number[] = []
  #manyTreatedAtMs: number | null = null
  readonly #treatedMs: number[] = []
  #recoveredAtMs: number | null = null
  #followedUpAtMs: number | null = null
  #lastCycle = 0

  constructor(low: LowEvent, startMs: number, policy: WardPolicy) {
    this.#low = low
    this.#policy = policy
    this.#startMs = startMs
    this.#lowAtMs = startMs
    this.#lowValueAtMs = startMs
    this.#untreatedSinceMs = startMs
    this.#runStartMs = startMs
  }

  treat({ atMs }: LowTreatment): void {
    this.#treatedAtMs = atMs
    this.#treatedMs.push(atMs)
    if (this.#untreatedSinceMs !== null && atMs >= this.#untreatedSinceMs) this.#untreatedSinceMs = null
  }

  read(reading: Reading): void {
    this.#parts.push({ reading, part: this.#place(reading) })
  }

  #place(reading: Reading): ReadingPart {
    const { limits, low, unit } = this.#policy
    const atMs = reading.takenAtMs
    const { glucose } = reading
    if (atMs === this.#startMs) {
      this.#lowChartedAtMs = reading.chartedAtMs
      return 'first'
    }
    const cycle = cycleOf(this.#low.lowId, reading.checkKey)
    if (cycle === null && this.#isRepeat(atMs)) return 'repeat'
    this.#lastCycle = Math.max(this.#lastCycle, cycle ?? 0)
    if (!isNumeric(glucose) && glucose.value === 'HI') {
      this.#notRecovered(atMs)
      return 'no-number'
    }
    if (!isNumeric(glucose) || isBelow(glucose, limitIn(limits.recovered, unit, glucose.unit))) {
      if (this.#recoveredAtMs === null && this.#isEarly(atMs) && !this.#isWorse(glucose)) return 'early'
      if (this.#recoveredAtMs === null && this.#untreatedSinceMs === null) this.#failedAtMs.push(atMs)
      this.#notRecovered(atMs)
      this.#lowValueAtMs = atMs
      this.#lowChartedAtMs = reading.chartedAtMs
      if (this.#isManyTimesTreated(atMs)) this.#manyTreatedAtMs ??= atMs
      this.#untreatedSinceMs ??= atMs
      return 'not-recovered'
    }
    if (reading.doubts.length > 0) {
      this.#doubtAtMs = atMs
      return 'doubtful'
    }
    if (this.#recoveredAtMs === null) {
      if (this.#isTooSoon(atMs)) return 'early'
      this.#doubtAtMs = null
      const isLateLow = this.#lowChartedAtMs > atMs
      if (isLateLow && atMs - this.#lowValueAtMs >= low.followUpMin * MINUTE_MS) this.#followedUpAtMs = atMs
      this.#recoveredAtMs = atMs
      this.#untreatedSinceMs = null
      this.#failedAtMs = []
      if (this.#followedUpAtMs !== null) return 'follow-up'
      return 'recovery'
    }
    if (this.#followedUpAtMs !== null) return 'later'
    if (atMs < this.#recoveredAtMs + (low.followUpMin - low.recheckMin) * MINUTE_MS) return 'between'
    this.#followedUpAtMs = atMs
    return 'follow-up'
  }

  #notRecovered(atMs: number): void {
    if (this.#recoveredAtMs !== null) {
      this.#runStartMs = atMs
      this.#manyTreatedAtMs = null
    }
    this.#lowAtMs = atMs
    this.#doubtAtMs = null
    this.#recoveredAtMs = null
    this.#followedUpAtMs = null
  }

  #isManyTimesTreated(atMs: number): boolean {
    const { maxCycles, treatmentsWithinMin } = this.#policy.low
    const first = this.#treatedMs.at(-maxCycles)
    return first !== undefined && atMs - first <= treatmentsWithinMin * MINUTE_MS
  }

  #isRepeat(atMs: number): boolean {
    const treatedBefore = this.#low.treatments.some((treatment) => treatment.atMs <= atMs)
    return !treatedBefore && atMs - this.#startMs <= this.#policy.critical.repeatWithinMin * MINUTE_MS
  }

  #isEarly(atMs: number): boolean {
    return (
      this.#untreatedSinceMs === null &&
      this.#treatedAtMs !== null &&
      atMs - this.#treatedAtMs < this.#policy.low.recheckNotBeforeMin * MINUTE_MS
    )
  }

  /** Too soon to show recovery: counted from the treatment, or from the low while it is untreated. */
  #isTooSoon(atMs: number): boolean {
    const { recheckMin, recheckNotBeforeMin } = this.#policy.low
    return this.#untreatedSinceMs === null && this.#treatedAtMs !== null
      ? atMs - this.#treatedAtMs < recheckNotBeforeMin * MINUTE_MS
      : atMs - this.#lowValueAtMs < recheckMin * MINUTE_MS
  }

  #isWorse(glucose: Glucose): boolean {
    const before = this.#parts.at(-1)?.reading.glucose
    return before === undefined || (lowLevel(glucose, this.#policy) ?? 0) > (lowLevel(before, this.#policy) ?? 0)
  }

  end(): LowCourse {
    const { recheckMin, followUpMin } = this.#policy.low
    const { treatments, closedAtMs, charted } = this.#low
    const cycle = this.#lastCycle + 1
    const lows = this.#parts
      .map(({ reading }) => reading.glucose)
      .filter((glucose) => lowLevel(glucose, this.#policy) !== null)
    const lastTreatedMs = treatments.reduce((latest, treatment) => Math.max(latest, treatment.atMs), this.#lowAtMs)
    // closing needs recovery and follow-up, so a closed event has both; and the next event has its own of both
    const phase =
      this.#followedUpAtMs !== null || closedAtMs !== null || charted.next !== undefined
        ? 'followed-up'
        : this.#recoveredAtMs !== null
          ? 'recovered'
          : 'open'
    const dueMs =
      phase === 'followed-up'
        ? null
        : this.#recoveredAtMs !== null
          ? this.#recoveredAtMs + followUpMin * MINUTE_MS
          : Math.min(this.#doubtAtMs ?? Infinity, lastTreatedMs + recheckMin * MINUTE_MS)
    return {
      startMs: this.#startMs,
      phase,
      cycle,
      dueMs,
      untreatedSinceMs: phase === 'open' ? this.#untreatedSinceMs : null,
      runStartMs: this.#runStartMs,
      failedAtMs: phase === 'open' ? this.#failedAtMs : [],
      manyTreatedAtMs: phase === 'open' ? this.#manyTreatedAtMs : null,
      recoveredAtMs: this.#recoveredAtMs,
      followedUpAtMs: this.#followedUpAtMs,
      lowest: lows.reduce<Glucose | null>(
        (least, glucose) => (least === null || compareAcross(glucose, least) < 0 ? glucose : least),
        null,
      ),
      last: this.#parts.at(-1)?.reading ?? null,
      parts: this.#parts,
    }
  }
}
