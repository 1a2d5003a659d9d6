/** GET /audit/lows/:lowId: one low in one look, and everything charted of the patient in a window of time. */
import type { Outcome } from '../../shared/outcome.ts'
import type { Interval } from '../../shared/time/interval.ts'
import { localDateTime } from '../../shared/time/zone.ts'
import { lowLook, type LowLookView } from '../../views/audit/low-page.ts'
import { PERIOD_SENTENCES, type PeriodRefusal } from '../../views/words/audit.ts'
import { messageAnswer, page, type Answer } from '../http/page.ts'
import type { Visit } from '../http/visit.ts'
import { looksAt, sightOf, stayIn, type LowInLook, type Window } from './low-load.ts'
import { listSpan } from './low-rows.ts'
import { auditedLowView } from './low-view.ts'
import { lowOfAddress } from './notes.ts'
import { PERIOD_FIELD, periodOf, printedText, queryText } from './shift-period.ts'

export function showLow(visit: Visit, mayNote: boolean): Answer {
  const found = lowOfAddress(visit)
  const [look] = found === undefined ? [] : looksAt(visit, [found])
  if (look === undefined) return messageAnswer(visit, 404, 'not-found')
  const { zone } = look.policy
  const asked = askedWindow(visit, zone)
  const window = asked?.ok === true ? windowOf(visit, look, asked.value) : null
  const fault =
    asked === null || asked.ok
      ? null
      : { field: PERIOD_FIELD[asked.reason], sentence: PERIOD_SENTENCES[asked.reason](asked.details) }
  const view: LowLookView = {
    low: auditedLowView(visit, look, window),
    wardName: visit.store.wards(visit.scope).find(({ wardId }) => wardId === look.low.wardId)?.name ?? '–',
    asked: window !== null,
    noteSaved: isOwnNote(visit, look),
    values: asked === null ? standing(visit, look) : { from: queryText(visit, 'from'), to: queryText(visit, 'to') },
    errors: fault === null ? {} : { [fault.field]: fault.sentence },
    problem: fault === null ? null : 'Not looked for yet. Put right what is marked.',
    mayNote,
    printed: printedText(visit, zone),
  }
  return page(visit, fault === null ? 200 : 422, { title: 'One low', body: lowLook(view) })
}

/** Null: no window was asked for. */
function askedWindow(visit: Visit, zone: string): Outcome<Interval, PeriodRefusal> | null {
  return queryText(visit, 'from') === '' && queryText(visit, 'to') === '' ? null : periodOf(visit, zone)
}

/** The stretch that the list shows when none is asked for. */
function standing(visit: Visit, look: LowInLook): Readonly<Record<string, string>> {
  const { fromMs, toMs } = listSpan(look, visit.nowMs)
  const { zone } = look.policy
  return { from: localDateTime(fromMs, zone), to: localDateTime(toMs, zone) }
}

/** Does the address name a note that this person added? Then it was saved just now. */
function isOwnNote(visit: Visit, { low }: LowInLook): boolean {
  const noteId = queryText(visit, 'note')
  return (
    noteId !== '' &&
    visit.store
      .auditNotes(visit.scope, low.lowId)
      .some((note) => note.noteId === noteId && note.byId === visit.actor.staffId)
  )
}

/** What was charted in the window can lie outside of the event's own days, so it is loaded for itself. */
function windowOf(visit: Visit, look: LowInLook, span: Interval): Window | null {
  const facts = stayIn(visit, look.stay.stayId, span)
  return facts === undefined ? null : { span, facts, sight: sightOf(visit, facts, look.policy) }
}
