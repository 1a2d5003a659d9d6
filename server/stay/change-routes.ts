/** Routes for changes of a stay: bed, bedside facts, check plan and late trays. */
import { formRoute } from '../http/forms.ts'
import { NURSES, READERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { admitSpec, BED_ADDRESS, readmitSpec } from './admit.ts'
import { beds, discharged } from './beds.ts'
import { cameBackSpec } from './came-back.ts'
import { factsSpec } from './facts.ts'
import { feedSpec } from './feed.ts'
import { history } from './history.ts'
import { otherInsulinSpec } from './other-insulin.ts'
import { ketonesSpec } from './ketones.ts'
import { insulinWordSpec } from './insulin-word.ts'
import { identitySpec } from './identity.ts'
import { dischargeSpec, handedSpec, moveSpec } from './move.ts'
import { ADDITION_ADDRESS, endAdditionSpec, planSpec } from './plan.ts'
import { MOVES_QUERY, traysLateMoves, traysLateSpec } from './trays-late.ts'
import { STAY_ADDRESS } from '../http/parameters.ts'

export function registerStayChanges(server: Server): void {
  route(server, { method: 'GET', url: '/setup/beds', roles: NURSES }, beds)
  formRoute(server, { url: '/setup/beds/:bed/admit', roles: NURSES, params: BED_ADDRESS, spec: admitSpec })
  route(server, { method: 'GET', url: '/setup/discharged', roles: NURSES }, discharged)
  formRoute(server, {
    url: '/setup/discharged/:stayId/readmit',
    roles: NURSES,
    params: STAY_ADDRESS,
    spec: readmitSpec,
  })
  formRoute(server, { url: '/stays/:stayId/facts', roles: NURSES, params: STAY_ADDRESS, spec: factsSpec })
  formRoute(server, { url: '/stays/:stayId/identity', roles: NURSES, params: STAY_ADDRESS, spec: identitySpec })
  formRoute(server, { url: '/stays/:stayId/move', roles: NURSES, params: STAY_ADDRESS, spec: moveSpec })
  formRoute(server, { url: '/stays/:stayId/discharge', roles: NURSES, params: STAY_ADDRESS, spec: dischargeSpec })
  formRoute(server, {
    url: '/stays/:stayId/handed-over',
    roles: NURSES,
    params: STAY_ADDRESS,
    spec: handedSpec,
  })
  formRoute(server, { url: '/stays/:stayId/insulin-word', roles: NURSES, params: STAY_ADDRESS, spec: insulinWordSpec })
  formRoute(server, {
    url: '/stays/:stayId/other-insulin',
    roles: NURSES,
    params: STAY_ADDRESS,
    spec: otherInsulinSpec,
  })
  formRoute(server, { url: '/stays/:stayId/ketones', roles: NURSES, params: STAY_ADDRESS, spec: ketonesSpec })
  formRoute(server, { url: '/stays/:stayId/came-back', roles: NURSES, params: STAY_ADDRESS, spec: cameBackSpec })
  formRoute(server, { url: '/stays/:stayId/feed', roles: NURSES, params: STAY_ADDRESS, spec: feedSpec })
  formRoute(server, { url: '/stays/:stayId/plan', roles: NURSES, params: STAY_ADDRESS, spec: planSpec })
  formRoute(server, {
    url: '/stays/:stayId/plan/:version/end',
    roles: NURSES,
    params: ADDITION_ADDRESS,
    spec: endAdditionSpec,
  })
  route(server, { method: 'GET', url: '/stays/:stayId/history', roles: READERS, params: STAY_ADDRESS }, history)
  formRoute(server, { url: '/round/trays-late', roles: NURSES, spec: traysLateSpec })
  route(server, { method: 'GET', url: '/round/trays-late/moves', roles: NURSES, query: MOVES_QUERY }, traysLateMoves)
}
