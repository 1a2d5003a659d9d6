/** The ward and the period of an audit, from its query string. */
import { z } from 'zod'
import { lastShifts, PERIOD_MOST_DAYS, type Shift } from '../../shared/audit/shifts.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Interval } from '../../shared/time/interval.ts'
import { addDays, localDateTime, localToUtc, parseLocalDateTime, wardDate, wardTime } from '../../shared/time/zone.ts'
import { formatDateTime } from '../../views/format.ts'
import type { PeriodRefusal } from '../../views/words/audit.ts'
import { queryText, type PERIOD_QUERY } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { Ward } from '../store/contract.ts'

/** How many days back shifts are offered (our own choice). */
export const DAYS_SHOWN = 7

/** The number of shifts in these days, including the current one. */
export function shiftsShown({ shifts }: Pick<WardPolicy, 'shifts'>): number {
  return shifts.length * DAYS_SHOWN + 1
}

/** `ward`: whose audit it is. */
export const AUDIT_WARD_QUERY = z.object({ ward: queryText })
type AuditWardRequest = RequestContext<object, z.output<typeof AUDIT_WARD_QUERY>>
type PeriodRequest = RequestContext<object, z.output<typeof PERIOD_QUERY>>

export type AuditWard = { readonly ward: Ward; readonly policy: WardPolicy }

/**
 * The ward in the query string. Without one, it is the ward chosen at sign-in, otherwise the person's first. Undefined:
 * not one of this person's, or none.
 */
export function auditWard(ctx: AuditWardRequest): AuditWard | undefined {
  const wards = ctx.store.wards(ctx.scope)
  const asked = ctx.query.ward
  const ward =
    asked === ''
      ? (wards.find(({ wardId }) => wardId === ctx.wardId) ?? wards[0])
      : wards.find(({ wardId }) => wardId === asked)
  const policy = ward === undefined ? undefined : ctx.store.wardPolicy(ctx.scope, ward.wardId, ctx.nowMs)
  return ward === undefined || policy === undefined ? undefined : { ward, policy: policy.policy }
}

/**
 * From (included) and to (excluded) in the query string, on the ward's clock. The end may be in the future, the
 * beginning may not.
 */
export function periodOf(ctx: PeriodRequest, zone: string): Outcome<Interval, PeriodRefusal> {
  const fromMs = parseLocalDateTime(ctx.query.from, zone, ctx.nowMs)
  const toMs = parseLocalDateTime(ctx.query.to, zone, ctx.nowMs)
  if (fromMs === null || toMs === null) return refuse('period-time-not-read', { field: 'from' })
  if (fromMs >= toMs) return refuse('period-turned-round', { field: 'to' })
  if (fromMs > ctx.nowMs) return refuse('period-in-future', { field: 'from' })
  const mostMs = localToUtc(addDays(wardDate(fromMs, zone), PERIOD_MOST_DAYS), wardTime(fromMs, zone), zone)
  return toMs > mostMs ? refuse('period-too-long', { field: 'to', days: PERIOD_MOST_DAYS }) : accept({ fromMs, toMs })
}

/** The period as a query string. */
export function queryOf(wardId: string, { fromMs, toMs }: Interval, zone: string): string {
  return new URLSearchParams({
    ward: wardId,
    from: localDateTime(fromMs, zone),
    to: localDateTime(toMs, zone),
  }).toString()
}

/** The shift with exactly this period, if it is a recent one. */
export function shiftNamed({ policy }: AuditWard, period: Interval, nowMs: number): Shift | undefined {
  return lastShifts(policy, nowMs, shiftsShown(policy)).find(
    ({ fromMs, toMs }) => fromMs === period.fromMs && toMs === period.toMs,
  )
}

/** "Night, Mon 9 Mar 2026, 19:00 to Tue 10 Mar 2026, 07:00" */
export function periodText(about: AuditWard, period: Interval, nowMs: number): string {
  const { zone } = about.policy
  const shift = shiftNamed(about, period, nowMs)
  return `${shift === undefined ? '' : `${shift.name}, `}${formatDateTime(period.fromMs, zone)} to ${formatDateTime(period.toMs, zone)}`
}

/** The heading of a printed audit. The footer of every sheet has the rest. */
export function printedText(ctx: RequestContext, zone: string): string {
  return `Printed ${formatDateTime(ctx.nowMs, zone)} by ${ctx.actor.name}. Patients are named: keep it with the ward’s confidential papers.`
}
