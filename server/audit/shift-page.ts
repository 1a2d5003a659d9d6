/** Turns a ward and a period into the page of its lows and near misses. */
import { shiftTotals, type KeptCount } from '../../shared/audit/low-audit.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import type { Interval } from '../../shared/time/interval.ts'
import type { AuditedLowView } from '../../views/audit/low-parts.ts'
import type { ShiftAuditView } from '../../views/audit/shift-page.ts'
import { LEVEL_WORD } from '../../views/words/audit.ts'
import type { RequestContext } from '../http/request-context.ts'
import { loadLows } from './low-load.ts'
import { auditedLowView } from './low-view.ts'
import { nearMissViews } from './shift-misses.ts'
import { periodText, printedText, queryOf, type AuditWard } from './shift-period.ts'

/** Lows opened in the period, and those already open at its start, by the time of their first value. */
export function shiftAudit(ctx: RequestContext, about: AuditWard, period: Interval, mayNote: boolean): ShiftAuditView {
  const {
    ward: { wardId, name },
    policy,
  } = about
  const found = [
    ...ctx.store.lowsOpenAt(ctx.scope, { wardIds: [wardId], atMs: period.fromMs }),
    ...ctx.store.lowsOpened(ctx.scope, { wardIds: [wardId], ...period }),
  ]
  const loadedLows = [...loadLows(ctx, found)].sort((a, b) => a.audit.startMs - b.audit.startMs)
  const totals = shiftTotals(loadedLows.map(({ audit }) => audit))
  const views = loadedLows.map((loadedLow) => auditedLowView(ctx, loadedLow, null))
  const share = ({ kept, of }: KeptCount): string =>
    of === 0 ? 'none to judge yet' : `${String(kept)} of ${String(of)}`
  return {
    wardId,
    wardName: name,
    period: periodText(about, period, ctx.nowMs),
    query: queryOf(wardId, period, policy.zone),
    running: period.toMs > ctx.nowMs,
    limits: `Low: below ${formatGlucose({ unit: policy.unit, value: policy.limits.low })}; level 2: below ${formatGlucose({ unit: policy.unit, value: policy.limits.level2 })}; level 3: by a nurse’s finding. Each low is judged by the policy that the ward had when it was opened.`,
    totals: {
      lows: totals.lows,
      levels: ([1, 2, 3] as const).map((level) => ({
        mark: totals.byLevel[level] === 0 ? { ...LEVEL_WORD[level], tone: 'calm' } : LEVEL_WORD[level],
        count: totals.byLevel[level],
      })),
      rates: [
        { name: `Every treatment within ${String(policy.low.treatWithinMin)} min`, share: share(totals.treated) },
        { name: `Every recheck within ${String(policy.low.recheckMin)} min`, share: share(totals.rechecked) },
        { name: `Prescriber told within ${String(policy.low.tellWithinMin)} min`, share: share(totals.told) },
        { name: 'Repeat low in 24 h', share: `${String(totals.recurrences24h)} of ${String(totals.lows)}` },
        {
          name: 'Another low earlier in the stay',
          share: `${String(totals.recurrencesInStay)} of ${String(totals.lows)}`,
        },
        {
          name: 'Low again after recovery, before closing',
          share: totals.relapses === 1 ? 'once' : `${String(totals.relapses)} times`,
        },
      ],
      inError: totals.inError,
    },
    lows: views,
    nearMisses: nearMissViews(ctx, about, period),
    runs: runsOf(views),
    printed: printedText(ctx, policy.zone),
    mayNote,
  }
}

/** Lows close together, by patient: the text of each patient's newest low. */
function runsOf(lows: readonly AuditedLowView[]): readonly string[] {
  return [...new Map(lows.map(({ stayId, run }) => [stayId, run])).values()].flatMap((run) => run ?? [])
}
