/** Reading, verifying and stopping orders; a ward's standard orders, and copying one. Writing an order is in routes.ts. */
import { formRoute } from '../http/forms.ts'
import { messageResponse, page, type PageResponse } from '../http/page.ts'
import { ADMINISTRATORS, NURSES, READERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import type { PageView, RequestContext } from '../http/request-context.ts'
import { listPage } from './list.ts'
import { sheetPage, versionPage } from './sheet.ts'
import { copySpec } from './standard-copy.ts'
import { approveSpec, STANDARD_READERS, standardListPage, standardOrderPage, withdrawSpec } from './standard.ts'
import { stopSpec } from './stop.ts'
import { verifySpec } from './verify.ts'

export function registerOrderReading(server: Server): void {
  route(server, { method: 'GET', url: '/stays/:stayId/orders', roles: READERS }, shown(listPage))
  route(server, { method: 'GET', url: '/orders/:orderId/:version', roles: READERS }, shown(versionPage))
  route(server, { method: 'GET', url: '/print/orders/:orderId/:version', roles: READERS }, shown(sheetPage))
  formRoute(server, { url: '/orders/:orderId/:version/verify', roles: NURSES, spec: verifySpec })
  formRoute(server, { url: '/orders/:orderId/stop', roles: NURSES, spec: stopSpec })
  formRoute(server, { url: '/stays/:stayId/orders/standard', roles: NURSES, spec: copySpec })
  route(server, { method: 'GET', url: '/setup/standard-orders', roles: STANDARD_READERS }, shown(standardListPage))
  route(
    server,
    { method: 'GET', url: '/setup/standard-orders/:id', roles: STANDARD_READERS },
    shown((ctx) => standardOrderPage(ctx)),
  )
  formRoute(server, { url: '/setup/standard-orders/:id/approve', roles: ADMINISTRATORS, spec: approveSpec })
  formRoute(server, { url: '/setup/standard-orders/:id/withdraw', roles: ADMINISTRATORS, spec: withdrawSpec })
}

function shown(draw: (ctx: RequestContext) => PageView | undefined): (ctx: RequestContext) => PageResponse {
  return (ctx) => {
    const view = draw(ctx)
    return view === undefined ? messageResponse(ctx, 404, 'not-found') : page(ctx, 200, view)
  }
}
