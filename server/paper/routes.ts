/** Facts entered at the bedside or afterwards: trays, the share eaten, insulin from paper or elsewhere. */
import { formRoute } from '../http/forms.ts'
import { NURSES } from '../http/roles.ts'
import type { Server } from '../http/route.ts'
import { outsideDoseSpec } from './outside-dose.ts'
import { TRAY_QUERY, traySpec } from './tray.ts'
import { STAY_ADDRESS } from '../http/parameters.ts'

export function registerPaper(server: Server): void {
  formRoute(server, {
    url: '/stays/:stayId/tray',
    roles: NURSES,
    params: STAY_ADDRESS,
    query: TRAY_QUERY,
    spec: traySpec,
  })
  formRoute(server, { url: '/stays/:stayId/outside-dose', roles: NURSES, params: STAY_ADDRESS, spec: outsideDoseSpec })
}
