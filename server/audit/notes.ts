/** GET and POST /audit/lows/:lowId/notes: the educator's finding and follow-up, added to the record. */
import { z } from 'zod'
import { addAuditNote, type NoteRefusal } from '../../shared/audit/note.ts'
import { refuse } from '../../shared/outcome.ts'
import { notesForm } from '../../views/audit/notes-form.ts'
import { NOTE_SENTENCES } from '../../views/words/audit.ts'
import type { LowRequest } from '../http/parameters.ts'
import type { FormSpec, FormState, PageView } from '../http/request-context.ts'
import { loadLows, type LowAndStay } from './low-load.ts'
import { auditedLowView } from './low-view.ts'

const TEXT_MOST = 1000
const text = z
  .string()
  .max(TEXT_MOST, { error: `Write at most ${String(TEXT_MOST)} characters.` })
  .default('')
const NOTE_FORM = z.strictObject({ finding: text, followUp: text })

/** The low in the path, if it is on a ward of this person's. */
export function lowOfAddress(ctx: LowRequest): LowAndStay | undefined {
  return ctx.store.auditedLow(ctx.scope, ctx.params.lowId)
}

export const noteSpec: FormSpec<z.infer<typeof NOTE_FORM>, NoteRefusal | 'low-gone', LowRequest> = {
  name: 'audit-note',
  schema: NOTE_FORM,
  initial: () => ({}),
  draw: drawNotes,
  decide: (fields, ctx) => {
    const found = lowOfAddress(ctx)
    if (found === undefined) return refuse('low-gone')
    const noteId = ctx.services.newId()
    const decision = addAuditNote({ noteId, ...fields, byId: ctx.actor.staffId }, found.low, ctx.nowMs)
    return decision.ok
      ? { ok: true, value: { events: decision.value, location: `/audit/lows/${found.low.lowId}?note=${noteId}` } }
      : decision
  },
  sentences: NOTE_SENTENCES,
  fieldOf: { 'note-empty': 'finding' },
  statusOf: { 'low-gone': 404 },
}

function drawNotes(ctx: LowRequest, state: FormState): PageView | undefined {
  const found = lowOfAddress(ctx)
  const [loadedLow] = found === undefined ? [] : loadLows(ctx, [found])
  if (loadedLow === undefined) return undefined
  const low = auditedLowView(ctx, loadedLow, null)
  return {
    title: 'Note about a low',
    body: notesForm({
      lowId: low.lowId,
      about: `${low.bed}: ${low.patient}. Low of ${low.when}, lowest ${low.lowest}`,
      notes: low.notes,
      ...state,
    }),
  }
}
