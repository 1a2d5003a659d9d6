/** Admission to a bed of the ward, and readmission: one form, two addresses. */
import { z } from 'zod'
import { refuse, type Outcome, type Sentences } from '../../shared/outcome.ts'
import { ADMITTED_AGO_MOST_H, admitStay, factsForReturn, type AdmissionRefusal } from '../../shared/stay/admit.ts'
import type { Stay } from '../../shared/stay/stay.ts'
import { parseTakenAt, type TakenAtRefusal } from '../../shared/reading/taken-at.ts'
import { HOUR_MS } from '../../shared/time/span.ts'
import { formatDate, formatName } from '../../views/format.ts'
import { admissionForm } from '../../views/stay/admit.ts'
import { READING_SENTENCES } from '../../views/words/reading.ts'
import { ADMISSION_SENTENCES } from '../../views/words/stay-refusals.ts'
import { WRISTBAND } from '../bedside/fields.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { text, type StayRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import type { PolicyVersion, Ward } from '../store/contract.ts'
import {
  FACTS_FIELDS,
  FACTS_FIELD_OF,
  factsValues,
  HANDS_SCHEMA,
  PAST,
  PLAN_FIELDS,
  PLAN_FIELD_OF,
  PLAN_READ_SENTENCES,
  READ_SENTENCES,
  readFacts,
  readPlan,
  type FactsReadRefusal,
  type PlanReadRefusal,
} from './fields.ts'
import { wornElsewhere } from './load.ts'
import { nilPlanText } from './words.ts'

const NAME_MISSING = { error: 'Type the name.' }
const NAME_MOST = { error: 'A name has at most 80 characters.' }
const BORN = { error: 'Type the date of birth.' }

export const IDENTITY_FIELDS = {
  wristband: WRISTBAND,
  familyName: z.string(NAME_MISSING).trim().min(1, NAME_MISSING).max(80, NAME_MOST),
  givenName: z.string(NAME_MISSING).trim().min(1, NAME_MISSING).max(80, NAME_MOST),
  bornOn: z
    .string(BORN)
    .trim()
    .regex(/^\d{4}-\d{2}-\d{2}$/, BORN),
}
export const IDENTITY_FIELD_OF = {
  'identity-wristband-missing': 'wristband',
  'identity-wristband-worn': 'wristband',
  'identity-name-missing': 'familyName',
  'identity-born-not-a-date': 'bornOn',
  'identity-born-in-future': 'bornOn',
  'identity-born-too-long-ago': 'bornOn',
} as const

const ADMISSION_FORM = z.strictObject({
  ...HANDS_SCHEMA,
  ...IDENTITY_FIELDS,
  admittedAt: PAST,
  ...FACTS_FIELDS,
  ...PLAN_FIELDS,
  bed: z.string().max(20, { error: 'Choose one of these beds.' }).default(''),
})
type Fields = z.output<typeof ADMISSION_FORM>
type Refusal = AdmissionRefusal | FactsReadRefusal | PlanReadRefusal | TakenAtRefusal | 'ward-gone' | 'previous-gone'

const SENTENCES: Sentences<Refusal> = {
  ...ADMISSION_SENTENCES,
  ...READ_SENTENCES,
  ...PLAN_READ_SENTENCES,
  'time-not-read': READING_SENTENCES['time-not-read'],
  'ward-gone': () => 'This ward is not one of yours any more.',
  'previous-gone': () => 'The earlier stay is not on a ward of yours any more.',
}

/** The session's ward with the facts for an admission. Undefined: no ward. */
type Place = { readonly ward: Ward; readonly policy: PolicyVersion; readonly present: readonly Stay[] }

function placeOf(ctx: RequestContext): Place | undefined {
  const { store, scope, wardId, nowMs } = ctx
  const ward = wardId === null ? undefined : store.wards(scope).find((one) => one.wardId === wardId)
  const policy = ward === undefined ? undefined : store.wardPolicy(scope, ward.wardId, nowMs)
  return ward === undefined || policy === undefined
    ? undefined
    : { ward, policy, present: store.staysOfWard(scope, ward.wardId) }
}

/** Beds of the ward without a patient, in walking order. */
export function emptyBeds({
  ward,
  present,
}: Pick<Place, 'present'> & { readonly ward: Pick<Ward, 'beds'> }): readonly string[] {
  return ward.beds.filter((bed) => !present.some((stay) => stay.bed === bed))
}

/** Where the patient comes from: a bed of the address that nobody lies in, or an earlier stay of the address. */
type Origin =
  { readonly kind: 'bed'; readonly bed: string } | { readonly kind: 'return'; readonly previous: Stay | undefined }

type Kind<C extends RequestContext> = {
  readonly name: string
  readonly isReturn: boolean
  readonly originOf: (ctx: C) => Origin
}

