/** Compares a meter with the laboratory: entering one pair, and the results of all pairs. */
import { z } from 'zod'
import { formatGlucose, parseGlucose } from '../../shared/glucose/value.ts'
import { parseLaboratoryGlucose } from '../../shared/glucose/laboratory.ts'
import { judgePair, judgeSet, type DemandResult, type Pair } from '../../shared/meter/accuracy.ts'
import { recordComparison, type ComparisonRefusal } from '../../shared/meter/compare.ts'
import type { Comparison } from '../../shared/meter/meter.ts'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { parseTakenAt } from '../../shared/reading/taken-at.ts'
import { MINUTE_MS } from '../../shared/time/span.ts'
import { comparisonPage, type PairRowView, type SetRowView } from '../../views/setup/comparison.ts'
import { formatDateTime, formatNumber, formatTime } from '../../views/format.ts'
import { COMPARISON_SENTENCES, PAIR_MARK, setMark, STANDARD } from '../../views/words/meter.ts'
import { isNurse } from '../http/page.ts'
import type { MeterRequest } from '../http/parameters.ts'
import type { FormSpec, FormState, PageView } from '../http/request-context.ts'
import { nameOf } from '../bedside/staff-name.ts'
import { plotOf, signed } from './comparison-plot.ts'
import { METER_GONE } from './meters-forms.ts'
import { meterContext, type MeterContext, type SetUpWard } from './meters-load.ts'
import { numberFor, valueFields, valueSentences, type ValueRefusal } from './meters-values.ts'

const VALUES = ['meterValue', 'laboratoryValue'] as const
const VALUE_MISSING = { error: 'Type the number.' }
const VALUE = z.string(VALUE_MISSING).trim().min(1, VALUE_MISSING).max(10, { error: 'At most five digits.' })
const TIME_MISSING = { error: 'Type the time, as in 07:05.' }
const TIME = z.string(TIME_MISSING).trim().min(1, TIME_MISSING).max(30, TIME_MISSING)

const COMPARISON_FORM = z.strictObject({
  meterValue: VALUE,
  meterAt: TIME,
  laboratoryValue: VALUE,
  laboratoryAt: TIME,
  lot: z.string().trim().max(40, { error: 'Choose one of these.' }).default(''),
  note: z.string().trim().max(200, { error: 'At most 200 characters.' }).default(''),
})

type Fields = z.infer<typeof COMPARISON_FORM>
type TimeRefusal = 'meter-time-not-read' | 'laboratory-time-not-read'
type Refusal = ComparisonRefusal | ValueRefusal<(typeof VALUES)[number]> | TimeRefusal | 'meter-gone'

export const comparisonSpec: FormSpec<Fields, Refusal, MeterRequest> = {
  name: 'meter-comparison',
  schema: COMPARISON_FORM,
  initial: () => ({}),
  draw: drawComparisons,
  decide: (fields, ctx) => {
    const context = meterContext(ctx)
    if (context === undefined) return refuse('meter-gone')
    const { meter, ward } = context
    const read = readPair(fields, context, ctx.nowMs)
    if (!read.ok) return read
    const comparison: Comparison = {
      ...read.value,
      comparisonId: ctx.services.newId(),
      meterId: meter.meterId,
      lot: fields.lot === '' ? null : fields.lot,
      note: fields.note,
      byId: ctx.actor.staffId,
    }
    const facts = {
      meter,
      lots: ctx.store.stripLotsOfWard(ctx.scope, ward.wardId).map(({ lot }) => lot),
      comparisons: ctx.store.comparisonsOf(ctx.scope, meter.meterId),
    }
    const decision = recordComparison(comparison, facts, ctx.nowMs)
    return decision.ok
      ? { ok: true, value: { events: decision.value, location: `/setup/meters/${meter.meterId}/comparisons` } }
      : decision
  },
  sentences: {
    ...COMPARISON_SENTENCES,
    ...valueSentences(VALUES),
    ...METER_GONE,
    'meter-time-not-read': () => 'Type the time as hours and minutes, as in 07:05.',
    'laboratory-time-not-read': () => 'Type the time as hours and minutes, as in 07:05.',
  },
  fieldOf: {
    ...valueFields(VALUES),
    'meter-time-not-read': 'meterAt',
    'laboratory-time-not-read': 'laboratoryAt',
    'comparison-meter-time-in-future': 'meterAt',
    'comparison-laboratory-time-in-future': 'laboratoryAt',
    'comparison-too-far-apart': 'laboratoryAt',
    'comparison-lot-unknown': 'lot',
    'comparison-other-unit': 'meterValue',
  },
  statusOf: { 'comparison-already-there': 409, 'meter-gone': 404 },
}

type ReadPair = Pick<Comparison, 'meterValue' | 'laboratoryValue' | 'meterAtMs' | 'laboratoryAtMs'>

