/** GET and POST /readings/:id/correct and /void: puts a wrong value right, or marks a reading as entered in error. */
import { z } from 'zod'
import { refuse } from '../../shared/outcome.ts'
import { parseGlucose, type GlucoseRefusal } from '../../shared/glucose/value.ts'
import { parseLaboratoryGlucose } from '../../shared/glucose/laboratory.ts'
import { correctReading, voidReading, type CorrectionRefusal, type VoidRefusal } from '../../shared/reading/correct.ts'
import { correctForm, voidForm } from '../../views/reading/change.ts'
import { GLUCOSE_SENTENCES } from '../../views/words/glucose.ts'
import { CORRECTION_SENTENCES, VOID_SENTENCES } from '../../views/words/reading.ts'
import { GLUCOSE, GLUCOSE_FIELD, WRISTBAND } from '../bedside/fields.ts'
import { nearMissOf, refuseWristband } from '../bedside/near-misses.ts'
import { readingContext } from '../bedside/reading-context.ts'
import type { ReadingRequest } from '../http/parameters.ts'
import type { FormSpec } from '../http/request-context.ts'
import { drawFor, GONE, REASON, shortForm, type GoneRefusal } from './form.ts'

const CORRECT_FORM = z.strictObject({ wristband: WRISTBAND, glucose: GLUCOSE, reason: REASON })

type CorrectFields = ReturnType<(typeof CORRECT_FORM)['parse']>

export const correctSpec: FormSpec<CorrectFields, CorrectionRefusal | GlucoseRefusal | GoneRefusal, ReadingRequest> = {
  name: 'correct',
  schema: CORRECT_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawFor(ctx, 'Correct a reading', (context) =>
      correctForm({
        ...shortForm(ctx, context, state),
        readingId: context.reading.readingId,
        unit: context.reading.glucose.unit,
      }),
    ),
  decide: (fields, ctx) => {
    const context = readingContext(ctx)
    if (context === undefined) return refuse('reading-gone')
    const { reading, facts } = context
    if (fields.wristband !== facts.stay.wristband) return refuseWristband(ctx, facts, fields.wristband)
    const glucose = (reading.source === 'venous' ? parseLaboratoryGlucose : parseGlucose)(
      fields.glucose,
      reading.glucose.unit,
    )
    if (!glucose.ok) return glucose
    const readingId = ctx.services.newId()
    const entry = {
      readingId,
      newLowId: ctx.services.newId(),
      wristband: fields.wristband,
      glucose: glucose.value,
      reason: fields.reason,
      byId: ctx.actor.staffId,
    }
    const decision = correctReading(entry, reading, facts, ctx.nowMs)
    return decision.ok ? { ok: true, value: { events: decision.value, location: `/readings/${readingId}` } } : decision
  },
  sentences: { ...GLUCOSE_SENTENCES, ...CORRECTION_SENTENCES, ...GONE },
  fieldOf: {
    ...GLUCOSE_FIELD,
    'reading-other-unit': 'glucose',
    'correction-same-value': 'glucose',
  },
  statusOf: {
    'wristband-wrong': 409,
    'stay-discharged': 409,
    'reading-already-corrected': 409,
    'reading-already-in-error': 409,
    'reading-gone': 404,
  },
  keep: (reason, { wristband }, ctx) =>
    nearMissOf(ctx, { reason, wristband, at: 'correction' }, () => readingContext(ctx)?.facts),
}

const VOID_FORM = z.strictObject({ reason: REASON })

type VoidFields = ReturnType<(typeof VOID_FORM)['parse']>

export const voidSpec: FormSpec<VoidFields, VoidRefusal | GoneRefusal, ReadingRequest> = {
  name: 'void',
  schema: VOID_FORM,
  initial: () => ({}),
  draw: (ctx, state) =>
    drawFor(ctx, 'Entered in error', (context) =>
      voidForm({ ...shortForm(ctx, context, state), readingId: context.reading.readingId }),
    ),
  decide: (fields, ctx) => {
    const context = readingContext(ctx)
    if (context === undefined) return refuse('reading-gone')
    const decision = voidReading({ reason: fields.reason, byId: ctx.actor.staffId }, context.reading, ctx.nowMs)
    return decision.ok
      ? { ok: true, value: { events: decision.value, location: `/readings/${context.reading.readingId}` } }
      : decision
  },
  sentences: { ...VOID_SENTENCES, ...GONE },
  fieldOf: {},
  statusOf: { 'reading-already-corrected': 409, 'reading-already-in-error': 409, 'reading-gone': 404 },
}
