/** Every route about a dose, from working it out to giving it. */
import { formRoute } from '../http/forms.ts'
import { NURSES, READERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { directionSpec } from './direction-form.ts'
import { giveSpec, notGivenSpec } from './give-form.ts'
import { showDose } from './page.ts'
import { productSpec } from './product-form.ts'
import { proposeSpec } from './propose-form.ts'
import { scheduledSpec } from './scheduled-form.ts'
import { listWaiting, secondCheckSpec, startAgainSpec } from './second-check-form.ts'

/** Only a nurse works out, checks or gives insulin; an educator may read a dose. */

export function registerDose(server: Server): void {
  formRoute(server, { url: '/readings/:id/dose', roles: NURSES, spec: proposeSpec })
  formRoute(server, { url: '/readings/:id/direction', roles: NURSES, spec: directionSpec })
  formRoute(server, { url: '/stays/:stayId/scheduled/:slot', roles: NURSES, spec: scheduledSpec })
  route(server, { method: 'GET', url: '/doses/:id', roles: READERS }, showDose)
  formRoute(server, { url: '/doses/:id/second-check', roles: NURSES, spec: secondCheckSpec })
  formRoute(server, { url: '/doses/:id/start-again', roles: NURSES, spec: startAgainSpec })
  formRoute(server, { url: '/doses/:id/product', roles: NURSES, spec: productSpec })
  formRoute(server, { url: '/doses/:id/give', roles: NURSES, spec: giveSpec })
  formRoute(server, { url: '/doses/:id/not-given', roles: NURSES, spec: notGivenSpec })
  route(server, { method: 'GET', url: '/second-checks', roles: NURSES }, listWaiting)
}
