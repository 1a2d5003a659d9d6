/** The check: wristband, value, or the reason why it is not done. */
import { refuse, type Outcome } from '../../shared/outcome.ts'
import { parseGlucose, type GlucoseRefusal } from '../../shared/glucose/value.ts'
import { excuseCheck, reasonsFor, type ExcuseRefusal } from '../../shared/reading/excuse.ts'
import { recordReading, type ReadingRefusal } from '../../shared/reading/record.ts'
import { parseTakenAt, type TakenAtRefusal } from '../../shared/reading/taken-at.ts'
import { checkState } from '../../shared/check/state.ts'
import { alreadyCharted } from '../../views/check/charted.ts'
import { excuseForm } from '../../views/check/excuse.ts'
import { EXCUSE_REASON, MISSED_REASON } from '../../views/words/check.ts'
import { GLUCOSE_SENTENCES } from '../../views/words/glucose.ts'
import { EXCUSE_SENTENCES, READING_SENTENCES, wrongWristband } from '../../views/words/reading.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { echo, parseFields, readFields } from '../http/fields.ts'
import { formRoute, tryToStore } from '../http/forms.ts'
import { messageResponse, page, redirect, type PageResponse } from '../http/page.ts'
import { NURSES } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { CHECK_ADDRESS, STAY_ADDRESS, type CheckRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView } from '../http/request-context.ts'
import { bannerOf } from '../bedside/banner.ts'
import {
  CHECK_FORM_NAME,
  confirmStep,
  drawCheck,
  drawCheckForm,
  fingerOf,
  happenedText,
  whatCheck,
  whenCheck,
} from './form.ts'
import { CHECK_FORM, CONFIRM_FORM, EXCUSE_FORM } from './forms.ts'
import { GLUCOSE_FIELD } from '../bedside/fields.ts'
import { checkContext, checkToDecide } from './load.ts'
import { stayOfAddress } from '../bedside/facts-now.ts'
import { mismatchEvent, nearMissOf, refuseWristband, wrongWristbandDetails } from '../bedside/near-misses.ts'

export function registerCheck(server: Server): void {
  formRoute(server, { url: '/checks/:key', roles: NURSES, params: CHECK_ADDRESS, spec: CHECK })
  formRoute(server, { url: '/checks/:key/excuse', roles: NURSES, params: CHECK_ADDRESS, spec: EXCUSE })
  route(server, { method: 'GET', url: '/checks/:key/patient', roles: NURSES, params: CHECK_ADDRESS }, (ctx) =>
    toCheck(ctx),
  )
  route(server, { method: 'POST', url: '/checks/:key/patient', roles: NURSES, params: CHECK_ADDRESS }, confirm)
  route(server, { method: 'GET', url: '/stays/:stayId/extra', roles: NURSES, params: STAY_ADDRESS }, (ctx) => {
    const facts = stayOfAddress(ctx)
    return facts === undefined
      ? messageResponse(ctx, 404, 'not-found')
      : redirect(ctx, `/checks/extra.${facts.stay.stayId}.${ctx.services.newId()}`)
  })
}

/** A reload of the wristband step's answer begins the check anew. */
function toCheck(ctx: CheckRequest): PageResponse {
  const context = checkContext(ctx, ctx.params.key)
  return context === undefined ? messageResponse(ctx, 404, 'not-found') : redirect(ctx, `/checks/${context.check.key}`)
}

/** The wristband step: the right one opens the form, a wrong one stops here, is said loudly and kept as a near miss. */
function confirm(ctx: CheckRequest): PageResponse {
  const { key } = ctx.params
  const context = checkContext(ctx, key)
  if (context === undefined) return messageResponse(ctx, 404, 'not-found')
  const sent = readFields(ctx.request.body)
  const form = parseFields(CONFIRM_FORM, sent)
  if (!form.ok) {
    const typed = echo(sent.fields, [])['wristband'] ?? ''
    return page(
      ctx,
      422,
      confirmStep(ctx, context, { typed, wrong: null, error: form.errors['wristband'] ?? form.problem }),
    )
  }
  const { wristband } = form.value
  if (wristband !== context.facts.stay.wristband) {
    tryToStore(ctx, () => {
      ctx.store.append([mismatchEvent(ctx, context.facts, wristband, 'check')])
      return null
    })
    return page(
      ctx,
      409,
      confirmStep(ctx, context, {
        typed: '',
        wrong: wrongWristband(wrongWristbandDetails(ctx, context.facts, wristband)),
        error: null,
      }),
    )
  }
  const view = drawCheckForm(ctx, key, wristband)
  return view === undefined ? messageResponse(ctx, 404, 'not-found') : page(ctx, 200, view)
}

type CheckFields = ReturnType<(typeof CHECK_FORM)['parse']>
type CheckRefusal = ReadingRefusal | TakenAtRefusal | GlucoseRefusal

