/** Doses as rows: the fact itself, the columns searched by, and the open item of its second check, always in step. */
import { eq, sql } from 'drizzle-orm'
import type { Dose } from '../../shared/dose/dose.ts'
import type { Derived } from './derived.ts'
import type { OpenItems } from './open-items.ts'
import { dose as doseTable } from './tables.ts'

export type DoseBook = {
  readonly add: (dose: Dose) => void
  /** Puts a changed dose in its place. */
  readonly put: (dose: Dose) => void
  /** The dose for its next step: no outcome, not voided. Throws otherwise. */
  readonly needOpen: (doseId: string) => Dose
  /** The dose for what came of it: no outcome yet, and not voided unless `mayBeVoid` allows it. Throws otherwise. */
  readonly needUnsettled: (
    doseId: string,
    mayBeVoid: (dose: Dose, voided: NonNullable<Dose['voided']>) => boolean,
  ) => Dose
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
    needOpen: (doseId) => {
      const dose = derived.dose.need(doseId).fact
      if (!isOpen(dose)) throw new Error(`dose ${doseId} is settled`)
      return dose
    },
    needUnsettled: (doseId, mayBeVoid) => {
      const dose = derived.dose.need(doseId).fact
      const isVoid = dose.voided !== null && !mayBeVoid(dose, dose.voided)
      if (dose.outcome !== null || isVoid) throw new Error(`dose ${doseId} is settled`)
      return dose
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
