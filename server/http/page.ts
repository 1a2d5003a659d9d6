/** The only way an answer leaves: a whole page, a part of one for htmx, or the address to go to. */
import { gzip, gzipSync } from 'node:zlib'
import { promisify } from 'node:util'
import type { FastifyReply, FastifyRequest } from 'fastify'
import { layout } from '../../views/layout.ts'
import type { Html } from '../../views/html.ts'
import { formatTime } from '../../views/format.ts'
import { messagePage } from '../../views/message.ts'
import { PAGE_SENTENCES, type PageSentence } from '../../views/words/http.ts'
import type { Staff } from '../store/contract.ts'
import { scopeOf } from '../store/scope.ts'
import type { AppContext } from './app-context.ts'
import { AUDITORS, BED_GIVERS, NURSES } from './roles.ts'
import type { FileMade, PageView } from './request-context.ts'
import type { Services } from './services.ts'

/** A request as far as a page needs to know it: signed in (a `RequestContext`) or not. */
export type PageContext = {
  readonly services: Services
  readonly appContext: AppContext
  readonly nowMs: number
  readonly actor: Staff | null
  readonly wardId: string | null
  readonly request: FastifyRequest
}

/** What a handler returns. Plain data, so that it may be made anywhere and is sent only by the route. */
export class PageResponse {
  readonly status: number
  readonly headers: Readonly<Record<string, string>>
  /** Text is compressed on its way out; bytes are sent as they are. */
  readonly body: string | Buffer
  constructor(status: number, headers: Readonly<Record<string, string>>, body: string | Buffer) {
    this.status = status
    this.headers = headers
    this.body = body
  }
}

const HTML_TYPE = 'text/html; charset=utf-8'

/** Wherever the request came from within a page, a whole page replaces the page. */
const REPLACES_THE_PAGE = {
  'content-type': HTML_TYPE,
  'hx-retarget': '#page',
  'hx-reselect': '#page',
  'hx-reswap': 'outerHTML show:window:top',
}
const PAGE_HEADERS = { 'content-type': HTML_TYPE }
/** The body's own hx-select="#page" is inherited; a part of a page holds no #page and would come out empty. */
const FRAGMENT_HEADERS = { 'content-type': HTML_TYPE, 'hx-reselect': 'unset' }

/** A whole page. The body brings its own h1. */
export function page(ctx: PageContext, status: number, view: PageView): PageResponse {
  const document = layout({
    title: view.title,
    body: view.body,
    chrome: view.chrome ?? 'full',
    ...placeAndTime(ctx),
    person:
      ctx.actor === null
        ? null
        : {
            name: ctx.actor.name,
            nurse: isNurse(ctx.actor),
            charge: BED_GIVERS.includes(ctx.actor.role),
            audit: AUDITORS.includes(ctx.actor.role),
          },
    assets: {
      css: ctx.appContext.assets.nameOf('ward.css'),
      htmx: ctx.appContext.assets.nameOf('htmx.js'),
      script: ctx.appContext.assets.nameOf('ward.js'),
      icon: ctx.appContext.assets.nameOf('icon.svg'),
    },
  })
  return new PageResponse(status, isHtmx(ctx.request) ? REPLACES_THE_PAGE : PAGE_HEADERS, document.toString())
}

/** Those who walk the round. */
export function isNurse(staff: Staff): boolean {
  return NURSES.includes(staff.role)
}

function placeAndTime(ctx: PageContext): {
  wardName: string | null
  wardTime: string | null
  demo: { clock: string; path: string } | null
} {
  const { actor, wardId, services, nowMs } = ctx
  let wardName: string | null = null
  let zone: string | null = null
  if (actor !== null && wardId !== null) {
    const scope = scopeOf(actor)
    wardName = services.store.wards(scope).find((ward) => ward.wardId === wardId)?.name ?? null
    zone = services.store.wardPolicy(scope, wardId, nowMs)?.policy.zone ?? null
  }
  const wardTime = zone === null ? null : formatTime(nowMs, zone)
  const demo =
    services.demoClock === null
      ? null
      : {
          clock: wardTime ?? formatTime(nowMs, services.demoClock.zone),
          path: hasPage(ctx.appContext, ctx.request) ? pathOf(ctx.request) : '/',
        }
  return { wardName, wardTime, demo }
}

/**
 * A part of a page, for an htmx request that names its own hx-target and hx-swap. Is never selected from: the
 * page-wide hx-select is lifted by a header.
 */
export function fragment(_visit: PageContext, status: number, part: Html): PageResponse {
  return new PageResponse(status, FRAGMENT_HEADERS, part.toString())
}

/** 204: what the page shows is still so; nothing is replaced. */
export function noContent(_visit: PageContext): PageResponse {
  return new PageResponse(204, {}, '')
}

