/** GET /audit/lows/:lowId: one low in one look, and everything charted of the patient in a window of time. */
import { sentenceOf, type Outcome } from '../../shared/outcome.ts'
import type { Interval } from '../../shared/time/interval.ts'
import { localDateTime } from '../../shared/time/zone.ts'
import { lowLook, type LowLookView } from '../../views/audit/low-page.ts'
import { PERIOD_SENTENCES, type PeriodRefusal } from '../../views/words/audit.ts'
import { messageResponse, page, type PageResponse } from '../http/page.ts'
import type { RequestContext } from '../http/request-context.ts'
import { looksAt, sightOf, stayIn, type LowInLook, type Window } from './low-load.ts'
import { listSpan } from './low-rows.ts'
import { auditedLowView } from './low-view.ts'
import { lowOfAddress } from './notes.ts'
import { periodOf, printedText } from './shift-period.ts'
import { queryText } from '../http/address.ts'

export function showLow(ctx: RequestContext, mayNote: boolean): PageResponse {
  const found = lowOfAddress(ctx)
  const [look] = found === undefined ? [] : looksAt(ctx, [found])
  if (look === undefined) return messageResponse(ctx, 404, 'not-found')
  const { zone } = look.policy
  const asked = askedWindow(ctx, zone)
  const window = asked?.ok === true ? windowOf(ctx, look, asked.value) : null
  const fault =
    asked === null || asked.ok ? null : { field: asked.details.field, sentence: sentenceOf(PERIOD_SENTENCES, asked) }
  const view: LowLookView = {
    low: auditedLowView(ctx, look, window),
    wardName: ctx.store.wards(ctx.scope).find(({ wardId }) => wardId === look.low.wardId)?.name ?? '–',
    asked: window !== null,
    noteSaved: isOwnNote(ctx, look),
    values: asked === null ? standing(ctx, look) : { from: queryText(ctx, 'from'), to: queryText(ctx, 'to') },
    errors: fault === null ? {} : { [fault.field]: fault.sentence },
    problem: fault === null ? null : 'Not looked for yet. Put right what is marked.',
    mayNote,
    printed: printedText(ctx, zone),
  }
  return page(ctx, fault === null ? 200 : 422, { title: 'One low', body: lowLook(view) })
}

/** Null: no window was asked for. */
function askedWindow(ctx: RequestContext, zone: string): Outcome<Interval, PeriodRefusal> | null {
  return queryText(ctx, 'from') === '' && queryText(ctx, 'to') === '' ? null : periodOf(ctx, zone)
}

/** The stretch that the list shows when none is asked for. */
function standing(ctx: RequestContext, look: LowInLook): Readonly<Record<string, string>> {
  const { fromMs, toMs } = listSpan(look, ctx.nowMs)
  const { zone } = look.policy
  return { from: localDateTime(fromMs, zone), to: localDateTime(toMs, zone) }
}

/** Does the address name a note that this person added? Then it was saved just now. */
function isOwnNote(ctx: RequestContext, { low }: LowInLook): boolean {
  const noteId = queryText(ctx, 'note')
  return (
    noteId !== '' &&
    ctx.store.auditNotes(ctx.scope, low.lowId).some((note) => note.noteId === noteId && note.byId === ctx.actor.staffId)
  )
}

/** What was charted in the window can lie outside of the event's own days, so it is loaded for itself. */
function windowOf(ctx: RequestContext, look: LowInLook, span: Interval): Window | null {
  const facts = stayIn(ctx, look.stay.stayId, span)
  return facts === undefined ? null : { span, facts, sight: sightOf(ctx, facts, look.policy) }
}
