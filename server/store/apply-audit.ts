/** Applies what the board and the audit add to the record: the educator's notes, and whose an open need is. */
import { wardIdOf, type Derived, type Handlers } from './derived.ts'

type Types = 'entry-refused' | 'dose-stopped' | 'audit-note-added' | 'export-made' | 'need-handed'

export function auditHandlers(derived: Derived): Handlers<Types> {
  return {
    // both are near misses (near-misses.ts) and change nothing else
    'entry-refused': () => undefined,
    'dose-stopped': () => undefined,
    // who took what out of the service, and why: kept in the ledger, where the access report reads it
    'export-made': () => undefined,
    'audit-note-added': ({ body, actorId, happenedAtMs }) => {
      derived.auditNote.insert({
        note_id: body.noteId,
        low_id: body.lowId,
        finding: body.finding,
        follow_up: body.followUp,
        by_id: actorId,
        at_ms: happenedAtMs,
      })
    },
    'need-handed': (event) => {
      derived.needHanded.put({
        need_key: event.body.needKey,
        ward_id: wardIdOf(event),
        to_staff_id: event.body.toStaffId,
        by_id: event.actorId,
        at_ms: event.happenedAtMs,
      })
    },
  }
}
