/**
 * The event stream of one open board: who may open it, how many for each session, and when it ends. A stream does not
 * count as use of the session; otherwise a forgotten board would never lock.
 */
import { createHmac, timingSafeEqual } from 'node:crypto'
import type { FastifyReply, FastifyRequest } from 'fastify'
import { z } from 'zod'
import { idleLeftMs } from '../../shared/staff/login.ts'
import { isShutOut } from '../../shared/staff/person.ts'
import { recordWatching } from '../http/access-log.ts'
import { queryText } from '../http/parameters.ts'
import { READERS } from '../http/roles.ts'
import { streamRoute, type Server } from '../http/route.ts'
import { isOver, timesOf, type Login } from '../http/sessions.ts'
import type { Session } from '../store/contract.ts'
import { scopeOf } from '../store/scope.ts'
import type { BoardHub, EndReason, Watcher } from './hub.ts'

/**
 * What a stream shows and depends on (a session and its wards). After a restart, also until when it may still show the
 * board.
 */
type StreamTarget = Pick<Watcher, 'shows' | 'wardIds'> & {
  readonly session: Session
  readonly untilMs: number | null
  /** the session had been used before the stream began, so the idle lock ends the stream */
  readonly used: boolean
}

/** `version`: of the board that the page shows; `pass`: what lets it go on after a start (Passes). */
const STREAM_QUERY = z.object({ version: queryText, pass: queryText })
type StreamQuery = z.output<typeof STREAM_QUERY>

/** Open boards of one session. A browser opens six connections to one service, and its pages need some of them. */
export const STREAMS_PER_LOGIN = 3
/** A reader with this many unread bytes is disconnected. Its board reconnects and gets the whole content. */
const UNREAD_MOST = 512 * 1024

/** Registers both streams, and ends every stream before the service closes. */
export function registerStreams(server: Server, hub: BoardHub): void {
  const open = new Map<string, { readonly watcher: Watcher; readonly close: () => void }[]>()
  server.app.addHook('preClose', async () => {
    for (const one of [...open.values()].flat()) one.close()
    hub.close()
  })

  const begin =
    (shows: Watcher['shows']) =>
    (request: FastifyRequest, reply: FastifyReply, login: Login, query: StreamQuery): void => {
      const { raw } = reply
      // one write for each message instead of three: halves the cost of a heartbeat to hundreds of boards
      raw.useChunkedEncodingByDefault = false
      raw.writeHead(200, {
        ...headersOf(reply),
        'content-type': 'text/event-stream; charset=utf-8',
        'cache-control': 'no-store',
        'x-accel-buffering': 'no',
      })
      const say = (event: string, data: object): void => {
        raw.write(`event: ${event}\ndata: ${JSON.stringify(data)}\n\n`)
      }
      const refuse = (reason: EndReason): void => {
        say('ended', { reason })
        raw.end()
      }
      const passes = new StreamPasses(server)
      const untilMs = login.kind === 'ended' ? passes.untilOf(query.pass, login.session) : null
      if (login.kind === 'none' || (login.kind === 'ended' && untilMs === null)) {
        refuse('login')
        return
      }
      const { session } = login
      const wardIds = shows === 'board' ? [session.wardId ?? ''] : wardIdsOf(server, session)
      const target: StreamTarget = {
        shows,
        wardIds,
        session,
        untilMs,
        used: untilMs === null && server.appContext.lastSeen.has(session.tokenHash),
      }
      const over: Watcher['over'] = (idleLockMin, whole) => reasonToEnd(server, target, idleLockMin, whole)
      // a ward of somebody else has no board, and its lock is not checked
      const atOnce = reasonToEnd(server, target, Number.POSITIVE_INFINITY, true)
      if (atOnce !== null) {
        refuse(atOnce)
        return
      }
      const watcher: Watcher = {
        shows,
        wardIds,
        over,
        // write directly to the socket, since nothing is chunked: halves the cost of a heartbeat again
        send: (message) => {
          if (raw.writableLength > UNREAD_MOST) raw.destroy()
          else (raw.socket ?? raw).write(message)
        },
        end: (reason) => {
          gone()
          refuse(reason)
        },
      }
      const entry = {
        watcher,
        close: () => {
          raw.end()
        },
      }
      const gone = (): void => {
        hub.remove(watcher)
        const left = (open.get(session.tokenHash) ?? []).filter((one) => one !== entry)
        if (left.length === 0) open.delete(session.tokenHash)
        else open.set(session.tokenHash, left)
      }
      raw.on('close', gone)
      raw.on('error', gone)
      const mine = open.get(session.tokenHash) ?? []
      if (mine.length >= STREAMS_PER_LOGIN) mine[0]?.watcher.end('elsewhere')
      open.set(session.tokenHash, [...(open.get(session.tokenHash) ?? []), entry])
      say('pass', { pass: passes.make(session, untilMs ?? idleUntilMs(server, session, hub.idleLockMin(wardIds))) })
      if (shows === 'board') recordWatching(server, request, session, wardIds[0] ?? '')
      hub.add(watcher, query.version)
    }
  streamRoute(server, { url: '/board/stream', roles: READERS, query: STREAM_QUERY, shownOn: '/board' }, begin('board'))
  streamRoute(
    server,
    { url: '/board/wards/stream', roles: READERS, query: STREAM_QUERY, shownOn: '/board/wards' },
    begin('lines'),
  )
}