function specOf<C extends RequestContext>({ name, isReturn, originOf }: Kind<C>): FormSpec<Fields, Refusal, C> {
  return {
    name,
    schema: ADMISSION_FORM,
    initial: (ctx) => initialValues(ctx, previousOf(originOf(ctx))),
    draw: (ctx, state) => draw(ctx, state, originOf(ctx)),
    decide: (fields, ctx) => decide(fields, ctx, originOf(ctx)),
    sentences: SENTENCES,
    fieldOf: {
      ...IDENTITY_FIELD_OF,
      ...FACTS_FIELD_OF,
      ...PLAN_FIELD_OF,
      'plan-too-far': 'onceAt',
      'born-after-admission': 'bornOn',
      'admitted-in-future': 'admittedAt',
      'admitted-too-long-ago': 'admittedAt',
      'bed-taken-then': 'admittedAt',
      'previous-later': 'admittedAt',
      'time-not-read': 'admittedAt',
      ...(isReturn ? ({ 'bed-not-on-ward': 'bed', 'bed-taken': 'bed' } as const) : {}),
    },
    statusOf: {
      'bed-taken': 409,
      'bed-not-on-ward': 409,
      'identity-wristband-worn': 409,
      'already-here': 409,
      'previous-still-here': 409,
      'ward-gone': 404,
      'previous-gone': 404,
    },
  }
}

/** `bed`: its name on the ward of the login. */
export const BED_ADDRESS = z.object({ bed: text })

/** GET and POST /setup/beds/:bed/admit */
export const admitSpec = specOf<RequestContext<z.output<typeof BED_ADDRESS>>>({
  name: 'admit',
  isReturn: false,
  originOf: ({ params }) => ({ kind: 'bed', bed: params.bed }),
})
/** GET and POST /setup/discharged/:stayId/readmit */
export const readmitSpec = specOf<StayRequest>({
  name: 'readmit',
  isReturn: true,
  originOf: ({ store, scope, params, nowMs }) => ({
    kind: 'return',
    previous: store.stayFacts(scope, params.stayId, nowMs)?.stay,
  }),
})

function previousOf(origin: Origin): Stay | undefined {
  return origin.kind === 'return' ? origin.previous : undefined
}

/** Fields that affect safety have no default: swallowing, eating, diabetes and plan are asked. */
function initialValues(ctx: RequestContext, previous: Stay | undefined): Readonly<Record<string, string>> {
  const place = placeOf(ctx)
  if (previous === undefined || place === undefined) return { feeding: 'oral', isolation: 'none' }
  const {
    swallows: _asked,
    nil: _too,
    ...facts
  } = factsValues(factsForReturn(previous), { zone: place.policy.policy.zone, nowMs: ctx.nowMs })
  const { familyName, givenName, bornOn } = previous
  return { ...facts, familyName, givenName, bornOn }
}

function decide(fields: Fields, ctx: RequestContext, origin: Origin): Outcome<FormDecision, Refusal> {
  const place = placeOf(ctx)
  if (place === undefined) return refuse('ward-gone')
  const previous = previousOf(origin)
  if (origin.kind === 'return' && previous === undefined) return refuse('previous-gone')
  const {
    ward,
    policy: { policy },
    present,
  } = place
  const at = { zone: policy.zone, nowMs: ctx.nowMs }
  const facts = readFacts(fields, fields, null, at)
  if (!facts.ok) return facts
  const plan = readPlan(fields, at)
  if (!plan.ok) return plan
  const admittedAt = parseTakenAt(fields.admittedAt, policy.zone, ctx.nowMs)
  if (!admittedAt.ok) return admittedAt
  const stayId = ctx.services.newId()
  const { wristband, familyName, givenName, bornOn } = fields
  const decision = admitStay(
    {
      stayId,
      bed: origin.kind === 'return' ? fields.bed : origin.bed,
      identity: { wristband, familyName, givenName, bornOn },
      admittedAtMs: admittedAt.value,
      facts: facts.value,
      plan: plan.value,
      byId: ctx.actor.staffId,
    },
    {
      ward,
      policy,
      present,
      left: ctx.store.staysDischarged(ctx.scope, ward.wardId, ctx.nowMs - ADMITTED_AGO_MOST_H * HOUR_MS),
      worn: wornElsewhere(ctx, wristband, null),
      previous: previous ?? null,
      nowMs: ctx.nowMs,
    },
  )
  return decision.ok ? { ok: true, value: { events: decision.value, location: `/stays/${stayId}` } } : decision
}

function draw(ctx: RequestContext, state: FormState, origin: Origin): PageView | undefined {
  const place = placeOf(ctx)
  const previous = previousOf(origin)
  if (place === undefined) return undefined
  if (origin.kind === 'return' ? previous === undefined : !place.ward.beds.includes(origin.bed)) return undefined
  if (previous !== undefined) recordPatientRead(ctx, previous.stayId)
  const empty = emptyBeds(place)
  return {
    title: origin.kind === 'return' ? 'Readmit' : 'Admit',
    body: admissionForm({
      action:
        origin.kind === 'bed'
          ? `setup/beds/${encodeURIComponent(origin.bed)}/admit`
          : `setup/discharged/${previous?.stayId ?? ''}/readmit`,
      wardName: place.ward.name,
      bed: origin.kind === 'return' ? null : { name: origin.bed, taken: !empty.includes(origin.bed) },
      beds: empty,
      previous: previous === undefined ? null : `${formatName(previous)}, born ${formatDate(previous.bornOn)}`,
      nilPlan: nilPlanText(place.policy.policy),
      ...state,
    }),
  }
}