const CHECK: FormSpec<CheckFields, CheckRefusal, CheckRequest> = {
  name: CHECK_FORM_NAME,
  schema: CHECK_FORM,
  initial: () => ({}),
  draw: (ctx, state) => drawCheck(ctx, ctx.params.key, state),
  decide: decideCheck,
  sentences: { ...GLUCOSE_SENTENCES, ...READING_SENTENCES },
  fieldOf: {
    ...GLUCOSE_FIELD,
    'reading-other-unit': 'glucose',
    'time-not-read': 'takenAt',
    'time-in-future': 'takenAt',
    'time-before-admission': 'takenAt',
    'check-not-open': 'takenAt',
    'late-reason-missing': 'lateReason',
    'meter-missing': 'meterId',
    'meter-unknown': 'meterId',
    'meter-other-unit': 'meterId',
    'strip-lot-unknown': 'stripLot',
    'finger-missing': 'finger',
    'finger-restricted': 'finger',
    'extra-reason-missing': 'extraReason',
  },
  statusOf: { 'wristband-wrong': 409, 'check-already-done': 409, 'stay-discharged': 409, 'check-unknown': 404 },
  emptyIsNow: { field: 'takenAt', zone: (ctx) => checkToDecide(ctx, ctx.params.key)?.zone },
  keep: (reason, { wristband }, ctx) =>
    nearMissOf(ctx, { reason, wristband, at: 'check' }, () => checkContext(ctx, ctx.params.key)?.facts),
}

function decideCheck(fields: CheckFields, ctx: CheckRequest): Outcome<FormDecision, CheckRefusal> {
  const { key } = ctx.params
  const context = checkToDecide(ctx, key)
  if (context === undefined) return refuse('check-unknown')
  const { facts, zone } = context
  if (fields.wristband !== facts.stay.wristband) return refuseWristband(ctx, facts, fields.wristband)
  const glucose = parseGlucose(fields.glucose, facts.policy.policy.unit)
  if (!glucose.ok) return glucose
  const takenAt = parseTakenAt(fields.takenAt, zone, ctx.nowMs)
  if (!takenAt.ok) return takenAt
  const readingId = ctx.services.newId()
  const decision = recordReading(
    {
      readingId,
      newLowId: ctx.services.newId(),
      checkKey: key,
      wristband: fields.wristband,
      glucose: glucose.value,
      takenAtMs: takenAt.value,
      meterId: fields.meterId,
      stripLot: fields.stripLot === '' ? null : fields.stripLot,
      site: fingerOf(fields.finger),
      lateReason: fields.lateReason,
      extraReason: fields.extraReason,
      source: 'capillary',
      byId: ctx.actor.staffId,
    },
    facts,
    ctx.nowMs,
  )
  if (!decision.ok) return decision
  return {
    ok: true,
    value: {
      events: decision.value,
      location: `/readings/${readingId}`,
      effects: [{ kind: 'session-meter', meterId: fields.meterId }],
    },
  }
}

type ExcuseFields = ReturnType<(typeof EXCUSE_FORM)['parse']>

const EXCUSE: FormSpec<ExcuseFields, ExcuseRefusal | 'check-unknown', CheckRequest> = {
  name: 'excuse',
  schema: EXCUSE_FORM,
  initial: () => ({}),
  draw: drawExcuse,
  decide: (fields, ctx) => {
    const context = checkContext(ctx, ctx.params.key)
    if (context === undefined) return refuse('check-unknown')
    const decision = excuseCheck(
      { reason: fields.reason, note: fields.note, byId: ctx.actor.staffId },
      { check: context.check, outcome: context.outcome, wardId: context.facts.stay.wardId },
      ctx.nowMs,
    )
    return decision.ok ? { ok: true, value: { events: decision.value, location: '/round' } } : decision
  },
  sentences: { ...EXCUSE_SENTENCES, 'check-unknown': READING_SENTENCES['check-unknown'] },
  fieldOf: { 'excuse-reason-wrong': 'reason', 'excuse-note-missing': 'note' },
  statusOf: {
    'excuse-already-done': 409,
    'excuse-already-excused': 409,
    'excuse-recheck': 409,
    'excuse-extra': 409,
    'check-unknown': 404,
  },
}

function drawExcuse(ctx: CheckRequest, state: FormState): PageView | undefined {
  const context = checkContext(ctx, ctx.params.key)
  if (context === undefined) return undefined
  const { check, outcome, facts } = context
  recordPatientRead(ctx, facts.stay.stayId)
  const patient = bannerOf(facts, ctx.nowMs, true)
  const what = whatCheck(check)
  if (outcome !== undefined) {
    const readingId = outcome.kind === 'done' ? outcome.readingId : null
    return {
      title: what,
      body: alreadyCharted({
        what,
        patient,
        stayId: facts.stay.stayId,
        problem: state.problem,
        happened: happenedText(ctx, context, outcome),
        readingId,
        notCharted: null,
      }),
    }
  }
  const checkStateNow = checkState(check, undefined, ctx.nowMs)
  const words: Readonly<Record<string, string>> = checkStateNow === 'missed' ? MISSED_REASON : EXCUSE_REASON
  const reasons = reasonsFor(checkStateNow).map((reason) => ({ value: reason, label: words[reason] ?? reason }))
  return {
    title: what,
    body: excuseForm({
      checkKey: check.key,
      what,
      when: whenCheck(context, ctx.nowMs),
      isMissed: checkStateNow === 'missed',
      patient,
      ...state,
      reasons,
    }),
  }
}
