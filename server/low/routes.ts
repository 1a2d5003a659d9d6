/** The treatment page of a low event, what is charted in it, and what is charted about a stay with no low number. */
import { z } from 'zod'
import { lowLive, lowPage } from '../../views/low/page.ts'
import { recordPatientRead } from '../http/access-log.ts'
import { formRoute } from '../http/forms.ts'
import { fragment, messageResponse, noContent, page, type PageResponse } from '../http/page.ts'
import { NURSES, READERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { LOW_ADDRESS, queryText, STAY_ADDRESS, type LowRequest } from '../http/parameters.ts'
import type { RequestContext } from '../http/request-context.ts'
import { answersSpec } from './answers.ts'
import { closeSpec } from './close.ts'
import { foodSpec } from './food.ts'
import { insulinSpec } from './insulin-question.ts'
import { laboratorySpec } from './laboratory.ts'
import { emergencySpec, findingSpec } from './level-three.ts'
import { isVersionSeen, lowContext } from './load.ts'
import { lowView } from './page.ts'
import { toldSpec } from './prescriber-call.ts'
import { isSameView } from './seen.ts'
import { symptomsSpec } from './symptoms.ts'
import { treatmentSpec } from './treatment.ts'

/** `seen`: what the page shows (seen.ts). */
const SEEN_QUERY = z.object({ seen: queryText })

export function registerLow(server: Server): void {
  route(server, { method: 'GET', url: '/lows/:lowId', roles: READERS, params: LOW_ADDRESS }, (ctx) => {
    const context = lowContext(ctx)
    if (context === undefined) return messageResponse(ctx, 404, 'not-found')
    recordPatientRead(ctx, context.facts.stay.stayId)
    return page(ctx, 200, { title: 'Low', body: lowPage(lowView(ctx, context)) })
  })
  route(
    server,
    { method: 'GET', url: '/lows/:lowId/now', roles: READERS, params: LOW_ADDRESS, query: SEEN_QUERY },
    showChanges,
  )
  formRoute(server, { url: '/lows/:lowId/answers', roles: NURSES, params: LOW_ADDRESS, spec: answersSpec })
  formRoute(server, { url: '/lows/:lowId/treatments', roles: NURSES, params: LOW_ADDRESS, spec: treatmentSpec })
  formRoute(server, { url: '/lows/:lowId/findings', roles: NURSES, params: LOW_ADDRESS, spec: findingSpec })
  formRoute(server, { url: '/lows/:lowId/emergency-calls', roles: NURSES, params: LOW_ADDRESS, spec: emergencySpec })
  formRoute(server, { url: '/lows/:lowId/prescriber-calls', roles: NURSES, params: LOW_ADDRESS, spec: toldSpec })
  formRoute(server, { url: '/lows/:lowId/food', roles: NURSES, params: LOW_ADDRESS, spec: foodSpec })
  formRoute(server, { url: '/lows/:lowId/insulin-question', roles: NURSES, params: LOW_ADDRESS, spec: insulinSpec })
  formRoute(server, { url: '/lows/:lowId/close', roles: NURSES, params: LOW_ADDRESS, spec: closeSpec })
  formRoute(server, { url: '/stays/:stayId/lab-value', roles: NURSES, params: STAY_ADDRESS, spec: laboratorySpec })
  formRoute(server, { url: '/stays/:stayId/symptoms', roles: NURSES, params: STAY_ADDRESS, spec: symptomsSpec })
}

/** The part of the treatment page that others may change, when it differs from what the page shows. */
function showChanges(ctx: RequestContext<LowRequest['params'], z.output<typeof SEEN_QUERY>>): PageResponse {
  const { seen } = ctx.query
  if (isVersionSeen(ctx, seen)) return noContent(ctx)
  const context = lowContext(ctx)
  if (context === undefined) return messageResponse(ctx, 404, 'not-found')
  const view = lowView(ctx, context)
  if (isSameView(seen, view)) return noContent(ctx)
  recordPatientRead(ctx, context.facts.stay.stayId)
  return fragment(ctx, 200, lowLive(view))
}
