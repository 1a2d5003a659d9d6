/** The routes of rates, harm measures and exports. */
import { formRoute } from '../http/forms.ts'
import { AUDITORS, EDUCATORS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { columnsResponse, EXPORT } from './export.ts'
import { MEASURES_QUERY, measuresResponse } from './measures.ts'
import { RATES_QUERY, ratesResponse } from './rates.ts'

export function registerRates(server: Server): void {
  route(server, { method: 'GET', url: '/audit/rates', roles: AUDITORS, query: RATES_QUERY }, ratesResponse)
  route(server, { method: 'GET', url: '/audit/measures', roles: EDUCATORS, query: MEASURES_QUERY }, measuresResponse)
  formRoute(server, { url: '/audit/export', roles: EDUCATORS, spec: EXPORT })
  route(server, { method: 'GET', url: '/audit/export/columns', roles: EDUCATORS }, columnsResponse)
}
