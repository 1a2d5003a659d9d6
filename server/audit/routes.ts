/** The audit of lows: choice of shift, its lows and near misses, one low, the educator's notes, the printed report. */
import { PERIOD_SENTENCES } from '../../views/words/audit.ts'
import { formRoute } from '../http/forms.ts'
import { messageResponse, page, sentenceResponse, type PageResponse } from '../http/page.ts'
import { AUDITORS, EDUCATORS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import type { PageView, RequestContext } from '../http/request-context.ts'
import { showLow } from './low-page.ts'
import { noteSpec } from './notes.ts'
import { registerRates } from './rates-routes.ts'
import { choicePage, lastShiftValues } from './shift-choose.ts'
import { shiftAudit } from './shift-page.ts'
import { sentenceOf } from '../../shared/outcome.ts'
import { shiftPage, shiftReport, type ShiftAuditView } from '../../views/audit/shift-page.ts'
import { auditWard, periodOf } from './shift-period.ts'
import { queryText } from '../http/address.ts'

export function registerAudit(server: Server): void {
  route(server, { method: 'GET', url: '/audit', roles: AUDITORS }, (ctx) => {
    const about = auditWard(ctx)
    // an educator starts here, with or without a ward
    if (ctx.scope.wardIds.length === 0)
      return sentenceResponse(ctx, 200, 'Audit', 'You have no ward yet. An administrator gives you one under People.')
    return about === undefined
      ? messageResponse(ctx, 404, 'not-found')
      : page(ctx, 200, choicePage(ctx, about, { values: lastShiftValues(ctx, about), errors: {}, problem: null }))
  })
  route(server, { method: 'GET', url: '/audit/shift', roles: AUDITORS }, (ctx) =>
    showShift(ctx, (view) => ({ title: `Lows on ${view.wardName}`, body: shiftPage(view) })),
  )
  route(server, { method: 'GET', url: '/print/audit/shift', roles: AUDITORS }, (ctx) =>
    showShift(ctx, (view) => ({
      title: `Audit of lows, ${view.wardName}`,
      body: shiftReport(view, queryText(ctx, 'before') === 'all'),
      chrome: 'print',
    })),
  )
  route(server, { method: 'GET', url: '/audit/lows/:lowId', roles: AUDITORS }, (ctx) => showLow(ctx, mayNote(ctx)))
  formRoute(server, { url: '/audit/lows/:lowId/notes', roles: EDUCATORS, spec: noteSpec })
  registerRates(server)
}

function mayNote(ctx: RequestContext): boolean {
  return EDUCATORS.includes(ctx.actor.role)
}

/**
 * The lows of the ward and period in the query string. If the period is invalid, the choice is shown again with the
 * error.
 */
function showShift(ctx: RequestContext, draw: (view: ShiftAuditView) => PageView): PageResponse {
  const about = auditWard(ctx)
  if (about === undefined) return messageResponse(ctx, 404, 'not-found')
  const period = periodOf(ctx, about.policy.zone)
  if (period.ok) return page(ctx, 200, draw(shiftAudit(ctx, about, period.value, mayNote(ctx))))
  const values = { from: queryText(ctx, 'from'), to: queryText(ctx, 'to') }
  return page(
    ctx,
    422,
    choicePage(ctx, about, {
      values,
      errors: { [period.details.field]: sentenceOf(PERIOD_SENTENCES, period) },
      problem: 'Not looked for yet. Put right what is marked.',
    }),
  )
}
