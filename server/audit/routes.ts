/** The audit of lows: which shift, its lows and near misses, one low in one look, the educator's notes, the report on paper. */
import { lastShifts } from '../../shared/audit/shifts.ts'
import { contains } from '../../shared/time/interval.ts'
import { localDateTime } from '../../shared/time/zone.ts'
import { shiftChoice, type ShiftChoiceView } from '../../views/audit/shift-choose.ts'
import { shiftPage, shiftReport } from '../../views/audit/shift-page.ts'
import { formatDay, formatTime } from '../../views/format.ts'
import { PERIOD_SENTENCES } from '../../views/words/audit.ts'
import { formRoute } from '../http/forms.ts'
import { messageAnswer, page, sayAnswer, type Answer } from '../http/page.ts'
import { AUDITORS, EDUCATORS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import type { PageView, Visit } from '../http/visit.ts'
import { showLow } from './low-page.ts'
import { noteSpec } from './notes.ts'
import { registerRates } from './rates-routes.ts'
import { shiftAudit } from './shift-page.ts'
import { auditWard, PERIOD_FIELD, periodOf, queryOf, queryText, SHIFTS_SHOWN, type AuditWard } from './shift-period.ts'
import type { ShiftAuditView } from '../../views/audit/shift-page.ts'

export function registerAudit(server: Server): void {
  route(server, { method: 'GET', url: '/audit', roles: AUDITORS }, (visit) => {
    const about = auditWard(visit)
    // an educator starts here, with or without a ward of her own yet
    if (visit.scope.wardIds.length === 0) return sayAnswer(visit, 200, 'Audit', 'You have no ward yet. An administrator gives you one under People.')
    return about === undefined ? messageAnswer(visit, 404, 'not-found') : page(visit, 200, choicePage(visit, about, { values: lastShiftValues(visit, about), errors: {}, problem: null }))
  })
  route(server, { method: 'GET', url: '/audit/shift', roles: AUDITORS }, (visit) => showShift(visit, (view) => ({ title: `Lows on ${view.wardName}`, body: shiftPage(view) })))
  route(server, { method: 'GET', url: '/print/audit/shift', roles: AUDITORS }, (visit) => showShift(visit, (view) => ({ title: `Audit of lows, ${view.wardName}`, body: shiftReport(view), chrome: 'print' })))
  route(server, { method: 'GET', url: '/audit/lows/:lowId', roles: AUDITORS }, (visit) => showLow(visit, mayNote(visit)))
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
  return page(visit, 422, choicePage(visit, about, { values, errors: { [PERIOD_FIELD[period.reason]]: PERIOD_SENTENCES[period.reason](period.details) }, problem: 'Not looked for yet. Put right what is marked.' }))
}

function choicePage(visit: Visit, about: AuditWard, state: Pick<ShiftChoiceView, 'values' | 'errors' | 'problem'>): PageView {
  const { ward: { wardId, name }, policy } = about
  const shifts = lastShifts(policy, visit.nowMs, SHIFTS_SHOWN)
  const [newest, oldest] = [shifts[0], shifts.at(-1)]
  const lows = newest === undefined || oldest === undefined ? [] : visit.store.lowsOpened(visit.scope, { wardIds: [wardId], fromMs: oldest.fromMs, toMs: newest.toMs })
  const view: ShiftChoiceView = {
    wards: visit.store.wards(visit.scope).map((ward) => ({ wardId: ward.wardId, name: ward.name, current: ward.wardId === wardId })),
    wardId,
    wardName: name,
    shifts: shifts.map((shift) => ({
      name: shift.name,
      span: `${formatDay(shift.fromMs, policy.zone)}, ${formatTime(shift.fromMs, policy.zone)} to ${formatTime(shift.toMs, policy.zone)}`,
      running: shift.toMs > visit.nowMs,
      lows: lows.filter(({ low }) => contains(shift, low.openedAtMs)).length,
      query: queryOf(wardId, shift, policy.zone),
    })),
    others: otherPages(visit),
    ...state,
  }
  return { title: `Audit, ${name}`, body: shiftChoice(view) }
}

function lastShiftValues(visit: Visit, { policy }: AuditWard): Readonly<Record<string, string>> {
  const shift = lastShifts(policy, visit.nowMs, 2).at(-1)
  return shift === undefined ? {} : { from: localDateTime(shift.fromMs, policy.zone), to: localDateTime(shift.toMs, policy.zone) }
}

/** The other pages of the audit that the route table lets this role open. */
function otherPages(visit: Visit): ShiftChoiceView['others'] {
  const pages = [
    { path: 'audit/rates', label: 'Rates', about: 'by reading, patient-day and stay, by ward, hour and month' },
    { path: 'audit/measures', label: 'Harm measures', about: 'severe lows and severe highs by the published logic' },
    { path: 'audit/export', label: 'Export', about: 'figures and rows as a file' },
  ]
  return pages.filter(({ path }) => visit.house.routes.some(({ method, url, roles }) => method === 'GET' && url === `/${path}` && roles !== 'anyone' && roles.includes(visit.actor.role)))
}
