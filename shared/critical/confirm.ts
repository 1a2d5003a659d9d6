/**
 * Critical results and their repeat. The limits are the ward's own. The repeat rule comes from the CAP Q-Probes study
 * (Schifman, Arch Pathol Lab Med 2016;140:119; R): within 10 min, and within 15 mg/dL for a low or 20 % for a high.
 */
import { limitIn } from '../glucose/convert.ts'
import { isAbove, isBelow, isNumeric, type Glucose } from '../glucose/value.ts'
import type { LowEvent } from '../low/low.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { isEffective, type Reading } from '../reading/reading.ts'
import { MINUTE_MS } from '../time/span.ts'

export type CriticalKind = 'low' | 'high'

/**
 * awaiting-repeat: no repeat yet, and still time for one. confirmed: a timely repeat agrees, or the value is a
 * laboratory's. not-confirmed: timely repeats exist, but none agrees. outside: the time for a repeat has passed without
 * one.
 */
export type Confirmation = 'awaiting-repeat' | 'confirmed' | 'not-confirmed' | 'outside'

/**
 * Critical by the ward's limits, strictly beyond them. LO is a critical low and HI a critical high. Null: not critical.
 */
export function criticalKind(glucose: Glucose, policy: WardPolicy): CriticalKind | null {
  const { limits, unit } = policy
  if (isBelow(glucose, limitIn(limits.criticalLow, unit, glucose.unit))) return 'low'
  return isAbove(glucose, limitIn(limits.criticalHigh, unit, glucose.unit)) ? 'high' : null
}

/** A value and its repeat: the time between them and both values, in one unit. */
export type Repeat = {
  readonly first: Glucose
  readonly repeat: Glucose
  readonly afterMs: number
  readonly kind: CriticalKind
}

/**
 * Judges one repeat by the rule above, limits included. 10 min later is in time. A difference of exactly 15 mg/dL, or
 * 20 % of the first value, agrees. LO agrees with LO and HI with HI. LO or HI never agrees with a number, because the
 * difference is unknown.
 */
export function judgeRepeat(pair: Repeat, policy: WardPolicy): 'confirmed' | 'not-confirmed' | 'outside' {
  if (pair.afterMs <= 0 || pair.afterMs > policy.critical.repeatWithinMin * MINUTE_MS) return 'outside'
  return agrees(pair, policy) ? 'confirmed' : 'not-confirmed'
}

function agrees({ first, repeat, kind }: Repeat, policy: WardPolicy): boolean {
  if (first.unit !== repeat.unit) throw new Error('glucose values of two units compared')
  if (!isNumeric(first) || !isNumeric(repeat)) return first.value === repeat.value
  const apart = Math.abs(first.value - repeat.value)
  return kind === 'low'
    ? apart <= policy.critical.lowRepeatAgreesWithin
    : apart * 100 <= policy.critical.highRepeatAgreesWithinPercent * first.value
}

export type CriticalFacts = {
  /** Readings of the stay in any order, including superseded and voided ones. */
  readonly readings: readonly Reading[]
  readonly lows: readonly LowEvent[]
  readonly policy: WardPolicy
  readonly nowMs: number
}

/**
 * The confirmation of a critical reading, from the readings before and after it. Null: it is not critical. While a low
 * is being treated, the next reading is a recheck and not a repeat. A laboratory value needs no repeat.
 */
export function confirmationOf(reading: Reading, facts: CriticalFacts): Confirmation | null {
  const { policy } = facts
  const kind = criticalKind(reading.glucose, policy)
  if (kind === null) return null
  if (reading.source === 'venous') return 'confirmed'
  const verdicts = others(reading, facts).map((other) => {
    const [first, second] = other.takenAtMs <= reading.takenAtMs ? [other, reading] : [reading, other]
    if (kind === 'low' && treatedBetween(first, second, facts.lows)) return 'outside'
    if (criticalKind(first.glucose, policy) !== kind) return 'outside'
    return judge(first, second, kind, policy)
  })
  if (verdicts.includes('confirmed')) return 'confirmed'
  if (verdicts.includes('not-confirmed')) return 'not-confirmed'
  return facts.nowMs - reading.takenAtMs <= policy.critical.repeatWithinMin * MINUTE_MS ? 'awaiting-repeat' : 'outside'
}

/**
 * Whether a dose may rest on the reading: no dose follows an unconfirmed critical high. Null: the reading is not a
 * critical high, and none came shortly before it. True: confirmed, or a laboratory value. False: a third finger stick
 * or a laboratory sample is needed first.
 *
 * Any reading within the dose's reading age after a critical high is also in doubt. A laboratory value settles it. So
 * does agreement within 20 % and 10 min with a reading since that critical high. The third stick thus decides between
 * two that disagree.
 */
export function criticalConfirmed(reading: Reading, facts: CriticalFacts): boolean | null {
  const { policy } = facts
  if (reading.source === 'venous') return criticalKind(reading.glucose, policy) === 'high' ? true : null
  const earlier = others(reading, facts).filter(
    (other) =>
      isBefore(other, reading) && reading.takenAtMs - other.takenAtMs <= policy.dose.readingAgeMaxMin * MINUTE_MS,
  )
  const sinceLaboratory = earlier.slice(earlier.findLastIndex((other) => other.source === 'venous') + 1)
  const firstHigh = sinceLaboratory.findIndex((other) => criticalKind(other.glucose, policy) === 'high')
  const isHigh = criticalKind(reading.glucose, policy) === 'high'
  if (firstHigh === -1) return isHigh ? confirmationOf(reading, facts) === 'confirmed' : null
  const inDoubt = sinceLaboratory.slice(firstHigh)
  if (inDoubt.some((other) => judge(other, reading, 'high', policy) === 'confirmed')) return true
  return isHigh && confirmationOf(reading, facts) === 'confirmed'
}

function judge(
  first: Reading,
  second: Reading,
  kind: CriticalKind,
  policy: WardPolicy,
): 'confirmed' | 'not-confirmed' | 'outside' {
  return judgeRepeat(
    { first: first.glucose, repeat: second.glucose, afterMs: second.takenAtMs - first.takenAtMs, kind },
    policy,
  )
}

function treatedBetween(first: Reading, second: Reading, lows: readonly LowEvent[]): boolean {
  return lows.some((low) =>
    low.treatments.some((treatment) => treatment.atMs >= first.takenAtMs && treatment.atMs <= second.takenAtMs),
  )
}

/** The stay's other readings that count, in this reading's unit, oldest first. */
function others(reading: Reading, facts: CriticalFacts): Reading[] {
  return facts.readings
    .filter(
      (other) =>
        isEffective(other) && other.readingId !== reading.readingId && other.glucose.unit === reading.glucose.unit,
    )
    .sort((a, b) => (isBefore(a, b) ? -1 : 1))
}

/** By time taken, then by time charted, then by id. The order never depends on arrival. */
function isBefore(a: Reading, b: Reading): boolean {
  return (a.takenAtMs - b.takenAtMs || a.chartedAtMs - b.chartedAtMs || (a.readingId < b.readingId ? -1 : 1)) < 0
}
