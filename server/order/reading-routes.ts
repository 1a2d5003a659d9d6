/** Reading, verifying and stopping orders; a ward's standard orders, and copying one. Writing an order is in routes.ts. */
import { formRoute } from '../http/forms.ts'
import { messageResponse, page, type PageResponse } from '../http/page.ts'
import { ADMINISTRATORS, NURSES, READERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { ORDER_ADDRESS, ORDER_VERSION_ADDRESS, STAY_ADDRESS } from '../http/parameters.ts'
import type { PageView, RequestContext } from '../http/request-context.ts'
import { listPage } from './list.ts'
import { sheetPage, versionPage } from './sheet.ts'
import { copySpec } from './standard-copy.ts'
import {
  approveSpec,
  STANDARD_ADDRESS,
  STANDARD_READERS,
  standardListPage,
  standardOrderPage,
  withdrawSpec,
  type StandardRequest,
} from './standard.ts'
import { stopSpec } from './stop.ts'
import { verifySpec } from './verify.ts'

export function registerOrderReading(server: Server): void {
  route(server, { method: 'GET', url: '/stays/:stayId/orders', roles: READERS, params: STAY_ADDRESS }, shown(listPage))
  route(
    server,
    { method: 'GET', url: '/orders/:orderId/:version', roles: READERS, params: ORDER_VERSION_ADDRESS },
    shown(versionPage),
  )
  route(
    server,
    { method: 'GET', url: '/print/orders/:orderId/:version', roles: READERS, params: ORDER_VERSION_ADDRESS },
    shown(sheetPage),
  )
  formRoute(server, {
    url: '/orders/:orderId/:version/verify',
    roles: NURSES,
    params: ORDER_VERSION_ADDRESS,
    spec: verifySpec,
  })
  formRoute(server, { url: '/orders/:orderId/stop', roles: NURSES, params: ORDER_ADDRESS, spec: stopSpec })
  formRoute(server, { url: '/stays/:stayId/orders/standard', roles: NURSES, params: STAY_ADDRESS, spec: copySpec })
  route(server, { method: 'GET', url: '/setup/standard-orders', roles: STANDARD_READERS }, shown(standardListPage))
  route(
    server,
    { method: 'GET', url: '/setup/standard-orders/:id', roles: STANDARD_READERS, params: STANDARD_ADDRESS },
    shown((ctx: StandardRequest) => standardOrderPage(ctx)),
  )
  formRoute(server, {
    url: '/setup/standard-orders/:id/approve',
    roles: ADMINISTRATORS,
    params: STANDARD_ADDRESS,
    spec: approveSpec,
  })
  formRoute(server, {
    url: '/setup/standard-orders/:id/withdraw',
    roles: ADMINISTRATORS,
    params: STANDARD_ADDRESS,
    spec: withdrawSpec,
  })
}

function shown<C extends RequestContext>(draw: (ctx: C) => PageView | undefined): (ctx: C) => PageResponse {
  return (ctx) => {
    const view = draw(ctx)
    return view === undefined ? messageResponse(ctx, 404, 'not-found') : page(ctx, 200, view)
  }
}
