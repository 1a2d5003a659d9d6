/** Routes for changes of a stay: bed, bedside facts, check plan and late trays. */
import { formRoute } from '../http/forms.ts'
import { NURSES, READERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { admitSpec, readmitSpec } from './admit.ts'
import { beds, discharged } from './beds.ts'
import { factsSpec } from './facts.ts'
import { feedSpec } from './feed.ts'
import { history } from './history.ts'
import { identitySpec } from './identity.ts'
import { dischargeSpec, moveSpec } from './move.ts'
import { endAdditionSpec, planSpec } from './plan.ts'
import { traysLateMoves, traysLateSpec } from './trays-late.ts'

export function registerStayChanges(server: Server): void {
  route(server, { method: 'GET', url: '/setup/beds', roles: NURSES }, beds)
  formRoute(server, { url: '/setup/beds/:bed/admit', roles: NURSES, spec: admitSpec })
  route(server, { method: 'GET', url: '/setup/discharged', roles: NURSES }, discharged)
  formRoute(server, { url: '/setup/discharged/:stayId/readmit', roles: NURSES, spec: readmitSpec })
  formRoute(server, { url: '/stays/:stayId/facts', roles: NURSES, spec: factsSpec })
  formRoute(server, { url: '/stays/:stayId/identity', roles: NURSES, spec: identitySpec })
  formRoute(server, { url: '/stays/:stayId/move', roles: NURSES, spec: moveSpec })
  formRoute(server, { url: '/stays/:stayId/discharge', roles: NURSES, spec: dischargeSpec })
  formRoute(server, { url: '/stays/:stayId/feed', roles: NURSES, spec: feedSpec })
  formRoute(server, { url: '/stays/:stayId/plan', roles: NURSES, spec: planSpec })
  formRoute(server, { url: '/stays/:stayId/plan/:version/end', roles: NURSES, spec: endAdditionSpec })
  route(server, { method: 'GET', url: '/stays/:stayId/history', roles: READERS }, history)
  formRoute(server, { url: '/round/trays-late', roles: NURSES, spec: traysLateSpec })
  route(server, { method: 'GET', url: '/round/trays-late/moves', roles: NURSES }, traysLateMoves)
}
