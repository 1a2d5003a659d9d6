/** Figures about the database itself. */
import type { Connection } from './connection.ts'
import type { ServiceReads } from './contract-service.ts'
import type { HeadKeeper } from './head.ts'
import type { Ledger } from './ledger.ts'
import { schemaVersion } from './migrate.ts'
import { notesOf } from './notes.ts'
import { UPGRADE_NOTE } from './upgrade.ts'

/** Prepares them. `upgraded` is what opening brought up to date. */
export function serviceReadsOf(
  connection: Connection,
  ledger: Ledger,
  head: HeadKeeper | null,
  upgraded: string | null,
): ServiceReads {
  const { note } = notesOf(connection)
  return {
    upgraded,
    recordFacts: () => ({
      schema: schemaVersion(connection.raw),
      head: ledger.head(),
      headFailing: head?.failing() ?? null,
      lastUpgrade: note(UPGRADE_NOTE) ?? null,
    }),
  }
}
