/** The two clocks of a real ward, the only place where they are read, and ward time, which never goes back. */

export type Clocks = {
  /** Ward time: UTC milliseconds. */
  readonly now: () => number
  /** Monotonic milliseconds since the process began, for logins, lockouts and limits. */
  readonly mono: () => number
}

export const SYSTEM_CLOCKS: Clocks = { now: () => Date.now(), mono: () => performance.now() }

/** How far the machine's clock may lag before somebody is told, in milliseconds: less is a clock being kept in step. */
const TELL_AFTER_MS = 2000

/**
 * Ward time out of the machine's clock. A clock that was put forward is followed at once: a reading only looks older
 * and a recheck more overdue. One that was put back is not: an old reading would look fresh enough for a dose and a
 * recheck would wait again, so time goes on with the monotonic clock until the machine's has caught up. `floorMs` is
 * the newest entry of the record, before which time never begins, whatever the machine says after a restart. `told` is
 * told by how much, once for each time that the clock is found to be behind.
 */
export function monotonicWardTime(
  { now, mono }: Clocks,
  floorMs: number,
  told: (behindMs: number) => void,
): () => number {
  let lastMs = floorMs
  let lastMonoMs = mono()
  let isBehind = false
  return () => {
    const monoMs = mono()
    const wallMs = now()
    const carriedMs = lastMs + Math.max(0, monoMs - lastMonoMs)
    lastMs = Math.max(wallMs, carriedMs)
    lastMonoMs = monoMs
    const behindMs = carriedMs - wallMs
    if (behindMs >= TELL_AFTER_MS && !isBehind) told(Math.round(behindMs))
    isBehind = behindMs >= TELL_AFTER_MS
    return Math.floor(lastMs)
  }
}
