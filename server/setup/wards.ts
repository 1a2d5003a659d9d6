/** The wards as administrators set them up: the list, a new ward, a ward's beds. No patient is shown. */
import { z } from 'zod'
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { openWard, setBeds } from '../../shared/policy/ward.ts'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import { isZone } from '../../shared/time/zone.ts'
import { bedsForm, wardForm, wardsPage } from '../../views/setup/wards.ts'
import { BEDS_SENTENCES, OPEN_WARD_SENTENCES } from '../../views/words/policy.ts'
import { formRoute } from '../http/forms.ts'
import { page, type PageResponse } from '../http/page.ts'
import { ADMINISTRATORS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { type WardRequest, WARD_ADDRESS } from '../http/parameters.ts'
import type { FormDecision, FormSpec, RequestContext } from '../http/request-context.ts'
import { headOf } from '../bedside/event-head.ts'
import { policyContext, policyOfWard, waitingView } from './policy-load.ts'

export function registerWards(server: Server): void {
  route(server, { method: 'GET', url: '/setup/wards', roles: ADMINISTRATORS }, listWards)
  formRoute(server, { url: '/setup/wards/new', roles: ADMINISTRATORS, spec: newWardSpec })
  formRoute(server, { url: '/setup/wards/:wardId/beds', roles: ADMINISTRATORS, params: WARD_ADDRESS, spec: bedsSpec })
}

function listWards(ctx: RequestContext): PageResponse {
  const contexts = ctx.store.setUpWards(ctx.scope).flatMap(({ wardId }) => policyOfWard(ctx, wardId) ?? [])
  return page(ctx, 200, {
    title: 'Wards',
    body: wardsPage({
      wards: contexts.map(({ ward, inForce }) => ({
        wardId: ward.wardId,
        name: ward.name,
        unit: inForce.policy.unit,
        zone: inForce.policy.zone,
        beds: ward.beds.length,
        policy: `Version ${String(inForce.version)}`,
      })),
      waiting: contexts.flatMap((context) => context.waiting.map((change) => waitingView(ctx, context, change))),
    }),
  })
}

/** 60 beds of 12 characters with line ends always fit. */
const BEDS_TEXT = z.string().max(2000, 'At most 60 beds.').default('')

const WARD_FORM = z.strictObject({
  name: z.string('Name the ward.').trim().min(1, 'Name the ward.').max(60, 'At most 60 characters.'),
  unit: z.enum(['mg/dL', 'mmol/L'], 'Choose the unit.'),
  zone: z
    .string('Write the time zone.')
    .trim()
    .refine(isZone, 'Write a zone of the IANA database, such as America/Chicago.'),
  beds: BEDS_TEXT,
})

const newWardSpec: FormSpec<z.output<typeof WARD_FORM>, keyof typeof OPEN_WARD_SENTENCES> = {
  name: 'ward-new',
  schema: WARD_FORM,
  initial: () => ({}),
  draw: (_visit, state) => ({ title: 'Open a ward', body: wardForm(state) }),
  decide: ({ name, unit, zone, beds }, ctx) => {
    const names = ctx.store.setUpWards(ctx.scope).map((ward) => ward.name)
    const opened = openWard({ name, beds, names })
    if (!opened.ok) return opened
    const wardId = ctx.services.newId()
    const head = headOf(ctx, { wardId })
    return accept({
      events: [
        { ...head, type: 'ward-opened', body: { name, beds: opened.value } },
        { ...head, type: 'policy-set', body: { version: 1, policy: defaultPolicy(unit, zone) } },
      ],
      location: `/setup/wards/${wardId}/policy`,
    })
  },
  sentences: OPEN_WARD_SENTENCES,
  fieldOf: {
    'ward-name-taken': 'name',
    'beds-missing': 'beds',
    'beds-too-many': 'beds',
    'bed-too-long': 'beds',
    'bed-twice': 'beds',
  },
  statusOf: {},
}

/** `shown`: the beds when the form was rendered. */
const BEDS_FORM = z.strictObject({ beds: BEDS_TEXT, shown: z.string().max(2000).default('') })
/** Separates the beds in the hidden field, because a browser removes line ends there. */
const BETWEEN = '|'

const bedsSpec: FormSpec<z.output<typeof BEDS_FORM>, keyof typeof BEDS_SENTENCES, WardRequest> = {
  name: 'ward-beds',
  schema: BEDS_FORM,
  initial: (ctx) => {
    const beds = policyContext(ctx)?.ward.beds ?? []
    return { beds: beds.join('\n'), shown: beds.join(BETWEEN) }
  },
  draw: (ctx, state) => {
    const context = policyContext(ctx)
    return context === undefined
      ? undefined
      : {
          title: 'Beds',
          body: bedsForm({
            wardId: context.ward.wardId,
            name: context.ward.name,
            unit: context.newest.policy.unit,
            ...state,
          }),
        }
  },
  decide: decideBeds,
  sentences: BEDS_SENTENCES,
  fieldOf: {
    'beds-missing': 'beds',
    'beds-too-many': 'beds',
    'bed-too-long': 'beds',
    'bed-twice': 'beds',
    'beds-unchanged': 'beds',
    'bed-occupied': 'beds',
  },
  statusOf: { 'ward-gone': 404, 'beds-moved-on': 409, 'bed-occupied': 409 },
}

function decideBeds(
  fields: z.output<typeof BEDS_FORM>,
  ctx: WardRequest,
): Outcome<FormDecision, keyof typeof BEDS_SENTENCES> {
  const context = policyContext(ctx)
  if (context === undefined) return refuse('ward-gone')
  const { ward } = context
  const set = setBeds({
    typed: fields.beds,
    shown: fields.shown.split(BETWEEN),
    now: ward.beds.join(BETWEEN).split(BETWEEN),
    occupied: ctx.store.bedsOccupied(ctx.scope, ward.wardId),
  })
  if (!set.ok) return set
  return accept({
    events: [{ ...headOf(ctx, { wardId: ward.wardId }), type: 'ward-beds-set', body: { beds: set.value } }],
    location: '/setup/wards',
  })
}
