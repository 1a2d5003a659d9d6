/** The two clocks of a real ward, and the only place where they are read. */

export type Clocks = {
  /** Ward time: UTC milliseconds. */
  readonly now: () => number
  /** Monotonic milliseconds since the process began, for logins, lockouts and limits. */
  readonly mono: () => number
}

export const REAL_CLOCKS: Clocks = { now: () => Date.now(), mono: () => performance.now() }
