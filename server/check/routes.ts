/** The check: wristband, value, or the reason why it is not done. */
import { z } from 'zod'
import { wrongWristband } from '../../views/words/reading.ts'
import { echo, parseFields, readFields } from '../http/fields.ts'
import { formRoute, tryToStore } from '../http/forms.ts'
import { messageResponse, page, redirect, type PageResponse } from '../http/page.ts'
import { NURSES } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { CHECK_ADDRESS, STAY_ADDRESS, type CheckRequest } from '../http/parameters.ts'
import { checkSpec, confirmStep, drawCheckForm } from './form.ts'
import { excuseSpec } from './excuse.ts'
import { checkContext } from './load.ts'
import { stayOfAddress } from '../bedside/facts-now.ts'
import { WRISTBAND } from '../bedside/fields.ts'
import { mismatchEvent, wrongWristbandDetails } from '../bedside/near-misses.ts'

const CONFIRM_FORM = z.strictObject({ wristband: WRISTBAND })

export function registerCheck(server: Server): void {
  formRoute(server, { url: '/checks/:key', roles: NURSES, params: CHECK_ADDRESS, spec: checkSpec })
  formRoute(server, { url: '/checks/:key/excuse', roles: NURSES, params: CHECK_ADDRESS, spec: excuseSpec })
  route(server, { method: 'GET', url: '/checks/:key/patient', roles: NURSES, params: CHECK_ADDRESS }, (ctx) =>
    toCheck(ctx),
  )
  route(server, { method: 'POST', url: '/checks/:key/patient', roles: NURSES, params: CHECK_ADDRESS }, confirm)
  route(server, { method: 'GET', url: '/stays/:stayId/extra', roles: NURSES, params: STAY_ADDRESS }, (ctx) => {
    const facts = stayOfAddress(ctx)
    return facts === undefined
      ? messageResponse(ctx, 404, 'not-found')
      : redirect(ctx, `/checks/extra.${facts.stay.stayId}.${ctx.services.newId()}`)
  })
}

/** A reload of the wristband step's answer begins the check anew. */
function toCheck(ctx: CheckRequest): PageResponse {
  const context = checkContext(ctx, ctx.params.key)
  return context === undefined ? messageResponse(ctx, 404, 'not-found') : redirect(ctx, `/checks/${context.check.key}`)
}

/** The wristband step: the right one opens the form, a wrong one stops here, is said loudly and kept as a near miss. */
function confirm(ctx: CheckRequest): PageResponse {
  const { key } = ctx.params
  const context = checkContext(ctx, key)
  if (context === undefined) return messageResponse(ctx, 404, 'not-found')
  const sent = readFields(ctx.request.body)
  const form = parseFields(CONFIRM_FORM, sent)
  if (!form.ok) {
    const typed = echo(sent.fields, [])['wristband'] ?? ''
    return page(
      ctx,
      422,
      confirmStep(ctx, context, { typed, wrong: null, error: form.errors['wristband'] ?? form.problem }),
    )
  }
  const { wristband } = form.value
  if (wristband !== context.facts.stay.wristband) {
    tryToStore(ctx, () => {
      ctx.store.append([mismatchEvent(ctx, context.facts, wristband, 'check')])
      return null
    })
    return page(
      ctx,
      409,
      confirmStep(ctx, context, {
        typed: '',
        wrong: wrongWristband(wrongWristbandDetails(ctx, context.facts, wristband)),
        error: null,
      }),
    )
  }
  const view = drawCheckForm(ctx, key, wristband)
  return view === undefined ? messageResponse(ctx, 404, 'not-found') : page(ctx, 200, view)
}
