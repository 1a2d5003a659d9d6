/** The rates page: one question in the query string, one page of figures. It names no patient. */
import type { z } from 'zod'
import { HOURS, OCCASION_GROUPS } from '../../shared/audit/by-hour.ts'
import { BANDS, ratesOf, shareOf, sumsOf, type Band, type RateSums } from '../../shared/audit/rates.ts'
import { PERIOD_MOST_DAYS } from '../../shared/audit/shifts.ts'
import { quartilesOf } from '../../shared/audit/rates-minutes.ts'
import type { GlucoseUnit } from '../../shared/glucose/value.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'
import { ratesPage, type LowsFoundView, type RatesAnswerView, type RatesPageView } from '../../views/audit/rates.ts'
import type { FigureView, OutcomesView } from '../../views/audit/rates-tables.ts'
import { formatDate } from '../../views/format.ts'
import {
  BAND_NAME,
  detailLeftOut,
  OCCASION_GROUP_NAME,
  QUESTION_SENTENCES,
  recheckText,
  SPREAD_SAYS,
} from '../../views/words/rates.ts'
import { page, type PageResponse } from '../http/page.ts'
import { queryText, WARD_PERIOD_QUERY } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import { DETAIL_DAYS, hasDetail, loadDetail, loadSums, type RateDetail } from './rates-load.ts'
import {
  ALL_WARDS,
  defaultPeriod,
  foundText,
  lastDayHint,
  MOST_WARD_DAYS,
  periodText,
  readPeriod,
  spanOn,
  wardsOfScope,
  type Period,
  type PeriodWard,
} from './rates-question.ts'
import { queryOf } from './shift-period.ts'
import {
  bandViews,
  denominatorViews,
  groupView,
  many,
  quartilesText,
  shareView,
  spreadViews,
  type Group,
} from './rates-view.ts'
import { sentenceOf } from '../../shared/outcome.ts'

export const RATES_QUERY = WARD_PERIOD_QUERY.extend({ unit: queryText, band: queryText })
type RatesRequest = RequestContext<object, z.output<typeof RATES_QUERY>>

export async function ratesResponse(ctx: RatesRequest): Promise<PageResponse> {
  const wards = wardsOfScope(ctx)
  const fresh = defaultPeriod(ctx, wards)
  const isAsked = ctx.query.ward !== '' || ctx.query.from !== '' || ctx.query.to !== ''
  const values = isAsked ? { ward: ctx.query.ward, from: ctx.query.from, to: ctx.query.to } : fresh
  const period = readPeriod(values, wards, ctx.nowMs)
  const unit = requestedUnit(ctx, period.ok ? period.value.wards : wards)
  const band = BANDS.find((one) => one === ctx.query.band) ?? 'below70'
  const draw = (
    status: number,
    rest: Pick<RatesPageView, 'problem' | 'answer'> & { readonly errors: Readonly<Record<string, string>> },
  ): PageResponse =>
    page(ctx, status, {
      title: 'Rates',
      body: ratesPage({
        period: { wards: wardOptions(wards), values, errors: rest.errors, lastDay: lastDayHint(wards, ctx.nowMs) },
        bands: BANDS.map((value) => ({ value, label: BAND_NAME[unit][value] })),
        band,
        unit,
        problem: rest.problem,
        answer: rest.answer,
      }),
    })
  if (!period.ok) {
    const sentence = sentenceOf(QUESTION_SENTENCES, period)
    return draw(422, {
      errors: { [period.details.field]: sentence },
      problem: 'Not worked out. Put right what is marked.',
      answer: null,
    })
  }
  return draw(200, { errors: {}, problem: null, answer: await answerView(ctx, period.value, unit, band) })
}

/** Each ward, and all of them if there are several. */
export function wardOptions(
  wards: readonly PeriodWard[],
): readonly { readonly value: string; readonly label: string }[] {
  const each = wards.map(({ wardId, name }) => ({ value: wardId, label: name }))
  return each.length > 1 ? [...each, { value: ALL_WARDS, label: 'All of your wards' }] : each
}

/** The requested unit. Otherwise the wards' unit, or mg/dL if they differ. */
function requestedUnit(ctx: RatesRequest, wards: readonly PeriodWard[]): GlucoseUnit {
  const asked = ctx.query.unit
  if (asked === 'mg/dL' || asked === 'mmol/L') return asked
  return wards.length > 0 && wards.every(({ unit }) => unit === 'mmol/L') ? 'mmol/L' : 'mg/dL'
}

