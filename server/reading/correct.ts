/** GET and POST /readings/:id/correct and /void: puts a wrong value right, or marks a reading as entered in error. */
import { z } from 'zod'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import type { Reading } from '../../shared/reading/reading.ts'
import { parseGlucose, type GlucoseRefusal } from '../../shared/glucose/value.ts'
import { parseLaboratoryGlucose, readLaboratoryReport, type ReportedGlucose } from '../../shared/glucose/laboratory.ts'
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
        unit: (context.reading.reported ?? context.reading.glucose).unit,
      }),
    ),
  decide: (fields, ctx) => {
    const context = readingContext(ctx)
    if (context === undefined) return refuse('reading-gone')
    const { reading, facts } = context
    if (fields.wristband !== facts.stay.wristband) return refuseWristband(ctx, facts, fields.wristband)
    const glucose = typedAgain(fields.glucose, reading)
    if (!glucose.ok) return glucose
    const readingId = ctx.services.newId()
    const entry = {
      readingId,
      newLowId: ctx.services.newId(),
      wristband: fields.wristband,
      glucose: glucose.value.glucose,
      ...(glucose.value.reported === undefined ? {} : { reported: glucose.value.reported }),
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
    const decision = voidReading(
      { reason: fields.reason, byId: ctx.actor.staffId },
      context.reading,
      ctx.nowMs,
      context.facts,
    )
    return decision.ok
      ? { ok: true, value: { events: decision.value, location: `/readings/${context.reading.readingId}` } }
      : decision
  },
  sentences: { ...VOID_SENTENCES, ...GONE },
  fieldOf: {},
  statusOf: { 'reading-already-corrected': 409, 'reading-already-in-error': 409, 'reading-gone': 404 },
}

/** A correction is typed in the unit of the report, or else of the reading. The unit itself is corrected by a new value. */
function typedAgain(typed: string, { reported, glucose, source }: Reading): Outcome<Typed, GlucoseRefusal> {
  if (reported === undefined) {
    const parsed = (source === 'venous' ? parseLaboratoryGlucose : parseGlucose)(typed, glucose.unit)
    return parsed.ok ? accept({ glucose: parsed.value }) : parsed
  }
  const read = readLaboratoryReport({ typed, unit: reported.unit, wardUnit: glucose.unit, confirmed: true })
  // confirmed: the correction is the second look
  return read.ok || read.reason !== 'laboratory-unusual' ? read : neverAsked()
}

function neverAsked(): never {
  throw new Error('a confirmed report was asked about again')
}

type Typed = Pick<ReportedGlucose, 'glucose'> & Partial<Pick<ReportedGlucose, 'reported'>>
