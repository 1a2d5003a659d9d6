/**
 * CMS871, hospital harm: severe hyperglycemia. A ratio of days; lower is better. Days are 24-hour periods from the
 * start of the joined stay, never calendar days. Logic: published CQL of version 1.0.000 (R).
 *
 * Two choices where the published logic is unclear. First, a diagnosis on the problem list must begin before discharge
 * even without a verification status. The CQL's grouping allows a later one; we follow the intended reading. Second,
 * the exclusion above 600 considers the first result only, as in the CQL and its case 10. The prose says "anytime".
 */
import { DAY_MS, HOUR_MS } from '../time/span.ts'
import { comparable, type GlucoseResult, type MeasureFacts, type MeasurePeriod, type OutOfRangeRule } from './facts.ts'
import { isDuring, qualifyingStays, type Hospitalization, type Qualifying } from './hospitalization.ts'

/** mg/dL. At or above this a stay qualifies. Two such days also make the next day without a test an event. */
export const HIGH_FROM = 200
/** mg/dL. A result strictly above makes its day an event. */
export const SEVERE_HIGH_ABOVE = 300
/** mg/dL. A first result strictly above it, near the start, excludes the stay. */
export const FIRST_ABOVE_EXCLUDES = 600
const FIRST_FROM_MS = -HOUR_MS
const FIRST_UNTIL_MS = 6 * HOUR_MS
const MOST_DAYS = 10

export type HighExclusion = 'first-result-above-600' | 'comfort-care' | 'hospice'
export type HighReason = 'diabetes' | 'drug' | 'glucose-200'

/** A day of the measure. Day 1 is never eligible. */
export type HighDay = {
  readonly number: number
  readonly fromMs: number
  readonly toMs: number
  readonly tests: number
  readonly most: number | null
  readonly event: 'above-300' | 'untested-after-two-high' | null
}

export type SevereHighStay = {
  readonly encounterId: string
  readonly hospitalization: Hospitalization
  /** Why the stay is in the initial population. Empty: it is not. */
  readonly because: readonly HighReason[]
  /** Initial population, denominator and measure population are the same. */
  readonly denominator: boolean
  readonly excluded: readonly HighExclusion[]
  /** At least one event day, excluded or not. */
  readonly numerator: boolean
  readonly days: readonly HighDay[]
  /** 0 to 9; 0 for an excluded stay. */
  readonly eligibleDays: number
  /** 0 for an excluded stay. */
  readonly eventDays: number
}

/** Each qualifying stay with its result and the reasons, including stays outside the denominator. */
export function severeHighMeasure(
  facts: MeasureFacts,
  period: MeasurePeriod,
  rule: OutOfRangeRule,
): readonly SevereHighStay[] {
  return qualifyingStays(facts, period).map((stay) => measureStay(facts, stay, rule))
}

/** A result with its comparable number. Null matches nothing, but still shows that there was a test. */
type Timed = { readonly atMs: number; readonly value: number | null; readonly accepted: boolean }

function measureStay(
  facts: MeasureFacts,
  { encounter, hospitalization }: Qualifying,
  rule: OutOfRangeRule,
): SevereHighStay {
  const results = timed(facts.results, rule)
  const because = reasonsOf(facts, { encounter, hospitalization }, results)
  const denominator = because.length > 0
  const excluded = denominator ? exclusionsOf(facts, { encounter, hospitalization }, results) : []
  const days = denominator ? daysOf(hospitalization, results) : []
  const events = days.filter(({ event }) => event !== null).length
  const reported = denominator && excluded.length === 0
  return {
    encounterId: encounter.encounterId,
    hospitalization,
    because,
    denominator,
    excluded,
    numerator: events > 0,
    days,
    eligibleDays: reported ? Math.max(0, days.length - 1) : 0,
    eventDays: reported ? events : 0,
  }
}

