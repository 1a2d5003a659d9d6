/** GET /audit/lows/:lowId: one low in one look, and everything charted of the patient in a window of time. */
import type { Outcome } from '../../shared/outcome.ts'
import type { Interval } from '../../shared/time/interval.ts'
import { HOUR_MS } from '../../shared/time/span.ts'
import { localDateTime } from '../../shared/time/zone.ts'
import { lowLook, type LowLookView } from '../../views/audit/low-page.ts'
import { formatDateTime } from '../../views/format.ts'
import { PERIOD_SENTENCES, type PeriodRefusal } from '../../views/words/audit.ts'
import { messageAnswer, page, type Answer } from '../http/page.ts'
import type { Visit } from '../http/visit.ts'
import { looksAt, sightOf, stayIn, type LowInLook, type Window } from './low-load.ts'
import { auditedLowView, windowRows } from './low-rows.ts'
import { lowOfAddress } from './notes.ts'
import { PERIOD_FIELD, periodOf, queryText } from './shift-period.ts'

export function showLow(visit: Visit, mayNote: boolean): Answer {
  const found = lowOfAddress(visit)
  const [look] = found === undefined ? [] : looksAt(visit, [found])
  if (look === undefined) return messageAnswer(visit, 404, 'not-found')
  const { zone } = look.policy
  const asked = askedWindow(visit, zone)
  const window = asked?.ok === true ? windowOf(visit, look, asked.value) : null
  const fault = asked === null || asked.ok ? null : { field: PERIOD_FIELD[asked.reason], sentence: PERIOD_SENTENCES[asked.reason](asked.details) }
  const view: LowLookView = {
    low: auditedLowView(visit, look, window),
    wardName: visit.store.wards(visit.scope).find(({ wardId }) => wardId === look.low.wardId)?.name ?? '–',
    window: window === null ? null : windowView(visit, look, window),
    values: asked === null ? suggested(look) : { from: queryText(visit, 'from'), to: queryText(visit, 'to') },
    errors: fault === null ? {} : { [fault.field]: fault.sentence },
    problem: fault === null ? null : 'Not looked for yet. Put right what is marked.',
    mayNote,
  }
  return page(visit, fault === null ? 200 : 422, { title: 'One low', body: lowLook(view) })
}

/** Null: no window was asked for. */
function askedWindow(visit: Visit, zone: string): Outcome<Interval, PeriodRefusal> | null {
  return queryText(visit, 'from') === '' && queryText(visit, 'to') === '' ? null : periodOf(visit, zone)
}

/** From an hour before the first value to an hour after it. */
function suggested({ audit, policy: { zone } }: LowInLook): Readonly<Record<string, string>> {
  return { from: localDateTime(audit.startMs - HOUR_MS, zone), to: localDateTime(audit.startMs + HOUR_MS, zone) }
}

/** What was charted in the window can lie outside of the event's own days, so it is loaded for itself. */
function windowOf(visit: Visit, look: LowInLook, span: Interval): Window | null {
  const facts = stayIn(visit, look.stay.stayId, span)
  return facts === undefined ? null : { span, facts, sight: sightOf(visit, facts, look.policy) }
}

function windowView(visit: Visit, look: LowInLook, window: Window): LowLookView['window'] {
  const { zone } = look.policy
  const caption = `Everything charted from ${formatDateTime(window.span.fromMs, zone)} until before ${formatDateTime(window.span.toMs, zone)}`
  return { caption, rows: windowRows(visit, look, window) }
}
