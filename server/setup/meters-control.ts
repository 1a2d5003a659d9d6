/** The control of a meter: both levels in one form, judged by the ranges of the strip lot. */
import { z } from 'zod'
import { parseGlucose } from '../../shared/glucose/value.ts'
import { chartControl, isLotExpired, type ControlRefusal } from '../../shared/meter/control.ts'
import { refuse } from '../../shared/outcome.ts'
import { controlForm } from '../../views/setup/meters-forms.ts'
import { CONTROL_SENTENCES } from '../../views/words/meter.ts'
import { formatDate } from '../../views/format.ts'
import type { MeterRequest } from '../http/parameters.ts'
import type { FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import { METER_GONE } from './meters-forms.ts'
import { meterContext, meterHead, rangeText, type MeterContext } from './meters-load.ts'
import { valueFields, valueFor, valueSentences, type ValueRefusal } from './meters-values.ts'

const LEVELS = ['level1', 'level2'] as const
const LOT_MISSING = { error: 'Choose the strip lot that was used for the control.' }
const VALUE_MISSING = { error: 'Type what the meter shows, or LO or HI.' }
const VALUE = z
  .string(VALUE_MISSING)
  .trim()
  .min(1, VALUE_MISSING)
  .max(10, { error: 'A meter shows at most five characters.' })

const CONTROL_FORM = z.strictObject({
  lot: z.string(LOT_MISSING).trim().min(1, LOT_MISSING).max(40, LOT_MISSING),
  level1: VALUE,
  level2: VALUE,
})

type Fields = z.infer<typeof CONTROL_FORM>
type Refusal = ControlRefusal | ValueRefusal<(typeof LEVELS)[number]> | 'meter-gone'

export const controlSpec: FormSpec<Fields, Refusal, MeterRequest> = {
  name: 'meter-control',
  schema: CONTROL_FORM,
  initial: (ctx) => {
    const context = meterContext(ctx)
    const ready = context === undefined ? [] : lotsOf(ctx, context).filter(({ ranges }) => ranges !== null)
    return { lot: ready.length === 1 ? (ready[0]?.lot ?? '') : '' }
  },
  draw: drawControl,
  decide: (fields, ctx) => {
    const context = meterContext(ctx)
    if (context === undefined) return refuse('meter-gone')
    const { meter, ward } = context
    const level1 = valueFor('level1', parseGlucose(fields.level1, meter.unit))
    if (!level1.ok) return level1
    const level2 = valueFor('level2', parseGlucose(fields.level2, meter.unit))
    if (!level2.ok) return level2
    const lot = ctx.store.stripLotsOfWard(ctx.scope, meter.wardId).find((one) => one.lot === fields.lot)
    const decision = chartControl(
      { lot: fields.lot, level1: level1.value, level2: level2.value, byId: ctx.actor.staffId },
      { meter, lot, ward },
      ctx.nowMs,
    )
    return decision.ok
      ? { ok: true, value: { events: decision.value, location: `/setup/meters/${meter.meterId}` } }
      : decision
  },
  sentences: { ...CONTROL_SENTENCES, ...valueSentences(LEVELS), ...METER_GONE },
  fieldOf: {
    ...valueFields(LEVELS),
    'control-lot-unknown': 'lot',
    'control-lot-expired': 'lot',
    'control-ranges-missing': 'lot',
    'control-ranges-other-unit': 'lot',
  },
  statusOf: { 'control-meter-retired': 409, 'control-meter-other-unit': 409, 'meter-gone': 404 },
}

/** The ward's lots in date, the one that expires first at the top. */
function lotsOf(
  ctx: MeterRequest,
  { meter, ward }: MeterContext,
): ReturnType<RequestContext['store']['stripLotsOfWard']> {
  const lots = ctx.store
    .stripLotsOfWard(ctx.scope, meter.wardId)
    .filter((lot) => !isLotExpired(lot, ward.zone, ctx.nowMs))
  return [...lots].sort((a, b) => (a.expiresOn < b.expiresOn ? -1 : 1))
}

function drawControl(ctx: MeterRequest, state: FormState): PageView | undefined {
  const context = meterContext(ctx)
  if (context === undefined) return undefined
  const lots = lotsOf(ctx, context).map(({ lot, expiresOn, ranges }) => ({
    value: lot,
    label: `${lot}, last day ${formatDate(expiresOn)}${ranges === null ? ': ranges missing' : ''}`,
    ranges:
      ranges === null
        ? 'not entered yet'
        : `level 1: ${rangeText(ranges.level1)}; level 2: ${rangeText(ranges.level2)}`,
  }))
  return {
    title: 'Control',
    body: controlForm({ ...state, meter: meterHead(context, ctx.nowMs), lots, stripsPath: 'setup/strips' }),
  }
}
