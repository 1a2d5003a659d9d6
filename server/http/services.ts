/** What the application is built from: store, clocks, ids and configuration. */
import type { Backups } from '../backup/schedule.ts'
import type { Config } from '../config.ts'
import type { Store } from '../store/contract.ts'
import type { PinCost } from './pins.ts'

/** The demo's movable clock; null in a real ward, where its routes do not exist. */
export type DemoClock = {
  readonly advanceMinutes: (minutes: 5 | 15 | 60) => void
  /** IANA zone in which the banner shows the clock where no ward is chosen. */
  readonly zone: string
}

/** What the application is built from. `now` is ward time, `mono` a monotonic clock for logins and limits; both ms. */
export type Services = {
  readonly store: Store
  readonly now: () => number
  readonly mono: () => number
  /** Fresh opaque id: 16 characters of a-z and 0-9, no dots. */
  readonly newId: () => string
  readonly config: Config
  readonly demoClock: DemoClock | null
  /** The one-time code that lets the first administrator in; absent or null when the database already has people. */
  readonly setUpCode?: string | null
  /** How the scheduled backups stand; absent: none are made. */
  readonly backups?: Pick<Backups, 'status'>
  /** Work of one PIN hash; the ward's own when absent. Tests use a cheap one. */
  readonly pinCost?: PinCost
}
