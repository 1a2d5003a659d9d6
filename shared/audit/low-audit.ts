/** The audit of one low event: its level, its times, the steps kept and missed, and whether it recurred. */
import type { Glucose } from '../glucose/value.ts'
import { lowCourse } from '../low/course.ts'
import { lowLevel } from '../low/level.ts'
import { lowTimes, type LowTimes } from '../low/line.ts'
import type { LowEvent } from '../low/low.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../time/span.ts'
import { addDays, localToUtc, wardDate } from '../time/zone.ts'
import { auditedSteps, type AuditedStep, type LowMeals } from './low-steps.ts'

/**
 * A further low 10 min to 24 h after another, both included, counted between first values (M; definitions differ by
 * site). Recurrence at any time within the stay is counted separately.
 */
export const RECURRENCE = { fromMs: 10 * MINUTE_MS, toMs: 24 * HOUR_MS } as const

export type Recurrence = {
  /** The nearest earlier low that this one followed within the 24 h. */
  readonly within24h: { readonly lowId: string; readonly afterMs: number } | null
  /** Earlier lows of the stay that began at least 10 min before. */
  readonly earlierInStay: number
}

export type LowAudit = {
  readonly low: LowEvent
  /**
   * False when none of its values counts as low any more: all were corrected or entered in error. No step was due then.
   */
  readonly isLow: boolean
  /** 3 by a nurse's finding, otherwise by the lowest value. */
  readonly level: 1 | 2 | 3 | null
  readonly lowest: Glucose | null
  /** The first value that counts. */
  readonly startMs: number
  readonly recoveredAtMs: number | null
  /** How many relapses followed a recovery within the event. */
  readonly relapses: number
  readonly times: LowTimes
  readonly steps: readonly AuditedStep[]
  readonly recurrence: Recurrence
}

export type LowAuditFacts = {
  readonly low: LowEvent
  /** The stay's readings from the event's first value on. They may include readings that no longer count. */
  readonly readings: readonly Reading[]
  /** Every low event of the stay. */
  readonly lows: readonly LowEvent[]
  readonly meals: LowMeals
  readonly policy: WardPolicy
  readonly nowMs: number
}

/** The audit of one low at `nowMs`. Steps not done are judged at that time; later events are ignored. */
export function auditLow({ low, readings, lows, meals, policy, nowMs }: LowAuditFacts): LowAudit {
  const known = readings.filter(({ takenAtMs }) => takenAtMs <= nowMs)
  const course = lowCourse(low, known, policy)
  const isLow = course.lowest !== null
  let recovered = false
  let relapses = 0
  for (const { part } of course.parts) {
    if (part === 'recovery') recovered = true
    else if (recovered && part === 'not-recovered') {
      relapses += 1
      recovered = false
    }
  }
  return {
    low,
    isLow,
    level: auditLevel(low, course.lowest, policy),
    lowest: course.lowest,
    startMs: course.startMs,
    recoveredAtMs: course.recoveredAtMs,
    relapses,
    times: lowTimes(low, known, policy),
    steps: auditedSteps(low, known, meals, policy, nowMs),
    recurrence: isLow ? recurrenceOf(low, course.startMs, lows) : { within24h: null, earlierInStay: 0 },
  }
}

/** 3 by a nurse's finding, otherwise by the lowest value. Null: no value counts as low any more. */
export function auditLevel({ charted }: LowEvent, lowest: Glucose | null, policy: WardPolicy): LowAudit['level'] {
  return lowest === null ? null : charted.findings.length > 0 ? 3 : lowLevel(lowest, policy)
}

/**
 * `startMs` is the time of the low's first value. The other lows count from when they were opened. Lows closed as an
 * error do not count.
 */
export function recurrenceOf(low: Pick<LowEvent, 'lowId'>, startMs: number, lows: readonly LowEvent[]): Recurrence {
  const gaps = lows
    .filter(({ lowId, charted }) => lowId !== low.lowId && charted.closing?.cause !== 'entered-in-error')
    .map(({ lowId, openedAtMs }) => ({ lowId, afterMs: startMs - openedAtMs }))
    .filter(({ afterMs }) => afterMs >= RECURRENCE.fromMs)
    .sort((a, b) => a.afterMs - b.afterMs || (a.lowId < b.lowId ? -1 : 1))
  const [nearest] = gaps
  return {
    within24h: nearest !== undefined && nearest.afterMs <= RECURRENCE.toMs ? nearest : null,
    earlierInStay: gaps.length,
  }
}

