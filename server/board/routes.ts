/** The ward board, its stream, the page of all wards, and the board's two forms. */
import { boardPage, wardsPage } from '../../views/board/page.ts'
import { formatTime } from '../../views/format.ts'
import { formRoute } from '../http/forms.ts'
import { isNurse, page, redirect, type PageResponse } from '../http/page.ts'
import { BED_GIVERS, NURSES, READERS } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import type { RequestContext } from '../http/request-context.ts'
import { assignForm } from './assign-form.ts'
import { HAND_QUERY, handForm } from './hand-form.ts'
import { BoardHub } from './hub.ts'
import { registerStreams } from './stream.ts'

export function registerBoard(server: Server): void {
  const hub = new BoardHub(server.services)
  route(server, { method: 'GET', url: '/board', roles: READERS }, (ctx) => showBoard(ctx, hub))
  route(server, { method: 'GET', url: '/board/wards', roles: READERS }, (ctx) => showWards(ctx, hub))
  registerStreams(server, hub)
  formRoute(server, { url: '/board/assign', roles: BED_GIVERS, spec: assignForm })
  formRoute(server, { url: '/board/hand', roles: NURSES, query: HAND_QUERY, spec: handForm })
}

/** The current board. A person without a ward chooses one first. */
function showBoard(ctx: RequestContext, hub: BoardHub): PageResponse {
  const { wardId } = ctx
  const board = wardId === null ? undefined : hub.boardOf(wardId)
  if (board === undefined) return redirect(ctx, '/ward')
  const { drawn, version, zone, wardName } = board
  return page(ctx, 200, {
    title: 'Board',
    body: boardPage({
      wardName,
      version,
      nowMs: ctx.nowMs,
      asOf: formatTime(ctx.nowMs, zone),
      viewer: BED_GIVERS.includes(ctx.actor.role) ? 'charge' : isNurse(ctx.actor) ? 'nurse' : 'reader',
      script: ctx.appContext.assets.nameOf('board.js'),
      head: drawn.head.html,
      needs: drawn.needs.map(({ html }) => html),
      beds: drawn.beds.map(({ html }) => html),
      pace: drawn.pace.html,
    }),
  })
}

/** One line for each of the person's wards. Each ward's times are on its own clock. */
function showWards(ctx: RequestContext, hub: BoardHub): PageResponse {
  const boards = ctx.store.wards(ctx.scope).flatMap(({ wardId }) => hub.boardOf(wardId) ?? [])
  const zone = boards[0]?.zone
  const asOf = zone === undefined ? 'now' : formatTime(ctx.nowMs, zone)
  return page(ctx, 200, {
    title: 'All wards',
    body: wardsPage({
      lines: boards.map(({ drawn }) => drawn.line.html),
      nowMs: ctx.nowMs,
      asOf,
      script: ctx.appContext.assets.nameOf('board.js'),
    }),
  })
}
