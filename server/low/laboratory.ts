/** A laboratory's value, charted as venous: what LO and HI wait for, and what a doubtful critical value is settled by. */
import { z } from 'zod'
import { refuse } from '../../shared/outcome.ts'
import { readLaboratoryReport, type ReportRefusal } from '../../shared/glucose/laboratory.ts'
import { recordReading, type ReadingRefusal } from '../../shared/reading/record.ts'
import { parseTakenAt, type TakenAtRefusal } from '../../shared/reading/taken-at.ts'
import { laboratoryForm } from '../../views/low/stay-forms.ts'
import { GLUCOSE_SENTENCES, REPORT_SENTENCES } from '../../views/words/glucose.ts'
import { READING_SENTENCES } from '../../views/words/reading.ts'
import { GLUCOSE, GLUCOSE_FIELD, WRISTBAND } from '../bedside/fields.ts'
import { mismatchEvent, refuseWristband } from '../bedside/near-misses.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { FormSpec, FormState, PageView } from '../http/request-context.ts'
import { bannerOf } from '../bedside/banner.ts'
import { stayOfAddress } from '../bedside/facts-now.ts'

const TIME_MISSING = 'Type when the sample was drawn, as in 07:05.'

const LABORATORY_FORM = z.strictObject({
  wristband: WRISTBAND,
  glucose: GLUCOSE,
  unit: z.enum(['mg/dL', 'mmol/L'], { error: 'Choose the unit on the report.' }),
  confirmed: z.literal('yes').optional(),
  takenAt: z.string({ error: TIME_MISSING }).trim().min(1, { error: TIME_MISSING }).max(30, { error: TIME_MISSING }),
})

type Fields = ReturnType<(typeof LABORATORY_FORM)['parse']>
type Refusal = ReadingRefusal | TakenAtRefusal | ReportRefusal | 'stay-gone'

export const laboratorySpec: FormSpec<Fields, Refusal, StayRequest> = {
  name: 'lab-value',
  schema: LABORATORY_FORM,
  initial: () => ({}),
  draw: drawLaboratory,
  decide: (fields, ctx) => {
    const facts = stayOfAddress(ctx)
    if (facts === undefined) return refuse('stay-gone')
    if (fields.wristband !== facts.stay.wristband) return refuseWristband(ctx, facts, fields.wristband)
    const { policy } = facts.policy
    const glucose = readLaboratoryReport({
      typed: fields.glucose,
      unit: fields.unit,
      wardUnit: policy.unit,
      confirmed: fields.confirmed === 'yes',
    })
    if (!glucose.ok) return glucose
    const takenAt = parseTakenAt(fields.takenAt, policy.zone, ctx.nowMs)
    if (!takenAt.ok) return takenAt
    const readingId = ctx.services.newId()
    const decision = recordReading(
      {
        readingId,
        newLowId: ctx.services.newId(),
        checkKey: null,
        wristband: fields.wristband,
        glucose: glucose.value.glucose,
        reported: glucose.value.reported,
        takenAtMs: takenAt.value,
        meterId: null,
        stripLot: null,
        site: null,
        lateReason: null,
        extraReason: null,
        source: 'venous',
        byId: ctx.actor.staffId,
      },
      // the laboratory's own device is none of the ward's meters
      { ...facts, meters: [] },
      ctx.nowMs,
    )
    return decision.ok ? { ok: true, value: { events: decision.value, location: `/readings/${readingId}` } } : decision
  },
  sentences: {
    ...GLUCOSE_SENTENCES,
    ...READING_SENTENCES,
    ...REPORT_SENTENCES,
    'stay-gone': () => 'This patient is not on a ward of yours any more.',
  },
  fieldOf: {
    ...GLUCOSE_FIELD,
    'reading-other-unit': 'glucose',
    'laboratory-unusual': 'confirmed',
    'time-not-read': 'takenAt',
    'time-in-future': 'takenAt',
    'time-before-admission': 'takenAt',
  },
  statusOf: { 'wristband-wrong': 409, 'stay-discharged': 409, 'stay-gone': 404 },
  keep: (reason, fields, ctx) => {
    const facts = reason === 'wristband-wrong' ? stayOfAddress(ctx) : undefined
    return facts === undefined ? [] : [mismatchEvent(ctx, facts, fields.wristband, 'check')]
  },
}

function drawLaboratory(ctx: StayRequest, state: FormState): PageView | undefined {
  const facts = stayOfAddress(ctx)
  if (facts === undefined) return undefined
  recordPatientRead(ctx, facts.stay.stayId)
  return {
    title: 'Laboratory value',
    body: laboratoryForm({
      stayId: facts.stay.stayId,
      patient: bannerOf(facts, ctx.nowMs, false),
      ...state,
    }),
  }
}
