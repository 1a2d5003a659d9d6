/** GET /audit/lows/:lowId: one low on one page, with everything charted about the patient in a period. */
import type { z } from 'zod'
import { sentenceOf, type Outcome } from '../../shared/outcome.ts'
import type { Interval } from '../../shared/time/interval.ts'
import { localDateTime } from '../../shared/time/zone.ts'
import { lowAuditPage, type LowAuditPageView } from '../../views/audit/low-page.ts'
import { PERIOD_SENTENCES, type PeriodRefusal } from '../../views/words/audit.ts'
import { messageResponse, page, type PageResponse } from '../http/page.ts'
import { PERIOD_QUERY, queryText, type LowRequest } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import { loadLows, visibilityOf, stayIn, type LoadedLow, type RequestedPeriod } from './low-load.ts'
import { listSpan } from './low-rows.ts'
import { auditedLowView } from './low-view.ts'
import { lowOfAddress } from './notes.ts'
import { periodOf, printedText } from './shift-period.ts'

/** The window that is asked for; `note`: the one added just now. */
export const LOW_LOOK_QUERY = PERIOD_QUERY.extend({ note: queryText })
type LowLookRequest = RequestContext<LowRequest['params'], z.output<typeof LOW_LOOK_QUERY>>

export function showLow(ctx: LowLookRequest, mayNote: boolean): PageResponse {
  const found = lowOfAddress(ctx)
  const [loadedLow] = found === undefined ? [] : loadLows(ctx, [found])
  if (loadedLow === undefined) return messageResponse(ctx, 404, 'not-found')
  const { zone } = loadedLow.policy
  const asked = requestedSpan(ctx, zone)
  const window = asked?.ok === true ? windowOf(ctx, loadedLow, asked.value) : null
  const fault =
    asked === null || asked.ok ? null : { field: asked.details.field, sentence: sentenceOf(PERIOD_SENTENCES, asked) }
  const view: LowAuditPageView = {
    low: auditedLowView(ctx, loadedLow, window),
    wardName: ctx.store.wards(ctx.scope).find(({ wardId }) => wardId === loadedLow.low.wardId)?.name ?? '–',
    asked: window !== null,
    noteSaved: isOwnNote(ctx, loadedLow),
    values: asked === null ? defaultPeriod(ctx, loadedLow) : { from: ctx.query.from, to: ctx.query.to },
    errors: fault === null ? {} : { [fault.field]: fault.sentence },
    problem: fault === null ? null : 'Not looked for yet. Put right what is marked.',
    mayNote,
    printed: printedText(ctx, zone),
  }
  return page(ctx, fault === null ? 200 : 422, { title: 'One low', body: lowAuditPage(view) })
}

/** Null: no period was requested. */
function requestedSpan(ctx: LowLookRequest, zone: string): Outcome<Interval, PeriodRefusal> | null {
  return ctx.query.from === '' && ctx.query.to === '' ? null : periodOf(ctx, zone)
}

/** The list's period when none is requested. */
function defaultPeriod(ctx: RequestContext, loadedLow: LoadedLow): Readonly<Record<string, string>> {
  const { fromMs, toMs } = listSpan(loadedLow, ctx.nowMs)
  const { zone } = loadedLow.policy
  return { from: localDateTime(fromMs, zone), to: localDateTime(toMs, zone) }
}

/** True when the address names a note that this person added. It was saved just now. */
function isOwnNote(ctx: LowLookRequest, { low }: LoadedLow): boolean {
  const noteId = ctx.query.note
  return (
    noteId !== '' &&
    ctx.store.auditNotes(ctx.scope, low.lowId).some((note) => note.noteId === noteId && note.byId === ctx.actor.staffId)
  )
}

/** Loads the period separately, because it may lie outside the event's own days. */
function windowOf(ctx: RequestContext, loadedLow: LoadedLow, span: Interval): RequestedPeriod | null {
  const facts = stayIn(ctx, loadedLow.stay.stayId, span)
  return facts === undefined ? null : { span, facts, visibility: visibilityOf(ctx, facts, loadedLow.policy) }
}