function headersOf(reply: FastifyReply): Record<string, string> {
  return Object.fromEntries(
    Object.entries(reply.getHeaders()).flatMap(([name, value]) => (value === undefined ? [] : [[name, String(value)]])),
  )
}

/** Every ward of the person. Each has a line. */
function wardIdsOf({ services: { store } }: Server, { staffId }: Session): readonly string[] {
  const staff = store.staffById(staffId)
  return staff === undefined ? [] : store.wards(scopeOf(staff)).map(({ wardId }) => wardId)
}

/**
 * Null while the session holds and, with `whole`, the person, role and wards too. `untilMs` replaces the session's own
 * end for a session from before a restart.
 */
function reasonToEnd(
  { services, appContext }: Server,
  { shows, session, wardIds, untilMs, used }: StreamTarget,
  idleLockMin: number,
  whole: boolean,
): EndReason | null {
  if (untilMs === null) {
    if (used && !appContext.lastSeen.has(session.tokenHash)) return 'login'
    if (isOver({ services, appContext }, session, idleLockMin)) return 'login'
  } else if (services.now() >= untilMs) return 'login'
  if (!whole) return null
  const kept = services.store.session(session.tokenHash)
  const staff = services.store.staffById(session.staffId)
  if (kept === undefined || staff === undefined || isShutOut(staff)) return 'login'
  const theirs = wardIds.length > 0 && wardIds.every((wardId) => staff.wardIds.includes(wardId))
  return READERS.includes(staff.role) && theirs && (shows === 'lines' || kept.wardId === wardIds[0]) ? null : 'ward'
}

/** When the session locks if nobody uses it, in ward time. */
function idleUntilMs(server: Server, session: Session, idleLockMin: number): number {
  const leftMs = idleLeftMs(timesOf(server, session), idleLockMin, server.services.mono())
  return server.services.now() + Math.max(0, leftMs)
}

/**
 * Lets a board continue after a restart of the service, which ends every session. It only allows viewing, with the
 * cookie of the old session, until that session would have locked unused. Charting needs a new sign-in.
 */
class StreamPasses {
  readonly #secret: Buffer
  constructor({ services }: Server) {
    this.#secret = services.store.secret('board-pass')
  }

  make({ tokenHash }: Session, untilMs: number): string {
    return `${String(untilMs)}.${this.#sign(tokenHash, untilMs)}`
  }

  /** Until when the pass is valid for this session. Null: it is not one of ours, or it has expired. */
  untilOf(pass: string, { tokenHash }: Session): number | null {
    const [until = '', mac = ''] = pass.split('.')
    const untilMs = Number(until)
    if (!/^\d{1,16}$/.test(until) || !/^[0-9a-f]{64}$/.test(mac)) return null
    return timingSafeEqual(Buffer.from(mac), Buffer.from(this.#sign(tokenHash, untilMs))) ? untilMs : null
  }

  #sign(tokenHash: string, untilMs: number): string {
    return createHmac('sha256', this.#secret)
      .update(`${tokenHash} ${String(untilMs)}`)
      .digest('hex')
  }
}
