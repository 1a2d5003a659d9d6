/** The protocol line of a low event: everything that happened, in its order, and how long after the first value. */
import type { Glucose } from '../glucose/value.ts'
import type { WardPolicy } from '../policy/ward-policy.ts'
import { lowCourse, type ReadingPart } from './course.ts'
import type { Amount, BedsideAnswers, Charted, InsulinDecision, LevelThree, LowArm, LowCause, LowEvent } from './low.ts'
import type { Reading } from '../reading/reading.ts'
import { MINUTE_MS } from '../time/span.ts'

export type LineFact =
  | { readonly kind: 'reading'; readonly readingId: string; readonly glucose: Glucose; readonly part: ReadingPart }
  | { readonly kind: 'answers'; readonly answers: BedsideAnswers }
  | { readonly kind: 'finding'; readonly finding: LevelThree }
  | { readonly kind: 'emergency-call' }
  | {
      readonly kind: 'treatment'
      readonly arm: LowArm
      readonly amount: Amount | null
      readonly what: string
      readonly directedBy: string | null
    }
  | { readonly kind: 'food'; readonly grams: number; readonly what: string }
  | { readonly kind: 'told'; readonly told: string; readonly ordered: string }
  | {
      readonly kind: 'insulin-answer'
      readonly told: string
      readonly decision: InsulinDecision
      readonly ordered: string
    }
  | { readonly kind: 'closed'; readonly cause: LowCause | 'entered-in-error'; readonly note: string }

/** `afterMs`: since the first value. `late`: charted more than the policy's minutes after it happened. */
export type LineEntry = Charted & { readonly fact: LineFact; readonly afterMs: number; readonly late: boolean }

/** At one instant: what was measured and seen comes before what was done about it. */
const RANK: Readonly<Record<LineFact['kind'], number>> = {
  reading: 0,
  answers: 1,
  finding: 2,
  'emergency-call': 3,
  treatment: 4,
  food: 5,
  told: 6,
  'insulin-answer': 7,
  closed: 8,
}

/** The line, by time and then by kind, the same in whatever order its facts were charted. */
export function lowLine(low: LowEvent, readings: readonly Reading[], policy: WardPolicy): readonly LineEntry[] {
  const course = lowCourse(low, readings, policy)
  const { charted } = low
  const facts: (Charted & { readonly fact: LineFact })[] = [
    ...course.parts.map(({ reading, part }) => ({
      atMs: reading.takenAtMs,
      chartedAtMs: reading.chartedAtMs,
      byId: reading.byId,
      fact: { kind: 'reading', readingId: reading.readingId, glucose: reading.glucose, part } as const,
    })),
    ...charted.answers.map(({ swallowing, ivWorking, tubeUsable, ...by }) => ({
      ...by,
      fact: { kind: 'answers', answers: { swallowing, ivWorking, tubeUsable } } as const,
    })),
    ...charted.findings.map(({ finding, ...by }) => ({ ...by, fact: { kind: 'finding', finding } as const })),
    ...charted.emergencyCalls.map((by) => ({ ...by, fact: { kind: 'emergency-call' } as const })),
    ...low.treatments.map(({ atMs, chartedAtMs, byId, arm, amount, what, directedBy }) => ({
      atMs,
      chartedAtMs,
      byId,
      fact: { kind: 'treatment', arm, amount, what, directedBy } as const,
    })),
    ...charted.food.map(({ grams, what, ...by }) => ({ ...by, fact: { kind: 'food', grams, what } as const })),
    ...charted.prescriberCalls.map(({ told, ordered, ...by }) => ({
      ...by,
      fact: { kind: 'told', told, ordered } as const,
    })),
    ...charted.insulinAnswers.map(({ told, ordered, decision, ...by }) => ({
      ...by,
      fact: { kind: 'insulin-answer', told, decision, ordered } as const,
    })),
    ...(charted.closing === null ? [] : [closed(charted.closing)]),
  ]
  return facts
    .map((one) => ({
      ...one,
      afterMs: one.atMs - course.startMs,
      late: one.chartedAtMs - one.atMs > policy.lateEntryReasonAfterMin * MINUTE_MS,
    }))
    .sort(
      (a, b) =>
        a.atMs - b.atMs ||
        RANK[a.fact.kind] - RANK[b.fact.kind] ||
        a.chartedAtMs - b.chartedAtMs ||
        (JSON.stringify(a) < JSON.stringify(b) ? -1 : 1),
    )
}

function closed({
  cause,
  note,
  ...by
}: NonNullable<LowEvent['charted']['closing']>): Charted & { readonly fact: LineFact } {
  return { ...by, fact: { kind: 'closed', cause, note } }
}

/** How long each clock of the event took from its first value, in milliseconds; null while it still runs. */
export type LowTimes = {
  readonly toTreatment: number | null
  readonly toRecheck: number | null
  readonly toRecovery: number | null
  readonly toTold: number | null
}

/** From the first value to the first treatment, to the first value after it, to the recovery that held, to the call. */
export function lowTimes(low: LowEvent, readings: readonly Reading[], policy: WardPolicy): LowTimes {
  const { startMs, recoveredAtMs, parts } = lowCourse(low, readings, policy)
  const since = (ms: number | undefined | null): number | null =>
    ms === undefined || ms === null ? null : ms - startMs
  const earliest = (all: readonly number[]): number | undefined =>
    all.filter((ms) => ms >= startMs).sort((a, b) => a - b)[0]
  const treatedMs = earliest(low.treatments.map(({ atMs }) => atMs))
  const recheckMs =
    treatedMs === undefined ? undefined : parts.find(({ reading }) => reading.takenAtMs > treatedMs)?.reading.takenAtMs
  return {
    toTreatment: since(treatedMs),
    toRecheck: since(recheckMs),
    toRecovery: since(recoveredAtMs),
    toTold: since(earliest(low.charted.prescriberCalls.map(({ atMs }) => atMs))),
  }
}
