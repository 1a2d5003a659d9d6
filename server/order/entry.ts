/** The three order forms: a patient's new order, a new version of one, a ward's standard order. */
import { accept, refuse, type Outcome } from '../../shared/outcome.ts'
import { limitsFromTyped, orderFromTyped, type EntryRefusal } from '../../shared/order/entry.ts'
import type { Typed } from '../../shared/order/entry-fields.ts'
import { typedFromOrder } from '../../shared/order/entry-values.ts'
import { INSULIN_CLASS, type OrderVersion } from '../../shared/order/order.ts'
import { latestVersion, reviseOrder, writeOrder, type WriteRefusal } from '../../shared/order/write.ts'
import { versionInForce } from '../../shared/policy/in-force.ts'
import type { WardPolicy } from '../../shared/policy/ward-policy.ts'
import { localDateTime } from '../../shared/time/zone.ts'
import { formatUnits } from '../../views/format.ts'
import { orderEntryPage, type OrderEntryView } from '../../views/order/entry.ts'
import { ENTRY_SENTENCES, WRITE_SENTENCES, type FormRefusal } from '../../views/words/order.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { OrderRequest, StayRequest } from '../http/parameters.ts'
import type { FormSpec, FormState, PageView, RequestContext } from '../http/request-context.ts'
import { bannerOf } from '../bedside/banner.ts'
import { stayOfAddress } from '../bedside/facts-now.ts'
import type { StayFacts } from '../store/contract.ts'
import { headOf } from '../bedside/event-head.ts'
import { FRESH_ORDER, PATIENT_FORM, STANDARD_FORM } from './form-schema.ts'
import { NO_PREVIEW, previewOf } from './preview.ts'
import { hasDiffered } from './reading-load.ts'

export type OrderFormRefusal = EntryRefusal | WriteRefusal | FormRefusal

const SHARED = {
  sentences: { ...ENTRY_SENTENCES, ...WRITE_SENTENCES },
  // every refusal of a typed field names it itself
  fieldOf: { 'standard-ward-unknown': 'ward' },
  statusOf: {
    'stay-discharged': 409,
    'order-changed': 409,
    'order-ended': 409,
    'order-overlaps': 409,
    'basal-order-beside': 409,
    'stay-gone': 404,
  },
} as const

/** The policy that a ward follows now; undefined when this person does not set the ward up. */
export function policyToSetUp(ctx: RequestContext, wardId: string): WardPolicy | undefined {
  return versionInForce(ctx.store.policyVersions(ctx.scope, wardId), ctx.nowMs)?.policy
}

export const newOrderSpec: FormSpec<Typed, OrderFormRefusal, StayRequest> = {
  ...SHARED,
  name: 'order-new',
  schema: PATIENT_FORM,
  initial: (ctx) => {
    const facts = stayOfAddress(ctx)
    return facts === undefined ? {} : { ...FRESH_ORDER, startsAt: localDateTime(ctx.nowMs, facts.policy.policy.zone) }
  },
  draw: (ctx, state) => {
    const facts = stayOfAddress(ctx)
    return facts === undefined
      ? undefined
      : drawPatient(ctx, state, facts, {
          heading: 'New insulin order',
          action: `stays/${facts.stay.stayId}/orders/new`,
          note: null,
          basedOn: null,
        })
  },
  decide: (typed, ctx) => {
    const facts = stayOfAddress(ctx)
    if (facts === undefined) return refuse('stay-gone')
    const order = read(typed, ctx, facts.policy.policy, 'patient')
    if (!order.ok) return order
    const orderId = ctx.services.newId()
    const decision = writeOrder(
      { orderId, order: order.value, byId: ctx.actor.staffId },
      { stay: facts.stay, orders: ctx.store.orderVersions(ctx.scope, facts.stay.stayId), nowMs: ctx.nowMs },
    )
    return decision.ok ? accept({ events: decision.value, location: `/orders/${orderId}/1` }) : decision
  },
}

export const reviseOrderSpec: FormSpec<Typed, OrderFormRefusal, OrderRequest> = {
  ...SHARED,
  name: 'order-revise',
  schema: PATIENT_FORM,
  initial: (ctx) => {
    const found = revised(ctx)
    if (found === undefined) return {}
    const { zone } = found.facts.policy.policy
    return {
      ...FRESH_ORDER,
      ...(typedFromOrder(found.latest.order, zone) ?? {}),
      startsAt: localDateTime(ctx.nowMs, zone),
      basedOn: String(found.latest.version),
    }
  },
  draw: (ctx, state) => {
    const found = revised(ctx)
    if (found === undefined) return undefined
    const { facts, latest } = found
    const { zone } = facts.policy.policy
    const problem =
      state.problem ??
      (latest.endedAtMs === null || found.differed ? null : WRITE_SENTENCES['order-ended']({})) ??
      (typedFromOrder(latest.order, zone) === null ? WRITE_SENTENCES['order-too-long']({}) : null)
    const note = `Version ${String(latest.version)}, ordered by ${latest.order.prescriber}, stays readable and counts until the new version starts. The new one gives no dose until a second person has verified it.`
    return drawPatient(ctx, { ...state, problem }, facts, {
      heading: `New version of an order for ${latest.order.insulin}`,
      action: `orders/${latest.orderId}/revise`,
      note,
      basedOn: state.values['basedOn'] ?? '',
    })
  },
  decide: (typed, ctx) => {
    const found = revised(ctx)
    if (found === undefined) return refuse('stay-gone')
    const { facts, latest, orders } = found
    const order = read(typed, ctx, facts.policy.policy, 'patient')
    if (!order.ok) return order
    const decision = reviseOrder(
      {
        orderId: latest.orderId,
        basedOn: Number(typed['basedOn'] ?? 0),
        order: order.value,
        byId: ctx.actor.staffId,
      },
      { stay: facts.stay, orders, nowMs: ctx.nowMs, differed: found.differed },
    )
    return decision.ok
      ? accept({ events: decision.value, location: `/orders/${latest.orderId}/${String(latest.version + 1)}` })
      : decision
  },
}