function readPair(
  fields: Fields,
  { meter, ward }: MeterContext,
  nowMs: number,
): Outcome<ReadPair, ValueRefusal<(typeof VALUES)[number]> | TimeRefusal> {
  const meterValue = numberFor('meterValue', parseGlucose(fields.meterValue, meter.unit))
  if (!meterValue.ok) return meterValue
  const meterAt = parseTakenAt(fields.meterAt, ward.zone, nowMs)
  if (!meterAt.ok) return refuse('meter-time-not-read')
  const laboratoryValue = numberFor('laboratoryValue', parseLaboratoryGlucose(fields.laboratoryValue, meter.unit))
  if (!laboratoryValue.ok) return laboratoryValue
  const laboratoryAt = parseTakenAt(fields.laboratoryAt, ward.zone, nowMs)
  if (!laboratoryAt.ok) return refuse('laboratory-time-not-read')
  return accept({
    meterValue: meterValue.value,
    laboratoryValue: laboratoryValue.value,
    meterAtMs: meterAt.value,
    laboratoryAtMs: laboratoryAt.value,
  })
}

function drawComparisons(ctx: MeterRequest, state: FormState): PageView | undefined {
  const context = meterContext(ctx)
  if (context === undefined) return undefined
  const { meter, ward } = context
  const all = ctx.store.comparisonsOf(ctx.scope, meter.meterId)
  const shown = all.filter((one) => !isHeld(ctx, one, ward))
  const pairs = shown.map(pairOf)
  return {
    title: 'Meter and laboratory',
    body: comparisonPage({
      ...state,
      meter: { meterId: meter.meterId, serial: meter.serial, wardName: ward.name, unit: meter.unit },
      lots: ctx.store.stripLotsOfWard(ctx.scope, ward.wardId).map(({ lot }) => ({ value: lot, label: lot })),
      sets: pairs.length === 0 ? [] : setRows(pairs),
      pairs: shown.map((comparison) => pairRow(ctx, comparison, ward.zone)),
      held:
        all.length === shown.length
          ? null
          : `Not shown and not counted yet: ${String(all.length - shown.length)}, so fresh that a second check may still be made of the same value.`,
      plot: plotOf(pairs),
    }),
  }
}

/**
 * A pair may contain a reading that still waits for its second check. Possible second checkers see it once the reading
 * is too old for a dose. The person who entered it always sees it.
 */
function isHeld(ctx: MeterRequest, comparison: Comparison, { readingAgeMin }: SetUpWard): boolean {
  if (!isNurse(ctx.actor) || comparison.byId === ctx.actor.staffId) return false
  return ctx.nowMs <= comparison.meterAtMs + readingAgeMin * MINUTE_MS
}

function pairOf({ meterValue, laboratoryValue }: Comparison): Pair {
  return { unit: meterValue.unit, meter: meterValue.value, laboratory: laboratoryValue.value }
}

function pairRow(ctx: MeterRequest, comparison: Comparison, zone: string): PairRowView {
  const pair = pairOf(comparison)
  const difference = pair.meter - pair.laboratory
  const perCount = pair.unit === 'mg/dL' ? 1 : 10
  const percent = Math.round((1000 * difference) / pair.laboratory) / 10
  return {
    when: formatDateTime(comparison.meterAtMs, zone),
    by: nameOf(ctx, comparison.byId),
    meter: formatGlucose(comparison.meterValue),
    laboratory: `${formatGlucose(comparison.laboratoryValue)}, ${formatTime(comparison.laboratoryAtMs, zone)}`,
    difference: `${signed(difference / perCount)} ${pair.unit}, ${signed(percent)} %`,
    apart: `${String(Math.round(Math.abs(comparison.meterAtMs - comparison.laboratoryAtMs) / MINUTE_MS))} min apart`,
    lot: comparison.lot ?? '',
    note: comparison.note,
    marks: judgePair(pair).map(({ insideInner }) => PAIR_MARK[insideInner ? 'inside' : 'outside']),
  }
}

function setRows(pairs: readonly Pair[]): readonly SetRowView[] {
  return judgeSet(pairs).map((verdict) => {
    const count = ({ inside, leastPercent }: DemandResult): string =>
      `${String(inside)} of ${String(verdict.pairs)}, ${sharePercent(inside, verdict.pairs)} % (needs ${String(leastPercent)} %)`
    return {
      ...STANDARD[verdict.name],
      inner: count(verdict.inner),
      outer: verdict.outer === null ? null : `wider limit: ${count(verdict.outer)}`,
      mark: setMark(verdict),
    }
  })
}

/** Truncated to one decimal, not rounded: 94.96 % must not be shown as 95. */
function sharePercent(inside: number, of: number): string {
  return formatNumber(Math.floor((1000 * inside) / of) / 10)
}
