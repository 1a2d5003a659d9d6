/**
 * How a route is made: the role is checked by the server before the handler runs, and every route stands in one table
 * with its roles, which a test walks.
 */
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify'
import { z } from 'zod'
import { settleReads } from './access-log.ts'
import type { AppContext } from './app-context.ts'
import { isId } from './ids.ts'
import { scopeOf } from '../store/scope.ts'
import { NO_NAMES, queryText, type Declared, type SameNames } from './parameters.ts'
import {
  PageResponse,
  hasPage,
  isBackground,
  isHtmx,
  messageResponse,
  pathOf,
  prepare,
  redirect,
  type PageContext,
} from './page.ts'
import { findLogin, markUsed, type Login } from './sessions.ts'
import type { RequestContext } from './request-context.ts'
import type { RouteSpec } from './route-spec.ts'
import type { Services } from './services.ts'

export type Server = {
  readonly app: FastifyInstance
  readonly services: Services
  readonly appContext: AppContext
}

/** A request to a page that needs no login; somebody may be signed in all the same. */
export type PublicRequestContext<Q extends object = object> = PageContext &
  Pick<RequestContext<object, Q>, 'services' | 'appContext' | 'store' | 'nowMs' | 'request' | 'reply' | 'query'> & {
    readonly login: Login
  }

type Handler<P extends object, Q extends object> = (ctx: RequestContext<P, Q>) => PageResponse | Promise<PageResponse>

/** What is kept of a POST whose login has ended: where the fields were put, or null when nothing is to be kept. */
export type SaveDraft = (staffId: string, request: FastifyRequest) => string | null

/** Every route with its roles, in the order of registration. */
export function routeTable(server: Server): readonly RouteSpec[] {
  return server.appContext.routes
}

/** From here on a route that does not stand in the table, and so has no roles, keeps the service from starting. */
export function requireRouteRoles(server: Server): void {
  const seen: string[] = []
  server.app.addHook('onRoute', ({ method, url }) => {
    for (const one of Array.isArray(method) ? method : [method]) seen.push(`${one} ${url}`)
  })
  server.app.addHook('onReady', async () => {
    const named = server.appContext.routes.map((spec) => `${spec.method} ${spec.url}`)
    const unnamed = seen.filter((one) => !named.includes(one))
    if (unnamed.length > 0) throw new Error(`routes without roles: ${unnamed.join(', ')}`)
  })
}

type RoleSpec = RouteSpec & { readonly roles: Exclude<RouteSpec['roles'], 'anyone'> }

/** A route for roles with what it declares of its address: no path parameters and no query where it names none. */
type AddressSpec<Url extends string, A extends z.ZodObject, Q extends z.ZodObject> = RoleSpec & {
  readonly url: Url
  readonly params?: A | undefined
  readonly query?: Q | undefined
}

/**
 * Registers a route for roles. Not signed in: a GET goes to sign in and comes back; a POST does too, after
 * `saveDraft` kept what was typed. Wrong role: 403. A path parameter that does not parse: 404.
 */
export function route<
  Url extends string,
  A extends z.ZodObject = typeof NO_NAMES,
  Q extends z.ZodObject = typeof NO_NAMES,
>(
  server: Server,
  spec: AddressSpec<Url, A, Q> & SameNames<Url, A>,
  handler: Handler<Declared<A>, Declared<Q>>,
  saveDraft?: SaveDraft,
): void {
  addressRoute<A, Q>(server, spec, handler, saveDraft)
}

/** The same where it was already proved that the address and `params` name the same parameters. */
export function addressRoute<A extends z.ZodObject, Q extends z.ZodObject>(
  server: Server,
  spec: AddressSpec<string, A, Q>,
  handler: Handler<Declared<A>, Declared<Q>>,
  saveDraft: SaveDraft = () => null,
): void {
  const { method, url, roles } = spec
  register(server, { method, url, roles }, guarded(server, spec, handler, saveDraft))
}

/**
 * Registers a stream of events. Somebody who does not ask for events is led to the page that shows them (`shownOn`),
 * like any other route. `open` takes over the reply, whatever the login is: what is wrong with it is an event too.
 */
export function streamRoute<Q extends z.ZodObject>(
  server: Server,
  spec: Omit<RoleSpec, 'method'> & { readonly query: Q; readonly shownOn: string },
  open: (request: FastifyRequest, reply: FastifyReply, login: Login, query: Declared<Q>) => void,
): void {
  const { url, roles, query, shownOn } = spec
  const asPage = guarded(
    server,
    { method: 'GET', url, roles },
    (ctx) => redirect(ctx, shownOn),
    () => null,
  )
  register(server, { method: 'GET', url, roles }, async (request, reply) => {
    if (request.headers.accept !== 'text/event-stream') return asPage(request, reply)
    reply.hijack()
    open(request, reply, findLogin(server, request), query.parse(request.query) as Declared<Q>)
    return HIJACKED
  })
}

/** What a handler answers that writes to the connection itself. */
const HIJACKED = Symbol('taken over')

function guarded<A extends z.ZodObject, Q extends z.ZodObject>(
  server: Server,
  spec: AddressSpec<string, A, Q>,
  handler: Handler<Declared<A>, Declared<Q>>,
  saveDraft: SaveDraft,
): (request: FastifyRequest, reply: FastifyReply) => Promise<PageResponse> {
  return async (request, reply) => {
    const login = findLogin(server, request)
    if (login.kind !== 'live') return redirect(null, signInPath(server, request, login, saveDraft))
    const ctx = requestContextOf(server, request, reply, login)
    if (!isBackground(request)) markUsed(server, login.session.tokenHash)
    const answer = await answerOf(ctx, spec, handler)
    settleReads(ctx, answer)
    return answer
  }
}

