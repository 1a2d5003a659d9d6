/** An interruption of a tube or parenteral feed. Insulin continues to act, so a low can follow. */
import type { LedgerEvent } from '../ledger/events.ts'
import { eventHead } from '../ledger/head.ts'
import { accept, refuse, type Outcome } from '../outcome.ts'
import type { FeedInterruption, Stay } from './stay.ts'

export type FeedRefusal =
  | 'feed-stay-discharged'
  | 'feed-by-mouth'
  | 'feed-already-interrupted'
  | 'feed-not-interrupted'
  | 'feed-in-future'
  | 'feed-before-admission'
  | 'feed-before-last'
  | 'feed-reason-missing'

type FeedFacts = { readonly stay: Stay; readonly interruptions: readonly FeedInterruption[]; readonly nowMs: number }

/** The current interruption. Null: the feed runs. */
export function openInterruption(interruptions: readonly FeedInterruption[]): FeedInterruption | null {
  return interruptions.find(({ untilMs }) => untilMs === null) ?? null
}

/** Charts that the feed stopped at `atMs`: not in the future, and after the end of the last interruption. */
export function interruptFeed(
  entry: { readonly interruptionId: string; readonly reason: string; readonly atMs: number; readonly byId: string },
  facts: FeedFacts,
): Outcome<LedgerEvent[], FeedRefusal> {
  const { stay, interruptions } = facts
  const time = timeFault(entry.atMs, facts)
  if (time !== null) return refuse(time)
  if (stay.facts.feeding === 'oral') return refuse('feed-by-mouth')
  if (openInterruption(interruptions) !== null) return refuse('feed-already-interrupted')
  if (interruptions.some(({ untilMs }) => untilMs !== null && untilMs > entry.atMs)) return refuse('feed-before-last')
  if (entry.reason.trim() === '') return refuse('feed-reason-missing')
  return accept([
    {
      ...head(entry, facts),
      type: 'feed-interrupted',
      body: { interruptionId: entry.interruptionId, reason: entry.reason },
    },
  ])
}

/** Charts that the feed runs again from `atMs`, not before it stopped. */
export function resumeFeed(
  entry: { readonly atMs: number; readonly byId: string },
  facts: FeedFacts,
): Outcome<LedgerEvent[], FeedRefusal> {
  const time = timeFault(entry.atMs, facts)
  if (time !== null) return refuse(time)
  const open = openInterruption(facts.interruptions)
  if (open === null) return refuse('feed-not-interrupted')
  if (entry.atMs < open.fromMs) return refuse('feed-before-last')
  return accept([{ ...head(entry, facts), type: 'feed-resumed', body: { interruptionId: open.interruptionId } }])
}

function timeFault(atMs: number, { stay, nowMs }: FeedFacts): FeedRefusal | null {
  if (stay.dischargedAtMs !== null) return 'feed-stay-discharged'
  if (atMs > nowMs) return 'feed-in-future'
  return atMs < stay.admittedAtMs ? 'feed-before-admission' : null
}

function head({ atMs, byId }: { readonly atMs: number; readonly byId: string }, { stay, nowMs }: FeedFacts) {
  return eventHead(stay, byId, nowMs, atMs)
}
