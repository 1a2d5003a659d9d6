/**
 * The data of a stay's plot and of the table beside it: readings that count, insulin, lows and meals, each at its time.
 * What the viewer must not see appears as a place without a value. Plot and table use this one list, so they always
 * show the same.
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

/** Without a plan, a line joins readings up to this far apart (our own choice: a night). */
export const GAP_WITHOUT_PLAN_MS = 12 * HOUR_MS

/** in-doubt: from a meter or strips that were not usable, so that no insulin followed from it. */
export type ReadingKind = 'meter' | 'laboratory' | 'in-doubt'

/** `glucose` null: hidden from this viewer for now. `hasDose`: a dose of it exists. `readingId` links to its page. */
export type CourseReading = {
  readonly readingId: string
  readonly atMs: number
  readonly kind: ReadingKind
  readonly glucose: Glucose | null
  readonly hasDose: boolean
}

/**
 * given: here. outside: on paper or elsewhere. not-yet: calculated and neither given nor refused. uncertain: signed and
 * then expired or voided, and nobody charted whether it was given. Doses that were withheld, refused or 0 units do not
 * appear.
 */
export type DoseStanding = 'given' | 'outside' | 'not-yet' | 'uncertain'

/** `what` null: hidden from this viewer for now. */
export type CourseDose = {
  readonly doseId: string
  readonly atMs: number
  readonly standing: DoseStanding
  readonly what: { readonly insulin: InsulinName; readonly units: number } | null
}

/**
 * From the first low value to the recovery. `toMs` null: not recovered. `lowest` null: no low value of the period
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

/** `atServing` false: only the share eaten was charted, so the tray's planned time is used. */
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
  /** Runs of numbers that a line joins, each by time. Every shown number is in exactly one. */
  readonly runs: readonly (readonly CourseReading[])[]
  readonly doses: readonly CourseDose[]
  readonly lows: readonly CourseLow[]
  readonly meals: readonly CourseMeal[]
}

/** Facts of one whole stay. Those outside the period are ignored. */
export type CourseFacts = {
  readonly stay: Pick<Stay, 'stayId' | 'admittedAtMs' | 'dischargedAtMs'>
  readonly policy: WardPolicy
  readonly plans: readonly PlanVersion[]
  readonly trayDelays: readonly TrayDelay[]
  readonly outcomes: ReadonlyMap<string, CheckOutcome>
  /** Includes corrected and voided ones, and all since the first of the lows was opened. */
  readonly readings: readonly Reading[]
  readonly doses: readonly Dose[]
  /** Insulin from outside the ward's own doses. Doses given here come from `doses`. */
  readonly insulinGiven: readonly Pick<EarlierDose, 'doseId' | 'insulin' | 'units' | 'givenAtMs' | 'source'>[]
  readonly lows: readonly LowEvent[]
  readonly trays: readonly TrayFact[]
}

/**
 * The period, with `fromMs` and `toMs` included (now, for a current view). It also says what the viewer must not see,
 * so that a second check stays blind.
 */
export type CourseOptions = {
  readonly fromMs: number
  readonly toMs: number
  readonly hidesReading: (reading: Reading) => boolean
  readonly hidesDose: (dose: Dose) => boolean
}

/** The course of the period. Corrected and voided readings, and lows entered in error, are left out. */
export function courseOf(facts: CourseFacts, options: CourseOptions): Course {
  const { fromMs, toMs } = options
  const isIn = ({ atMs }: { readonly atMs: number }): boolean => atMs >= fromMs && atMs <= toMs
  const readings = facts.readings
    .filter((reading) => isEffective(reading) && isIn({ atMs: reading.takenAtMs }))
    .sort((a, b) => a.takenAtMs - b.takenAtMs || a.chartedAtMs - b.chartedAtMs || (a.readingId < b.readingId ? -1 : 1))
    .map((reading): CourseReading => ({
      readingId: reading.readingId,
      atMs: reading.takenAtMs,
      kind: kindOf(reading),
      glucose: options.hidesReading(reading) ? null : reading.glucose,
      hasDose: facts.doses.some((dose) => dose.readingId === reading.readingId && dose.voided === null),
    }))
  return {
    fromMs,
    toMs,
    readings,
    runs: runsOf(readings, longestGapMs(facts, options)),
    doses: byTime(
      [
        ...facts.doses.flatMap((dose) => doseOf(dose, facts.policy, options)),
        ...outsideDoses(facts.insulinGiven),
      ].filter(isIn),
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
 * The longest possible time between two readings of consecutive checks that were both taken inside their windows. That
 * is the time from one window's opening to the next one's closing. It considers the checks planned from a day before the
 * period to a day after it. GAP_WITHOUT_PLAN_MS when fewer than two are planned.
 */
export function longestGapMs(
  facts: Pick<CourseFacts, 'stay' | 'policy' | 'plans' | 'trayDelays' | 'outcomes'>,
  { fromMs, toMs }: Pick<CourseOptions, 'fromMs' | 'toMs'>,
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
 * The runs that a line joins. A run ends when the next reading is more than `gapMs` away, at LO and HI, which are not
 * numbers, and at a hidden reading.
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

function doseOf(dose: Dose, policy: WardPolicy, { toMs, hidesDose }: CourseOptions): CourseDose[] {
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
  // a value from a ward with the other unit is never compared with this ward's limits
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