/**
 * The combined verdict on all steps of one kind in one low: the worst of them. `waiting` only when no other verdict is
 * known yet.
 */
export function verdictOn(steps: readonly AuditedStep[], kind: AuditedStep['kind']): AuditedStep['verdict'] | null {
  const own = steps.filter((step) => step.kind === kind).map(({ verdict }) => verdict)
  return (['missed', 'late', 'kept', 'waiting'] as const).find((verdict) => own.includes(verdict)) ?? null
}

/**
 * The one step that represents all of its kind. It has the worst verdict and the longest delay; if all were kept, it is
 * the slowest. Its verdict follows from its own times, `fromMs` to `doneMs`. Null: no step of the kind was due.
 */
export function stepShown(steps: readonly AuditedStep[], kind: AuditedStep['kind']): AuditedStep | null {
  const verdict = verdictOn(steps, kind)
  const took = ({ doneMs, fromMs }: AuditedStep): number => (doneMs ?? fromMs) - fromMs
  return steps
    .filter((step) => step.kind === kind && step.verdict === verdict)
    .reduce<AuditedStep | null>(
      (most, step) =>
        most === null || step.byMs > most.byMs || (step.byMs === most.byMs && took(step) > took(most)) ? step : most,
      null,
    )
}

/** Lows of one patient are counted together within a week of the ward's calendar (our own choice). */
const RUN_DAYS = 7

/** Lows of one stay close together: how many, and over how many days of the ward's calendar, both included. */
export type LowRun = { readonly count: number; readonly days: number }

/**
 * The lows of the stay in the week up to this one, which is included. Null: it is the only one. Lows closed as an error
 * do not count.
 */
export function lowRun(
  low: Pick<LowEvent, 'lowId' | 'openedAtMs'>,
  lows: readonly LowEvent[],
  zone: string,
): LowRun | null {
  const today = wardDate(low.openedAtMs, zone)
  const first = addDays(today, 1 - RUN_DAYS)
  const dates = lows
    .filter(
      (one) =>
        one.lowId === low.lowId ||
        (one.openedAtMs < low.openedAtMs && one.charted.closing?.cause !== 'entered-in-error'),
    )
    .map(({ openedAtMs }) => wardDate(openedAtMs, zone))
    .filter((date) => date >= first)
    .sort()
  const [earliest] = dates
  if (earliest === undefined || dates.length < 2) return null
  const noon = (date: string): number => localToUtc(date, '12:00', 'UTC')
  return { count: dates.length, days: Math.round((noon(today) - noon(earliest)) / DAY_MS) + 1 }
}

/**
 * `kept`: lows in which every step of the kind was kept. `of`: all lows with a verdict; lows still waiting for a step
 * are left out.
 */
export type KeptCount = { readonly kept: number; readonly of: number }

export type ShiftTotals = {
  readonly lows: number
  readonly byLevel: Readonly<Record<1 | 2 | 3, number>>
  readonly treated: KeptCount
  readonly rechecked: KeptCount
  readonly told: KeptCount
  readonly recurrences24h: number
  readonly recurrencesInStay: number
  readonly relapses: number
  /** Events in which no low value counts any more. The other figures leave them out. */
  readonly inError: number
}

export function shiftTotals(audits: readonly LowAudit[]): ShiftTotals {
  const real = audits.filter(({ isLow }) => isLow)
  const count = (holds: (audit: LowAudit) => boolean): number => real.filter(holds).length
  const kept = (kind: AuditedStep['kind']): KeptCount => {
    const judged = real
      .map(({ steps }) => verdictOn(steps, kind))
      .filter((verdict) => verdict !== null && verdict !== 'waiting')
    return { kept: judged.filter((verdict) => verdict === 'kept').length, of: judged.length }
  }
  return {
    lows: real.length,
    byLevel: {
      1: count(({ level }) => level === 1),
      2: count(({ level }) => level === 2),
      3: count(({ level }) => level === 3),
    },
    treated: kept('treat'),
    rechecked: kept('recheck'),
    told: kept('tell-prescriber'),
    recurrences24h: count(({ recurrence }) => recurrence.within24h !== null),
    recurrencesInStay: count(({ recurrence }) => recurrence.earlierInStay > 0),
    relapses: real.reduce((sum, { relapses }) => sum + relapses, 0),
    inError: audits.length - real.length,
  }
}
