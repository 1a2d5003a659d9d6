/**
 * The protocol's steps of one low event: when each was due, when it was done and how late. The limits are those of the
 * ward's policy at the time. The course comes from low/course.ts.
 */
import { callsAgain } from '../low/event.ts'
import { lowCourse, type LowCourse, type ReadingPart } from '../low/course.ts'
import type { LowEvent } from '../low/low.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import { MINUTE_MS } from '../time/span.ts'
import { escalationsOf, type CourseEvent } from './low-escalations.ts'

export type AuditedStep = {
  readonly kind:
    'treat' | 'recheck' | 'emergency-call' | 'escalate' | 'tell-prescriber' | 'lasting-food' | 'follow-up' | 'close'
  /** Its number within its kind, from 1. */
  readonly number: number
  readonly fromMs: number
  readonly dueMs: number
  /** Null: not done. */
  readonly doneMs: number | null
  /** waiting: not done and not due yet. */
  readonly verdict: 'kept' | 'late' | 'missed' | 'waiting'
  /** How long after its due time it was done, or how long it was overdue and not done. 0 when kept or waiting. */
  readonly byMs: number
}

/** Planned and served trays, in any order. They decide whether longer-acting carbohydrate was needed. */
export type LowMeals = {
  readonly mealsMs: readonly number[]
  readonly servedMs: readonly number[]
  /** at the recovery: nil by mouth, or fed by tube or vein */
  readonly nothingByMouth: boolean
}

/**
 * No published figure says how soon an emergency call must be made. We read "at once" as within a minute (our own
 * choice).
 */
const AT_ONCE_MS = MINUTE_MS

/** Values after which a treatment is due. */
const OWES: ReadonlySet<ReadingPart> = new Set(['first', 'not-recovered'])

/** `endedMs`: when the step was no longer due although nothing was done. Null: it stayed due until the event ended. */
type Step = Pick<AuditedStep, 'kind' | 'fromMs' | 'dueMs' | 'doneMs'> & { readonly endedMs: number | null }

/**
 * Every step due in the event, by due time. Steps not done are judged at `nowMs`. A step done exactly at its due time
 * is kept. An event in which no low value counts any more has no steps.
 */
export function auditedSteps(
  low: LowEvent,
  readings: readonly Reading[],
  meals: LowMeals,
  policy: WardPolicy,
  nowMs: number,
): readonly AuditedStep[] {
  const course = lowCourse(low, readings, policy)
  if (course.lowest === null) return []
  const courseEvents = courseEventsOf(low, course)
  const steps = [
    ...treatSteps(courseEvents, policy),
    ...recheckSteps(courseEvents, policy),
    ...escalateSteps(low, course, courseEvents, policy, nowMs),
    ...emergencySteps(low, course, courseEvents, policy),
    ...tellSteps(low, course, policy),
    ...foodSteps(low, course, meals, policy),
    ...closingSteps(low, course, policy),
  ]
  const endMs = low.closedAtMs ?? nowMs
  const counts = new Map<Step['kind'], number>()
  return steps
    .sort((a, b) => a.dueMs - b.dueMs || (a.kind < b.kind ? -1 : 1))
    .map((step) => {
      const number = (counts.get(step.kind) ?? 0) + 1
      counts.set(step.kind, number)
      const { endedMs: _ended, ...shown } = step
      return { ...shown, number, ...verdictOf(step, endMs) }
    })
}

function verdictOf({ dueMs, doneMs, endedMs }: Step, endMs: number): Pick<AuditedStep, 'verdict' | 'byMs'> {
  if (doneMs !== null) return doneMs <= dueMs ? { verdict: 'kept', byMs: 0 } : { verdict: 'late', byMs: doneMs - dueMs }
  // a step that can no longer be done was missed, even before its due time
  if (endedMs !== null) return { verdict: 'missed', byMs: Math.max(0, endedMs - dueMs) }
  return endMs <= dueMs ? { verdict: 'waiting', byMs: 0 } : { verdict: 'missed', byMs: endMs - dueMs }
}

/** Values and treatments in order of time. A treatment at the same instant as a value was given for it. */
function courseEventsOf(low: LowEvent, course: LowCourse): readonly CourseEvent[] {
  const courseEvents: CourseEvent[] = [
    ...course.parts.map(({ reading, part }) => ({ atMs: reading.takenAtMs, part })),
    ...low.treatments.map(({ atMs }) => ({ atMs, part: 'treatment' as const })),
  ]
  return courseEvents.sort((a, b) => a.atMs - b.atMs || Number(a.part === 'treatment') - Number(b.part === 'treatment'))
}

function treatSteps(courseEvents: readonly CourseEvent[], policy: WardPolicy): readonly Step[] {
  const steps: Step[] = []
  let sinceMs: number | null = null
  const settle = (doneMs: number | null, endedMs: number | null): void => {
    if (sinceMs !== null)
      steps.push({
        kind: 'treat',
        fromMs: sinceMs,
        dueMs: sinceMs + policy.low.treatWithinMin * MINUTE_MS,
        doneMs,
        endedMs,
      })
    sinceMs = null
  }
  for (const { atMs, part } of courseEvents) {
    if (part === 'treatment') settle(atMs, null)
    else if (OWES.has(part)) sinceMs ??= atMs
    // recovered without it: the treatment was never given
    else if (part === 'recovery') settle(null, atMs)
  }
  settle(null, null)
  return steps
}

