/**
 * The prescriber's word about one insulin after a low: as ordered, held, or other units once. Her last word counts. A hold
 * stops the insulin at every door until its time, or until she is asked again. A direction for the insulin ends it.
 */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { isBasal, isInForce, type InsulinName, type OrderVersion } from '../order/order.ts'
import { isDeliverable } from '../order/scale.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import { isInsulinDependent, type Stay } from '../stay/stay.ts'
import { HOUR_MS, MINUTE_MS } from '../time/span.ts'
import { entriesOf, type EntryFacts, type EntryOf, type StayEntry } from './entries.ts'
import type { CareFacts } from './facts.ts'
import type { Task } from './task.ts'

export type Word = EntryFacts['insulin-word']['word']
/** A direction of the prescriber's, as far as it ends a hold. */
export type DirectionGiven = { readonly insulin: InsulinName; readonly atMs: number }

/** The newest word about the insulin up to the instant; null: none. */
function lastWord(entries: readonly StayEntry[], insulin: InsulinName, nowMs: number): EntryOf<'insulin-word'> | null {
  return (
    entriesOf(entries, 'insulin-word')
      .filter(({ fact, atMs }) => fact.insulin === insulin && atMs <= nowMs)
      .sort((a, b) => b.atMs - a.atMs || b.chartedAtMs - a.chartedAtMs)[0] ?? null
  )
}

/** The hold that stands for the insulin at the instant; null: none. `untilMs` is the first instant without it. */
export function holdOf(
  entries: readonly StayEntry[],
  directions: readonly DirectionGiven[],
  insulin: InsulinName,
  nowMs: number,
): EntryOf<'insulin-word'> | null {
  const last = lastWord(entries, insulin, nowMs)
  if (last?.fact.word !== 'hold') return null
  if (last.fact.untilMs !== null && nowMs >= last.fact.untilMs) return null
  const isEnded = directions.some((one) => one.insulin === insulin && one.atMs > last.atMs && one.atMs <= nowMs)
  return isEnded ? null : last
}

/** The units that the prescriber put in place of the ordered ones for the slot; null: none. */
export function unitsInstead(entries: readonly StayEntry[], slotKey: string): EntryOf<'insulin-word'> | null {
  return (
    entriesOf(entries, 'insulin-word').findLast(({ fact }) => fact.word === 'units' && fact.slotKey === slotKey) ?? null
  )
}

/** The insulins of a question that was left open and that nobody has asked about since. */
export function leftUnasked(
  entries: readonly StayEntry[],
  directions: readonly DirectionGiven[],
): readonly { readonly entry: EntryOf<'insulin-question-left'>; readonly insulins: readonly InsulinName[] }[] {
  return entriesOf(entries, 'insulin-question-left').flatMap((entry) => {
    const insulins = entry.fact.insulins.filter(
      (insulin) =>
        !entriesOf(entries, 'insulin-word').some(
          ({ fact, chartedAtMs }) => fact.insulin === insulin && chartedAtMs >= entry.chartedAtMs,
        ) && !directions.some((one) => one.insulin === insulin && one.atMs > entry.atMs),
    )
    return insulins.length === 0 ? [] : [{ entry, insulins }]
  })
}

/**
 * Holds that stand, so that nobody forgets them: basal insulin of a patient who depends on insulin is asked about again
 * within the ward's hours (4, the ward's own setting), then the charge nurse's. And questions left open: stale 15 min past
 * their clock (the ward's own setting).
 */