async function answerView(
  ctx: RequestContext,
  period: Period,
  unit: GlucoseUnit,
  band: Band,
): Promise<RatesAnswerView> {
  const sums = await loadSums(ctx, period)
  const rates = ratesOf(sums.all)
  const detail = hasDetail(period) ? await loadDetail(ctx, period) : null
  const months: readonly Group[] = [...sums.byMonth]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([key, month]) => ({ key, name: formatDate(`${key}-01`).replace(/^1 /, ''), sums: month }))
  const wards: readonly Group[] = period.wards.flatMap(({ wardId, name }) => {
    const ward = sums.byWard.get(wardId)
    return ward === undefined ? [] : [{ key: wardId, name, sums: ward }]
  })
  const shown = { band, unit }
  return {
    asked: periodText(period),
    found: foundText(sums.found),
    notes: notesOf(period, unit),
    denominators: denominatorViews(rates),
    bands: bandViews(rates, unit),
    spread: spreadViews(rates, sums.all, unit),
    spreadSays: SPREAD_SAYS,
    bandName: BAND_NAME[unit][band],
    groups: [
      groupView(months, {
        ...shown,
        id: 'by-month',
        title: 'By month',
        keyName: 'Month',
        plotted: 'days',
        across: true,
      }),
      groupView(wards, { ...shown, id: 'by-ward', title: 'By ward', keyName: 'Ward', plotted: 'days', across: false }),
    ],
    leftOut: detail === null ? detailLeftOut({ days: DETAIL_DAYS, wardDays: MOST_WARD_DAYS }) : null,
    detail:
      detail === null
        ? null
        : {
            ...withoutRechecksView(detail, sums.all, unit),
            groups: [
              groupView(
                OCCASION_GROUPS.flatMap((key) => {
                  const group = detail.byOccasion.get(key)
                  return group === undefined ? [] : [{ key, name: OCCASION_GROUP_NAME[key], sums: group }]
                }),
                {
                  ...shown,
                  id: 'by-occasion',
                  title: 'By occasion',
                  keyName: 'Occasion',
                  plotted: 'readings',
                  across: false,
                },
              ),
              groupView(
                HOURS.map((key) => ({ key, name: `${key}:00`, sums: detail.byHour.get(key) ?? NOTHING })),
                {
                  ...shown,
                  counts: true,
                  id: 'by-hour',
                  title: 'By hour of the ward’s day',
                  keyName: 'From',
                  plotted: 'readings',
                  across: true,
                },
              ),
            ],
            checks: checksView(detail),
            lows: lowsView(detail),
            lowsFound: lowsFoundView(detail, period),
            minutes: minuteViews(detail),
            caught: caughtLines(detail),
          },
  }
}

function notesOf({ wards }: Period, unit: GlucoseUnit): readonly string[] {
  const others = wards.filter((ward) => ward.unit !== unit)
  return [
    'Readings that count: corrected ones by their correction, ones entered in error not at all. Laboratory values charted here and readings from paper are among them.',
    'Limits: 54, 70, 180, 250 and 300 mg/dL; on a ward that measures in mmol/L the printed pairs 3.0, 3.9, 10.0, 13.9 and 16.7. 70 and 180 are in range.',
    ...(others.length === 0
      ? []
      : [
          `${others.map(({ name }) => name).join(', ')} measured in ${unit === 'mg/dL' ? 'mmol/L' : 'mg/dL'}. Each value was compared with the limits in the unit it was measured in; means and SD are converted with 18.0156 mg/dL for each mmol/L and rounded only here.`,
        ]),
    'Under each share: how many of how many, and its 95 % interval (Wilson). Readings of one patient are not independent of each other, nor are the days: the intervals are narrower than they should be. ○ few: fewer than 30 in the denominator, which says more about chance than about care.',
  ]
}

function checksView({ timeliness }: RateDetail): OutcomesView {
  const { checks, onTime, late, excused, missedWithReason, missedWithoutReason } = timeliness
  const rows = [
    ['Done on time', onTime],
    ['Done late', late],
    ['Excused, with a reason', excused],
    ['Missed, reason charted', missedWithReason],
    ['Missed, no reason charted', missedWithoutReason],
  ] as const
  return {
    id: 'checks',
    name: 'Planned checks',
    of: `Of ${many(checks, 'planned check', 'planned checks')} that fell due while the patient lay on the ward. On time: read before the check was late by the ward’s policy of that day. Rechecks of a low are in the audit of each low.`,
    rows: rows.map(([label, count]) => ({ label, share: shareView(shareOf(count, checks)) })),
  }
}