export const standardOrderSpec: FormSpec<Typed, OrderFormRefusal> = {
  ...SHARED,
  name: 'standard-order-new',
  schema: STANDARD_FORM,
  initial: (ctx) => {
    const wards = ctx.store.setUpWards(ctx.scope)
    return { ...FRESH_ORDER, ward: ctx.wardId ?? (wards.length === 1 ? (wards[0]?.wardId ?? '') : '') }
  },
  draw: drawStandard,
  decide: (typed, ctx) => {
    const wardId = typed['ward'] ?? ''
    const policy = policyToSetUp(ctx, wardId)
    if (policy === undefined) return refuse('standard-ward-unknown')
    const order = read(typed, ctx, policy, 'standard')
    if (!order.ok) return order
    const name = typed['name'] ?? ''
    const same = ctx.store
      .standardOrders(ctx.scope, wardId)
      .filter((one) => one.name === name && one.endedAtMs === null)
    const newest = same.reduce<(typeof same)[number] | null>(
      (best, one) => (best === null || one.version > best.version ? one : best),
      null,
    )
    const standardOrderId = newest?.standardOrderId ?? ctx.services.newId()
    return accept({
      events: [
        {
          ...headOf(ctx, { wardId }),
          type: 'standard-order-written',
          body: { standardOrderId, version: (newest?.version ?? 0) + 1, name, order: order.value },
        },
      ],
      location: `/setup/standard-orders/${standardOrderId}`,
    })
  },
}

/** "Show" without a script comes as the form itself: it comes back with the drawing, and nothing is stored. */
function read(
  typed: Typed,
  ctx: RequestContext,
  policy: WardPolicy,
  entry: 'patient' | 'standard',
): ReturnType<typeof orderFromTyped> | Outcome<never, 'only-shown'> {
  if (typed['show'] !== undefined) return refuse('only-shown')
  return orderFromTyped(typed, { policy, nowMs: ctx.nowMs, entry })
}

type Revised = {
  readonly facts: StayFacts
  readonly latest: OrderVersion
  readonly orders: readonly OrderVersion[]
  readonly differed: boolean
}

/** The order of the address with its newest version; undefined when there is none such on a ward of this person's. */
function revised(ctx: OrderRequest): Revised | undefined {
  const { orderId } = ctx.params
  const first = ctx.store.orderVersion(ctx.scope, orderId, 1)
  if (first === undefined) return undefined
  const facts = ctx.store.stayFacts(ctx.scope, first.stayId, ctx.nowMs)
  const orders = ctx.store.orderVersions(ctx.scope, first.stayId)
  const latest = latestVersion(orders, orderId)
  if (facts === undefined || latest === undefined) return undefined
  const stopped = ctx.store
    .orderStops(ctx.scope, first.stayId)
    .some((stop) => stop.orderId === orderId && stop.atMs >= latest.writtenAtMs)
  return {
    facts,
    latest,
    orders,
    differed: !stopped && hasDiffered(latest, ctx.store.orderVerifications(ctx.scope, orderId)),
  }
}

const INSULINS = Object.keys(INSULIN_CLASS)

type Head = {
  readonly heading: string
  readonly action: string
  readonly note: string | null
  readonly basedOn: string | null
}

function drawPatient(
  ctx: RequestContext,
  state: FormState,
  facts: StayFacts,
  { heading, action, note, basedOn }: Head,
): PageView {
  const {
    stay,
    policy: { policy },
  } = facts
  recordPatientRead(ctx, stay.stayId)
  return {
    title: heading,
    body: orderEntryPage({
      ...common(ctx, state, policy),
      heading,
      action,
      note,
      submit: 'Write the order',
      of: { kind: 'patient', patient: bannerOf(facts, ctx.nowMs, true), wardId: stay.wardId, basedOn },
      back: { path: `stays/${stay.stayId}`, label: 'Patient page' },
    }),
  }
}

function drawStandard(ctx: RequestContext, state: FormState): PageView {
  const wards = ctx.store.setUpWards(ctx.scope).map(({ wardId, name }) => ({ value: wardId, label: name }))
  const policy = policyToSetUp(ctx, state.values['ward'] ?? '')
  return {
    title: 'New standard order',
    body: orderEntryPage({
      ...common(ctx, state, policy),
      heading: 'New standard order of a ward',
      action: 'setup/standard-orders/new',
      submit: 'Write the standard order',
      of: { kind: 'standard', wards },
      note: 'No dose comes from a standard order. Another administrator approves it; then it can be copied into a patient’s order, which is verified like any other.',
      back: { path: 'setup/standard-orders', label: 'Standard orders' },
    }),
  }
}

type Common = Pick<OrderEntryView, 'unit' | 'wardLimit' | 'insulins' | 'preview' | 'values' | 'errors' | 'problem'>

function common(ctx: RequestContext, { values, errors, problem }: FormState, policy: WardPolicy | undefined): Common {
  return {
    values,
    errors,
    problem,
    unit: policy?.unit ?? null,
    wardLimit:
      policy === undefined
        ? null
        : formatUnits(limitsFromTyped({ insulin: values['insulin'] ?? '' }, policy).maxSingleDose),
    insulins: INSULINS,
    preview: policy === undefined ? NO_PREVIEW : previewOf(values, policy, ctx.nowMs),
  }
}
