/** The page of the harm measures. It is for educators only, because it lists stays. */
import type { z } from 'zod'
import type { OutOfRangeRule } from '../../shared/measure/facts.ts'
import type { HighDay, HighExclusion, HighReason } from '../../shared/measure/severe-high.ts'
import type { SevereLow } from '../../shared/measure/severe-low.ts'
import { formatGlucose } from '../../shared/glucose/value.ts'
import { shareOf } from '../../shared/audit/rates.ts'
import {
  measuresPage,
  type MeasuresPageView,
  type MeasuredStayView,
  type MeasureView,
} from '../../views/audit/measures.ts'
import { formatDateTime, formatNumber } from '../../views/format.ts'
import {
  HIGH_EXCLUSION,
  HIGH_REASON,
  HOW_MEASURED,
  MEASURE_LOGIC,
  NOTHING_ENDED,
  QUESTION_SENTENCES,
  RULE_NAME,
  RULES_SAY,
  SEVERE_LOW_KIND,
} from '../../views/words/rates.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { page, type PageResponse } from '../http/page.ts'
import { queryText, WARD_PERIOD_QUERY } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import { loadEnded, measure, type Ended, type Measured, type MeasuredStay } from './measures-load.ts'
import { yieldToRequests } from './rates-load.ts'
import {
  defaultPeriod,
  lastDayHint,
  periodText,
  readPeriod,
  withinWardDays,
  wardsOfScope,
  type Period,
} from './rates-question.ts'
import { wardOptions } from './rates.ts'
import { many, shareView } from './rates-view.ts'
import { sentenceOf } from '../../shared/outcome.ts'

const RULES: readonly OutOfRangeRule[] = ['published', 'classed']
/** Number of stays without an event that are listed. All stays with an event are listed. */
const MOST_LISTED = 100

export const MEASURES_QUERY = WARD_PERIOD_QUERY.extend({ rule: queryText })

export async function measuresResponse(
  ctx: RequestContext<object, z.output<typeof MEASURES_QUERY>>,
): Promise<PageResponse> {
  const wards = wardsOfScope(ctx)
  const isAsked = ctx.query.ward !== '' || ctx.query.from !== '' || ctx.query.to !== ''
  const values = isAsked ? { ward: ctx.query.ward, from: ctx.query.from, to: ctx.query.to } : defaultPeriod(ctx, wards)
  const rule = RULES.find((one) => one === ctx.query.rule) ?? 'published'
  const draw = (
    status: number,
    rest: Pick<MeasuresPageView, 'problem' | 'answer'>,
    errors: Readonly<Record<string, string>> = {},
  ): PageResponse =>
    page(ctx, status, {
      title: 'Harm measures',
      body: measuresPage({
        period: { wards: wardOptions(wards), values, errors, lastDay: lastDayHint(wards, ctx.nowMs) },
        rule,
        ...rest,
      }),
    })
  const read = readPeriod(values, wards, ctx.nowMs)
  const period = read.ok ? withinWardDays(read.value) : read
  if (!period.ok)
    return draw(
      422,
      { problem: 'Not worked out. Put right what is marked.', answer: null },
      { [period.details.field]: sentenceOf(QUESTION_SENTENCES, period) },
    )
  return draw(200, { problem: null, answer: await answerView(ctx, period.value, rule) })
}

async function answerView(
  ctx: RequestContext,
  period: Period,
  rule: OutOfRangeRule,
): Promise<NonNullable<MeasuresPageView['answer']>> {
  const all: Ended[] = []
  for (const ward of period.wards) {
    all.push(...loadEnded(ctx, { ...period, wards: [ward] }))
    await yieldToRequests()
  }
  const byRule = { published: measure(all, period, 'published'), classed: measure(all, period, 'classed') }
  const {
    stays,
    totals: { ended },
  } = byRule[rule]
  const measures = ended === 0 ? [] : [lowMeasureView(byRule, stays), highMeasureView(byRule, stays)]
  for (const stayId of new Set(measures.flatMap((one) => one.stays.map((stay) => stay.stayId))))
    recordPatientRead(ctx, stayId)
  return {
    asked: periodText(period),
    ended: ended === 0 ? NOTHING_ENDED : `${counted(ended, 'stay')} ended on these days.`,
    rules: RULES_SAY,
    how: HOW_MEASURED,
    measures,
  }
}

type ByRule = Readonly<Record<OutOfRangeRule, Measured>>

function lowMeasureView(byRule: ByRule, stays: readonly MeasuredStay[]): MeasureView {
  const listed = stays.flatMap((stay) => {
    const { low } = stay
    if (low?.denominator !== true) return []
    const lines = low.lows.length === 0 ? ['No value below 40 mg/dL.'] : low.lows.map((one) => lowLine(stay, one))
    return [
      stayView(stay, { counts: low.numerator, verdict: low.numerator ? 'Harm: in the numerator' : 'No harm', lines }),
    ]
  })
  return {
    id: 'severe-low',
    title: 'Severe hypoglycemia (CMS816)',
    logic: MEASURE_LOGIC.low,
    totals: RULES.map((rule) => {
      const { low } = byRule[rule].totals
      return {
        rule: RULE_NAME[rule],
        denominator: counted(low.of, 'stay'),
        excluded: 'none by rule',
        numerator: counted(low.count, 'stay'),
        share: shareView(low),
      }
    }),
    ...shownOf(listed),
    outside: outsideText(
      stays.filter(({ low }) => low?.denominator !== true).length,
      'no insulin during the stay, or under 18 at its start',
    ),
  }
}

