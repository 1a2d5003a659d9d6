/**
 * Logins. The browser holds an opaque token in a cookie; the store holds only its hash. A login ends after the ward's
 * idle minutes, after the configured hours, and when the service restarts (the monotonic clock begins anew); what was
 * typed is kept all the same, because the ended login still says whose it was.
 */
import type { FastifyReply, FastifyRequest } from 'fastify'
import { defaultPolicy } from '../../shared/policy/ward-policy.ts'
import { isLoginOver, type LoginTimes } from '../../shared/staff/login.ts'
import { isShutOut } from '../../shared/staff/person.ts'
import type { Session, Staff } from '../store/contract.ts'
import { scopeOf } from '../store/scope.ts'
import { storeFailureOf } from './store-failures.ts'
import type { AppContext } from './app-context.ts'
import { newToken, sha256 } from './ids.ts'
import type { Services } from './services.ts'

/** Before a ward is chosen there is no ward policy to ask. */
const IDLE_LOCK_WITHOUT_WARD_MIN = defaultPolicy('mg/dL', 'UTC').idleLockMin

export type Login =
  | { readonly kind: 'none' }
  /** It was a login: whose it was is known, and nothing more is allowed. */
  | { readonly kind: 'ended'; readonly session: Session }
  | { readonly kind: 'live'; readonly session: Session; readonly staff: Staff }

type SessionContext = { readonly services: Services; readonly appContext: AppContext }

/** The `__Host-` name makes browsers refuse the cookie unless it is secure, without domain, for the whole path. */
export function cookieName(services: Services): string {
  return services.config.secureCookies ? '__Host-ward-login' : 'ward-login'
}

function tokenOf(context: SessionContext, request: FastifyRequest): string | undefined {
  return request.cookies[cookieName(context.services)]
}

/** Finds the login of a request and says whether it still holds. Does not count as use. */
export function findLogin(context: SessionContext, request: FastifyRequest): Login {
  const token = tokenOf(context, request)
  if (token === undefined || token.length > 200) return { kind: 'none' }
  const session = context.services.store.session(sha256(token))
  if (session === undefined) return { kind: 'none' }
  const staff = context.services.store.staffById(session.staffId)
  // locking and leaving end every login in their own transaction; one that is there all the same holds no longer
  if (staff === undefined || isShutOut(staff) || !token.startsWith(`${context.appContext.bootId}.`))
    return { kind: 'ended', session }
  return isOver(context, session, idleLockMinutes(context, session, staff))
    ? { kind: 'ended', session }
    : { kind: 'live', session, staff }
}

/** True when the login has ended by time alone (shared/staff/login.ts). */
export function isOver(context: SessionContext, session: Session, idleLockMin: number): boolean {
  const limits = { idleLockMin, longestHours: context.services.config.sessionHours }
  return isLoginOver(timesOf(context, session), limits, context.services.mono())
}

/** When the login began and when a person last used it. */
export function timesOf({ appContext }: SessionContext, session: Session): LoginTimes {
  return {
    startedMonoMs: session.startedMonoMs,
    lastUsedMonoMs: appContext.lastSeen.get(session.tokenHash) ?? session.lastSeenMonoMs,
  }
}

function idleLockMinutes(context: SessionContext, session: Session, staff: Staff): number {
  if (session.wardId === null) return IDLE_LOCK_WITHOUT_WARD_MIN
  const { store, now } = context.services
  return store.wardPolicy(scopeOf(staff), session.wardId, now())?.policy.idleLockMin ?? IDLE_LOCK_WITHOUT_WARD_MIN
}

/** Counts as use. A page that refreshes itself is no use, or a forgotten tablet would never lock. */
export function markUsed(context: SessionContext, tokenHash: string): void {
  context.appContext.lastSeen.set(tokenHash, context.services.mono())
}

/**
 * Begins a login under a token of its own, whatever the browser held before, and ends the one it held. The same
 * person's ward and meter are carried over.
 */
export function beginLogin(
  context: SessionContext,
  request: FastifyRequest,
  reply: FastifyReply,
  staff: Staff,
): Session {
  const { services, appContext } = context
  const before = tokenOf(context, request)
  const held = before === undefined ? undefined : services.store.session(sha256(before))
  const same = held?.staffId === staff.staffId ? held : undefined
  const onlyWard = staff.wardIds.length === 1 ? (staff.wardIds[0] ?? null) : null
  const stillTheirs = same?.wardId !== undefined && same.wardId !== null && staff.wardIds.includes(same.wardId)
  const token = `${appContext.bootId}.${newToken()}`
  const monoMs = services.mono()
  const session: Session = {
    tokenHash: sha256(token),
    staffId: staff.staffId,
    wardId: stillTheirs ? same.wardId : onlyWard,
    startedMonoMs: monoMs,
    lastSeenMonoMs: monoMs,
    meterId: stillTheirs ? same.meterId : null,
  }
  services.store.transact(() => {
    if (held !== undefined) services.store.dropSession(held.tokenHash)
    services.store.putSession(session)
    return null
  })
  if (held !== undefined) appContext.lastSeen.delete(held.tokenHash)
  reply.setCookie(cookieName(services), token, {
    path: '/',
    httpOnly: true,
    sameSite: 'strict',
    secure: services.config.secureCookies,
  })
  return session
}

/** Ends the login of a request for good. */
export function endLogin(context: SessionContext, request: FastifyRequest, reply: FastifyReply): void {
  const token = tokenOf(context, request)
  if (token !== undefined) drop(context, sha256(token))
  reply.clearCookie(cookieName(context.services), {
    path: '/',
    httpOnly: true,
    sameSite: 'strict',
    secure: context.services.config.secureCookies,
  })
}

/** A login ends even when its row cannot be taken away: it then counts as idle since ever, until the service stops and ends it anyway. */
function drop(context: SessionContext, tokenHash: string): void {
  const { store } = context.services
  try {
    store.transact(() => {
      store.dropSession(tokenHash)
      return null
    })
    context.appContext.lastSeen.delete(tokenHash)
  } catch (error) {
    if (storeFailureOf(error) === null) throw error
    context.appContext.lastSeen.set(tokenHash, -Infinity)
  }
}