function answerOf<A extends z.ZodObject, Q extends z.ZodObject>(
  ctx: RequestContext,
  spec: AddressSpec<string, A, Q>,
  handler: Handler<Declared<A>, Declared<Q>>,
): PageResponse | Promise<PageResponse> {
  if (!spec.roles.includes(ctx.actor.role)) return messageResponse(ctx, 403, 'forbidden')
  const params = (spec.params ?? NO_NAMES).safeParse(ctx.request.params)
  if (!params.success) return messageResponse(ctx, 404, 'not-found')
  const query = (spec.query ?? NO_NAMES).parse(ctx.request.query)
  return handler({ ...ctx, params: params.data as Declared<A>, query: query as Declared<Q> })
}

/** Registers a route that needs no login. */
export function openRoute<Q extends z.ZodObject = typeof NO_NAMES>(
  server: Server,
  spec: { readonly method: 'GET' | 'POST'; readonly url: string; readonly query?: Q },
  handler: (ctx: PublicRequestContext<Declared<Q>>) => PageResponse | Promise<PageResponse>,
): void {
  const { method, url } = spec
  register(server, { method, url, roles: 'anyone' }, (request, reply) => {
    const query = (spec.query ?? NO_NAMES).parse(request.query) as Declared<Q>
    return handler({ ...publicRequestContext(server, request, reply), query })
  })
}

function register(
  server: Server,
  spec: RouteSpec,
  answer: (request: FastifyRequest, reply: FastifyReply) => PageResponse | Promise<PageResponse | typeof HIJACKED>,
): void {
  server.appContext.routes.push(spec)
  server.app.route({
    method: spec.method,
    url: spec.url,
    handler: async (request, reply) => {
      const made = await answer(request, reply)
      if (made === HIJACKED) return reply
      if (!(made instanceof PageResponse)) throw new Error(`${spec.method} ${spec.url} made no answer`)
      return prepare(reply, request, made)
    },
  })
}

/** The visit of a request that anybody may make: with the person's frame around the page when one is signed in. */
export function publicRequestContext(
  server: Server,
  request: FastifyRequest,
  reply: FastifyReply,
): PublicRequestContext {
  const login = findLogin(server, request)
  const { services, appContext } = server
  const live = login.kind === 'live'
  return {
    services,
    appContext,
    store: services.store,
    nowMs: services.now(),
    request,
    reply,
    query: {},
    login,
    actor: live ? login.staff : null,
    wardId: live ? login.session.wardId : null,
  }
}

function requestContextOf(
  server: Server,
  request: FastifyRequest,
  reply: FastifyReply,
  login: Extract<Login, { kind: 'live' }>,
): RequestContext {
  const { services, appContext } = server
  const { session, staff } = login
  return {
    params: {},
    query: {},
    services,
    appContext,
    store: services.store,
    nowMs: services.now(),
    actor: staff,
    scope: scopeOf(staff),
    // a ward taken from a person is no longer theirs, whatever the login says
    wardId: session.wardId !== null && staff.wardIds.includes(session.wardId) ? session.wardId : null,
    meterId: session.meterId,
    tokenHash: session.tokenHash,
    request,
    reply,
  }
}

/** Where somebody signs in and then comes back to. */
function signInPath(server: Server, request: FastifyRequest, login: Login, saveDraft: SaveDraft): string {
  const query = new URLSearchParams()
  const isPost = request.method === 'POST'
  const draftId = isPost && login.kind === 'ended' ? saveDraft(login.session.staffId, request) : null
  const next =
    isPost && !hasPage(server.appContext, request)
      ? isHtmx(request)
        ? openedFrom(request)
        : '/'
      : isBackground(request)
        ? openedFrom(request)
        : isPost
          ? pathOf(request)
          : request.url
  const back = safeNext(next)
  if (back !== '/') query.set('next', back)
  if (draftId !== null) query.set('draft', draftId)
  const text = query.toString()
  return text === '' ? '/sign-in' : `/sign-in?${text}`
}

/** A part of a page is no place to come back to: the page that asked for it is. */
export function openedFrom(request: FastifyRequest): string {
  const current = request.headers['hx-current-url']
  if (typeof current !== 'string' || !URL.canParse(current)) return '/'
  const { pathname, search } = new URL(current)
  return pathname + search
}

/** The address to come back to when it is a path of this service, else "/": never another site. */
export function safeNext(next: string): string {
  if (next.length > 500 || !/^\/(?![/\\])[\x21-\x7e]*$/.test(next) || next.includes('\\')) return '/'
  const base = 'http://ward.invalid'
  if (!URL.canParse(next, base)) return '/'
  const url = new URL(next, base)
  if (url.origin !== base || url.pathname.startsWith('//') || url.pathname.startsWith('/sign-')) return '/'
  return url.pathname + url.search
}

const DRAFT_QUERY = z.object({ draft: queryText })

/** The draft named in the query, if it could be one. */
export function draftIdOf(request: FastifyRequest): string | null {
  const { draft } = DRAFT_QUERY.parse(request.query)
  return isId(draft) ? draft : null
}
