/** The routes of rates, harm measures and exports. */
import { formRoute } from '../http/forms.ts'
import { AUDITORS, EDUCATORS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { columnsResponse, EXPORT } from './export.ts'
import { measuresResponse } from './measures.ts'
import { ratesResponse } from './rates.ts'

export function registerRates(server: Server): void {
  route(server, { method: 'GET', url: '/audit/rates', roles: AUDITORS }, ratesResponse)
  route(server, { method: 'GET', url: '/audit/measures', roles: EDUCATORS }, measuresResponse)
  formRoute(server, { url: '/audit/export', roles: EDUCATORS, spec: EXPORT })
  route(server, { method: 'GET', url: '/audit/export/columns', roles: EDUCATORS }, columnsResponse)
}
