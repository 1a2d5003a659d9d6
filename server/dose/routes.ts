/** Every route about a dose, from working it out to giving it. */
import { formRoute } from '../http/forms.ts'
import { NURSES, READERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { DIRECTION_QUERY, directionSpec } from './direction-form.ts'
import { giveSpec, notGivenSpec } from './give-form.ts'
import { showDose } from './page.ts'
import { productSpec } from './product-form.ts'
import { proposeSpec } from './propose-form.ts'
import { scheduledSpec, SLOT_ADDRESS } from './scheduled-form.ts'
import { listWaiting, secondCheckSpec, startAgainSpec } from './second-check-form.ts'
import { takeBackSpec } from './take-back-form.ts'
import { DOSE_ADDRESS, READING_ADDRESS } from '../http/parameters.ts'

/** Only a nurse works out, checks or gives insulin; an educator may read a dose. */

export function registerDose(server: Server): void {
  formRoute(server, { url: '/readings/:id/dose', roles: NURSES, params: READING_ADDRESS, spec: proposeSpec })
  formRoute(server, {
    url: '/readings/:id/direction',
    roles: NURSES,
    params: READING_ADDRESS,
    query: DIRECTION_QUERY,
    spec: directionSpec,
  })
  formRoute(server, { url: '/stays/:stayId/scheduled/:slot', roles: NURSES, params: SLOT_ADDRESS, spec: scheduledSpec })
  route(server, { method: 'GET', url: '/doses/:id', roles: READERS, params: DOSE_ADDRESS }, showDose)
  formRoute(server, { url: '/doses/:id/second-check', roles: NURSES, params: DOSE_ADDRESS, spec: secondCheckSpec })
  formRoute(server, { url: '/doses/:id/start-again', roles: NURSES, params: DOSE_ADDRESS, spec: startAgainSpec })
  formRoute(server, { url: '/doses/:id/product', roles: NURSES, params: DOSE_ADDRESS, spec: productSpec })
  formRoute(server, { url: '/doses/:id/give', roles: NURSES, params: DOSE_ADDRESS, spec: giveSpec })
  formRoute(server, { url: '/doses/:id/not-given', roles: NURSES, params: DOSE_ADDRESS, spec: notGivenSpec })
  formRoute(server, { url: '/doses/:id/take-back', roles: NURSES, params: DOSE_ADDRESS, spec: takeBackSpec })
  route(server, { method: 'GET', url: '/second-checks', roles: NURSES }, listWaiting)
}
