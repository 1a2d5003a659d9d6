/** GET and POST /stays/:stayId/orders/standard: an approved standard order copied into an order for one patient. */
import { z } from 'zod'
import { refuse, type Outcome } from '../../shared/outcome.ts'
import { headFromTyped, type HeadRefusal } from '../../shared/order/entry.ts'
import { approvedStandards, copyStandard, type CopyRefusal, type StandardOrder } from '../../shared/order/standard.ts'
import { isRunning } from '../../shared/order/stop.ts'
import { localDateTime } from '../../shared/time/zone.ts'
import { standardOrderTable } from '../../views/dose/order-table.ts'
import { copyForm } from '../../views/order/standard.ts'
import { ENTRY_SENTENCES, WRITE_SENTENCES } from '../../views/words/order.ts'
import { COPY_SENTENCES } from '../../views/words/verification.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { StayRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec, FormState, PageView } from '../http/request-context.ts'
import { bannerOf } from '../bedside/banner.ts'
import { stayOfAddress } from '../bedside/facts-now.ts'
import { runsText, titleOf } from './reading-load.ts'

const PRESCRIBER = 'Name the prescriber who signed it for this patient.'
const when = z.string().trim().max(30, 'At most 30 characters.').default('')
export const CopyForm = z.strictObject({
  standard: z.string('Choose the standard order.').regex(/^[a-z0-9]{16}\.[1-9]\d{0,4}$/, 'Choose the standard order.'),
  prescriber: z.string(PRESCRIBER).trim().min(1, PRESCRIBER).max(100, 'A name has at most 100 characters.'),
  received: z.enum(['written', 'telephone'], 'Choose how it came.'),
  readBack: z
    .literal('yes', 'Tick it or leave it.')
    .optional()
    .transform((value) => value ?? ''),
  startsAt: when,
  stopsAt: when,
})
type Fields = z.output<typeof CopyForm>
type Refusal = CopyRefusal | HeadRefusal | 'order-gone'

export const copySpec: FormSpec<Fields, Refusal, StayRequest> = {
  name: 'order-from-standard',
  schema: CopyForm,
  initial: (ctx) => ({ startsAt: localDateTime(ctx.nowMs, stayOfAddress(ctx)?.policy.policy.zone ?? 'UTC') }),
  draw: drawCopy,
  decide: decideCopy,
  sentences: { ...ENTRY_SENTENCES, ...WRITE_SENTENCES, ...COPY_SENTENCES },
  fieldOf: {
    'received-not-chosen': 'received',
    'read-back-missing': 'readBack',
    'start-not-read': 'startsAt',
    'stop-not-read': 'stopsAt',
    'stop-in-past': 'stopsAt',
    'order-dates-crossed': 'stopsAt',
    'order-prescriber-missing': 'prescriber',
  },
  statusOf: {
    'order-gone': 404,
    'stay-discharged': 409,
    'standard-not-approved': 409,
    'order-overlaps': 409,
    'basal-order-beside': 409,
  },
}

/** Which standard order and version was read before it was chosen. */
function valueOf({ standardOrderId, version }: StandardOrder): string {
  return `${standardOrderId}.${String(version)}`
}

function drawCopy(ctx: StayRequest, state: FormState): PageView | undefined {
  const facts = stayOfAddress(ctx)
  if (facts === undefined) return undefined
  const {
    stay,
    policy: {
      policy: { zone },
    },
  } = facts
  recordPatientRead(ctx, stay.stayId)
  const standards = approvedStandards(ctx.store.standardOrders(ctx.scope, stay.wardId), ctx.nowMs)
  const running = ctx.store.orderVersions(ctx.scope, stay.stayId).filter((version) => isRunning(version, ctx.nowMs))
  return {
    title: 'From a standard order',
    body: copyForm({
      stayId: stay.stayId,
      patient: bannerOf(facts, ctx.nowMs, true),
      standards: standards.map((one) => ({
        value: valueOf(one),
        label: `${one.name}, version ${String(one.version)}`,
        table: standardOrderTable(one.order, zone),
      })),
      running: running.map((version) => `${titleOf(version)}, ${runsText(version, ctx.nowMs, zone)}`),
      ...state,
    }),
  }
}

function decideCopy(fields: Fields, ctx: StayRequest): Outcome<FormDecision, Refusal> {
  const facts = stayOfAddress(ctx)
  if (facts === undefined) return refuse('order-gone')
  const {
    stay,
    policy: { policy },
  } = facts
  const every = ctx.store.standardOrders(ctx.scope, stay.wardId)
  const standard = every.find((one) => valueOf(one) === fields.standard)
  if (standard === undefined) return refuse('standard-not-approved')
  const own = headFromTyped(fields, policy.zone, ctx.nowMs)
  if (!own.ok) return own
  const versions = every.filter(({ standardOrderId }) => standardOrderId === standard.standardOrderId)
  const orderId = ctx.services.newId()
  const decision = copyStandard(
    { byId: ctx.actor.staffId, orderId, own: own.value },
    {
      standard,
      versions,
      policy,
      stay,
      orders: ctx.store.orderVersions(ctx.scope, stay.stayId),
      nowMs: ctx.nowMs,
    },
  )
  return decision.ok ? { ok: true, value: { events: decision.value, location: `/orders/${orderId}/1` } } : decision
}
