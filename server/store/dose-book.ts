/** Doses as rows: the fact itself, the columns searched by, and the open item of its second check, always in step. */
import { eq, sql } from 'drizzle-orm'
import type { Dose } from '../../shared/dose/dose.ts'
import { mayFollowVoid } from '../../shared/dose/voids.ts'
import type { LedgerEvent } from '../../shared/ledger/events.ts'
import type { Derived } from './derived.ts'
import type { OpenItems } from './open-items.ts'
import { dose as doseTable } from './tables.ts'

export type DoseBook = {
  readonly add: (dose: Dose) => void
  /** Puts a changed dose in its place. */
  readonly put: (dose: Dose) => void
  /** The dose that the event is about: no outcome yet, and not void unless such an event may follow that. Throws otherwise. */
  readonly needFor: (event: LedgerEvent & { readonly body: { readonly doseId: string } }) => Dose
  /** A dose that is charted as given. Throws otherwise. */
  readonly needGiven: (doseId: string) => Dose & { readonly outcome: NonNullable<Dose['outcome']> }
  readonly ofReading: (readingId: string) => readonly Dose[]
}

/** Doses of a connection. */
export function doseBookOf(derived: Derived, items: OpenItems): DoseBook {
  const { orm } = derived.connection
  const ofReading = orm
    .select({ fact: doseTable.fact })
    .from(doseTable)
    .where(eq(doseTable.reading_id, sql.placeholder('readingId')))
    .orderBy(doseTable.proposed_at_ms, doseTable.dose_id)
    .prepare()

  const keepItem = (dose: Dose): void => {
    if (isOpen(dose) && dose.secondCheckRequired)
      items.open({
        kind: 'second-check',
        stayId: dose.stayId,
        subjectId: dose.doseId,
        sinceMs: dose.proposedAtMs,
        detail: stepOf(dose),
      })
    else items.closeOne('second-check', dose.doseId)
  }
  const put = (dose: Dose): void => {
    derived.dose.put(rowOf(dose))
    keepItem(dose)
  }
  return {
    add: (dose) => {
      derived.dose.insert(rowOf(dose))
      keepItem(dose)
    },
    put,
    needFor: (event) => {
      const dose = derived.dose.need(event.body.doseId).fact
      if (dose.outcome !== null || !mayFollowVoid(event, dose)) throw new Error(`dose ${dose.doseId} is settled`)
      return dose
    },
    needGiven: (doseId) => {
      const dose = derived.dose.need(doseId).fact
      if (dose.outcome?.kind !== 'given') throw new Error(`dose ${doseId} is not charted as given`)
      return { ...dose, outcome: dose.outcome }
    },
    ofReading: (readingId) => ofReading.all({ readingId }).map((row) => row.fact),
  }
}

function isOpen(dose: Dose): boolean {
  return dose.outcome === null && dose.voided === null
}

/** Which step the second check is at, as the open item's detail. */
function stepOf(dose: Dose): 'awaiting' | 'differed' | 'agreed' | 'verified' {
  if (dose.product !== null) return 'verified'
  if (dose.answers.at(-1)?.agreed === true) return 'agreed'
  return dose.answers.length > dose.restarts.length ? 'differed' : 'awaiting'
}

function rowOf(dose: Dose): typeof doseTable.$inferSelect {
  const open = isOpen(dose)
  return {
    dose_id: dose.doseId,
    stay_id: dose.stayId,
    ward_id: dose.wardId,
    kind: dose.kind,
    reading_id: dose.readingId,
    slot_key: dose.slotKey,
    order_id: dose.working.orderId,
    insulin: dose.insulin,
    proposed_at_ms: dose.proposedAtMs,
    elsewhere_asked: dose.inputs.elsewhereAsked,
    open,
    awaiting: open && dose.secondCheckRequired && dose.product === null,
    given_at_ms: dose.outcome?.kind === 'given' ? dose.outcome.atMs : null,
    fact: dose,
  }
}
