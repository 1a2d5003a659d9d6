/** The head of a ledger event: subject, actor and times. */
import type { EventHead } from './events.ts'

/** What an event is about: a stay, a ward, or neither. */
export type EventSubject = { readonly wardId: string | null; readonly stayId?: string | null }

/** An event that `actorId` charts at `nowMs`. It happened then, unless `happenedAtMs` says otherwise. */
export function eventHead(
  about: EventSubject,
  actorId: string,
  nowMs: number,
  happenedAtMs: number = nowMs,
): EventHead {
  return { wardId: about.wardId, stayId: about.stayId ?? null, actorId, happenedAtMs, chartedAtMs: nowMs }
}
