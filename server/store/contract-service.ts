/** What the service page asks of the store: figures about the database itself, never about a patient. */
import type { LedgerHead } from './ledger.ts'

export type RecordFacts = {
  readonly schema: number
  readonly head: LedgerHead
  /** True while the head could not be written outside; null when none is kept. */
  readonly headFailing: boolean | null
  /** The last upgrade and where the database from before it is, in a sentence; null when there was none. */
  readonly lastUpgrade: string | null
}

export type ServiceReads = {
  recordFacts(): RecordFacts
  /** What opening the database brought up to date, in a sentence; null when nothing was owed. */
  readonly upgraded: string | null
}
