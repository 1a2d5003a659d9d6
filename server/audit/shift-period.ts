/** Which ward and which stretch of time an audit is asked about, out of its address. */
import { lastShifts, PERIOD_MOST_DAYS, type Shift } from '../../shared/audit/shifts.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import type { Interval } from '../../shared/time/interval.ts'
import { addDays, localDateTime, localToUtc, parseLocalDateTime, wardDate, wardTime } from '../../shared/time/zone.ts'
import { formatDateTime } from '../../views/format.ts'
import type { PeriodRefusal } from '../../views/words/audit.ts'
import { queryText } from '../http/address.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { Ward } from '../store/contract.ts'

/** How far back shifts are offered, in days (our own choice). */
export const DAYS_SHOWN = 7

/** So many shifts lie in these days, with the one that runs. */
export function shiftsShown({ shifts }: Pick<WardPolicy, 'shifts'>): number {
  return shifts.length * DAYS_SHOWN + 1
}

export type AuditWard = { readonly ward: Ward; readonly policy: WardPolicy }

/** The ward of the address; none named: the one chosen at sign-in, else the first of the person's. Undefined: not hers, or none. */
export function auditWard(ctx: RequestContext): AuditWard | undefined {
  const wards = ctx.store.wards(ctx.scope)
  const asked = queryText(ctx, 'ward')
  const ward =
    asked === ''
      ? (wards.find(({ wardId }) => wardId === ctx.wardId) ?? wards[0])
      : wards.find(({ wardId }) => wardId === asked)
  const policy = ward === undefined ? undefined : ctx.store.wardPolicy(ctx.scope, ward.wardId, ctx.nowMs)
  return ward === undefined || policy === undefined ? undefined : { ward, policy: policy.policy }
}

/** From (in) and to (out) of the address on the ward's clock; the end may lie ahead, the beginning may not. */
export function periodOf(ctx: RequestContext, zone: string): Outcome<Interval, PeriodRefusal> {
  const fromMs = parseLocalDateTime(queryText(ctx, 'from'), zone, ctx.nowMs)
  const toMs = parseLocalDateTime(queryText(ctx, 'to'), zone, ctx.nowMs)
  if (fromMs === null || toMs === null) return refuse('period-time-not-read', { field: 'from' })
  if (fromMs >= toMs) return refuse('period-turned-round', { field: 'to' })
  if (fromMs > ctx.nowMs) return refuse('period-in-future', { field: 'from' })
  const mostMs = localToUtc(addDays(wardDate(fromMs, zone), PERIOD_MOST_DAYS), wardTime(fromMs, zone), zone)
  return toMs > mostMs ? refuse('period-too-long', { field: 'to', days: PERIOD_MOST_DAYS }) : accept({ fromMs, toMs })
}

/** The period as an address has it. */
export function queryOf(wardId: string, { fromMs, toMs }: Interval, zone: string): string {
  return new URLSearchParams({
    ward: wardId,
    from: localDateTime(fromMs, zone),
    to: localDateTime(toMs, zone),
  }).toString()
}

/** The shift that is exactly this period, if it is one of the last. */
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

/** What a printed audit says about itself: the foot of every sheet has the rest. */
export function printedText(ctx: RequestContext, zone: string): string {
  return `Printed ${formatDateTime(ctx.nowMs, zone)} by ${ctx.actor.name}. Patients are named: keep it with the ward’s confidential papers.`
}
