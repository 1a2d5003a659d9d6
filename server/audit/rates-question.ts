/**
 * The wards and whole days of a question, parsed from a query string or a form. Rates, measures and exports share it.
 */
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import type { PolicyStretch } from '../../shared/audit/timeliness.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { HOUR_MS } from '../../shared/time/span.ts'
import { addDays, isCalendarDate, localToUtc, wardDate } from '../../shared/time/zone.ts'
import { versionInForce } from '../../shared/policy/in-force.ts'
import { formatDate } from '../../views/format.ts'
import type { QuestionRefusal } from '../../views/words/rates.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { PolicyVersion } from '../store/contract.ts'

export type PeriodWard = {
  readonly wardId: string
  readonly name: string
  readonly unit: GlucoseUnit
  readonly zone: string
  /** newest first */
  readonly policies: readonly PolicyVersion[]
}

/** Dates are ward-local, both included. */
export type Period = {
  readonly wards: readonly PeriodWard[]
  readonly fromDate: string
  readonly toDate: string
  /** calendar days */
  readonly days: number
}

/** The value for all wards of the person. */
export const ALL_WARDS = 'all'
/** Length of the default period in days. */
const DEFAULT_DAYS = 30
/** Three years: the longest trend that a ward needs (our own limit). */
export const MOST_DAYS = 1_100
/**
 * Most days times wards that are processed stay by stay: a ward's year, or a month of a dozen wards. It is our own
 * limit, because all of it is held in memory.
 */
export const MOST_WARD_DAYS = 400
/**
 * A day counts once it has been over for this long. No reading of it can then wait for a second check, so no figure
 * reveals the first nurse's value.
 */
const OVER_FOR_MS = 2 * HOUR_MS

/** The person's own wards, each with its current unit and time zone. */
export function wardsOfScope(ctx: RequestContext): readonly PeriodWard[] {
  return ctx.store.wards(ctx.scope).flatMap(({ wardId, name }) => {
    const policies = ctx.store.policyVersions(ctx.scope, wardId)
    const now = versionInForce(policies, ctx.nowMs)
    return now === undefined ? [] : [{ wardId, name, unit: now.policy.unit, zone: now.policy.zone, policies }]
  })
}

/** The last day that is over on all of the wards. */
export function lastWholeDay(wards: readonly PeriodWard[], nowMs: number): string {
  const days = wards.map(({ zone }) => addDays(wardDate(nowMs - OVER_FOR_MS, zone), -1)).sort()
  return days[0] ?? addDays(wardDate(nowMs - OVER_FOR_MS, 'UTC'), -1)
}

/** The default question: the ward chosen at sign-in and the last 30 full days. */
export function defaultPeriod(
  ctx: RequestContext,
  wards: readonly PeriodWard[],
): { readonly ward: string; readonly from: string; readonly to: string } {
  const own = wards.find(({ wardId }) => wardId === ctx.wardId)
  const to = lastWholeDay(own === undefined ? wards : [own], ctx.nowMs)
  return { ward: own?.wardId ?? ALL_WARDS, from: addDays(to, 1 - DEFAULT_DAYS), to }
}

/** Parses the three fields. A refusal names its field in `details.field`. */
export function readPeriod(
  asked: { readonly ward: string; readonly from: string; readonly to: string },
  wards: readonly PeriodWard[],
  nowMs: number,
): Outcome<Period, QuestionRefusal> {
  if (wards.length === 0) return refuse('period-no-ward', { field: 'ward' })
  const chosen = asked.ward === ALL_WARDS ? wards : wards.filter(({ wardId }) => wardId === asked.ward)
  if (chosen.length === 0) return refuse('period-ward-not-yours', { field: 'ward' })
  if (!isCalendarDate(asked.from)) return refuse('period-date-not-read', { field: 'from' })
  if (!isCalendarDate(asked.to)) return refuse('period-date-not-read', { field: 'to' })
  if (asked.from > asked.to) return refuse('period-turned-round', { field: 'to' })
  const last = lastWholeDay(chosen, nowMs)
  if (asked.to > last) return refuse('period-not-over', { field: 'to', last: formatDate(last) })
  if (addDays(asked.from, MOST_DAYS) <= asked.to) return refuse('period-too-long', { field: 'from', days: MOST_DAYS })
  return accept({ wards: chosen, fromDate: asked.from, toDate: asked.to, days: daysBetween(asked.from, asked.to) + 1 })
}

/** Refuses a question that is too large to process stay by stay. */
export function withinWardDays(period: Period): Outcome<Period, QuestionRefusal> {
  return period.days * period.wards.length > MOST_WARD_DAYS
    ? refuse('period-too-much', { field: 'from', days: MOST_WARD_DAYS })
    : accept(period)
}

/** The period on one ward's clock. The end is excluded. */
export function spanOn(
  { zone }: PeriodWard,
  { fromDate, toDate }: Period,
): { readonly fromMs: number; readonly toMs: number } {
  return { fromMs: localToUtc(fromDate, '00:00', zone), toMs: localToUtc(addDays(toDate, 1), '00:00', zone) }
}

/** The policy in force on the ward at the instant. */
export function policyAt({ policies }: PeriodWard, ms: number): WardPolicy {
  const found = versionInForce(policies, ms)
  if (found === undefined) throw new Error('a ward has a policy')
  return found.policy
}

/** The policies in force over the period, oldest first. */
export function policyStretches(ward: PeriodWard, period: Period): readonly PolicyStretch[] {
  const span = spanOn(ward, period)
  const borders = [
    span.fromMs,
    ...ward.policies
      .map(({ fromMs }) => fromMs)
      .filter((ms) => ms > span.fromMs && ms < span.toMs)
      .sort((a, b) => a - b),
  ]
  return [...new Set(borders)].map((fromMs, index, all) => ({
    policy: policyAt(ward, fromMs),
    fromMs,
    toMs: all[index + 1] ?? span.toMs,
  }))
}

/** "Alder" or "all 3 wards", with the dates: "Alder, 1 Feb 2026 to 2 Mar 2026". */
export function periodText({ wards, fromDate, toDate }: Period): string {
  const [only] = wards
  const which = wards.length === 1 && only !== undefined ? only.name : `all ${String(wards.length)} of your wards`
  return `${which}, ${formatDate(fromDate)} to ${formatDate(toDate)}`
}

/** "18 Feb 2026 to 2 Mar 2026 (12 days)": the days with readings, possibly fewer than requested. */
export function foundText(
  found: { readonly first: string; readonly last: string; readonly days: number } | null,
): string {
  if (found === null) return 'No readings on these days.'
  const span =
    found.first === found.last ? formatDate(found.first) : `${formatDate(found.first)} to ${formatDate(found.last)}`
  return `Readings found: ${span} (${String(found.days)} ${found.days === 1 ? 'day' : 'days'}).`
}

/** The hint beside the field of the last day. */
export function lastDayHint(wards: readonly PeriodWard[], nowMs: number): string {
  return `Up to ${formatDate(lastWholeDay(wards, nowMs))}: a day counts from two hours after it ended.`
}

function daysBetween(from: string, to: string): number {
  let count = 0
  for (let date = from; date < to; date = addDays(date, 1)) count += 1
  return count
}
