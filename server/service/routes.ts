/** The service page, for administrators: whether database, head and backups are well. */
import { servicePage } from '../../views/service/page.ts'
import { page } from '../http/page.ts'
import { ADMINISTRATORS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { serviceView } from './load.ts'

export function registerService(server: Server): void {
  route(server, { method: 'GET', url: '/setup/service', roles: ADMINISTRATORS }, async (ctx) =>
    page(ctx, 200, { title: 'Service', body: servicePage(await serviceView(ctx)) }),
  )
}
