/**
 * What a plot of a stretch of a stay and the table beside it show: readings that count, insulin, lows and meals, each at
 * its instant, with what the viewer must not see left as a place without a value. Both are made from this one list, so
 * that neither can show what the other does not.
 */
import { plannedChecks } from '../check/plan.ts'
import { trayTimeMs } from '../check/round.ts'
import type { CheckOutcome, Meal, PlanVersion, TrayDelay } from '../check/check.ts'
import type { Dose, EarlierDose, TrayFact } from '../dose/dose.ts'
import { doseState, isUnsettled } from '../dose/state.ts'
import { isNumeric, type Glucose } from '../glucose/value.ts'
import { lowCourse } from '../low/course.ts'
import { lowLevel } from '../low/level.ts'
import type { LowCause, LowEvent } from '../low/low.ts'
import type { InsulinName } from '../order/order.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { isEffective, type Reading } from '../reading/reading.ts'
import { DAY_MS, HOUR_MS } from '../time/span.ts'
import type { Stay } from './stay.ts'

/** Where no plan says how far apart readings lie, a line joins those up to this far apart (our own choice: a night). */
export const GAP_WITHOUT_PLAN_MS = 12 * HOUR_MS

/** in-doubt: from a meter or strips that were not fit, so that no insulin followed from it. */
export type ReadingKind = 'meter' | 'laboratory' | 'in-doubt'

/** `glucose` null: not for this viewer yet; `hasDose`: a dose of it stands. `readingId` leads to its page. */
export type CourseReading = {
  readonly readingId: string
  readonly atMs: number
  readonly kind: ReadingKind
  readonly glucose: Glucose | null
  readonly hasDose: boolean
}

/**
 * given: here. outside: on paper or elsewhere. not-yet: worked out and neither given nor refused. uncertain: signed, then
 * overtaken or lapsed, and nobody charted whether it was given. What was withheld, refused or came to 0 units is no insulin.
 */
export type DoseStanding = 'given' | 'outside' | 'not-yet' | 'uncertain'

/** `what` null: not for this viewer yet. */
export type CourseDose = {
  readonly doseId: string
  readonly atMs: number
  readonly standing: DoseStanding
  readonly what: { readonly insulin: InsulinName; readonly units: number } | null
}

/**
 * From the first low value to the recovery; `toMs` null: not recovered. `lowest` null where no low value of the stretch
 * counts. Level 3 is a nurse's finding.
 */
export type CourseLow = {
  readonly lowId: string
  readonly fromMs: number
  readonly toMs: number | null
  readonly level: 1 | 2 | 3 | null
  readonly lowest: Glucose | null
  readonly closed: boolean
  readonly cause: LowCause | null
}

/** `atServing` false: the share was charted and the serving was not, so it stands at the tray's planned time. */
export type CourseMeal = {
  readonly meal: Meal
  readonly atMs: number
  readonly atServing: boolean
  readonly sharePercent: TrayFact['shareEatenPercent']
}

export type Course = {
  readonly fromMs: number
  readonly toMs: number
  /** By time. */
  readonly readings: readonly CourseReading[]
  /** Numbers that a line joins, each run by time; every shown number is in exactly one. */
  readonly runs: readonly (readonly CourseReading[])[]
  readonly doses: readonly CourseDose[]
  readonly lows: readonly CourseLow[]
  readonly meals: readonly CourseMeal[]
}

/** All of one stay; what lies outside the stretch is left out here. */
export type CourseFacts = {
  readonly stay: Pick<Stay, 'stayId' | 'admittedAtMs' | 'dischargedAtMs'>
  readonly policy: WardPolicy
  readonly plans: readonly PlanVersion[]
  readonly trayDelays: readonly TrayDelay[]
  readonly outcomes: ReadonlyMap<string, CheckOutcome>
  /** Corrected and voided ones included; since the first of the lows was opened. */
  readonly readings: readonly Reading[]
  readonly doses: readonly Dose[]
  /** Insulin from outside the ward's own doses; those given here are taken from `doses`. */
  readonly insulinGiven: readonly Pick<EarlierDose, 'doseId' | 'insulin' | 'units' | 'givenAtMs' | 'source'>[]
  readonly lows: readonly LowEvent[]
  readonly trays: readonly TrayFact[]
}

/**
 * The stretch, `fromMs` in and `toMs` in (now, for whoever looks now), and what the viewer must not see, so that a second
 * check stays blind.
 */
export type CourseAsked = {
  readonly fromMs: number
  readonly toMs: number
  readonly hidesReading: (reading: Reading) => boolean
  readonly hidesDose: (dose: Dose) => boolean
}

