/** The audit of lows: choice of shift, its lows and near misses, one low, the educator's notes, the printed report. */
import type { z } from 'zod'
import { sentenceOf } from '../../shared/outcome.ts'
import { shiftPage, shiftReport, type ShiftAuditView } from '../../views/audit/shift-page.ts'
import { PERIOD_SENTENCES } from '../../views/words/audit.ts'
import { formRoute } from '../http/forms.ts'
import { messageResponse, page, sentenceResponse, type PageResponse } from '../http/page.ts'
import { AUDITORS, EDUCATORS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { LOW_ADDRESS, queryText, WARD_PERIOD_QUERY } from '../http/parameters.ts'
import type { PageView, RequestContext } from '../http/request-context.ts'
import { LOW_LOOK_QUERY, showLow } from './low-page.ts'
import { noteSpec } from './notes.ts'
import { registerRates } from './rates-routes.ts'
import { choicePage, lastShiftValues } from './shift-choose.ts'
import { shiftAudit } from './shift-page.ts'
import { AUDIT_WARD_QUERY, auditWard, periodOf } from './shift-period.ts'

/** On paper: `before` is "all" to print what came before each low as well. */
const REPORT_QUERY = WARD_PERIOD_QUERY.extend({ before: queryText })
type ShiftRequest = RequestContext<object, z.output<typeof WARD_PERIOD_QUERY>>

export function registerAudit(server: Server): void {
  route(server, { method: 'GET', url: '/audit', roles: AUDITORS, query: AUDIT_WARD_QUERY }, (ctx) => {
    const about = auditWard(ctx)
    // an educator starts here, with or without a ward
    if (ctx.scope.wardIds.length === 0)
      return sentenceResponse(ctx, 200, 'Audit', 'You have no ward yet. An administrator gives you one under People.')
    return about === undefined
      ? messageResponse(ctx, 404, 'not-found')
      : page(ctx, 200, choicePage(ctx, about, { values: lastShiftValues(ctx, about), errors: {}, problem: null }))
  })
  route(server, { method: 'GET', url: '/audit/shift', roles: AUDITORS, query: WARD_PERIOD_QUERY }, (ctx) =>
    showShift(ctx, (view) => ({ title: `Lows on ${view.wardName}`, body: shiftPage(view) })),
  )
  route(server, { method: 'GET', url: '/print/audit/shift', roles: AUDITORS, query: REPORT_QUERY }, (ctx) =>
    showShift(ctx, (view) => ({
      title: `Audit of lows, ${view.wardName}`,
      body: shiftReport(view, ctx.query.before === 'all'),
      chrome: 'print',
    })),
  )
  route(
    server,
    { method: 'GET', url: '/audit/lows/:lowId', roles: AUDITORS, params: LOW_ADDRESS, query: LOW_LOOK_QUERY },
    (ctx) => showLow(ctx, mayNote(ctx)),
  )
  formRoute(server, { url: '/audit/lows/:lowId/notes', roles: EDUCATORS, params: LOW_ADDRESS, spec: noteSpec })
  registerRates(server)
}

function mayNote(ctx: RequestContext): boolean {
  return EDUCATORS.includes(ctx.actor.role)
}

/**
 * The lows of the ward and period in the query string. If the period is invalid, the choice is shown again with the
 * error.
 */
function showShift(ctx: ShiftRequest, draw: (view: ShiftAuditView) => PageView): PageResponse {
  const about = auditWard(ctx)
  if (about === undefined) return messageResponse(ctx, 404, 'not-found')
  const period = periodOf(ctx, about.policy.zone)
  if (period.ok) return page(ctx, 200, draw(shiftAudit(ctx, about, period.value, mayNote(ctx))))
  const values = { from: ctx.query.from, to: ctx.query.to }
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
