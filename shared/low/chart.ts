/** What a nurse charts in a low event, each decided against the event as it stands: facts in, ledger events out. */
import type { EventHead, LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { ArmAnswer } from './arm.ts'
import type { LowFacts, LowState } from './event.ts'
import { lowState } from './event.ts'
import type { BedsideAnswers, LevelThree, LowArm, LowEvent } from './low.ts'
import { MINUTE_MS } from '../time/span.ts'

/** What was given and what the call was about, at the latest. */
const TEXT_MOST = 200

export type LowChartRefusal =
  | 'low-closed'
  | 'low-time-in-future'
  | 'low-time-before-low'
  | 'low-tube-not-asked'
  | 'low-answers-missing'
  | 'low-arm-changed'
  | 'low-what-missing'
  | 'low-direction-missing'
  | 'low-direction-not-read-back'
  | 'low-told-missing'
  | 'low-not-read-back'
  | 'low-food-before-recovery'
  | 'low-food-grams'

type By = { readonly byId: string }

function head({ low, nowMs }: LowFacts, byId: string, happenedAtMs = nowMs): EventHead {
  return eventHead(low, byId, nowMs, happenedAtMs)
}

/**
 * The answers at the bedside, asked before each treatment. Unresponsive or seizing is a level 3 finding of its own
 * (ADA; S). A patient who is fed by tube is asked about the tube as well.
 */
export function answerAtBedside(
  entry: By & { readonly answers: BedsideAnswers },
  facts: LowFacts,
): Outcome<LedgerEvent[], LowChartRefusal> {
  const { low, bedside } = facts
  const { answers, byId } = entry
  if (low.closedAtMs !== null) return refuse('low-closed')
  if (bedside.feeding === 'tube' && answers.tubeUsable === null) return refuse('low-tube-not-asked')
  const events: LedgerEvent[] = [{ ...head(facts, byId), type: 'low-answered', body: { lowId: low.lowId, answers } }]
  if (answers.swallowing === 'unresponsive')
    events.push({
      ...head(facts, byId),
      type: 'low-level-3-found',
      body: { lowId: low.lowId, finding: 'unresponsive-or-seizing' },
    })
  return accept(events)
}

/** A level 3 finding by itself, whatever the number. */
export function findLevelThree(
  entry: By & { readonly finding: LevelThree },
  facts: LowFacts,
): Outcome<LedgerEvent[], LowChartRefusal> {
  if (facts.low.closedAtMs !== null) return refuse('low-closed')
  return accept([
    { ...head(facts, entry.byId), type: 'low-level-3-found', body: { lowId: facts.low.lowId, finding: entry.finding } },
  ])
}

/** The emergency call was made. */
export function callEmergency(entry: By, facts: LowFacts): Outcome<LedgerEvent[], LowChartRefusal> {
  if (facts.low.closedAtMs !== null) return refuse('low-closed')
  return accept([{ ...head(facts, entry.byId), type: 'low-emergency-called', body: { lowId: facts.low.lowId } }])
}

export type TreatmentEntry = By & {
  /** As shown on the page and given so; null: something else was given, or given without asking first. */
  readonly shown: string | null
  readonly arm: LowArm
  /** What was given, in words; may stay empty when what was shown was given. */
  readonly what: string
  readonly directedBy: string
  readonly readBack: boolean
  /** Null: now. */
  readonly atMs: number | null
}

/**
 * Charts a treatment. Given as shown: what was shown still follows from the answers, which are not older than the
 * policy's minutes. Otherwise what was given is said in words; dextrose and glucagon without a standing order, and
 * whatever the prescriber directed, name who and were read back. Charted late it counts from when it was given, and
 * never before the first low value.
 */
export function treatLow(entry: TreatmentEntry, facts: LowFacts): Outcome<LedgerEvent[], LowChartRefusal> {
  const { low, policy } = facts
  if (low.closedAtMs !== null) return refuse('low-closed')
  const at = whenDone(entry.atMs, facts)
  if (!at.ok) return at
  if (entry.shown !== null) {
    const { arm } = lowState(facts)
    if (arm === null) return refuse('low-answers-missing')
    if (arm.kind !== 'give' || armKey(arm) !== entry.shown || arm.arm !== entry.arm) return refuse('low-arm-changed')
    return accept([
      {
        ...head(facts, entry.byId, at.value),
        type: 'low-treated',
        body: {
          lowId: low.lowId,
          arm: arm.arm,
          amount: arm.amount,
          what: entry.what.trim().slice(0, TEXT_MOST),
          directedBy: null,
        },
      },
    ])
  }
  const what = entry.what.trim()
  if (what === '') return refuse('low-what-missing')
  const { dextrose, glucagon } = policy.low.standingOrders
  const needsDirection =
    entry.arm === 'by-direction' ||
    (entry.arm === 'iv-dextrose' && !dextrose) ||
    (entry.arm === 'glucagon' && !glucagon)
  const directedBy = entry.directedBy.trim()
  if (needsDirection && directedBy === '') return refuse('low-direction-missing')
  if (directedBy !== '' && !entry.readBack) return refuse('low-direction-not-read-back')
  return accept([
    {
      ...head(facts, entry.byId, at.value),
      type: 'low-treated',
      body: { lowId: low.lowId, arm: entry.arm, amount: null, what, directedBy: directedBy === '' ? null : directedBy },
    },
  ])
}

/** What a page showed, as a text that a form sends back: the same text means the same arm and amount. */
export function armKey(arm: ArmAnswer): string {
  if (arm.kind === 'call') return `call.${arm.wouldBe}`
  const { amount } = arm
  switch (amount.kind) {
    case 'grams':
      return `${arm.arm}.${String(amount.grams)}`
    case 'glucagon':
      return `${arm.arm}.${String(amount.milligrams)}`
    case 'intravenous':
      return `${arm.arm}.${String(amount.grams)}.${String(amount.millilitres)}.${String(amount.percent)}.${String(amount.overMin ?? 0)}`
  }
}

export type ToldEntry = By & {
  readonly told: string
  readonly readBack: boolean
  readonly ordered: string
  readonly atMs: number | null
}

/**
 * The prescriber was told: who, that it was read back, and what was ordered. `criticals`: critical results of the event
 * that wait for their call, told in the same one. `otherOpen`: the stay's other open lows, which the call covers too.
 */
export function tellPrescriber(
  entry: ToldEntry,
  facts: LowFacts,
  criticals: readonly string[],
  otherOpen: readonly LowEvent[] = [],
): Outcome<LedgerEvent[], LowChartRefusal> {
  const { low } = facts
  if (low.closedAtMs !== null) return refuse('low-closed')
  const told = entry.told.trim()
  if (told === '') return refuse('low-told-missing')
  if (!entry.readBack) return refuse('low-not-read-back')
  const at = whenDone(entry.atMs, facts)
  if (!at.ok) return at
  const ordered = entry.ordered.trim()
  return accept([
    {
      ...head(facts, entry.byId, at.value),
      type: 'low-told',
      body: { lowId: low.lowId, told, readBack: true, ordered },
    },
    ...otherOpen.map((other): LedgerEvent => ({
      ...head(facts, entry.byId, at.value),
      type: 'low-told',
      body: { lowId: other.lowId, told, readBack: true, ordered },
    })),
    ...criticals.map((readingId): LedgerEvent => ({
      ...head(facts, entry.byId, at.value),
      type: 'critical-told',
      body: { readingId, told, readBack: true, ordered },
    })),
  ])
}

/** Longer-acting carbohydrate was given after recovery: whole grams from 1 to 100, and what it was. */
export function giveFood(
  entry: By & { readonly grams: number; readonly what: string; readonly atMs: number | null },
  facts: LowFacts,
  state: LowState,
): Outcome<LedgerEvent[], LowChartRefusal> {
  const { low } = facts
  if (low.closedAtMs !== null) return refuse('low-closed')
  if (state.phase === 'open') return refuse('low-food-before-recovery')
  if (!Number.isInteger(entry.grams) || entry.grams < 1 || entry.grams > 100) return refuse('low-food-grams')
  const at = whenDone(entry.atMs, facts)
  if (!at.ok) return at
  return accept([
    {
      ...head(facts, entry.byId, at.value),
      type: 'low-food-given',
      body: { lowId: low.lowId, grams: entry.grams, what: entry.what.trim() },
    },
  ])
}

/**
 * When it happened: not in the future, not before the event's first value. A time typed to the minute cannot be told
 * from that of a value taken within the same minute, so it counts as after it.
 */
function whenDone(atMs: number | null, facts: LowFacts): Outcome<number, 'low-time-in-future' | 'low-time-before-low'> {
  const { nowMs } = facts
  if (atMs === null) return accept(nowMs)
  if (atMs > nowMs) return refuse('low-time-in-future')
  const { course } = lowState(facts)
  const within = course.parts
    .map(({ reading }) => reading.takenAtMs)
    .filter((ms) => ms >= atMs && ms < atMs + MINUTE_MS && ms <= nowMs)
  const happenedAtMs = Math.max(atMs, ...within)
  return happenedAtMs < course.startMs ? refuse('low-time-before-low') : accept(happenedAtMs)
}
