/** The two harm measures over the stays that ended in a period, with both rules for LO and HI. */
import { measureFactsOf } from '../../shared/measure/from-record.ts'
import type { OutOfRangeRule } from '../../shared/measure/facts.ts'
import { severeHighMeasure, type SevereHighStay } from '../../shared/measure/severe-high.ts'
import { severeLowMeasure, type SevereLowStay } from '../../shared/measure/severe-low.ts'
import { shareOf, type Share } from '../../shared/audit/rates.ts'
import type { RequestContext } from '../http/request-context.ts'
import type { EndedStay } from '../store/contract.ts'
import { spanOn, type Period, type PeriodWard } from './rates-question.ts'

/** One stay that ended on a ward in the period. A measure is null for a patient outside its scope (under 18). */
export type MeasuredStay = {
  readonly ward: PeriodWard
  readonly ended: EndedStay
  readonly low: SevereLowStay | null
  readonly high: SevereHighStay | null
}

/** `days`: event days of eligible days. Days of one patient are not independent, so the interval is too narrow. */
export type MeasureTotals = {
  readonly ended: number
  readonly low: Share
  readonly high: {
    readonly stays: number
    readonly excluded: number
    readonly staysWithEvent: number
    readonly days: Share
  }
}

export type Measured = { readonly stays: readonly MeasuredStay[]; readonly totals: MeasureTotals }

export type Ended = { readonly ward: PeriodWard; readonly ended: EndedStay }

export function loadEnded(ctx: RequestContext, period: Period): readonly Ended[] {
  return period.wards.flatMap((ward) =>
    ctx.store
      .staysEnded(ctx.scope, { wardIds: [ward.wardId], ...spanOn(ward, period) })
      .map((ended) => ({ ward, ended })),
  )
}

export function measure(all: readonly Ended[], { fromDate, toDate }: Period, rule: OutOfRangeRule): Measured {
  const stays = all.map(({ ward, ended }): MeasuredStay => {
    const facts = measureFactsOf(ended, ward.zone)
    const period = { from: fromDate, to: toDate }
    // one encounter is passed in, so at most one is returned
    return {
      ward,
      ended,
      low: severeLowMeasure(facts, period, rule)[0] ?? null,
      high: severeHighMeasure(facts, period, rule)[0] ?? null,
    }
  })
  const lows = stays.flatMap(({ low }) => (low?.denominator === true ? [low] : []))
  const highs = stays.flatMap(({ high }) => (high?.denominator === true ? [high] : []))
  const sum = (pick: (stay: SevereHighStay) => number): number => highs.reduce((total, stay) => total + pick(stay), 0)
  return {
    stays,
    totals: {
      ended: stays.length,
      low: shareOf(lows.filter(({ numerator }) => numerator).length, lows.length),
      high: {
        stays: highs.length,
        excluded: highs.filter(({ excluded }) => excluded.length > 0).length,
        staysWithEvent: highs.filter(({ eventDays }) => eventDays > 0).length,
        days: shareOf(
          sum(({ eventDays }) => eventDays),
          sum(({ eligibleDays }) => eligibleDays),
        ),
      },
    },
  }
}
