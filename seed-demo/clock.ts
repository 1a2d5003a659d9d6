/** The demo's ward clock. It starts at a given time, runs in real time and can be moved forward. */
import type { DemoClock } from '../server/http/services.ts'
import type { Store } from '../server/store/contract.ts'
import { ZONE } from './people.ts'
import { MINUTE_MS } from '../shared/time/span.ts'

const NOTE = 'demo-clock-ms'

export type WardClock = {
  readonly now: () => number
  readonly demoClock: DemoClock
  /** Saves the current time for the next start. */
  readonly save: () => void
}

/** `monoMs` is a monotonic clock, so the ward clock never goes back. */
export function wardClock(store: Store, startMs: number, monoMs: () => number): WardClock {
  const begunMs = monoMs()
  let movedMs = 0
  const now = (): number => Math.floor(startMs + movedMs + (monoMs() - begunMs))
  const save = (): void => {
    store.setNote(NOTE, String(now()))
  }
  const advanceMinutes: DemoClock['advanceMinutes'] = (minutes) => {
    movedMs += minutes * MINUTE_MS
    save()
  }
  return { now, save, demoClock: { advanceMinutes, zone: ZONE } }
}

/** Where the clock of a stopped demo resumes: the saved time, but not before the last event. */
export function resumeMs(store: Store): number {
  return Math.max(Number(store.note(NOTE) ?? 0), store.lastEventAtMs() ?? 0)
}
