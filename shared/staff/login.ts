/** When a login ends by time alone. Monotonic milliseconds, so that a clock that was put back makes no login longer. */
import { HOUR_MS, MINUTE_MS } from '../time/span.ts'

export type LoginTimes = {
  readonly startedMonoMs: number
  /** The last use by a person. A page that refreshes itself does not count. */
  readonly lastUsedMonoMs: number
}

/** `idleLockMin`: the ward's policy. `longestHours`: the service's configuration (`SESSION_HOURS`). */
export type LoginLimits = { readonly idleLockMin: number; readonly longestHours: number }

/** True from the instant at which the idle minutes or the longest hours are full, whichever comes first. */
export function isLoginOver(login: LoginTimes, limits: LoginLimits, monoMs: number): boolean {
  return (
    idleLeftMs(login, limits.idleLockMin, monoMs) <= 0 || monoMs - login.startedMonoMs >= limits.longestHours * HOUR_MS
  )
}

/** Milliseconds until the idle lock if nobody uses the login; 0 or less: it is locked. */
export function idleLeftMs({ lastUsedMonoMs }: LoginTimes, idleLockMin: number, monoMs: number): number {
  return idleLockMin * MINUTE_MS - (monoMs - lastUsedMonoMs)
}
