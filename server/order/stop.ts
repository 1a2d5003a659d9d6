/** GET and POST /orders/:orderId/stop. */
import { z } from 'zod'
import { refuse, type Outcome } from '../../shared/outcome.ts'
import { stopOrder, type StopRefusal } from '../../shared/order/stop.ts'
import { stopForm } from '../../views/order/order-stop.ts'
import { STOP_SENTENCES } from '../../views/words/verification.ts'
import { recordPatientRead } from '../http/access-log.ts'
import type { OrderRequest } from '../http/parameters.ts'
import type { FormDecision, FormSpec } from '../http/request-context.ts'
import { bannerOf } from '../bedside/banner.ts'
import { newestContext, orderPath, titleOf } from './reading-load.ts'

const line = (most: number, missing: string) =>
  z
    .string(missing)
    .trim()
    .min(1, missing)
    .max(most, `At most ${String(most)} characters.`)

export const StopForm = z.strictObject({
  reason: line(200, 'Say why the order stops.'),
  orderedBy: line(100, 'Say who ordered the stop.'),
  received: z.enum(['written', 'telephone'], 'Choose how it came.'),
  readBack: z
    .literal('yes', 'Tick it or leave it.')
    .optional()
    .transform((value) => value === 'yes'),
})
type Fields = z.output<typeof StopForm>

export const stopSpec: FormSpec<Fields, StopRefusal, OrderRequest> = {
  name: 'order-stop',
  schema: StopForm,
  initial: () => ({}),
  draw: (ctx, state) => {
    const context = newestContext(ctx)
    if (context === undefined) return undefined
    const { facts, version } = context
    recordPatientRead(ctx, version.stayId)
    return {
      title: 'Stop an order',
      body: stopForm({
        orderId: version.orderId,
        patient: bannerOf(facts, ctx.nowMs, true),
        about: `${titleOf(version)}, ${version.order.prescriber}`,
        backPath: orderPath(version),
        ...state,
      }),
    }
  },
  decide: decideStop,
  sentences: STOP_SENTENCES,
  fieldOf: { 'stop-not-read-back': 'readBack' },
  statusOf: { 'order-gone': 404, 'stay-discharged': 409, 'order-ended-already': 409 },
}

function decideStop(fields: Fields, ctx: OrderRequest): Outcome<FormDecision, StopRefusal> {
  const context = newestContext(ctx)
  if (context === undefined) return refuse('order-gone')
  const {
    versions,
    version,
    facts: { stay },
  } = context
  const decision = stopOrder(
    { ...fields, byId: ctx.actor.staffId },
    { versions, wardId: stay.wardId, dischargedAtMs: stay.dischargedAtMs, nowMs: ctx.nowMs },
  )
  return decision.ok ? { ok: true, value: { events: decision.value, location: `/${orderPath(version)}` } } : decision
}
