/** Entering orders: the three forms, and the drawing beside them. */
import type { FastifyRequest } from 'fastify'
import { orderPreview } from '../../views/order/preview.ts'
import { draftOf, formRoute } from '../http/forms.ts'
import { readFields } from '../http/fields.ts'
import { fragment } from '../http/page.ts'
import { NURSES } from '../http/roles.ts'
import { openedFrom, route, type Server } from '../http/route.ts'
import type { Role } from '../../shared/ledger/events.ts'
import { newOrderSpec, policyToSetUp, reviseOrderSpec, standardOrderSpec } from './entry.ts'
import { NO_PREVIEW, previewOf } from './preview.ts'
import { ORDER_ADDRESS, STAY_ADDRESS } from '../http/parameters.ts'

/** Who writes a ward's standard orders; an administrator approves them. */
const STANDARD_WRITERS: readonly Role[] = ['charge-nurse', 'administrator']

export function registerOrderEntry(server: Server): void {
  formRoute(server, { url: '/stays/:stayId/orders/new', roles: NURSES, params: STAY_ADDRESS, spec: newOrderSpec })
  formRoute(server, { url: '/orders/:orderId/revise', roles: NURSES, params: ORDER_ADDRESS, spec: reviseOrderSpec })
  formRoute(server, { url: '/setup/standard-orders/new', roles: STANDARD_WRITERS, spec: standardOrderSpec })
  // writes nothing and shows nothing that is stored but the ward's unit and limits; what was typed is kept when the login has ended
  const saveDraft = (staffId: string, request: FastifyRequest): string | null =>
    draftOf(server, staffId, openedFrom(request).split('?')[0] ?? '/', request, [])
  route(
    server,
    { method: 'POST', url: '/orders/preview', roles: [...NURSES, 'administrator'] },
    (ctx) => {
      const { fields } = readFields(ctx.request.body)
      const policy = policyToSetUp(ctx, fields['ward'] ?? '')
      return fragment(ctx, 200, orderPreview(policy === undefined ? NO_PREVIEW : previewOf(fields, policy, ctx.nowMs)))
    },
    saveDraft,
  )
}
