/** The pages on which orders are read, verified, stopped and copied, and the ward's standard orders. */
import { ALDER, people } from '../../support/people.ts'
import { ALDER_SCALE, scaleOrder, stays } from '../../support/wards.ts'
import { VerifyPage } from '../pages/order.ts'
import type { OpenWorld } from '../start.ts'
import type { Tour } from './tour.ts'
import { storeEvents } from '../../../server/store/store-events.ts'

const STANDARD = 'standardreading1'
/** Maud's order by another nurse, unverified, with everything that an order can contain. */
const FULL = 'orderreading0001'

/** One standard order waiting for approval, and one patient's order waiting for verification. */
function written({ world }: OpenWorld): void {
  const nowMs = world.clock.now()
  const head = { happenedAtMs: nowMs, chartedAtMs: nowMs, wardId: ALDER }
  if (
    world.store
      .standardOrders({ staffId: people.cora.staffId, role: 'charge-nurse', wardIds: [ALDER] }, ALDER)
      .some(({ standardOrderId }) => standardOrderId === STANDARD)
  )
    return
  const order = scaleOrder(ALDER_SCALE, nowMs, {
    meal: { kind: 'fixed', units: { 'before-breakfast': 4, 'before-lunch': 5, 'before-supper': 5 } },
    bedtime: { kind: 'half' },
    notEating: { kind: 'hold-all' },
  })
  world.store.transact(() => {
    storeEvents(world.store, [
      {
        ...head,
        stayId: null,
        actorId: people.anna.staffId,
        type: 'standard-order-written',
        body: { standardOrderId: STANDARD, version: 1, name: 'Correction, usual sensitivity', order },
      },
      {
        ...head,
        stayId: null,
        actorId: people.abel.staffId,
        type: 'standard-order-approved',
        body: { standardOrderId: STANDARD, version: 1 },
      },
      {
        ...head,
        stayId: null,
        actorId: people.anna.staffId,
        type: 'standard-order-written',
        body: {
          standardOrderId: STANDARD,
          version: 2,
          name: 'Correction, usual sensitivity',
          order: { ...order, maxSingleDose: 12 },
        },
      },
      {
        ...head,
        stayId: stays.tomas.stayId,
        actorId: people.cora.staffId,
        type: 'order-written',
        body: { orderId: FULL, version: 1, order },
      },
    ])
    return null
  })
}

const reading: Tour = {
  name: 'orders read, verified and stopped',
  person: people.omar,
  take: async ({ open, device, ctx, look }) => {
    written(open)
    await ctx('/stays/:stayId/orders', `/stays/${stays.tomas.stayId}/orders`, 'orders')
    await ctx('/stays/:stayId/orders/standard', `/stays/${stays.tomas.stayId}/orders/standard`, 'order-from-standard')
    await ctx('/orders/:orderId/:version', `/orders/${FULL}/1`, 'order')
    await ctx('/print/orders/:orderId/:version', `/print/orders/${FULL}/1`, 'print-order')
    await ctx('/orders/:orderId/stop', `/orders/${FULL}/stop`, 'order-stop')
    await ctx('/orders/:orderId/:version/verify', `/orders/${FULL}/1/verify`, 'order-verify')
    const verify = await new VerifyPage(device).verifyOnPage()
    await verify.press('Compare with the transcription')
    await verify.says('Compare the identifiers on the paper')
    await look('/orders/:orderId/:version/verify', 'order-verify-refused')
    await verify.answer(
      'insulin glargine',
      (await verify.questions()).map(() => '3.5'),
    )
    await verify.says('Verification differed')
    await look('/orders/:orderId/:version', 'order-differed')
  },
}

const standards: Tour = {
  name: 'the ward’s standard orders',
  person: people.abel,
  take: async ({ open, ctx }) => {
    written(open)
    await ctx('/setup/standard-orders', '/setup/standard-orders', 'standard-orders')
    await ctx('/setup/standard-orders/:id', `/setup/standard-orders/${STANDARD}`, 'standard-order')
    await ctx(
      '/setup/standard-orders/:id/approve',
      `/setup/standard-orders/${STANDARD}/approve`,
      'standard-order-approve',
    )
    await ctx(
      '/setup/standard-orders/:id/withdraw',
      `/setup/standard-orders/${STANDARD}/withdraw`,
      'standard-order-withdraw',
    )
  },
}

export const orderReadingTours: readonly Tour[] = [reading, standards]
