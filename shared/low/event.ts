/**
 * A low event as a state machine without a stored state: facts in, next step and its deadline out. The same
 * facts and instant give the same answer, in whatever order the facts were charted.
 */
import { compareAcross } from '../glucose/convert.ts'
import type { Glucose } from '../glucose/value.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import type { Reading } from '../reading/reading.ts'
import { isNilByMouth, type BedsideFacts } from '../stay/stay.ts'
import { armFor, type ArmAnswer } from './arm.ts'
import { lowCourse, type LowCourse, type LowPhase } from './course.ts'
import { lowLevel } from './level.ts'
import type { BedsideAnswers, Charted, LowEvent } from './low.ts'
import { MINUTE_MS } from '../time/span.ts'

export type LowFacts = {
  readonly low: LowEvent
  /** The stay's readings, those that do not count any more included. */
  readonly readings: readonly Reading[]
  readonly bedside: BedsideFacts
  readonly policy: WardPolicy
  /** When the trays of the days around come, delays counted; any order. */
  readonly mealsMs: readonly number[]
  /** When this stay's trays were served; any order. */
  readonly servedMs: readonly number[]
  readonly nowMs: number
}

/** How the sugar is kept up after recovery. ask: nothing by mouth, so the prescriber says. */
export type LastingFood =
  | { readonly kind: 'grams'; readonly grams: number }
  | { readonly kind: 'meal'; readonly atMs: number }
  | { readonly kind: 'ask' }

export type LowStep =
  | { readonly kind: 'call-emergency' }
  /** No low value counts any more: what opened the event was corrected or entered in error. */
  | { readonly kind: 'look-again' }
  | { readonly kind: 'treat'; readonly number: number }
  | { readonly kind: 'escalate' }
  | { readonly kind: 'recheck'; readonly cycle: number }
  | { readonly kind: 'lasting-food'; readonly grams: number }
  | { readonly kind: 'follow-up'; readonly cycle: number }
  | { readonly kind: 'tell-prescriber' }
  | { readonly kind: 'close' }

export type DueStep = LowStep & { readonly deadlineMs: number }

/** What closing still needs. The cause is chosen with the closing itself. */
export type MissingToClose = 'recovery' | 'follow-up' | 'prescriber-told' | 'cause'

export type LowState = {
  readonly course: LowCourse
  readonly phase: LowPhase | 'closed'
  /** From the lowest value that counts; 3 by a nurse's finding; null when neither stands. */
  readonly level: 1 | 2 | 3 | null
  readonly lowest: Glucose | null
  /** Everything owed now, the most urgent first: empty only when the event is closed. */
  readonly steps: readonly DueStep[]
  readonly next: DueStep | null
  readonly missing: readonly MissingToClose[]
  /** The answers that the next treatment may follow from; null: ask (again). */
  readonly answers: (Charted & BedsideAnswers) | null
  /** What those answers lead to, while a value waits for its treatment. */
  readonly arm: ArmAnswer | null
  /** What to give after recovery; null before it, and once the follow-up is done. */
  readonly lasting: LastingFood | null
  /** The next instant at which time alone can change this state; null when none can. */
  readonly changesAtMs: number | null
}

/** Derives the state of a low event at `facts.nowMs`. */
export function lowState(facts: LowFacts): LowState {
  const { low, policy, readings, nowMs } = facts
  const course = lowCourse(low, readings, policy)
  const levelThree = low.charted.findings.length > 0
  const level = levelThree ? 3 : course.lowest === null ? null : lowLevel(course.lowest, policy)
  const base = { course, level, lowest: course.lowest } as const
  if (low.closedAtMs !== null)
    return {
      ...base,
      phase: 'closed',
      steps: [],
      next: null,
      missing: [],
      answers: null,
      arm: null,
      lasting: null,
      changesAtMs: null,
    }
  const answers = standingAnswers(facts, course)
  const lasting = course.phase === 'recovered' ? lastingFood(facts, course) : null
  const steps = stepsOf(facts, course, lasting)
  const toTreat = valueToTreat(course)
  return {
    ...base,
    phase: course.phase,
    steps,
    next: steps[0] ?? null,
    missing: missingToClose(low, course, policy),
    answers,
    arm: answers === null || toTreat === null ? null : armOf(facts, course, answers, toTreat),
    lasting,
    changesAtMs: nextChange(
      [
        escalatesAtMs(course, policy),
        answers === null ? null : answers.atMs + policy.low.answersValidMin * MINUTE_MS + 1,
      ],
      nowMs,
    ),
  }
}