export function insulinWordTasks(facts: CareFacts, nowMs: number): readonly Task[] {
  const { stay, entries, policy, directions } = facts
  const insulins = [...new Set(entriesOf(entries, 'insulin-word').map(({ fact }) => fact.insulin))]
  const holds = insulins.flatMap((insulin): Task[] => {
    const hold = holdOf(entries, directions, insulin, nowMs)
    if (hold === null) return []
    const mustAsk = isBasal(insulin) && isInsulinDependent(stay.facts)
    const dueMs = mustAsk ? hold.atMs + policy.dose.heldBasalAskAgainHours * HOUR_MS : null
    return [
      {
        kind: 'insulin-held',
        key: `insulin-held.${hold.entryId}`,
        stayId: stay.stayId,
        subjectId: hold.entryId,
        detail: insulin,
        sinceMs: hold.atMs,
        dueMs,
        chargeFromMs: dueMs,
      },
    ]
  })
  const left = leftUnasked(entries, directions).map(({ entry, insulins: unasked }): Task => {
    const openedAtMs = facts.lows.find(({ lowId }) => lowId === entry.fact.lowId)?.openedAtMs ?? entry.atMs
    const dueMs = openedAtMs + policy.low.insulinQuestionMin * MINUTE_MS
    return {
      kind: 'insulin-question-left',
      key: `insulin-question-left.${entry.entryId}`,
      stayId: stay.stayId,
      subjectId: entry.fact.lowId,
      detail: unasked.join(', '),
      sinceMs: entry.atMs,
      dueMs,
      chargeFromMs: dueMs + policy.low.insulinQuestionStaleMin * MINUTE_MS,
    }
  })
  return [...holds, ...left]
}

/** What was said about one insulin. `untilMs`: of a hold; null: until asked again. `units`: of other units. */
export type SaidOfInsulin = {
  readonly insulin: InsulinName
  readonly word: Word
  readonly untilMs: number | null
  readonly units: number | null
}

/** The next scheduled dose of an insulin that is not settled: what other units would count for. */
export type NextSlot = { readonly insulin: InsulinName; readonly slotKey: string }

export type WordRefusal = 'word-missing' | 'word-until-past' | 'word-units-not-deliverable' | 'word-no-slot'

declare module '../outcome.ts' {
  interface RefusalDetails {
    'word-until-past': { insulin: string }
    'word-units-not-deliverable': { insulin: string }
    'word-no-slot': { insulin: string }
  }
}

/**
 * Charts the word about each insulin. Refuses none at all, a hold that ends in the past, units that no pen can be set to,
 * and other units where no scheduled dose is ahead: a direction is charted for those.
 */
export function chartWords(
  said: readonly SaidOfInsulin[],
  about: { readonly lowId: string | null; readonly told: string; readonly ordered: string; readonly byId: string },
  facts: {
    readonly stay: Pick<Stay, 'stayId' | 'wardId'>
    readonly slots: readonly NextSlot[]
    readonly newId: () => string
    readonly nowMs: number
  },
): Outcome<LedgerEvent[], WordRefusal> {
  if (said.length === 0) return refuse('word-missing')
  const { lowId, told, ordered, byId } = about
  const { nowMs } = facts
  const events: LedgerEvent[] = []
  for (const { insulin, word, untilMs, units } of said) {
    const slot = facts.slots.find((one) => one.insulin === insulin)
    if (word === 'hold' && untilMs !== null && untilMs <= nowMs) return refuse('word-until-past', { insulin })
    if (word === 'units' && (units === null || !isDeliverable(units)))
      return refuse('word-units-not-deliverable', { insulin })
    if (word === 'units' && slot === undefined) return refuse('word-no-slot', { insulin })
    events.push({
      ...eventHead(facts.stay, byId, nowMs),
      type: 'entry-charted',
      body: {
        entryId: facts.newId(),
        kind: 'insulin-word',
        fact: {
          lowId,
          insulin,
          word,
          untilMs: word === 'hold' ? untilMs : null,
          units: word === 'units' ? units : null,
          slotKey: word === 'units' ? (slot?.slotKey ?? null) : null,
          told,
          ordered,
        },
      },
    })
  }
  return accept(events)
}

/** The question about insulin that is left when a low is closed, or a direction settles one of several insulins. */
export function questionLeft(
  low: { readonly lowId: string; readonly stayId: string; readonly wardId: string },
  insulins: readonly InsulinName[],
  by: { readonly entryId: string; readonly byId: string; readonly nowMs: number },
): readonly LedgerEvent[] {
  if (insulins.length === 0) return []
  return [
    {
      ...eventHead(low, by.byId, by.nowMs),
      type: 'entry-charted',
      body: { entryId: by.entryId, kind: 'insulin-question-left', fact: { lowId: low.lowId, insulins } },
    },
  ]
}

/** The insulins in force at the instant, each once. */
export function insulinsInForce(orders: readonly OrderVersion[], nowMs: number): readonly InsulinName[] {
  return [...new Set(orders.filter((version) => isInForce(version, nowMs)).map(({ order }) => order.insulin))]
}
