/** Symptoms with no low number: a snack is charted, and no low event is opened. */
import { z } from 'zod'
import { refuse } from '../../shared/outcome.ts'
import { treatSymptoms, type SymptomsRefusal } from '../../shared/low/symptoms.ts'
import { symptomsForm } from '../../views/low/stay-forms.ts'
import { SYMPTOMS_SENTENCES } from '../../views/words/low.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { FormSpec, FormState, PageView } from '../http/request-context.ts'
import { bannerOf } from '../bedside/banner.ts'
import { stayOfAddress } from '../bedside/facts-now.ts'

const MOST = { error: 'At most 200 characters.' }
const SYMPTOMS_MISSING = { error: 'Say which symptoms.' }
const WHAT_MISSING = { error: 'Say what was given.' }

const SYMPTOMS_FORM = z.strictObject({
  symptoms: z.string(SYMPTOMS_MISSING).trim().min(1, SYMPTOMS_MISSING).max(200, MOST),
  what: z.string(WHAT_MISSING).trim().min(1, WHAT_MISSING).max(200, MOST),
})

type Fields = ReturnType<(typeof SYMPTOMS_FORM)['parse']>

export const symptomsSpec: FormSpec<Fields, SymptomsRefusal | 'stay-gone', StayRequest> = {
  name: 'symptoms',
  schema: SYMPTOMS_FORM,
  initial: () => ({}),
  draw: drawSymptoms,
  decide: (fields, ctx) => {
    const facts = stayOfAddress(ctx)
    if (facts === undefined) return refuse('stay-gone')
    const entry = {
      symptomsId: ctx.services.newId(),
      symptoms: fields.symptoms,
      what: fields.what,
      byId: ctx.actor.staffId,
    }
    const decision = treatSymptoms(entry, {
      stay: facts.stay,
      readings: facts.readings,
      policy: facts.policy.policy,
      nowMs: ctx.nowMs,
    })
    return decision.ok
      ? { ok: true, value: { events: decision.value, location: `/stays/${facts.stay.stayId}` } }
      : decision
  },
  sentences: { ...SYMPTOMS_SENTENCES, 'stay-gone': () => 'This patient is not on a ward of yours any more.' },
  fieldOf: { 'symptoms-missing': 'symptoms', 'symptoms-what-missing': 'what' },
  statusOf: {
    'symptoms-stay-discharged': 409,
    'symptoms-not-measured': 409,
    'symptoms-value-low': 409,
    'stay-gone': 404,
  },
}

function drawSymptoms(ctx: StayRequest, state: FormState): PageView | undefined {
  const facts = stayOfAddress(ctx)
  if (facts === undefined) return undefined
  recordPatientRead(ctx, facts.stay.stayId)
  return {
    title: 'Symptoms',
    body: symptomsForm({ stayId: facts.stay.stayId, patient: bannerOf(facts, ctx.nowMs, true), ...state }),
  }
}