/** What closing needs and does not have. */
export function missingToClose(low: LowEvent, course: LowCourse, policy: WardPolicy): readonly MissingToClose[] {
  const missing: MissingToClose[] = []
  if (course.phase === 'open') missing.push('recovery')
  if (course.phase !== 'followed-up') missing.push('follow-up')
  if (tellSinceMs(low, course, policy) !== null) missing.push('prescriber-told')
  missing.push('cause')
  return missing
}

/** Since when a call to the prescriber is owed; null: none is. A call after the newest low value covers all before it. */
function tellSinceMs(low: LowEvent, course: LowCourse, policy: WardPolicy): number | null {
  const calls = low.charted.prescriberCalls.map(({ atMs }) => atMs)
  const owed = [course.startMs, ...callsAgain(low, course, policy)]
  return owed.find((ms) => !calls.some((callMs) => callMs >= ms)) ?? null
}

/**
 * When the prescriber is to be called again: for a low that comes back, or a low value more than
 * `policy.low.callAgainMin` after the value before it, when it is of level 2 or 3 or the last call is older than that.
 */
export function callsAgain({ charted }: LowEvent, course: LowCourse, policy: WardPolicy): readonly number[] {
  const againMs = policy.low.callAgainMin * MINUTE_MS
  const lastBefore = (ms: number): number =>
    Math.max(-Infinity, ...charted.prescriberCalls.map(({ atMs }) => atMs).filter((callMs) => callMs < ms))
  return comings(course, againMs, policy)
    .filter(
      ({ atMs, untilMs, isLevel2 }) =>
        isLevel2 ||
        atMs - lastBefore(atMs) > againMs ||
        charted.findings.some((finding) => finding.atMs >= atMs && finding.atMs < untilMs),
    )
    .map(({ atMs }) => atMs)
}

type Coming = { readonly atMs: number; readonly untilMs: number; readonly isLevel2: boolean }

/** Each low value with which the low came back, and whether it went below level 2 before it recovered again. */
function comings({ parts }: LowCourse, againMs: number, policy: WardPolicy): readonly Coming[] {
  return parts.flatMap(({ reading, part }, index): Coming[] => {
    const before = parts[index - 1]
    if (before === undefined || part !== 'not-recovered' || lowLevel(reading.glucose, policy) === null) return []
    const isBack = ['recovery', 'between', 'follow-up', 'later'].includes(before.part)
    if (!isBack && reading.takenAtMs - before.reading.takenAtMs <= againMs) return []
    const rest = parts.slice(index)
    const end = rest.findIndex((one) => one.part === 'recovery')
    const run = end === -1 ? rest : rest.slice(0, end)
    return [
      {
        atMs: reading.takenAtMs,
        untilMs: rest[end]?.reading.takenAtMs ?? Infinity,
        isLevel2: run.some((one) => lowLevel(one.reading.glucose, policy) === 2),
      },
    ]
  })
}

/** Emergency, then treatment, then escalation; the others by their deadline. A treatment never waits for paperwork. */
const RANK: Readonly<Record<LowStep['kind'], number>> = {
  'call-emergency': 0,
  'look-again': 1,
  treat: 1,
  escalate: 2,
  recheck: 3,
  'lasting-food': 3,
  'follow-up': 3,
  'tell-prescriber': 3,
  close: 3,
}