/** The course of the stretch. Corrected and voided readings, and lows entered in error, are left out. */
export function courseOf(facts: CourseFacts, asked: CourseAsked): Course {
  const { fromMs, toMs } = asked
  const isIn = ({ atMs }: { readonly atMs: number }): boolean => atMs >= fromMs && atMs <= toMs
  const readings = facts.readings
    .filter((reading) => isEffective(reading) && isIn({ atMs: reading.takenAtMs }))
    .sort((a, b) => a.takenAtMs - b.takenAtMs || a.chartedAtMs - b.chartedAtMs || (a.readingId < b.readingId ? -1 : 1))
    .map((reading): CourseReading => ({
      readingId: reading.readingId,
      atMs: reading.takenAtMs,
      kind: kindOf(reading),
      glucose: asked.hidesReading(reading) ? null : reading.glucose,
      hasDose: facts.doses.some((dose) => dose.readingId === reading.readingId && dose.voided === null),
    }))
  return {
    fromMs,
    toMs,
    readings,
    runs: runsOf(readings, longestGapMs(facts, asked)),
    doses: byTime(
      [...facts.doses.flatMap((dose) => doseOf(dose, facts.policy, asked)), ...outsideDoses(facts.insulinGiven)].filter(
        isIn,
      ),
    ),
    lows: facts.lows
      .flatMap((low) => lowOf(low, facts))
      .filter((low) => low.fromMs <= toMs && (low.toMs ?? toMs) >= fromMs)
      .sort((a, b) => a.fromMs - b.fromMs),
    meals: byTime(facts.trays.flatMap((tray) => mealOf(tray, facts)).filter(isIn)),
  }
}

function byTime<T extends { readonly atMs: number }>(all: readonly T[]): readonly T[] {
  return [...all].sort((a, b) => a.atMs - b.atMs)
}

function kindOf({ doubts, source }: Reading): ReadingKind {
  if (doubts.length > 0) return 'in-doubt'
  return source === 'venous' ? 'laboratory' : 'meter'
}

/**
 * The longest time between two readings of neighbouring checks that were both taken inside their windows: from one
 * window's opening to the next one's closing, over the checks planned from a day before the stretch to a day after it.
 * GAP_WITHOUT_PLAN_MS where fewer than two are planned.
 */
export function longestGapMs(
  facts: Pick<CourseFacts, 'stay' | 'policy' | 'plans' | 'trayDelays' | 'outcomes'>,
  { fromMs, toMs }: Pick<CourseAsked, 'fromMs' | 'toMs'>,
): number {
  const { stay, policy, plans, trayDelays, outcomes } = facts
  const checks = plannedChecks({
    stay,
    policy,
    plans,
    trayDelays,
    outcomes,
    fromMs: fromMs - DAY_MS,
    toMs: toMs + DAY_MS,
  })
  const gaps = checks.flatMap(({ opensMs }, index) => {
    const next = checks[index + 1]
    return next === undefined ? [] : [next.closesMs - opensMs]
  })
  return gaps.length === 0 ? GAP_WITHOUT_PLAN_MS : Math.max(...gaps)
}

/**
 * The runs that a line joins. It breaks where more than `gapMs` lies between two readings, at LO and HI, which are no
 * numbers, and at a reading that is not shown.
 */
export function runsOf(readings: readonly CourseReading[], gapMs: number): readonly (readonly CourseReading[])[] {
  const runs: CourseReading[][] = []
  let before: CourseReading | null = null
  for (const reading of readings) {
    if (reading.glucose === null || !isNumeric(reading.glucose)) {
      before = null
      continue
    }
    const run = runs.at(-1)
    if (run !== undefined && before !== null && reading.atMs - before.atMs <= gapMs) run.push(reading)
    else runs.push([reading])
    before = reading
  }
  return runs
}

function doseOf(dose: Dose, policy: WardPolicy, { toMs, hidesDose }: CourseAsked): CourseDose[] {
  const state = doseState(dose, policy, toMs)
  const unaccounted = (state === 'void' || state === 'lapsed') && dose.product !== null
  const standing: DoseStanding | null =
    state === 'given' ? 'given' : isUnsettled(state) ? 'not-yet' : unaccounted ? 'uncertain' : null
  if (standing === null || (standing === 'given' && dose.units === 0)) return []
  const { insulin, units } = dose
  return [
    {
      doseId: dose.doseId,
      atMs: dose.outcome?.atMs ?? dose.proposedAtMs,
      standing,
      what: hidesDose(dose) ? null : { insulin, units },
    },
  ]
}

function outsideDoses(given: CourseFacts['insulinGiven']): readonly CourseDose[] {
  return given
    .filter(({ source }) => source !== 'here')
    .map(({ doseId, givenAtMs, insulin, units }) => ({
      doseId,
      atMs: givenAtMs,
      standing: 'outside',
      what: { insulin, units },
    }))
}

function lowOf(low: LowEvent, { readings, policy }: CourseFacts): CourseLow[] {
  const cause = low.charted.closing?.cause ?? null
  if (cause === 'entered-in-error') return []
  // a value of a ward with the other unit is never held against this ward's limits
  const { startMs, recoveredAtMs, lowest } = lowCourse(
    low,
    readings.filter(({ glucose }) => glucose.unit === policy.unit),
    policy,
  )
  const level = low.charted.findings.length > 0 ? 3 : lowest === null ? null : lowLevel(lowest, policy)
  return [
    {
      lowId: low.lowId,
      fromMs: startMs,
      toMs: recoveredAtMs ?? low.closedAtMs,
      level,
      lowest,
      closed: low.closedAtMs !== null,
      cause,
    },
  ]
}

function mealOf(
  { date, meal, servedAtMs, shareEatenPercent }: TrayFact,
  { policy, trayDelays }: CourseFacts,
): CourseMeal[] {
  if (servedAtMs === null && shareEatenPercent === null) return []
  return [
    {
      meal,
      atMs: servedAtMs ?? trayTimeMs(date, meal, policy, trayDelays),
      atServing: servedAtMs !== null,
      sharePercent: shareEatenPercent,
    },
  ]
}
