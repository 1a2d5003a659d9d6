/**
 * Setting a PIN with badge and one-time code: the only way to a first PIN, and the one back in for who has forgotten
 * theirs. The code is tried under the limits of signing in, and for an unknown badge the same work is done.
 */
import { isShutOut } from '../../shared/staff/person.ts'
import { isCodeInDate, pinSet } from '../../shared/staff/pin.ts'
import { setPinPage } from '../../views/signin/pin.ts'
import { IDENTIFY_SENTENCES } from '../../views/words/http.ts'
import { SET_PIN_SENTENCES } from '../../views/words/people.ts'
import { echo, parseFields, readFields } from '../http/fields.ts'
import { page, redirect, type PageResponse } from '../http/page.ts'
import { hashPin, isSecretOf } from '../http/pins.ts'
import { openRoute, type PublicRequestContext, type Server } from '../http/route.ts'
import type { FormState } from '../http/request-context.ts'
import { SET_PIN_FORM } from './forms.ts'

const SECRETS = ['code', 'pin', 'pinAgain'] as const

export function registerSetPin(server: Server): void {
  openRoute(server, { method: 'GET', url: '/set-pin' }, (ctx) =>
    draw(ctx, 200, { values: {}, errors: {}, problem: null }),
  )
  openRoute(server, { method: 'POST', url: '/set-pin' }, (ctx) => post(server, ctx))
}

function draw(ctx: PublicRequestContext, status: number, state: FormState): PageResponse {
  // as at signing in, nobody is signed in on this page: a second person may stand before the tablet
  return page({ ...ctx, actor: null, wardId: null }, status, {
    title: 'Set your PIN',
    body: setPinPage({ state }),
    chrome: 'bare',
  })
}

async function post(server: Server, ctx: PublicRequestContext): Promise<PageResponse> {
  const { services, appContext } = server
  const { store } = ctx
  const sent = readFields(ctx.request.body)
  const values = echo(sent.fields, SECRETS)
  const parsed = parseFields(SET_PIN_FORM, sent)
  if (!parsed.ok) {
    // a scanned badge ends in Enter and sends the form with nothing else in it: the usual way, and no mistake
    const onlyBadge =
      (sent.fields['badge'] ?? '').trim() !== '' &&
      SECRETS.every((name) => (sent.fields[name] ?? '') === '') &&
      Object.keys(sent.errors).length === 0
    return draw(
      ctx,
      422,
      onlyBadge ? { values, errors: {}, problem: null } : { values, errors: parsed.errors, problem: parsed.problem },
    )
  }
  const { badge, code, pin } = parsed.value
  const attempt = appContext.attempts.begin(badge, ctx.request.ip, services.mono())
  if (!attempt.ok)
    return draw(ctx, 429, {
      values,
      errors: {},
      problem: IDENTIFY_SENTENCES['identify-too-many']({ minutes: attempt.waitMinutes }),
    })
  const person = store.staffByBadge(badge)
  const kept = person === undefined ? undefined : store.pinCode(person.staffId)
  const right = await isSecretOf(kept?.codeHash ?? (await appContext.decoyPinHash.hash()), code)
  if (person === undefined || kept === undefined || !right)
    return draw(ctx, 422, { values, errors: { code: SET_PIN_SENTENCES['code-wrong'] }, problem: null })
  attempt.succeeded()
  if (!isCodeInDate(kept, ctx.nowMs))
    return draw(ctx, 422, { values, errors: { code: SET_PIN_SENTENCES['code-expired'] }, problem: null })
  const hash = await hashPin(pin, services.pinCost)
  const settled = store.transact(() => {
    // while the hashes were worked out the code may have been used, replaced, or the person locked
    const now = store.staffById(person.staffId)
    if (now === undefined || isShutOut(now)) return 'locked' as const
    if (store.pinCode(person.staffId)?.codeHash !== kept.codeHash) return 'used' as const
    store.append([pinSet(person.staffId, 'code', ctx.nowMs)])
    store.setPinHash(person.staffId, hash)
    store.dropPinCode(person.staffId)
    store.dropSessionsOf(person.staffId)
    return 'set' as const
  })
  if (settled === 'locked')
    return draw(ctx, 422, { values, errors: {}, problem: IDENTIFY_SENTENCES['identify-locked']() })
  if (settled === 'used')
    return draw(ctx, 422, { values, errors: { code: SET_PIN_SENTENCES['code-wrong'] }, problem: null })
  return redirect(ctx, '/sign-in?pin=set')
}