function stepsOf(facts: LowFacts, course: LowCourse, lasting: LastingFood | null): readonly DueStep[] {
  const { low, policy, nowMs } = facts
  const after = (ms: number, minutes: number): number => ms + minutes * MINUTE_MS
  const steps: DueStep[] = []
  const emergencyMs = emergencySinceMs(low, course)
  if (emergencyMs !== null) steps.push({ kind: 'call-emergency', deadlineMs: emergencyMs })
  if (course.phase === 'open') {
    const { untreatedSinceMs, lowest } = course
    if (lowest === null)
      steps.push({ kind: 'look-again', deadlineMs: after(course.startMs, policy.low.treatWithinMin) })
    else if (untreatedSinceMs !== null)
      steps.push({
        kind: 'treat',
        number: course.failedAtMs.length + 1,
        deadlineMs: after(untreatedSinceMs, policy.low.treatWithinMin),
      })
    const escalateMs = escalatesAtMs(course, policy)
    if (
      escalateMs !== null &&
      nowMs >= escalateMs &&
      !low.charted.prescriberCalls.some((call) => call.atMs >= escalateMs)
    )
      steps.push({ kind: 'escalate', deadlineMs: escalateMs })
  }
  if (course.dueMs !== null)
    steps.push({
      kind: course.phase === 'recovered' ? 'follow-up' : 'recheck',
      cycle: course.cycle,
      deadlineMs: course.dueMs,
    })
  if (lasting?.kind === 'grams' && course.recoveredAtMs !== null)
    steps.push({
      kind: 'lasting-food',
      grams: lasting.grams,
      deadlineMs: after(course.recoveredAtMs, policy.low.lasting.giveWithinMin),
    })
  const tellMs = tellSinceMs(low, course, policy)
  if (tellMs !== null) steps.push({ kind: 'tell-prescriber', deadlineMs: after(tellMs, policy.low.tellWithinMin) })
  // nothing but the paperwork is left: its clock runs from the last thing that was done
  if (course.phase === 'followed-up' && tellMs === null)
    steps.push({ kind: 'close', deadlineMs: after(lastDoneMs(low, course), policy.low.closeWithinMin) })
  return steps.sort((a, b) => RANK[a.kind] - RANK[b.kind] || a.deadlineMs - b.deadlineMs || (a.kind < b.kind ? -1 : 1))
}

function lastDoneMs(low: LowEvent, course: LowCourse): number {
  const told = low.charted.prescriberCalls.filter((call) => call.atMs >= course.startMs).map((call) => call.atMs)
  return Math.max(course.followedUpAtMs ?? course.startMs, Math.min(...told))
}

/** Since when an emergency call is owed; null when none is. A call covers every finding up to the next recovery. */
function emergencySinceMs({ charted }: LowEvent, course: LowCourse): number | null {
  if (course.phase !== 'open') return null
  const first = charted.findings
    .map((finding) => finding.atMs)
    .filter((ms) => ms >= course.runStartMs)
    .sort((a, b) => a - b)[0]
  return first === undefined || charted.emergencyCalls.some((call) => call.atMs >= course.runStartMs) ? null : first
}

/**
 * When the present run without recovery must be escalated: at the value that is still not recovered after the policy's
 * cycles, or its minutes after the run began, whichever is first (3 cycles; 3 cycles or 45 min in the UK), or still low
 * after as many treatments within the policy's minutes, whatever recovered between. Null: not yet known. Another round of cycles after it escalates again.
 */
export function escalatesAtMs(course: LowCourse, policy: WardPolicy): number | null {
  if (course.phase !== 'open' || course.lowest === null) return null
  const { maxCycles, escalateAfterMin } = policy.low
  const rounds = Math.floor(course.failedAtMs.length / maxCycles)
  const byCycles = rounds === 0 ? null : (course.failedAtMs[rounds * maxCycles - 1] ?? null)
  const byTime = escalateAfterMin === null ? null : course.runStartMs + escalateAfterMin * MINUTE_MS
  if (rounds > 1) return byCycles
  const first = [byCycles, byTime, course.manyTreatedAtMs].filter((ms) => ms !== null)
  return first.length === 0 ? null : Math.min(...first)
}