/** One for each treatment that no other treatment followed before the next value. */
function recheckSteps(courseEvents: readonly CourseEvent[], policy: WardPolicy): readonly Step[] {
  const steps: Step[] = []
  let treatedMs: number | null = null
  const settle = (doneMs: number | null): void => {
    if (treatedMs !== null)
      steps.push({
        kind: 'recheck',
        fromMs: treatedMs,
        dueMs: treatedMs + policy.low.recheckMin * MINUTE_MS,
        doneMs,
        endedMs: null,
      })
    treatedMs = null
  }
  for (const { atMs, part } of courseEvents) {
    if (part === 'treatment') treatedMs = atMs
    else if (part !== 'early') settle(atMs)
  }
  settle(null)
  return steps
}

/** Each instant at which escalation was due, and the first call to the prescriber from then on. */
function escalateSteps(
  { charted }: LowEvent,
  course: LowCourse,
  courseEvents: readonly CourseEvent[],
  policy: WardPolicy,
  nowMs: number,
): readonly Step[] {
  const calls = charted.prescriberCalls.map(({ atMs }) => atMs)
  return escalationsOf(courseEvents, course, policy, nowMs).map((fromMs) => ({
    kind: 'escalate',
    fromMs,
    dueMs: fromMs + policy.low.treatWithinMin * MINUTE_MS,
    doneMs: firstFrom(calls, fromMs),
    endedMs: null,
  }))
}

/** The first level 3 finding of each run requires a call. A call since the run began covers all of its findings. */
function emergencySteps(
  { charted }: LowEvent,
  course: LowCourse,
  courseEvents: readonly CourseEvent[],
  policy: WardPolicy,
): readonly Step[] {
  const starts = runStarts(course, courseEvents)
  return starts.flatMap((startMs, index): Step[] => {
    const nextMs = starts[index + 1] ?? Number.POSITIVE_INFINITY
    // a finding may have been charted shortly before its value was
    const beganMs = index === 0 ? startMs - policy.low.answersValidMin * MINUTE_MS : startMs
    const found = charted.findings.map(({ atMs }) => atMs).filter((ms) => ms >= beganMs && ms < nextMs)
    if (found.length === 0) return []
    const fromMs = Math.min(...found)
    return [
      {
        kind: 'emergency-call',
        fromMs,
        dueMs: fromMs + AT_ONCE_MS,
        doneMs: firstFrom(
          charted.emergencyCalls.map(({ atMs }) => atMs).filter((ms) => ms < nextMs),
          beganMs,
        ),
        endedMs: null,
      },
    ]
  })
}

/** When each run without recovery began: at the start of the event and at each relapse. */
function runStarts(course: LowCourse, courseEvents: readonly CourseEvent[]): readonly number[] {
  const starts = [course.startMs]
  let recovered = false
  for (const { atMs, part } of courseEvents) {
    if (part === 'recovery') recovered = true
    else if (recovered && (part === 'not-recovered' || part === 'no-number')) {
      starts.push(atMs)
      recovered = false
    }
  }
  return starts
}

/** The call after the first value, and each one that was due because the low came back. */
function tellSteps(low: LowEvent, course: LowCourse, policy: WardPolicy): readonly Step[] {
  const calls = low.charted.prescriberCalls.map(({ atMs }) => atMs)
  return [course.startMs, ...callsAgain(low, course, policy)].map((fromMs) => ({
    kind: 'tell-prescriber',
    fromMs,
    dueMs: fromMs + policy.low.tellWithinMin * MINUTE_MS,
    doneMs: firstFrom(calls, fromMs),
    endedMs: null,
  }))
}

/**
 * Due after recovery, unless a meal was served or planned soon enough or the patient took nothing by mouth
 * (low/event.ts).
 */
function foodSteps(
  { charted }: LowEvent,
  { startMs, runStartMs, recoveredAtMs, followedUpAtMs }: LowCourse,
  { mealsMs, servedMs, nothingByMouth }: LowMeals,
  policy: WardPolicy,
): readonly Step[] {
  if (recoveredAtMs === null || nothingByMouth) return []
  const { mealWithinMin, giveWithinMin } = policy.low.lasting
  const mealByMs = recoveredAtMs + mealWithinMin * MINUTE_MS
  if (
    servedMs.some((ms) => ms >= startMs && ms <= mealByMs) ||
    mealsMs.some((ms) => ms >= recoveredAtMs && ms <= mealByMs)
  )
    return []
  return [
    {
      kind: 'lasting-food',
      fromMs: recoveredAtMs,
      dueMs: recoveredAtMs + giveWithinMin * MINUTE_MS,
      doneMs: firstFrom(
        charted.food.map(({ atMs }) => atMs),
        runStartMs,
      ),
      endedMs: followedUpAtMs,
    },
  ]
}

/** The follow-up after the lasting recovery, and the closing once only paperwork was left. */
function closingSteps(low: LowEvent, course: LowCourse, policy: WardPolicy): readonly Step[] {
  const { startMs, recoveredAtMs, followedUpAtMs } = course
  if (recoveredAtMs === null) return []
  const steps: Step[] = [
    {
      kind: 'follow-up',
      fromMs: recoveredAtMs,
      dueMs: recoveredAtMs + policy.low.followUpMin * MINUTE_MS,
      doneMs: followedUpAtMs,
      endedMs: null,
    },
  ]
  const toldMs = firstFrom(
    low.charted.prescriberCalls.map(({ atMs }) => atMs),
    startMs,
  )
  if (followedUpAtMs === null || toldMs === null) return steps
  const fromMs = Math.max(followedUpAtMs, toldMs)
  return [
    ...steps,
    {
      kind: 'close',
      fromMs,
      dueMs: fromMs + policy.low.closeWithinMin * MINUTE_MS,
      doneMs: low.closedAtMs,
      endedMs: null,
    },
  ]
}

function firstFrom(instants: readonly number[], fromMs: number): number | null {
  const later = instants.filter((ms) => ms >= fromMs)
  return later.length === 0 ? null : Math.min(...later)
}