function timed(results: readonly GlucoseResult[], rule: OutOfRangeRule): readonly Timed[] {
  return results.flatMap((result) =>
    result.atMs === null ? [] : [{ atMs: result.atMs, value: comparable(result, rule), accepted: result.accepted }],
  )
}

function reasonsOf(
  facts: MeasureFacts,
  { encounter, hospitalization }: Qualifying,
  results: readonly Timed[],
): readonly HighReason[] {
  const { startMs, endMs } = hospitalization
  const listed = facts.listed.some(({ credible, fromMs }) => credible && fromMs !== null && fromMs < endMs)
  // the whole administration must lie inside: an infusion without an end does not qualify
  const drug = facts.drugs.some(
    (one) =>
      one.lowersGlucose && one.status !== 'other' && one.endMs !== null && one.startMs >= startMs && one.endMs <= endMs,
  )
  const high = results.some(
    ({ atMs, value, accepted }) => accepted && value !== null && value >= HIGH_FROM && isDuring(hospitalization, atMs),
  )
  return [
    ...(encounter.diabetesDiagnosis || listed ? (['diabetes'] as const) : []),
    ...(drug ? (['drug'] as const) : []),
    ...(high ? (['glucose-200'] as const) : []),
  ]
}

function exclusionsOf(
  facts: MeasureFacts,
  { encounter, hospitalization }: Qualifying,
  results: readonly Timed[],
): readonly HighExclusion[] {
  const comfort = facts.comfort.some(({ atMs, counts }) => counts && isDuring(hospitalization, atMs))
  return [
    ...(isFirstTooHigh(hospitalization, results) ? (['first-result-above-600'] as const) : []),
    ...(comfort ? (['comfort-care'] as const) : []),
    ...(encounter.toHospice ? (['hospice'] as const) : []),
  ]
}

/**
 * The earliest test time near the start decides, even if that test has another status or no value. Of several tests at
 * that time, one above the limit is enough.
 */
function isFirstTooHigh({ startMs }: Hospitalization, results: readonly Timed[]): boolean {
  const near = results.filter(({ atMs }) => atMs >= startMs + FIRST_FROM_MS && atMs <= startMs + FIRST_UNTIL_MS)
  const first = Math.min(...near.map(({ atMs }) => atMs))
  return near.some(
    ({ atMs, value, accepted }) => atMs === first && accepted && value !== null && value > FIRST_ABOVE_EXCLUDES,
  )
}

/**
 * Whole 24-hour periods from the start, at most ten. A shorter last one is dropped. From is included, to is excluded.
 */
function daysOf({ startMs, endMs }: Hospitalization, results: readonly Timed[]): readonly HighDay[] {
  const count = Math.min(MOST_DAYS, Math.floor((endMs - startMs) / DAY_MS))
  const plain = Array.from({ length: count }, (_, index) => {
    const [fromMs, toMs] = [startMs + index * DAY_MS, startMs + (index + 1) * DAY_MS]
    const tests = results.filter(({ atMs, accepted }) => accepted && atMs >= fromMs && atMs < toMs)
    const values = tests.flatMap(({ value }) => (value === null ? [] : [value]))
    return {
      number: index + 1,
      fromMs,
      toMs,
      tests: tests.length,
      most: values.length === 0 ? null : Math.max(...values),
    }
  })
  return plain.map((day, index) => ({ ...day, event: eventOf(day, plain[index - 1], plain[index - 2]) }))
}

type PlainDay = Omit<HighDay, 'event'>

function eventOf(day: PlainDay, before: PlainDay | undefined, twoBefore: PlainDay | undefined): HighDay['event'] {
  // day 1 is never counted, but may be one of the two days before
  if (before === undefined) return null
  if (day.most !== null && day.most > SEVERE_HIGH_ABOVE) return 'above-300'
  return day.tests === 0 && isHigh(before) && isHigh(twoBefore) ? 'untested-after-two-high' : null
}

function isHigh(day: PlainDay | undefined): boolean {
  return day !== undefined && day.most !== null && day.most >= HIGH_FROM
}
