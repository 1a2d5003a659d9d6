/** The door: start, signing in and out, and the parts beside this file (ward and beds, PINs, first administrator). */
import { storeFailureOf } from '../http/faults.ts'
import { keptForm, page, redirect, isNurse, type Answer } from '../http/page.ts'
import { EVERYBODY } from '../http/roles.ts'
import { openRoute, route, safeNext, type OpenVisit, type Server } from '../http/route.ts'
import { echo, parseFields, readFields } from '../http/fields.ts'
import { identify } from '../http/pins.ts'
import { isId } from '../http/ids.ts'
import { beginLogin, endLogin } from '../http/sessions.ts'
import type { FormState } from '../http/visit.ts'
import type { Session } from '../store/contract.ts'
import { IDENTIFY_SENTENCES, NOT_SIGNED_IN_SENTENCES } from '../../views/words/http.ts'
import { signInPage } from '../../views/signin/sign-in.ts'
import { registerFirstAdministrator } from './first-administrator.ts'
import { SIGN_IN_FORM } from './forms.ts'
import { registerOwnPin } from './own-pin.ts'
import { registerSetPin } from './set-pin.ts'
import { registerWardChoice } from './ward-choice.ts'

export function registerSignin(server: Server): void {
  openRoute(server, { method: 'GET', url: '/sign-in' }, (visit) =>
    signInForm(visit, 200, { values: asked(visit), errors: {}, problem: null }),
  )
  openRoute(server, { method: 'POST', url: '/sign-in' }, (visit) => signIn(server, visit))
  openRoute(server, { method: 'POST', url: '/sign-out' }, (visit) => {
    endLogin(server, visit.request, visit.reply)
    return redirect(visit, '/sign-in')
  })
  route(server, { method: 'GET', url: '/', roles: EVERYBODY }, (visit) => {
    if (isNurse(visit.actor)) return redirect(visit, visit.wardId === null ? '/ward' : '/round')
    return redirect(visit, visit.actor.role === 'administrator' ? '/setup' : '/audit')
  })
  registerWardChoice(server)
  registerFirstAdministrator(server)
  registerSetPin(server)
  registerOwnPin(server)
}

/** Where to go afterwards, out of the address: a path of this service or nothing. */
function asked(visit: OpenVisit): Readonly<Record<string, string>> {
  const { next, draft } = visit.request.query as Readonly<Record<string, unknown>>
  return {
    badge: '',
    next: typeof next === 'string' ? safeNext(next) : '/',
    draft: typeof draft === 'string' && isId(draft) ? draft : '',
  }
}

function signInForm(visit: OpenVisit, status: number, state: FormState): Answer {
  const { pin } = visit.request.query as Readonly<Record<string, unknown>>
  const view = {
    state,
    kept: (state.values['draft'] ?? '') !== '',
    empty: visit.store.isEmpty(),
    pinSet: pin === 'set',
  }
  // nobody is signed in on this page, whatever the browser holds: a second person may stand before it
  return page({ ...visit, actor: null, wardId: null }, status, {
    title: 'Sign in',
    body: signInPage(view),
    chrome: 'bare',
  })
}

async function signIn(server: Server, visit: OpenVisit): Promise<Answer> {
  const sent = readFields(visit.request.body)
  const values = echo(sent.fields, ['pin'])
  const parsed = parseFields(SIGN_IN_FORM, sent)
  if (!parsed.ok) {
    // a scanned badge ends in Enter and sends the form without a PIN: that is the usual way, and no mistake to shout about
    const onlyPinMissing =
      (sent.fields['badge'] ?? '') !== '' &&
      (sent.fields['pin'] ?? '') === '' &&
      Object.keys(parsed.errors).join() === 'pin'
    return signInForm(visit, 422, { values, errors: parsed.errors, problem: onlyPinMissing ? null : NOT_SIGNED_IN })
  }
  const { badge, pin, next, draft } = parsed.value
  const person = await identify(visit, badge, pin)
  if (!person.ok) {
    return signInForm(visit, person.reason === 'identify-too-many' ? 429 : 422, {
      values,
      errors: {},
      problem: IDENTIFY_SENTENCES[person.reason](person.details),
    })
  }
  let session: Session
  try {
    session = beginLogin(server, visit.request, visit.reply, person.value)
  } catch (error) {
    const failure = storeFailureOf(error)
    if (failure === null) throw error
    visit.request.log.error({ err: error }, 'a login could not be stored')
    return keptForm(signInForm(visit, 503, { values, errors: {}, problem: NOT_SIGNED_IN_SENTENCES[failure] }))
  }
  if (isNurse(person.value) && session.wardId === null) return redirect(visit, '/ward')
  const back = safeNext(next)
  if (back === '/') return redirect(visit, isNurse(person.value) ? '/ward' : '/')
  return redirect(visit, isId(draft) ? withDraft(back, draft) : back)
}

const NOT_SIGNED_IN = 'Not signed in. Put right what is marked.'

function withDraft(path: string, draft: string): string {
  return `${path}${path.includes('?') ? '&' : '?'}draft=${draft}`
}