function highMeasureView(byRule: ByRule, stays: readonly MeasuredStay[]): MeasureView {
  const listed = stays.flatMap((stay) => {
    const { high } = stay
    if (high?.denominator !== true) return []
    const why = `In the denominator: ${high.because.map((reason: HighReason) => HIGH_REASON[reason]).join(', ')}.`
    const isOut = high.excluded.length > 0
    const excluded = high.excluded.map((reason: HighExclusion) => `Excluded: ${HIGH_EXCLUSION[reason]}.`)
    const verdict = isOut
      ? 'Excluded'
      : high.eventDays > 0
        ? `${String(high.eventDays)} of ${String(high.eligibleDays)} days`
        : `No event in ${String(high.eligibleDays)} days`
    return [
      stayView(stay, {
        counts: high.eventDays > 0,
        verdict,
        lines: [why, ...excluded, ...high.days.map((day) => dayLine(stay, day))],
      }),
    ]
  })
  return {
    id: 'severe-high',
    title: 'Severe hyperglycemia (CMS871)',
    logic: MEASURE_LOGIC.high,
    totals: RULES.map((rule) => {
      const { high } = byRule[rule].totals
      return {
        rule: RULE_NAME[rule],
        denominator: `${counted(high.stays - high.excluded, 'stay')}, ${counted(high.days.of, 'day')}`,
        excluded: counted(high.excluded, 'stay'),
        numerator: `${counted(high.days.count, 'day')} in ${counted(high.staysWithEvent, 'stay')}`,
        share: shareView(shareOf(high.days.count, high.days.of)),
      }
    }),
    ...shownOf(listed),
    outside: outsideText(
      stays.filter(({ high }) => high?.denominator !== true).length,
      'no diabetes, no insulin and no value of 200 mg/dL or above, or under 18 at its start',
    ),
  }
}

function counted(count: number, what: 'stay' | 'day'): string {
  return many(count, what, `${what}s`)
}

/** Every stay with an event, then others up to the limit. */
function shownOf(listed: readonly MeasuredStayView[]): Pick<MeasureView, 'stays' | 'more'> {
  const [counted, others] = [listed.filter(({ counts }) => counts), listed.filter(({ counts }) => !counts)]
  return { stays: [...counted, ...others.slice(0, MOST_LISTED)], more: Math.max(0, others.length - MOST_LISTED) }
}

function outsideText(count: number, why: string): string {
  return count === 0
    ? 'Every stay that ended is in the denominator.'
    : `${many(count, 'more stay', 'more stays')} ended and ${count === 1 ? 'is' : 'are'} not in the denominator: ${why}.`
}

function stayView(
  { ward, ended: { stay } }: MeasuredStay,
  rest: Pick<MeasuredStayView, 'counts' | 'verdict' | 'lines'>,
): MeasuredStayView {
  const until = stay.dischargedAtMs === null ? '' : ` to ${formatDateTime(stay.dischargedAtMs, ward.zone)}`
  return {
    stayId: stay.stayId,
    who: `${ward.name}, bed ${stay.bed}, wristband ${stay.wristband}`,
    when: `${formatDateTime(stay.admittedAtMs, ward.zone)}${until}`,
    ...rest,
  }
}

function lowLine({ ward, ended: { readings } }: MeasuredStay, { resultId, atMs, kind }: SevereLow): string {
  const reading = readings.find(({ readingId }) => readingId === resultId)
  return `${formatDateTime(atMs, ward.zone)}: ${reading === undefined ? '–' : formatGlucose(reading.glucose)}. ${SEVERE_LOW_KIND[kind]}`
}

function dayLine({ ward }: MeasuredStay, { number, fromMs, tests, most, event }: HighDay): string {
  const what =
    number === 1
      ? 'not counted'
      : event === 'above-300'
        ? 'EVENT: above 300 mg/dL'
        : event === 'untested-after-two-high'
          ? 'EVENT: no test after two days of 200 mg/dL or above'
          : 'no event'
  return `Day ${String(number)} from ${formatDateTime(fromMs, ward.zone)}: ${String(tests)} ${tests === 1 ? 'test' : 'tests'}${highestText(most)}; ${what}.`
}

/**
 * ", highest 199.97 mg/dL"; infinite is HI. Two decimals: 11.1 mmol/L does not count as 200 mg/dL and must not be shown
 * as 200.
 */
export function highestText(mostMgPerDl: number | null): string {
  if (mostMgPerDl === null) return ''
  return Number.isFinite(mostMgPerDl)
    ? `, highest ${formatNumber(Math.round(mostMgPerDl * 100) / 100)} mg/dL`
    : ', highest HI'
}