/** 303: go and see. `location` is a path of this service. */
export function redirect(_visit: unknown, location: string): PageResponse {
  if (!/^\/(?![/\\])[\x21-\x7e]*$/.test(location)) throw new Error('a redirect leads to a path of this service')
  return new PageResponse(303, { location }, '')
}

/** A file for the browser to save, never to show. */
export function fileResponse(_visit: PageContext, { name, type, text }: FileMade): PageResponse {
  if (!/^[a-z0-9.-]{1,80}$/.test(name)) throw new Error('a file name is plain')
  return new PageResponse(200, { 'content-type': type, 'content-disposition': `attachment; filename="${name}"` }, text)
}

/**
 * The form that comes back with 503 because the store took nothing. Other answers of that status never replace what
 * somebody typed; the header tells the page's script that this one holds it (views/assets/ward.js).
 */
export function unsavedForm(answer: PageResponse): PageResponse {
  return new PageResponse(503, { ...answer.headers, 'ward-form': 'kept' }, answer.body)
}

/** A page that says why there is no page. */
export function messageResponse(ctx: PageContext, status: number, reason: PageSentence): PageResponse {
  const { title, text } = PAGE_SENTENCES[reason]
  return sentenceResponse(ctx, status, title, text)
}

/** A page with one sentence of its own. */
export function sentenceResponse(ctx: PageContext, status: number, title: string, text: string): PageResponse {
  const view = {
    title,
    text,
    requestId: status >= 400 ? ctx.request.id : null,
    wayOn: { path: '', label: 'Go to the start' },
  }
  const answer = page(ctx, status, { title, body: messagePage(view), chrome: 'bare' })
  messages.add(answer)
  return answer
}

const messages = new WeakSet<PageResponse>()

/** True for an answer that is a sentence in place of a page: it shows no patient. */
export function isMessage(answer: PageResponse): boolean {
  return messages.has(answer)
}

/** True when the address of this request can also be opened as a page. */
export function hasPage(appContext: AppContext, request: FastifyRequest): boolean {
  return appContext.routes.some((spec) => spec.method === 'GET' && spec.url === request.routeOptions.url)
}

/** True for a request that htmx sent. */
export function isHtmx(request: FastifyRequest): boolean {
  return request.headers['hx-request'] === 'true'
}

/** True for a part that a page asks for by itself, as opposed to a link or form that somebody used. */
export function isBackground(request: FastifyRequest): boolean {
  return request.method === 'GET' && isHtmx(request) && request.headers['hx-boosted'] === undefined
}

/** The request's path without its query. */
export function pathOf(request: FastifyRequest): string {
  const [path = '/'] = request.url.split('?')
  return path
}

/** Level of every compressed answer; the bench gives its floors the same. On a long round 4 takes a fifth less time than 6 for a twelfth more bytes. */
export const GZIP_LEVEL = 4
/** Below this many characters compression saves less than it costs. */
const WORTH_PACKING = 1000
/**
 * Up to this many characters packing takes less of the processor than handing it to another thread (measured at a third
 * to a half), and the page does not wait there behind the PINs being proved.
 */
const PACKED_AT_ONCE = 32_000
const pack = promisify(gzip)

/**
 * Sets the reply's status and headers and gives the body to send, compressed where the browser takes it. Nothing is
 * kept by a browser or proxy unless the answer itself says otherwise (assets).
 */
export async function prepare(
  reply: FastifyReply,
  request: FastifyRequest,
  answer: PageResponse,
): Promise<string | Buffer> {
  reply.code(answer.status)
  reply.header('cache-control', 'no-store')
  reply.headers(answer.headers)
  const { body } = answer
  if (typeof body !== 'string') return body
  reply.header('vary', 'accept-encoding')
  if (body.length < WORTH_PACKING || !takesGzip(request)) return body
  reply.header('content-encoding', 'gzip')
  return body.length <= PACKED_AT_ONCE ? gzipSync(body, { level: GZIP_LEVEL }) : pack(body, { level: GZIP_LEVEL })
}

/**
 * True when the browser accepts gzip and does not forbid it with q=0. A page that another site asked for is never
 * packed: its length would tell that site whether what it put into the address stands in the page (BREACH).
 */
export function takesGzip(request: FastifyRequest): boolean {
  const accepted = request.headers['accept-encoding']
  const site = request.headers['sec-fetch-site']
  if (site === 'cross-site' || site === 'same-site') return false
  return (
    typeof accepted === 'string' &&
    /\bgzip\b/.test(accepted) &&
    !/\bgzip\s*;\s*q=0(?:\.0*)?(?:\s*,|\s*$)/.test(accepted)
  )
}