function lowsView({ lows }: RateDetail): OutcomesView {
  const counted = lows.filter(({ level }) => level !== null)
  const { length } = counted
  const row = (label: string, holds: (low: RateDetail['lows'][number]) => boolean) => ({
    label,
    share: shareView(shareOf(counted.filter(holds).length, length)),
  })
  const inError = lows.length - length
  return {
    id: 'lows',
    name: 'Low events',
    of: `Of ${many(length, 'low event', 'low events')} that began on the ward, in ${many(new Set(counted.map(({ stayId }) => stayId)).size, 'stay', 'stays')}.${inError === 0 ? '' : ` ${String(inError)} more ended with no low value that counts (entered in error).`} Levels by the lowest value and the ward’s limits; level 3 is a clinical finding besides.`,
    rows: [
      row('Level 1', ({ level }) => level === 1),
      row('Level 2', ({ level }) => level === 2),
      row('Level 3 finding', ({ levelThree }) => levelThree),
      row('Came again: 10 min to 24 h after an earlier one', ({ withinDay }) => withinDay),
      row('Came again: not the first of the stay', ({ againInStay }) => againInStay),
      row('No value at or above 70 mg/dL (3.9 mmol/L) charted since', ({ toResolutionMs }) => toResolutionMs === null),
    ],
  }
}

const NOTHING: RateSums = sumsOf([])

/** The rates without the rechecks of lows, and the number of those rechecks. */
function withoutRechecksView(
  { byOccasion, withoutRechecks }: RateDetail,
  all: RateSums,
  unit: GlucoseUnit,
): Pick<NonNullable<RatesAnswerView['detail']>, 'withoutRechecks' | 'rechecks'> {
  const rechecks = byOccasion.get('recheck')?.readings ?? 0
  return {
    withoutRechecks: rechecks === 0 ? [] : bandViews(ratesOf(withoutRechecks), unit),
    rechecks: recheckText(rechecks, all.readings),
  }
}

/** "8 lows in 4 stays", with links to each ward's audit of the period if it is short enough. */
function lowsFoundView({ lows }: RateDetail, period: Period): LowsFoundView {
  const counted = lows.filter(({ level }) => level !== null)
  const stays = new Set(counted.map(({ stayId }) => stayId)).size
  const isAsked = lows.length > 0 && period.days <= PERIOD_MOST_DAYS
  return {
    text: `${many(counted.length, 'low', 'lows')} in ${many(stays, 'stay', 'stays')}.`,
    ways: isAsked
      ? period.wards.map((ward) => ({
          label: `See them: ${ward.name}`,
          query: queryOf(ward.wardId, spanOn(ward, period), ward.zone),
        }))
      : [],
  }
}

function minuteViews({ insulin, lows }: RateDetail): readonly FigureView[] {
  const resolved = lows.flatMap(({ level, toResolutionMs }) =>
    level === null || toResolutionMs === null ? [] : [toResolutionMs / MINUTE_MS],
  )
  const line = (label: string, numbers: readonly number[], what: string): FigureView => {
    const quartiles = quartilesOf(numbers)
    return { label, value: quartilesText(quartiles), from: `${String(quartiles.n)} ${what}` }
  }
  return [
    line(
      'Reading to insulin: median (quartiles)',
      insulin.readingToInsulin,
      `of ${many(insulin.given, 'dose', 'doses')} given`,
    ),
    line(
      'Insulin to its meal’s tray; − when the tray came first',
      insulin.insulinToTray,
      `of ${many(insulin.given, 'dose', 'doses')} given`,
    ),
    line('First value below 70 mg/dL (3.9 mmol/L) to the first at or above it', resolved, 'low events'),
  ]
}

function caughtLines({ nearMisses, insulin }: RateDetail): readonly string[] {
  const count = (kind: RateDetail['nearMisses'][number]['kind']): string =>
    String(nearMisses.filter((one) => one.kind === kind).length)
  return [
    `Second checks that differed: ${count('second-check-differed')}, beside ${many(insulin.given, 'dose', 'doses')} given.`,
    `Orders whose second entry differed: ${count('verification-differed')}.`,
    `Doses asked for and stopped by a guard: ${count('guard-stopped')}.`,
    `Wrong wristband scanned: ${count('wristband')}.`,
    `Value of the other unit typed: ${count('wrong-unit')}.`,
  ]
}
