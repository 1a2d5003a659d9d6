/** The audit of lows: which shift, its lows and near misses, one low in one look, the educator's notes, the report on paper. */
import { shiftPage, shiftReport } from '../../views/audit/shift-page.ts'
import { PERIOD_SENTENCES } from '../../views/words/audit.ts'
import { formRoute } from '../http/forms.ts'
import { messageAnswer, page, sayAnswer, type Answer } from '../http/page.ts'
import { AUDITORS, EDUCATORS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import type { PageView, Visit } from '../http/visit.ts'
import { showLow } from './low-page.ts'
import { noteSpec } from './notes.ts'
import { registerRates } from './rates-routes.ts'
import { choicePage, lastShiftValues } from './shift-choose.ts'
import { shiftAudit } from './shift-page.ts'
import { auditWard, PERIOD_FIELD, periodOf, queryText } from './shift-period.ts'
import type { ShiftAuditView } from '../../views/audit/shift-page.ts'

export function registerAudit(server: Server): void {
  route(server, { method: 'GET', url: '/audit', roles: AUDITORS }, (visit) => {
    const about = auditWard(visit)
    // an educator starts here, with or without a ward of her own yet
    if (visit.scope.wardIds.length === 0)
      return sayAnswer(visit, 200, 'Audit', 'You have no ward yet. An administrator gives you one under People.')
    return about === undefined
      ? messageAnswer(visit, 404, 'not-found')
      : page(visit, 200, choicePage(visit, about, { values: lastShiftValues(visit, about), errors: {}, problem: null }))
  })
  route(server, { method: 'GET', url: '/audit/shift', roles: AUDITORS }, (visit) =>
    showShift(visit, (view) => ({ title: `Lows on ${view.wardName}`, body: shiftPage(view) })),
  )
  route(server, { method: 'GET', url: '/print/audit/shift', roles: AUDITORS }, (visit) =>
    showShift(visit, (view) => ({
      title: `Audit of lows, ${view.wardName}`,
      body: shiftReport(view, queryText(visit, 'before') === 'all'),
      chrome: 'print',
    })),
  )
  route(server, { method: 'GET', url: '/audit/lows/:lowId', roles: AUDITORS }, (visit) =>
    showLow(visit, mayNote(visit)),
  )
  formRoute(server, { url: '/audit/lows/:lowId/notes', roles: EDUCATORS, spec: noteSpec })
  registerRates(server)
}

function mayNote(visit: Visit): boolean {
  return EDUCATORS.includes(visit.actor.role)
}

/** The lows of the ward and period of the address; the choice again, with the sentence, where the period cannot be read. */
function showShift(visit: Visit, draw: (view: ShiftAuditView) => PageView): Answer {
  const about = auditWard(visit)
  if (about === undefined) return messageAnswer(visit, 404, 'not-found')
  const period = periodOf(visit, about.policy.zone)
  if (period.ok) return page(visit, 200, draw(shiftAudit(visit, about, period.value, mayNote(visit))))
  const values = { from: queryText(visit, 'from'), to: queryText(visit, 'to') }
  return page(
    visit,
    422,
    choicePage(visit, about, {
      values,
      errors: { [PERIOD_FIELD[period.reason]]: PERIOD_SENTENCES[period.reason](period.details) },
      problem: 'Not looked for yet. Put right what is marked.',
    }),
  )
}
