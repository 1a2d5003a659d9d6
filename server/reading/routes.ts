/** A reading's result, and the forms that correct it, tell it on or resolve what followed from it. */
import { resultPage } from '../../views/reading/result.ts'
import { readingContext } from '../bedside/reading-context.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { formRoute } from '../http/forms.ts'
import { messageResponse, page } from '../http/page.ts'
import { READING_ADDRESS } from '../http/parameters.ts'
import { NURSES, READERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { correctSpec, voidSpec } from './correct.ts'
import { callSpec } from './critical-call.ts'
import { FLAG_ADDRESS, flagSpec } from './flag.ts'
import { RESULT_QUERY, resultView } from './show.ts'

export function registerReading(server: Server): void {
  route(
    server,
    { method: 'GET', url: '/readings/:id', roles: READERS, params: READING_ADDRESS, query: RESULT_QUERY },
    (ctx) => {
      const context = readingContext(ctx)
      if (context === undefined) return messageResponse(ctx, 404, 'not-found')
      recordPatientRead(ctx, context.facts.stay.stayId)
      return page(ctx, 200, { title: 'Result', body: resultPage(resultView(ctx, context)) })
    },
  )
  formRoute(server, { url: '/readings/:id/correct', roles: NURSES, params: READING_ADDRESS, spec: correctSpec })
  formRoute(server, { url: '/readings/:id/void', roles: NURSES, params: READING_ADDRESS, spec: voidSpec })
  formRoute(server, { url: '/readings/:id/critical-call', roles: NURSES, params: READING_ADDRESS, spec: callSpec })
  formRoute(server, { url: '/flags/:itemId', roles: NURSES, params: FLAG_ADDRESS, spec: flagSpec })
}
