/** On an empty database whoever reads the console's one-time code becomes the first administrator; then this is gone. */
import { timingSafeEqual } from 'node:crypto'
import { pinSet } from '../../shared/staff/pin.ts'
import { eventHead } from '../../shared/ledger/head.ts'
import { echo, parseFields, readFields } from '../http/fields.ts'
import { sha256 } from '../http/ids.ts'
import { messageResponse, page, redirect, type PageResponse } from '../http/page.ts'
import { hashPin } from '../http/pins.ts'
import { openRoute, type PublicRequestContext, type Server } from '../http/route.ts'
import { beginLogin } from '../http/sessions.ts'
import type { FormState } from '../http/request-context.ts'
import type { Staff } from '../store/contract.ts'
import { IDENTIFY_SENTENCES, SET_UP_SENTENCES } from '../../views/words/http.ts'
import { firstAdministratorPage } from '../../views/signin/first-administrator.ts'
import { FIRST_ADMINISTRATOR_FORM } from './forms.ts'

const SECRETS = ['code', 'pin', 'pinAgain']

export function registerFirstAdministrator(server: Server): void {
  openRoute(server, { method: 'GET', url: '/first-administrator' }, (ctx) =>
    isOpen(server) ? draw(ctx, 200, { values: {}, errors: {}, problem: null }) : messageResponse(ctx, 404, 'not-found'),
  )
  openRoute(server, { method: 'POST', url: '/first-administrator' }, (ctx) => post(server, ctx))
}

function isOpen(server: Server): boolean {
  const { setUpCode, store } = server.services
  return typeof setUpCode === 'string' && store.isEmpty()
}

function draw(ctx: PublicRequestContext, status: number, state: FormState): PageResponse {
  return page(ctx, status, { title: 'First administrator', body: firstAdministratorPage({ state }), chrome: 'bare' })
}

async function post(server: Server, ctx: PublicRequestContext): Promise<PageResponse> {
  if (!isOpen(server)) return messageResponse(ctx, 404, 'not-found')
  const { services, appContext } = server
  const sent = readFields(ctx.request.body)
  const values = echo(sent.fields, SECRETS)
  const parsed = parseFields(FIRST_ADMINISTRATOR_FORM, sent)
  if (!parsed.ok) return draw(ctx, 422, { values, errors: parsed.errors, problem: parsed.problem })
  const { code, name, badge, pin } = parsed.value
  const attempt = appContext.attempts.begin('the first administrator', ctx.request.ip, services.mono())
  if (!attempt.ok)
    return draw(ctx, 429, {
      values,
      errors: {},
      problem: IDENTIFY_SENTENCES['identify-too-many']({ minutes: attempt.waitMinutes }),
    })
  if (!isSame(code, services.setUpCode ?? ''))
    return draw(ctx, 422, { values, errors: { code: SET_UP_SENTENCES['wrong-code'] }, problem: null })
  attempt.succeeded()
  const staff: Staff = {
    staffId: services.newId(),
    badge,
    name,
    role: 'administrator',
    wardIds: [],
    locked: null,
    leftAtMs: null,
    trainingUntil: null,
  }
  const hash = await hashPin(pin, services.pinCost)
  const added = services.store.transact(() => {
    // somebody else may have been first while the PIN was hashed
    if (!services.store.isEmpty()) return false
    services.store.append([
      {
        ...eventHead({ wardId: null }, 'set-up', ctx.nowMs),
        type: 'staff-added',
        body: { staffId: staff.staffId, badge, name, role: 'administrator', wardIds: [] },
      },
      pinSet(staff.staffId, 'self', ctx.nowMs),
    ])
    services.store.setPinHash(staff.staffId, hash)
    return true
  })
  if (!added) return messageResponse(ctx, 404, 'not-found')
  beginLogin(server, ctx.request, ctx.reply, staff)
  return redirect(ctx, '/setup')
}

/** Compared by hash, so that neither length nor first wrong letter shows in the time taken. */
function isSame(given: string, right: string): boolean {
  return timingSafeEqual(Buffer.from(sha256(given)), Buffer.from(sha256(right)))
}
