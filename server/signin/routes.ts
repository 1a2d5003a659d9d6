/** The door: start, signing in and out, and the parts beside this file (ward and beds, PINs, first administrator). */
import { z } from 'zod'
import { storeFailureOf } from '../http/store-failures.ts'
import { unsavedForm, page, redirect, isNurse, type PageResponse } from '../http/page.ts'
import { EVERYBODY } from '../http/roles.ts'
import { openRoute, route, safeNext, type PublicRequestContext, type Server } from '../http/route.ts'
import { echo, parseFields, readFields } from '../http/fields.ts'
import { queryText } from '../http/parameters.ts'
import { identify } from '../http/identify.ts'
import { isId } from '../http/ids.ts'
import { beginLogin, endLogin } from '../http/sessions.ts'
import type { FormState } from '../http/request-context.ts'
import type { Session } from '../store/contract.ts'
import { IDENTIFY_SENTENCES, NOT_SIGNED_IN_SENTENCES } from '../../views/words/http.ts'
import { signInPage } from '../../views/signin/sign-in.ts'
import { registerFirstAdministrator } from './first-administrator.ts'
import { SIGN_IN_FORM } from './forms.ts'
import { registerOwnPin } from './own-pin.ts'
import { registerSetPin } from './set-pin.ts'
import { registerWardChoice } from './ward-choice.ts'
import { sentenceOf } from '../../shared/outcome.ts'

/** `next` and `draft`: where to go afterwards and what was typed; `pin`: "set" when a PIN was set just now. */
const SIGN_IN_QUERY = z.object({ next: queryText, draft: queryText, pin: queryText })
type SignInRequest = PublicRequestContext<z.output<typeof SIGN_IN_QUERY>>

export function registerSignin(server: Server): void {
  openRoute(server, { method: 'GET', url: '/sign-in', query: SIGN_IN_QUERY }, (ctx) =>
    signInForm(ctx, 200, { values: asked(ctx), errors: {}, problem: null }),
  )
  openRoute(server, { method: 'POST', url: '/sign-in', query: SIGN_IN_QUERY }, (ctx) => signIn(server, ctx))
  openRoute(server, { method: 'POST', url: '/sign-out' }, (ctx) => {
    endLogin(server, ctx.request, ctx.reply)
    return redirect(ctx, '/sign-in')
  })
  route(server, { method: 'GET', url: '/', roles: EVERYBODY }, (ctx) => {
    if (isNurse(ctx.actor)) return redirect(ctx, ctx.wardId === null ? '/ward' : '/round')
    return redirect(ctx, ctx.actor.role === 'administrator' ? '/setup' : '/audit')
  })
  registerWardChoice(server)
  registerFirstAdministrator(server)
  registerSetPin(server)
  registerOwnPin(server)
}

/** Where to go afterwards, out of the address: a path of this service or nothing. */
function asked({ query: { next, draft } }: SignInRequest): Readonly<Record<string, string>> {
  return {
    badge: '',
    next: safeNext(next),
    draft: isId(draft) ? draft : '',
  }
}

function signInForm(ctx: SignInRequest, status: number, state: FormState): PageResponse {
  const view = {
    state,
    kept: (state.values['draft'] ?? '') !== '',
    empty: ctx.store.isEmpty(),
    pinSet: ctx.query.pin === 'set',
  }
  // nobody is signed in on this page, whatever the browser holds: a second person may stand before it
  return page({ ...ctx, actor: null, wardId: null }, status, {
    title: 'Sign in',
    body: signInPage(view),
    chrome: 'bare',
  })
}

async function signIn(server: Server, ctx: SignInRequest): Promise<PageResponse> {
  const sent = readFields(ctx.request.body)
  const values = echo(sent.fields, ['pin'])
  const parsed = parseFields(SIGN_IN_FORM, sent)
  if (!parsed.ok) {
    // a scanned badge ends in Enter and sends the form without a PIN: that is the usual way, and no mistake to shout about
    const onlyPinMissing =
      (sent.fields['badge'] ?? '') !== '' &&
      (sent.fields['pin'] ?? '') === '' &&
      Object.keys(parsed.errors).join() === 'pin'
    return signInForm(ctx, 422, { values, errors: parsed.errors, problem: onlyPinMissing ? null : NOT_SIGNED_IN })
  }
  const { badge, pin, next, draft } = parsed.value
  const person = await identify(ctx, badge, pin)
  if (!person.ok) {
    return signInForm(ctx, person.reason === 'identify-too-many' ? 429 : 422, {
      values,
      errors: {},
      problem: sentenceOf(IDENTIFY_SENTENCES, person),
    })
  }
  let session: Session
  try {
    session = beginLogin(server, ctx.request, ctx.reply, person.value)
  } catch (error) {
    const failure = storeFailureOf(error)
    if (failure === null) throw error
    ctx.request.log.error({ err: error }, 'a login could not be stored')
    return unsavedForm(signInForm(ctx, 503, { values, errors: {}, problem: NOT_SIGNED_IN_SENTENCES[failure] }))
  }
  if (isNurse(person.value) && session.wardId === null) return redirect(ctx, '/ward')
  const back = safeNext(next)
  if (back === '/') return redirect(ctx, isNurse(person.value) ? '/ward' : '/')
  return redirect(ctx, isId(draft) ? withDraft(back, draft) : back)
}

const NOT_SIGNED_IN = 'Not signed in. Put right what is marked.'

function withDraft(path: string, draft: string): string {
  return `${path}${path.includes('?') ? '&' : '?'}draft=${draft}`
}
