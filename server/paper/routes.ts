/** Facts entered at the bedside or afterwards: trays, the share eaten, insulin from paper or elsewhere. */
import { formRoute } from '../http/forms.ts'
import { NURSES } from '../http/roles.ts'
import type { Server } from '../http/route.ts'
import { outsideDoseSpec } from './outside-dose.ts'
import { traySpec } from './tray.ts'

export function registerPaper(server: Server): void {
  formRoute(server, { url: '/stays/:stayId/tray', roles: NURSES, spec: traySpec })
  formRoute(server, { url: '/stays/:stayId/outside-dose', roles: NURSES, spec: outsideDoseSpec })
}
