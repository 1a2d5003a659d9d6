/** Adds a meter, moves it to another ward, and retires it. */
import { z } from 'zod'
import { addMeter, moveMeter, retireMeter, type MeterKeepRefusal } from '../../shared/meter/keep.ts'
import { refuse } from '../../shared/outcome.ts'
import { meterForm, moveForm, retireForm } from '../../views/setup/meters-forms.ts'
import { METER_KEEP_SENTENCES } from '../../views/words/meter.ts'
import type { MeterRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import { meterContext, meterHead, ownWard, setUpWards } from './meters-load.ts'

const WARD_MISSING = { error: 'Choose the ward.' }
const WARD = z.string(WARD_MISSING).regex(/^[a-z0-9]{16}$/, WARD_MISSING)
const SERIAL_WRONG = {
  error: 'Scan or type the serial number from the back of the meter: letters, digits, dots and dashes, at most 40.',
}

const NEW_FORM = z.strictObject({
  serial: z
    .string(SERIAL_WRONG)
    .trim()
    .regex(/^[A-Za-z0-9][A-Za-z0-9 ./_-]{0,39}$/, SERIAL_WRONG),
  wardId: WARD,
  unit: z.enum(['mg/dL', 'mmol/L'], { error: 'Choose the unit that its display shows.' }),
})
const MOVE_FORM = z.strictObject({ toWardId: WARD })
const REASON_MISSING = { error: 'Say why the meter is taken out of use.' }
const RETIRE_FORM = z.strictObject({
  reason: z.string(REASON_MISSING).trim().min(1, REASON_MISSING).max(200, { error: 'At most 200 characters.' }),
})

/** The meter is on no ward of this person's (any more). */
type Gone = 'meter-gone'
export const METER_GONE = { 'meter-gone': () => 'This meter is not on a ward of yours any more.' } as const

export const newMeterSpec: FormSpec<z.infer<typeof NEW_FORM>, MeterKeepRefusal> = {
  name: 'meter-new',
  schema: NEW_FORM,
  initial: (ctx) => ({ wardId: ownWard(ctx, setUpWards(ctx))?.wardId ?? '' }),
  draw: (ctx, state) => ({
    title: 'Add a meter',
    body: meterForm({
      ...state,
      wards: setUpWards(ctx).map(({ wardId, name, unit }) => ({ value: wardId, label: `${name}, ${unit}` })),
    }),
  }),
  decide: (fields, ctx) => {
    const meterId = ctx.services.newId()
    const decision = addMeter(
      { ...fields, meterId, byId: ctx.actor.staffId },
      {
        ward: setUpWards(ctx).find(({ wardId }) => wardId === fields.wardId),
        sameSerial: ctx.store.meterBySerial(fields.serial),
      },
      ctx.nowMs,
    )
    return decision.ok
      ? { ok: true, value: { events: decision.value, location: `/setup/meters/${meterId}` } }
      : decision
  },
  sentences: METER_KEEP_SENTENCES,
  fieldOf: { 'meter-ward-unknown': 'wardId', 'meter-serial-taken': 'serial', 'meter-unit-differs': 'unit' },
  statusOf: { 'meter-serial-taken': 409 },
}

export const moveMeterSpec: FormSpec<z.infer<typeof MOVE_FORM>, MeterKeepRefusal | Gone, MeterRequest> = {
  name: 'meter-move',
  schema: MOVE_FORM,
  initial: () => ({}),
  draw: (ctx, state) => {
    const context = meterContext(ctx)
    if (context === undefined) return undefined
    const others = setUpWards(ctx).filter(({ wardId }) => wardId !== context.meter.wardId)
    return {
      title: 'Move a meter',
      body: moveForm({
        ...state,
        meter: meterHead(context, ctx.nowMs),
        wards: others.map(({ wardId, name, unit }) => ({ value: wardId, label: `${name}, ${unit}` })),
      }),
    }
  },
  decide: (fields, ctx) => {
    const context = meterContext(ctx)
    if (context === undefined) return refuse('meter-gone')
    const toWard = setUpWards(ctx).find(({ wardId }) => wardId === fields.toWardId)
    const decision = moveMeter({ byId: ctx.actor.staffId }, { meter: context.meter, toWard }, ctx.nowMs)
    return decision.ok
      ? { ok: true, value: { events: decision.value, location: `/setup/meters/${context.meter.meterId}` } }
      : decision
  },
  sentences: { ...METER_KEEP_SENTENCES, ...METER_GONE },
  fieldOf: { 'meter-ward-unknown': 'toWardId', 'meter-unit-differs': 'toWardId', 'meter-same-ward': 'toWardId' },
  statusOf: { 'meter-retired': 409, 'meter-same-ward': 409, 'meter-gone': 404 },
}

export const retireMeterSpec: FormSpec<z.infer<typeof RETIRE_FORM>, MeterKeepRefusal | Gone, MeterRequest> = {
  name: 'meter-retire',
  schema: RETIRE_FORM,
  initial: () => ({}),
  draw: (ctx, state) => {
    const context = meterContext(ctx)
    return context === undefined
      ? undefined
      : { title: 'Retire a meter', body: retireForm({ ...state, meter: meterHead(context, ctx.nowMs) }) }
  },
  decide: (fields, ctx) => {
    const context = meterContext(ctx)
    if (context === undefined) return refuse('meter-gone')
    const decision = retireMeter({ ...fields, byId: ctx.actor.staffId }, context.meter, ctx.nowMs)
    return decision.ok
      ? { ok: true, value: { events: decision.value, location: `/setup/meters/${context.meter.meterId}` } }
      : decision
  },
  sentences: { ...METER_KEEP_SENTENCES, ...METER_GONE },
  fieldOf: { 'meter-reason-missing': 'reason' },
  statusOf: { 'meter-retired': 409, 'meter-gone': 404 },
}