/** Seen for the treatment that is owed: not before the value it treats, not used up by a treatment, not older than the policy's minutes. */
function standingAnswers(
  { low, policy, nowMs }: LowFacts,
  { untreatedSinceMs }: LowCourse,
): (Charted & BedsideAnswers) | null {
  if (untreatedSinceMs === null) return null
  const newest = [...low.charted.answers].sort(
    (a, b) =>
      b.atMs - a.atMs ||
      b.chartedAtMs - a.chartedAtMs ||
      safety(a) - safety(b) ||
      (JSON.stringify(a) < JSON.stringify(b) ? -1 : 1),
  )[0]
  if (
    newest === undefined ||
    newest.atMs < untreatedSinceMs ||
    nowMs - newest.atMs > policy.low.answersValidMin * MINUTE_MS
  )
    return null
  return low.treatments.some((treatment) => treatment.chartedAtMs >= newest.chartedAtMs) ? null : newest
}

/** Of two answers given at the same instant the more cautious one counts, whichever arrived first. */
function safety({ swallowing, ivWorking, tubeUsable }: BedsideAnswers): number {
  return (
    (swallowing === 'unresponsive' ? 0 : swallowing === 'safely' ? 8 : 4) +
    (tubeUsable === true ? 2 : 0) +
    (ivWorking ? 1 : 0)
  )
}

function armOf(
  { low, bedside, policy, nowMs }: LowFacts,
  course: LowCourse,
  answers: BedsideAnswers,
  glucose: Glucose,
): ArmAnswer {
  const levelThree = low.charted.findings.some((finding) => finding.atMs >= course.runStartMs)
  return armFor({
    answers,
    nilByMouth: isNilByMouth(bedside, nowMs),
    levelThree,
    glucose,
    failedCycles: course.failedAtMs.length,
    glucagonGiven: low.treatments.some(({ arm }) => arm === 'glucagon'),
    policy,
  })
}

/** The lowest of the values that wait for treatment: a repeat that is higher does not make the first one less. */
function valueToTreat({ parts, untreatedSinceMs }: LowCourse): Glucose | null {
  if (untreatedSinceMs === null) return null
  const waiting = parts
    .filter(({ reading }) => reading.takenAtMs >= untreatedSinceMs)
    .map(({ reading }) => reading.glucose)
  return waiting.reduce<Glucose | null>(
    (least, glucose) => (least === null || compareAcross(glucose, least) < 0 ? glucose : least),
    null,
  )
}

/**
 * Longer-acting carbohydrate when the next meal is more than the policy's minutes (60) after recovery and no tray was
 * served since the low: 20 g, 40 g after glucagon (NHS formularies restating JBDS; R).
 */
function lastingFood(
  { low, bedside, policy, mealsMs, servedMs, nowMs }: LowFacts,
  course: LowCourse,
): LastingFood | null {
  const { recoveredAtMs, runStartMs } = course
  if (recoveredAtMs === null || low.charted.food.some((food) => food.atMs >= runStartMs)) return null
  const { lasting } = policy.low
  const meals = [
    ...servedMs.filter((ms) => ms >= course.startMs && ms <= nowMs),
    ...mealsMs.filter((ms) => ms >= recoveredAtMs && ms <= recoveredAtMs + lasting.mealWithinMin * MINUTE_MS),
  ].sort((a, b) => a - b)
  if (bedside.feeding !== 'oral' || isNilByMouth(bedside, nowMs)) return { kind: 'ask' }
  if (meals[0] !== undefined) return { kind: 'meal', atMs: meals[0] }
  const afterGlucagon = low.treatments.some((treatment) => treatment.arm === 'glucagon')
  return { kind: 'grams', grams: afterGlucagon ? lasting.gramsAfterGlucagon : lasting.grams }
}

function nextChange(instants: readonly (number | null)[], nowMs: number): number | null {
  const ahead = instants.filter((ms): ms is number => ms !== null && ms > nowMs)
  return ahead.length === 0 ? null : Math.min(...ahead)
}
